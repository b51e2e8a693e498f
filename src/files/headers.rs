//! What the headers of a readings file mean.

use super::FileError;
use super::table::Row;
use crate::units::MM_PER_INCH;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Field {
    X,
    Y,
    Height,
    Irradiance,
    Position,
    Repeat,
    Minute,
    Excluded,
    Saturated,
    Note,
}

/// A column of a file.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Column {
    field: Field,
    /// As it stands in the file.
    header: String,
    /// Which one, from 0.
    pub index: usize,
    /// From the column's unit to the program's.
    pub factor: f64,
}

/// The columns of a file.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Columns {
    known: Vec<Column>,
    /// Headers that mean nothing here.
    pub ignored: Vec<String>,
}

/// What a header says.
enum Meaning {
    Column(Field, f64),
    /// A quantity in no unit, or in one that is not known.
    NoUnit(&'static str),
    Nothing,
}

const LENGTHS: [(&str, f64); 4] = [
    ("mm", 1.0),
    ("cm", 10.0),
    ("in", MM_PER_INCH),
    ("inch", MM_PER_INCH),
];

/// 1 mW/cm² = 10 W/m² (SI prefixes).
const IRRADIANCES: [(&str, f64); 3] = [("mwcm2", 1.0), ("wcm2", 1000.0), ("wm2", 0.1)];

/// Letters and digits of a header, lower case: blanks, underscores, brackets, slashes don't matter.
fn plain(header: &str) -> String {
    header
        .to_lowercase()
        .chars()
        .map(|c| if c == '²' { '2' } else { c })
        .filter(|c| c.is_alphanumeric())
        .collect()
}

fn meaning(header: &str) -> Meaning {
    use Field::{Excluded, Height, Irradiance, Minute, Note, Position, Repeat, Saturated, X, Y};
    let plain = plain(header);
    let field = match plain.as_str() {
        "position" | "probeposition" => Some(Position),
        "repeat" => Some(Repeat),
        "minute" | "minutes" | "minutemin" => Some(Minute),
        "excluded" => Some(Excluded),
        "saturated" => Some(Saturated),
        "note" | "notes" => Some(Note),
        _ => None,
    };
    if let Some(field) = field {
        return Meaning::Column(field, 1.0);
    }
    let with_unit = |name: &str, field, units: &[(&str, f64)], example| {
        let unit = plain.strip_prefix(name)?;
        let unit = unit.strip_prefix("per").unwrap_or(unit);
        match units.iter().find(|(known, _)| *known == unit) {
            Some(&(_, factor)) => Some(Meaning::Column(field, factor)),
            // a longer word such as `year` is another quantity
            None if unit.is_empty() || name.len() > 1 => Some(Meaning::NoUnit(example)),
            None => None,
        }
    };
    with_unit("x", X, &LENGTHS, "x_mm, x_cm or x_in")
        .or_else(|| with_unit("y", Y, &LENGTHS, "y_mm, y_cm or y_in"))
        .or_else(|| with_unit("z", Height, &LENGTHS, "height_mm, height_cm or height_in"))
        .or_else(|| {
            let example = "height_mm, height_cm or height_in";
            with_unit("height", Height, &LENGTHS, example)
        })
        .or_else(|| {
            let example = "irradiance_mw_cm2, irradiance_w_cm2 or irradiance_w_m2";
            with_unit("irradiance", Irradiance, &IRRADIANCES, example)
        })
        .unwrap_or(Meaning::Nothing)
}

/// The headers of a file in a sentence.
fn found(names: &[&str]) -> String {
    /// So many are named, each with so many letters.
    const NAMED: usize = 12;
    const LETTERS: usize = 40;
    let named = names.iter().take(NAMED).map(|name| {
        let short: String = name.chars().take(LETTERS).collect();
        format!("'{short}'")
    });
    let mut text = named.collect::<Vec<_>>().join(", ");
    if names.len() > NAMED {
        text += &format!(" and {} more", names.len() - NAMED);
    }
    text
}

impl Columns {
    /// What the header row says.
    ///
    /// # Errors
    /// Columns without a unit, named twice, or missing.
    pub fn of(row: &Row, default_height: Option<f64>) -> Result<Self, Vec<FileError>> {
        let mut columns = Self {
            known: Vec::new(),
            ignored: Vec::new(),
        };
        let mut wrong = Vec::new();
        for (index, cell) in row.cells.iter().enumerate() {
            let header = cell.text.trim();
            match meaning(header) {
                Meaning::Column(field, _) if columns.get(field).is_some() => wrong.push(
                    FileError::new(
                        format!("'{header}' and '{}' say the same", columns.header(field)),
                        "keep one of the two columns",
                    )
                    .at(row.line, cell.column),
                ),
                Meaning::Column(field, factor) => columns.known.push(Column {
                    field,
                    header: header.to_owned(),
                    index,
                    factor,
                }),
                Meaning::NoUnit(example) => wrong.push(
                    FileError::new(
                        format!("'{header}' does not say a known unit"),
                        format!("name the column {example}"),
                    )
                    .at(row.line, cell.column),
                ),
                Meaning::Nothing if header.is_empty() => {}
                Meaning::Nothing => columns.ignored.push(header.to_owned()),
            }
        }
        if wrong.is_empty() {
            let mut missing = vec![
                (Field::X, "x_mm"),
                (Field::Y, "y_mm"),
                (Field::Irradiance, "irradiance_mw_cm2"),
            ];
            if default_height.is_none() {
                missing.insert(2, (Field::Height, "height_mm"));
            }
            missing.retain(|(field, _)| columns.get(*field).is_none());
            let names: Vec<&str> = (row.cells.iter().map(|cell| cell.text.trim()))
                .filter(|name| !name.is_empty())
                .collect();
            let found = found(&names);
            wrong.extend(missing.into_iter().map(|(field, name)| {
                let mend = if field == Field::Height {
                    "add the column, or import it by the command line with --reading-height and one height for all"
                } else {
                    "name the columns in the first row, such as x_mm,y_mm,height_mm,irradiance_mw_cm2"
                };
                FileError::new(format!("there is no column {name}, only {found}"), mend).at(row.line, 1)
            }));
        }
        if wrong.is_empty() {
            Ok(columns)
        } else {
            Err(wrong)
        }
    }

    /// The column of a field.
    pub fn get(&self, field: Field) -> Option<&Column> {
        self.known.iter().find(|column| column.field == field)
    }

    /// What the file calls a field; empty when it has no column.
    pub fn header(&self, field: Field) -> &str {
        self.get(field).map_or("", |column| &column.header)
    }
}
