//! Reads cell by cell and gathers what is wrong.

use super::raw::Raw;
use super::sheet::Sheet;
use super::table::{Cell, Row};
use super::understanding::DecimalMark;
use super::{FileError, workbook};
use crate::station::Reading;
use crate::units::parse_number;

/// Readings that a file may have.
const MOST_ROWS: usize = 1_500_000;

/// Faults after which a file is read no further.
const MOST_FAULTS: usize = 1_000;

/// Reads cell by cell and gathers what is wrong.
pub(super) struct Reader<'a> {
    pub raw: &'a Raw,
    /// The one that is being read.
    pub sheet: &'a Sheet,
    pub decimal: Option<DecimalMark>,
    /// As the first number with a decimal mark has it.
    pub decimal_comma: Option<bool>,
    pub faults: Vec<FileError>,
}

impl<'a> Reader<'a> {
    pub fn new(raw: &'a Raw, sheet: &'a Sheet, decimal: Option<DecimalMark>) -> Self {
        Self {
            raw,
            sheet,
            decimal,
            decimal_comma: None,
            faults: Vec::new(),
        }
    }

    /// Notes a fault of a row at a column as cells count it.
    pub fn wrong(&mut self, row: &Row, column: usize, what: String, mend: &str) {
        let what = match self.raw.how_cut() {
            Some(_) => what,
            None => {
                let cell = workbook::cell_name(row.line, column);
                if self.raw.sheets.len() > 1 {
                    format!("sheet '{}', cell {cell}: {what}", self.sheet.name)
                } else {
                    format!("cell {cell}: {what}")
                }
            }
        };
        self.faults
            .push(FileError::new(what, mend).at(row.line, column));
    }

    /// Whether no more is to be read: there are too many readings, which is a fault, or too many faults.
    pub fn is_full(&mut self, readings: &[Reading]) -> bool {
        if readings.len() >= MOST_ROWS {
            self.faults = vec![FileError::new(
                format!("the file has more than {MOST_ROWS} readings"),
                "split it into several files",
            )];
            return true;
        }
        if self.faults.len() >= MOST_FAULTS {
            self.faults.push(FileError::new(
                "there is more that can't be read",
                "mend these first",
            ));
            return true;
        }
        false
    }

    /// Notes what can't be about a reading.
    pub fn sound(&mut self, row: &Row, column: usize, reading: &Reading) {
        if let Err((what, mend)) = reading.sound() {
            self.wrong(row, column, what, &mend);
        }
    }

    pub fn has_commas(&self) -> bool {
        self.raw.how_cut().is_some_and(|cut| cut.separator == ',')
    }

    /// A number in the program's unit; `None` when it is wrong and said so. `name` is what it is called.
    pub fn number(&mut self, row: &Row, cell: &Cell, size: f64, name: &str) -> Option<f64> {
        if let Some(number) = cell.number {
            return Some(number * size);
        }
        let read = (self.decimal(&cell.text))
            .and_then(|()| parse_number(&cell.text).map_err(|e| (e.to_string(), e.expected)));
        match read {
            Ok(value) => Some(value * size),
            Err((what, mend)) => {
                // the number's own sentence ends in what to do
                let what = what.strip_suffix(mend).unwrap_or(&what);
                let what = format!("'{name}': {}", what.trim_end_matches([';', ' ']));
                self.wrong(row, cell.column, what, mend);
                None
            }
        }
    }

    /// Whether the decimal mark is the one of the numbers before: `1,234` and `1.234` in one file
    /// could be two numbers or one.
    fn decimal(&mut self, text: &str) -> Result<(), (String, &'static str)> {
        let comma = text.contains(',');
        if !comma && !text.contains('.') {
            return Ok(());
        }
        let said: String = text.trim().chars().take(40).collect();
        if let Some(mark) = self.decimal {
            return if comma == (mark == DecimalMark::Comma) {
                Ok(())
            } else {
                let mark = if comma { "comma" } else { "point" };
                Err((
                    format!("'{said}' has a {mark}"),
                    "choose the other decimal mark, or use one in the whole file",
                ))
            };
        }
        if comma && self.has_commas() {
            return Err((
                format!("'{said}' has a comma"),
                "use decimal points, or separate the columns by semicolons",
            ));
        }
        if comma != *self.decimal_comma.get_or_insert(comma) {
            let (mark, others) = if comma {
                ("comma", "points")
            } else {
                ("point", "commas")
            };
            return Err((
                format!("'{said}' has a {mark}, the numbers before have {others}"),
                "use one decimal mark in the whole file",
            ));
        }
        Ok(())
    }
}
