//! Readings as a text that this program reads back to the same values, and what a cell of such a text is guarded by.

use super::headers::Field;
use crate::station::Reading;

/// The columns, in their order.
const COLUMNS: [Field; 10] = [
    Field::Position,
    Field::X,
    Field::Y,
    Field::Height,
    Field::Irradiance,
    Field::Repeat,
    Field::Minute,
    Field::Excluded,
    Field::Saturated,
    Field::Note,
];

/// Readings as CSV, one a row under a header, in mm, mW/cm² and minutes: every number with all its digits. A text that
/// begins or ends in blanks comes back without them.
pub fn readings_csv(readings: &[Reading]) -> String {
    let mut text = COLUMNS.map(Field::header).join(",");
    text.push('\n');
    for reading in readings {
        let cells = COLUMNS.map(|column| match column {
            Field::X => number(reading.x),
            Field::Y => number(reading.y),
            Field::Height => number(reading.height),
            Field::Irradiance => reading.irradiance.map(number).unwrap_or_default(),
            Field::Position => csv_cell(reading.position.trim()),
            Field::Repeat => reading.repeat.to_string(),
            Field::Minute => reading.minute.map(number).unwrap_or_default(),
            Field::Excluded => reading.excluded.as_deref().map(reason).unwrap_or_default(),
            Field::Saturated => if reading.saturated { "yes" } else { "" }.to_owned(),
            Field::Note => csv_cell(reading.note.trim()),
        });
        text += &cells.join(",");
        text.push('\n');
    }
    text
}

/// The shortest text that reads as the same number.
fn number(value: f64) -> String {
    value.to_string()
}

/// Why a reading does not count. A reason that would be taken for a plain yes or no has an apostrophe before it.
pub(super) fn reason(text: &str) -> String {
    let text = text.trim();
    let is_plain = said_yes(text.trim_start_matches('\'')).is_some();
    csv_cell(&if is_plain {
        format!("'{text}")
    } else {
        text.to_owned()
    })
}

/// The reason in a cell, without what guards it; `None`: the reading counts.
pub(super) fn excluded(text: String) -> Option<String> {
    let guarded = text.strip_prefix('\'');
    if let Some(reason) = guarded
        && said_yes(reason.trim_start_matches('\'')).is_some()
    {
        return Some(reason.to_owned());
    }
    match said_yes(&text) {
        Some(true) => Some("excluded in the file".to_owned()),
        Some(false) => None,
        None => Some(text),
    }
}

/// What a cell says that is to say yes or no; nothing is no.
pub(super) fn said_yes(text: &str) -> Option<bool> {
    match text.trim().to_lowercase().as_str() {
        "yes" | "true" | "1" | "x" => Some(true),
        "" | "no" | "false" | "0" => Some(false),
        _ => None,
    }
}

/// A text that a spreadsheet takes as a text: quoted where it has to be, and with an apostrophe before
/// what would be taken for a formula. The reader of readings files takes that apostrophe off again; so
/// that it takes no other, a text that looks guarded already gets one more.
pub fn csv_cell(text: &str) -> String {
    let guarded = if is_formula(text.trim_start_matches('\'')) {
        format!("'{text}")
    } else {
        text.to_owned()
    };
    if guarded.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", guarded.replace('"', "\"\""))
    } else {
        guarded
    }
}

/// A text without the apostrophe that keeps spreadsheets from taking it for a formula.
pub(super) fn unguarded(text: &str) -> &str {
    text.strip_prefix('\'')
        .filter(|rest| is_formula(rest.trim_start_matches('\'')))
        .unwrap_or(text)
}

fn is_formula(text: &str) -> bool {
    text.starts_with(['=', '+', '-', '@', '\t', '\r'])
}
