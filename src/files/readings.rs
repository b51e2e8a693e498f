//! Readings files: rows of readings under a header that names the columns and their units.

use super::headers::{Columns, Field};
use super::table::{self, Cell, Row};
use super::{FileError, text};
use crate::station::Reading;
use crate::units::parse_number;

/// Rows that a readings file may have.
const MOST_ROWS: usize = 1_500_000;

/// Characters that one cell may have.
const LONGEST_CELL: usize = 10_000;

/// What a readings file holds, and how it was understood: for a preview before it is taken over.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// The readings in the order of the rows.
    pub readings: Vec<Reading>,
    /// What stands between cells: comma, semicolon or tab.
    pub separator: char,
    /// Whether numbers have a decimal comma.
    pub decimal_comma: bool,
    /// Headers of columns that nothing was taken from.
    pub ignored: Vec<String>,
}

/// Reads the bytes of a readings file. Header names decide what a column is and in which unit:
/// `x_mm`, `y [in]`, `Height (cm)`, `Irradiance (mW/cm²)`, and if present `position`, `repeat`,
/// `minute`, `excluded`, `saturated`, `note`. `default_height`, mm, is taken where the file has no
/// column for the height. An empty irradiance is a reading that was planned and not read yet.
///
/// # Errors
/// Everything that is wrong, at least one, in the order of the rows; nothing is read by halves.
pub fn parse_csv(bytes: &[u8], default_height: Option<f64>) -> Result<Table, Vec<FileError>> {
    let text = text::utf8(bytes).map_err(|e| vec![e])?;
    let separator = separator(text);
    let (rows, unclosed) = table::rows(text, separator);
    if let Some(at) = unclosed {
        let error = FileError::new(
            "a quote opens here and is never closed",
            "close it or take it out",
        );
        return Err(vec![error.at(at.line, at.column)]);
    }
    let mut rows = rows.into_iter().filter(|row| !is_blank(row));
    let header = rows
        .by_ref()
        .find(|row| !is_separator_note(row))
        .ok_or_else(|| {
            vec![FileError::new(
                "the file is empty",
                "have a header such as x_mm,y_mm,height_mm,irradiance_mw_cm2 and rows under it",
            )]
        })?;
    let columns = Columns::of(&header, default_height)?;
    let mut reader = Reader {
        columns: &columns,
        headers: header.cells.len(),
        separator,
        default_height,
        decimal_comma: None,
        wrong: Vec::new(),
    };
    let mut readings = Vec::new();
    for row in rows {
        if readings.len() >= MOST_ROWS {
            let error = FileError::new(
                format!("the file has more than {MOST_ROWS} rows"),
                "split it into several files",
            );
            return Err(vec![error.at(row.line, 1)]);
        }
        readings.push(reader.reading(&row));
    }
    if readings.is_empty() {
        let error = FileError::new("there is no row under the header", "add the readings");
        return Err(vec![error.at(header.line, 1)]);
    }
    if !reader.wrong.is_empty() {
        return Err(reader.wrong);
    }
    Ok(Table {
        readings,
        separator,
        decimal_comma: reader.decimal_comma.unwrap_or(false),
        ignored: columns.ignored,
    })
}

/// The header tells: a tab or a semicolon there is a separator.
fn separator(text: &str) -> char {
    let header = text
        .split(['\n', '\r'])
        .find(|line| !line.trim().is_empty())
        .unwrap_or("");
    match header.strip_prefix("sep=").and_then(|s| s.chars().next()) {
        Some(said) if matches!(said, ',' | ';' | '\t') => said,
        _ if header.contains('\t') => '\t',
        _ if header.contains(';') => ';',
        _ => ',',
    }
}

fn is_blank(row: &Row) -> bool {
    row.cells.iter().all(|cell| cell.text.trim().is_empty())
}

/// Some spreadsheet programs write `sep=;` above the header.
fn is_separator_note(row: &Row) -> bool {
    row.cells[0].text.starts_with("sep=")
}

/// Reads row by row and gathers what is wrong.
struct Reader<'a> {
    columns: &'a Columns,
    headers: usize,
    separator: char,
    default_height: Option<f64>,
    /// As the first number with a decimal mark has it.
    decimal_comma: Option<bool>,
    wrong: Vec<FileError>,
}

impl Reader<'_> {
    /// The reading of a row. Where something is wrong it holds a stand-in and is never handed out.
    fn reading(&mut self, row: &Row) -> Reading {
        if let Some(cell) = row.cells.iter().find(|c| c.text.len() > LONGEST_CELL) {
            self.wrong(
                row,
                cell.column,
                "the cell is too long".into(),
                "check the quotes before it",
            );
        }
        let spare = row.cells.iter().skip(self.headers);
        if let Some(cell) = spare.into_iter().find(|c| !c.text.trim().is_empty()) {
            let mend = if self.separator == ',' {
                "with decimal commas separate the columns by semicolons"
            } else {
                "give each column a header"
            };
            let what = format!(
                "the row has {} cells, the header {}",
                row.cells.len(),
                self.headers
            );
            self.wrong(row, cell.column, what, mend);
        }
        let (x, y) = (self.needed(row, Field::X), self.needed(row, Field::Y));
        let height = match self.columns.get(Field::Height) {
            Some(_) => self.needed(row, Field::Height),
            None => self.default_height.unwrap_or_default(),
        };
        let reading = Reading {
            position: self.words(row, Field::Position),
            x,
            y,
            height,
            irradiance: self.number(row, Field::Irradiance),
            repeat: self.repeat(row),
            minute: self.number(row, Field::Minute),
            excluded: excluded(self.words(row, Field::Excluded)),
            saturated: self.yes_or_no(row, Field::Saturated),
            note: self.words(row, Field::Note),
        };
        if let Err(unsound) = reading.sound() {
            let (what, mend) = unsound;
            self.wrong(row, 1, what, &mend);
        }
        reading
    }

    fn wrong(&mut self, row: &Row, column: usize, what: String, mend: &str) {
        self.wrong
            .push(FileError::new(what, mend).at(row.line, column));
    }

    /// The cell of a field, if it has a column and holds something.
    fn cell<'r>(&self, row: &'r Row, field: Field) -> Option<&'r Cell> {
        let cell = row.cells.get(self.columns.get(field)?.index)?;
        (!cell.text.trim().is_empty()).then_some(cell)
    }

    fn words(&self, row: &Row, field: Field) -> String {
        self.cell(row, field)
            .map(|cell| unguarded(cell.text.trim()).to_owned())
            .unwrap_or_default()
    }

    /// A number that must be there.
    fn needed(&mut self, row: &Row, field: Field) -> f64 {
        let count = self.wrong.len();
        let number = self.number(row, field);
        if number.is_none() && self.wrong.len() == count {
            let header = self.columns.header(field).to_owned();
            let column = self
                .columns
                .get(field)
                .and_then(|c| row.cells.get(c.index))
                .or(row.cells.last())
                .map_or(1, |cell| cell.column);
            self.wrong(
                row,
                column,
                format!("'{header}' is empty"),
                "type a number such as 12.5",
            );
        }
        number.unwrap_or_default()
    }

    /// A number in the program's unit; `None` when the cell is empty, or wrong and said so.
    fn number(&mut self, row: &Row, field: Field) -> Option<f64> {
        let cell = self.cell(row, field)?;
        let column = self.columns.get(field)?;
        match self
            .decimal(&cell.text)
            .and_then(|()| parse_number(&cell.text).map_err(|e| (e.to_string(), e.expected)))
        {
            Ok(value) => Some(value * column.factor),
            Err((what, mend)) => {
                // the number's own sentence ends in what to do
                let what = what.strip_suffix(mend).unwrap_or(&what).to_owned();
                let what = what.trim_end_matches([';', ' ']);
                let what = format!("'{}': {what}", self.columns.header(field));
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
        if comma && self.separator == ',' {
            return Err((
                format!("'{}' has a comma", text.trim()),
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
                format!(
                    "'{}' has a {mark}, the numbers before have {others}",
                    text.trim()
                ),
                "use one decimal mark in the whole file",
            ));
        }
        Ok(())
    }

    fn repeat(&mut self, row: &Row) -> u32 {
        let Some(cell) = self.cell(row, Field::Repeat) else {
            return 1;
        };
        match parse_number(&cell.text) {
            Ok(n) if n >= 1.0 && n.fract() == 0.0 && n <= f64::from(u32::MAX) => n as u32,
            _ => {
                let header = self.columns.header(Field::Repeat);
                let what = format!("'{header}': '{}' is not a repeat", cell.text.trim());
                self.wrong(row, cell.column, what, "type a whole number from 1 on");
                1
            }
        }
    }

    fn yes_or_no(&mut self, row: &Row, field: Field) -> bool {
        let Some(cell) = self.cell(row, field) else {
            return false;
        };
        match said_yes(&cell.text) {
            Some(yes) => yes,
            None => {
                let what = format!(
                    "'{}': '{}' is neither yes nor no",
                    self.columns.header(field),
                    cell.text.trim()
                );
                self.wrong(row, cell.column, what, "type yes or no, or leave it empty");
                false
            }
        }
    }
}

/// A text without the apostrophe that keeps spreadsheets from taking it for a formula.
fn unguarded(text: &str) -> &str {
    text.strip_prefix('\'')
        .filter(|rest| {
            rest.trim_start_matches('\'')
                .starts_with(['=', '+', '-', '@', '\t', '\r'])
        })
        .unwrap_or(text)
}

fn said_yes(text: &str) -> Option<bool> {
    match text.trim().to_lowercase().as_str() {
        "yes" | "true" | "1" | "x" => Some(true),
        "" | "no" | "false" | "0" => Some(false),
        _ => None,
    }
}

/// Anything but yes or no is the reason itself.
fn excluded(text: String) -> Option<String> {
    match said_yes(&text) {
        Some(true) => Some("excluded in the file".to_owned()),
        Some(false) => None,
        None => Some(text),
    }
}
