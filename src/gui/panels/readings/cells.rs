//! The grid's columns, and a reading's cells as text and back.

use super::super::numbers::{irradiance_text, length_text, number_text, parse_count};
use crate::gui::widgets::grid::Column;
use crate::station::Reading;
use crate::units::{Units, parse_number};

/// A column of the grid.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Field {
    Position,
    X,
    Y,
    Height,
    Irradiance,
    Repeat,
    Minute,
    Excluded,
    Saturated,
    Note,
}

impl Field {
    pub(super) const ALL: [Self; 10] = [
        Self::Position,
        Self::X,
        Self::Y,
        Self::Height,
        Self::Irradiance,
        Self::Repeat,
        Self::Minute,
        Self::Excluded,
        Self::Saturated,
        Self::Note,
    ];

    /// Its title, and its width in points.
    fn head(self) -> (&'static str, f32) {
        match self {
            Self::Position => ("Position", 62.0),
            Self::X => ("x", 60.0),
            Self::Y => ("y", 60.0),
            Self::Height => ("Height", 58.0),
            Self::Irradiance => ("Irradiance", 78.0),
            Self::Repeat => ("Repeat", 50.0),
            Self::Minute => ("Minute", 50.0),
            Self::Excluded => ("Excluded", 72.0),
            Self::Saturated => ("Saturated", 66.0),
            Self::Note => ("Note", 40.0),
        }
    }

    pub(super) fn title(self) -> &'static str {
        self.head().0
    }

    /// The title inside a sentence.
    pub(super) fn in_words(self) -> String {
        self.title().to_lowercase()
    }

    /// Where it stands among [`ALL`](Self::ALL).
    pub(super) fn index(self) -> usize {
        self as usize
    }
}

impl Units {
    pub(super) fn columns(self) -> Vec<Column> {
        let column = |field: Field| {
            let (title, width) = field.head();
            let unit = match field {
                Field::X | Field::Y | Field::Height => Some(self.length.symbol()),
                Field::Irradiance => Some(self.irradiance.symbol()),
                Field::Minute => Some("min"),
                _ => None,
            };
            Column {
                title: title.to_owned(),
                unit: unit.map(str::to_owned),
                width,
                align_right: unit.is_some() || field == Field::Repeat,
                editable: true,
            }
        };
        Field::ALL.map(column).into()
    }

    /// The text of a cell.
    pub(super) fn text(self, reading: &Reading, field: Field) -> String {
        let length = |mm| length_text(self.length, mm);
        match field {
            Field::Position => reading.position.clone(),
            Field::X => length(reading.x),
            Field::Y => length(reading.y),
            Field::Height => length(reading.height),
            Field::Irradiance => (reading.irradiance)
                .map(|e| irradiance_text(self.irradiance, e))
                .unwrap_or_default(),
            Field::Repeat => reading.repeat.to_string(),
            Field::Minute => reading.minute.map(number_text).unwrap_or_default(),
            Field::Excluded => reading.excluded.clone().unwrap_or_default(),
            Field::Saturated => if reading.saturated { "yes" } else { "" }.to_owned(),
            Field::Note => reading.note.clone(),
        }
    }

    /// Takes a text into a cell. A text that is what the cell shows changes nothing, so that shown
    /// digits never replace stored ones.
    ///
    /// # Errors
    /// What is wrong and what to do, as one sentence; the reading may then be changed.
    pub(super) fn write(
        self,
        reading: &mut Reading,
        field: Field,
        text: &str,
    ) -> Result<(), String> {
        let text = text.trim();
        if text == self.text(reading, field) {
            return Ok(());
        }
        let number = || parse_number(text).map_err(|e| e.to_string());
        let optional = || match text {
            "" => Ok(None),
            _ => number().map(Some),
        };
        let length = || match text {
            "" => Err(format!(
                "A reading needs its {}; type a number or delete the row",
                field.in_words()
            )),
            _ => number().map(|v| self.length.to_mm(v)),
        };
        match field {
            Field::Position => reading.position = text.to_owned(),
            Field::X => reading.x = length()?,
            Field::Y => reading.y = length()?,
            Field::Height => reading.height = length()?,
            Field::Irradiance => {
                reading.irradiance = optional()?.map(|v| self.irradiance.to_mw_cm2(v));
            }
            Field::Repeat => {
                reading.repeat = match text {
                    "" => 1,
                    _ => parse_count(text)?,
                };
            }
            Field::Minute => reading.minute = optional()?,
            Field::Excluded => reading.excluded = (!text.is_empty()).then(|| text.to_owned()),
            Field::Saturated => reading.saturated = yes_or_no(text)?,
            Field::Note => reading.note = text.to_owned(),
        }
        (reading.sound()).map_err(|(what, mend)| format!("{what}; {mend}"))
    }
}

fn yes_or_no(text: &str) -> Result<bool, String> {
    match text.to_lowercase().as_str() {
        "yes" | "y" | "x" | "true" | "1" => Ok(true),
        "no" | "n" | "false" | "0" | "" => Ok(false),
        _ => Err(format!(
            "'{text}' is neither yes nor no; type yes, or leave it empty"
        )),
    }
}
