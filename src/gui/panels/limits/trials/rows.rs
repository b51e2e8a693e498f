//! The parts while the grid's wishes are worked in: cells as text and back, and what each change is called.

use std::ops::Range;

use crate::files::{self, Use};
use crate::gui::panels::numbers::{irradiance_text, number_text};
use crate::gui::widgets::grid::{Column, GridAction};
use crate::station::trials::{Better, Property, Trial, Varied};
use crate::units::{IrradianceUnit, parse_number};

/// A column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Field {
    Irradiance,
    Exposure,
    Result,
    Temperature,
    Excluded,
    Note,
}

impl Field {
    pub(super) const ALL: [Self; 6] = [
        Self::Irradiance,
        Self::Exposure,
        Self::Result,
        Self::Temperature,
        Self::Excluded,
        Self::Note,
    ];

    fn title(self) -> &'static str {
        match self {
            Self::Irradiance => "Irradiance",
            Self::Exposure => "Exposure",
            Self::Result => "Result",
            Self::Temperature => "Part",
            Self::Excluded => "Excluded",
            Self::Note => "Note",
        }
    }

    pub(super) fn index(self) -> usize {
        self as usize
    }
}

/// How cells are shown and typed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Units {
    pub(super) irradiance: IrradianceUnit,
    pub(super) better: Better,
}

impl Units {
    pub(super) fn columns(self, property: &Property) -> Vec<Column> {
        Field::ALL
            .map(|field| {
                let (unit, width) = match field {
                    Field::Irradiance => (Some(self.irradiance.symbol().to_owned()), 80.0),
                    Field::Exposure => (Some("s".to_owned()), 66.0),
                    Field::Result if self.better == Better::Pass => {
                        (Some("pass or fail".to_owned()), 78.0)
                    }
                    Field::Result => (Some(property.unit.clone()), 70.0),
                    Field::Temperature => (Some("°C".to_owned()), 52.0),
                    Field::Excluded => (None, 72.0),
                    Field::Note => (None, 50.0),
                };
                Column {
                    title: field.title().to_owned(),
                    align_right: unit.is_some(),
                    unit,
                    width,
                    editable: true,
                }
            })
            .into()
    }

    pub(super) fn text(self, part: &Trial, field: Field) -> String {
        let optional = |v: Option<f64>| v.map(number_text).unwrap_or_default();
        match field {
            Field::Irradiance => irradiance_text(self.irradiance, part.irradiance),
            Field::Exposure => number_text(part.exposure),
            Field::Result => match (self.better, part.result) {
                (Better::Pass, Some(1.0)) => "pass".to_owned(),
                (Better::Pass, Some(0.0)) => "fail".to_owned(),
                (_, result) => optional(result),
            },
            Field::Temperature => optional(part.part_temperature),
            Field::Excluded => part.excluded.clone().unwrap_or_default(),
            Field::Note => part.note.clone(),
        }
    }

    /// Takes a text into a cell; one that is what the cell shows changes nothing.
    fn write(self, part: &mut Trial, field: Field, text: &str) -> Result<(), String> {
        self.write_in(part, field, text, None)
    }

    /// As [`write`](Self::write), where the text may be in another unit than the cell shows: how much one of it is in the
    /// document's unit.
    fn write_in(
        self,
        part: &mut Trial,
        field: Field,
        text: &str,
        size: Option<f64>,
    ) -> Result<(), String> {
        let text = text.trim();
        if size.is_none() && text == self.text(part, field) {
            return Ok(());
        }
        let irradiance = size.unwrap_or(self.irradiance.in_mw_cm2());
        let number = || match text {
            "" => Err(format!(
                "A part needs its {}; type a number or delete the row",
                field.title().to_lowercase()
            )),
            _ => parse_number(text).map_err(|e| e.to_string()),
        };
        let optional = || match text {
            "" => Ok(None),
            _ => number().map(Some),
        };
        match field {
            Field::Irradiance => part.irradiance = number()? * irradiance,
            Field::Exposure => part.exposure = number()? * size.unwrap_or(1.0),
            Field::Result if self.better == Better::Pass => part.result = passed(text)?,
            Field::Result => part.result = optional()?,
            Field::Temperature => part.part_temperature = optional()?,
            Field::Excluded => part.excluded = (!text.is_empty()).then(|| text.to_owned()),
            Field::Note => part.note = text.to_owned(),
        }
        part.sound(self.better)
            .map_err(|(what, mend)| format!("{what}; {mend}"))
    }
}

/// Which field each column of a pasted block is of, and the size of its unit where a header says it; `None` for a column
/// that nothing is taken from.
struct Columns(Vec<(Option<Field>, Option<f64>)>);

impl Columns {
    /// The grid's columns from this one on.
    fn from(column: usize) -> Self {
        let fields = Field::ALL.get(column..).unwrap_or_default();
        Self(fields.iter().map(|&field| (Some(field), None)).collect())
    }

    /// What a first row without numbers says; `None`: there is no such row, or it names nothing that parts have.
    ///
    /// # Errors
    /// Where it names an irradiance or a time without a unit that is known.
    fn under_header(cells: &[Vec<String>]) -> Result<Option<Self>, String> {
        let Some((header, [_, ..])) = cells.split_first() else {
            return Ok(None);
        };
        let columns: Vec<Named> = header.iter().map(|text| named(text)).collect();
        let has_numbers = header.iter().any(|text| parse_number(text).is_ok());
        if has_numbers || columns.iter().all(|column| *column == Named::Nothing) {
            return Ok(None);
        }
        let known = columns.iter().zip(header).zip(1..).map(|((column, text), number)| match column {
            Named::Nothing => Ok((None, None)),
            Named::Is(field, size) => Ok((Some(*field), *size)),
            Named::NoUnit(mend) => Err(format!(
                "Nothing was pasted. Row 1, column {number}: '{}' does not say a known unit; name the column {mend}, or copy the rows without their header",
                text.trim()
            )),
        });
        known
            .collect::<Result<_, _>>()
            .map(|columns| Some(Self(columns)))
    }
}

/// What a header names.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Named {
    Nothing,
    Is(Field, Option<f64>),
    /// With what it could be called.
    NoUnit(&'static str),
}

/// What a header of a column of parts names; irradiance as in a file of readings.
fn named(text: &str) -> Named {
    match Use::of_header(text.trim()) {
        Use::Is(files::Field::Irradiance, size) => return Named::Is(Field::Irradiance, Some(size)),
        Use::NoUnit(files::Field::Irradiance) => {
            return Named::NoUnit("such as irradiance_mw_cm2 or irradiance_w_m2");
        }
        Use::Is(files::Field::Excluded, _) => return Named::Is(Field::Excluded, None),
        Use::Is(files::Field::Note, _) => return Named::Is(Field::Note, None),
        _ => {}
    }
    let lower = text.to_lowercase();
    let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).collect();
    let says = |all: &[&str]| words.iter().any(|word| all.contains(word));
    if says(&["exposure", "time"]) {
        let units = [
            ("ms", 1e-3),
            ("s", 1.0),
            ("sec", 1.0),
            ("seconds", 1.0),
            ("min", 60.0),
        ];
        return match units.iter().find(|(unit, _)| says(&[*unit])) {
            Some((_, size)) => Named::Is(Field::Exposure, Some(*size)),
            None => Named::NoUnit("such as exposure_s"),
        };
    }
    if says(&["result", "strength", "hardness"]) {
        return Named::Is(Field::Result, None);
    }
    if says(&["temperature"]) {
        return Named::Is(Field::Temperature, None);
    }
    Named::Nothing
}

fn passed(text: &str) -> Result<Option<f64>, String> {
    match text.to_lowercase().as_str() {
        "" => Ok(None),
        "pass" | "passed" | "p" | "yes" | "1" => Ok(Some(1.0)),
        "fail" | "failed" | "f" | "no" | "0" => Ok(Some(0.0)),
        _ => Err(format!(
            "'{text}' is neither pass nor fail; type pass or fail"
        )),
    }
}

/// What became of a wish.
#[derive(Debug, PartialEq)]
pub(super) enum Outcome {
    Nothing,
    /// The parts are changed; what that is called.
    Named(String),
    /// Row, column, what was typed and why not.
    RefuseCell(usize, usize, String, String),
    Refuse(String),
}

/// The parts as the wishes before left them.
pub(super) struct Rows {
    pub(super) units: Units,
    pub(super) held: Option<f64>,
    pub(super) varied: Varied,
    pub(super) parts: Vec<Trial>,
}

impl Rows {
    pub(super) fn take(&mut self, action: GridAction) -> Outcome {
        match action {
            GridAction::Type { row, column, text } => self.typed(row, column, text),
            GridAction::Paste { row, column, cells } => self
                .paste(row, column, &cells)
                .unwrap_or_else(Outcome::Refuse),
            GridAction::Clear { rows, columns } => {
                self.clear(rows, columns).unwrap_or_else(Outcome::Refuse)
            }
            GridAction::DeleteRows(rows) => {
                let rows = rows.start.min(self.parts.len())..rows.end.min(self.parts.len());
                let count = rows.len();
                self.parts.drain(rows);
                match count {
                    0 => Outcome::Nothing,
                    1 => Outcome::Named("delete 1 part".into()),
                    n => Outcome::Named(format!("delete {n} parts")),
                }
            }
            GridAction::InsertRow(row) => {
                let row = row.min(self.parts.len());
                let part = self.fresh(row);
                self.parts.insert(row, part);
                Outcome::Named("insert a part".into())
            }
        }
    }

    /// A part that is not judged yet, cured as the one above it.
    fn fresh(&self, row: usize) -> Trial {
        let above = row.checked_sub(1).and_then(|i| self.parts.get(i));
        let (irradiance, exposure) = match (above, self.varied, self.held) {
            (Some(above), ..) => (above.irradiance, above.exposure),
            (None, Varied::Irradiance, held) => (100.0, held.unwrap_or(10.0)),
            (None, Varied::Time, held) => (held.unwrap_or(100.0), 10.0),
        };
        Trial {
            result: None,
            ..Trial::new(irradiance, exposure, 0.0)
        }
    }

    fn typed(&mut self, row: usize, column: usize, text: String) -> Outcome {
        let Some(&field) = Field::ALL.get(column) else {
            return Outcome::Nothing;
        };
        let row = row.min(self.parts.len());
        let mut part = match self.parts.get(row) {
            Some(part) => part.clone(),
            None if text.trim().is_empty() => return Outcome::Nothing,
            None => self.fresh(row),
        };
        if let Err(why) = self.units.write(&mut part, field, &text) {
            return Outcome::RefuseCell(row, column, text, why);
        }
        match self.parts.get_mut(row) {
            Some(old) if *old == part => return Outcome::Nothing,
            Some(old) => *old = part,
            None => self.parts.push(part),
        }
        let name = field.title().to_lowercase();
        Outcome::Named(format!("type {name} of part {}", row + 1))
    }

    /// All or nothing: an error says row, column and what was expected.
    fn paste(
        &mut self,
        row: usize,
        column: usize,
        cells: &[Vec<String>],
    ) -> Result<Outcome, String> {
        let before = self.parts.clone();
        let (columns, lines) = match Columns::under_header(cells)? {
            Some(columns) => (columns, &cells[1..]),
            None => (Columns::from(column), cells),
        };
        let headed = cells.len() - lines.len();
        let mut count = 0;
        for (down, line) in lines.iter().enumerate() {
            let row = (row + down).min(self.parts.len());
            let is_blank = line.iter().all(|text| text.trim().is_empty());
            if is_blank && row == self.parts.len() {
                continue;
            }
            let mut part = match self.parts.get(row) {
                Some(part) => part.clone(),
                None => self.fresh(row),
            };
            let spare = &line[line.len().min(columns.0.len())..];
            if spare.iter().any(|text| !text.trim().is_empty()) {
                self.parts = before;
                return Err(format!(
                    "Nothing was pasted. Row {} of the block has {} cells, more than there are columns from here on; begin further left or copy fewer columns",
                    headed + down + 1,
                    line.len()
                ));
            }
            for (&(field, size), text) in columns.0.iter().zip(line) {
                let Some(field) = field else { continue };
                if let Err(why) = self.units.write_in(&mut part, field, text, size) {
                    self.parts = before;
                    return Err(format!(
                        "Nothing was pasted. Row {}, {}: {why}",
                        row + 1,
                        field.title()
                    ));
                }
                count += 1;
            }
            match self.parts.get_mut(row) {
                Some(old) => *old = part,
                None => self.parts.push(part),
            }
        }
        Ok(self.named(&before, "paste", count))
    }

    fn clear(&mut self, rows: Range<usize>, columns: Range<usize>) -> Result<Outcome, String> {
        let before = self.parts.clone();
        let mut count = 0;
        for row in rows {
            let Some(mut part) = self.parts.get(row).cloned() else {
                continue;
            };
            for &field in Field::ALL.get(columns.clone()).unwrap_or_default() {
                if let Err(why) = self.units.write(&mut part, field, "") {
                    self.parts = before;
                    return Err(format!(
                        "Nothing was cleared. Row {}, {}: {why}",
                        row + 1,
                        field.title()
                    ));
                }
                count += 1;
            }
            self.parts[row] = part;
        }
        Ok(self.named(&before, "clear", count))
    }

    fn named(&self, before: &[Trial], verb: &str, cells: usize) -> Outcome {
        if self.parts == before {
            return Outcome::Nothing;
        }
        let plural = if cells == 1 { "" } else { "s" };
        Outcome::Named(format!("{verb} {cells} cell{plural}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows() -> Rows {
        Rows {
            units: Units {
                irradiance: IrradianceUnit::MilliwattPerCm2,
                better: Better::Larger,
            },
            held: None,
            varied: Varied::Irradiance,
            parts: Vec::new(),
        }
    }

    fn paste(rows: &mut Rows, text: &str) -> Outcome {
        let cells = crate::files::parse_block(text);
        let (row, column) = (0, 0);
        rows.take(GridAction::Paste { row, column, cells })
    }

    #[test]
    fn columns_under_a_header_may_come_in_any_order_and_unit() {
        let mut rows = rows();
        let text = "Note\tTime (ms)\tBond strength (MPa)\tIrradiance [W/m²]\tBatch\nok\t8000\t16.7\t500\t7";
        assert_eq!(
            paste(&mut rows, text),
            Outcome::Named("paste 4 cells".into())
        );
        let part = &rows.parts[0];
        assert_eq!(
            (part.irradiance, part.exposure, part.result),
            (50.0, 8.0, Some(16.7))
        );
        assert_eq!(part.note, "ok");
    }

    #[test]
    fn a_header_without_units_says_where_and_without_a_header_the_columns_count() {
        let mut rows = rows();
        let said = paste(&mut rows, "exposure_s\tirradiance\n8\t50");
        assert!(
            matches!(&said, Outcome::Refuse(why) if why.contains("Row 1, column 2: 'irradiance' does not say a known unit")),
            "{said:?}"
        );
        assert!(rows.parts.is_empty());
        paste(&mut rows, "50\t8\t16.7");
        assert_eq!(rows.parts[0].result, Some(16.7));
    }
}
