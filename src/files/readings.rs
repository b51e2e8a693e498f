//! Readings files: rows of readings under a header that names the columns and their units, or blocks of
//! readings, as an [`Understanding`] says.

use super::csv::{excluded, said_yes, unguarded};
use super::headers::{Field, Use, in_words};
use super::raw::{Cut, Raw};
use super::reader::Reader;
use super::table::{Cell, Row};
use super::understanding::{DecimalMark, Layout, List, Understanding};
use super::{FileError, blocks};
use crate::station::Reading;
use crate::units::parse_number;

/// Characters that one cell may have.
const LONGEST_CELL: usize = 10_000;

/// What a readings file holds, and how it was understood.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// The readings in the order of the file.
    pub readings: Vec<Reading>,
    /// How a text was cut into cells; `None` for a workbook.
    pub cut: Option<Cut>,
    /// Whether numbers have a decimal comma.
    pub decimal_comma: bool,
    /// Headers of columns that nothing was taken from.
    pub ignored: Vec<String>,
}

/// Reads the bytes of a readings file: CSV, TSV or XLSX, whichever they are, as they are understood by
/// themselves. Header names decide what a column is and in which unit: `x_mm`, `y [in]`, `Height (cm)`,
/// `Irradiance (mW/cm²)`, and if present `position`, `repeat`, `minute`, `excluded`, `saturated`, `note`.
/// `height`, mm, is taken where the file says none. An empty irradiance is a reading that was planned and
/// not read yet.
///
/// # Errors
/// Everything that is wrong, at least one, in the order of the rows; nothing is read by halves.
pub fn parse_readings(bytes: Vec<u8>, height: Option<f64>) -> Result<Table, Vec<FileError>> {
    let raw = Raw::new(bytes).map_err(|error| vec![error])?;
    Understanding::guess(&raw, height).read(&raw)
}

/// The readings of a block under its header, each with its line. Where no column says it, they have 0 for a place and 1 for
/// the repeat.
///
/// # Errors
/// As [`Understanding::read`].
pub(super) fn under_header(
    raw: &Raw,
    list: &List,
) -> Result<Vec<(usize, Reading)>, Vec<FileError>> {
    let Some(sheet) = raw.sheets.get(list.sheet) else {
        return Err(vec![blocks::none()]);
    };
    let mut reader = Reader::new(raw, sheet, None);
    let header = list.header.and_then(|header| sheet.rows.get(header));
    let columns = Columns { list, header };
    reader.units_known(&columns);
    let rows = sheet.rows.iter().skip(list.first);
    let mut readings = Vec::new();
    if reader.faults.is_empty() {
        readings.extend(rows.map(|row| (row.line, reader.reading(row, &columns))));
    }
    if reader.faults.is_empty() {
        Ok(readings)
    } else {
        Err(reader.faults)
    }
}

impl Understanding {
    /// The readings of a file that is understood so. An empty irradiance is a reading that was planned and
    /// not read yet; an empty cell of a block is none.
    ///
    /// # Errors
    /// Everything that is wrong, at least one, in the order of the rows, up to a thousand; nothing is read
    /// by halves.
    pub fn read(&self, raw: &Raw) -> Result<Table, Vec<FileError>> {
        let Some(sheet) = raw.sheets.first() else {
            return Err(vec![blocks::none()]);
        };
        let mut reader = Reader::new(raw, sheet, self.decimal);
        let (readings, ignored) = match &self.layout {
            Layout::List(list) => reader.list(list)?,
            Layout::Blocks(found) if found.blocks.is_empty() => return Err(vec![blocks::none()]),
            Layout::Blocks(found) => (blocks::read(raw, found, &mut reader), Vec::new()),
        };
        if !reader.faults.is_empty() {
            return Err(reader.faults);
        }
        if readings.is_empty() {
            let what = "there is no reading in what was understood";
            return Err(vec![FileError::new(what, "choose where they are")]);
        }
        let decimal_comma = match self.decimal {
            Some(mark) => mark == DecimalMark::Comma,
            None => reader.decimal_comma.unwrap_or(false),
        };
        Ok(Table {
            readings,
            cut: raw.how_cut(),
            decimal_comma,
            ignored,
        })
    }
}

/// The columns of a list, found once.
struct Columns<'a> {
    list: &'a List,
    header: Option<&'a Row>,
}

impl Columns<'_> {
    /// A row that holds nothing, in place of a header.
    fn nothing(&self) -> Row {
        Row {
            line: 1,
            cells: Vec::new(),
        }
    }

    /// What the file calls a field.
    fn name(&self, field: Field) -> &str {
        let cell = (self.list.column(field))
            .and_then(|(column, _)| self.header?.cells.get(column))
            .map(|cell| cell.text.trim());
        cell.filter(|name| !name.is_empty())
            .unwrap_or(field.header())
    }

    /// The cell of a field, if it has a column and holds something; and the size of its unit.
    fn cell<'r>(&self, row: &'r Row, field: Field) -> Option<(&'r Cell, f64)> {
        let (column, size) = self.list.column(field)?;
        let cell = row.cells.get(column)?;
        (!cell.is_blank()).then_some((cell, size))
    }

    fn words(&self, row: &Row, field: Field) -> String {
        self.cell(row, field)
            .map(|(cell, _)| unguarded(cell.text.trim()).to_owned())
            .unwrap_or_default()
    }
}

impl Reader<'_> {
    /// The readings of a list, and the headers of columns that are not used.
    fn list(&mut self, list: &List) -> Result<(Vec<Reading>, Vec<String>), Vec<FileError>> {
        let Some(sheet) = self.raw.sheets.get(list.sheet) else {
            return Err(vec![blocks::none()]);
        };
        self.sheet = sheet;
        let header = list.header.and_then(|header| sheet.rows.get(header));
        let columns = Columns { list, header };
        self.units_known(&columns);
        self.all_there(&columns);
        if !self.faults.is_empty() {
            return Err(std::mem::take(&mut self.faults));
        }
        let mut readings = Vec::new();
        for row in sheet.rows.iter().skip(list.first) {
            if self.is_full(&readings) {
                break;
            }
            readings.push(self.reading(row, &columns));
        }
        if readings.is_empty() {
            let error = FileError::new("there is no row under the header", "add the readings");
            return Err(vec![match header {
                Some(header) => error.at(header.line, 1),
                None => error,
            }]);
        }
        let unused = |(i, cell): (usize, &Cell)| {
            let is_unused = matches!(list.columns.get(i), None | Some(Use::Nothing));
            (is_unused && !cell.is_blank()).then(|| cell.text.trim().to_owned())
        };
        let cells = header.map_or(&[][..], |row| &row.cells);
        Ok((
            readings,
            cells.iter().enumerate().filter_map(unused).collect(),
        ))
    }

    /// Notes columns without a unit, and used twice.
    fn units_known(&mut self, columns: &Columns<'_>) {
        let nothing = columns.nothing();
        let header = columns.header.unwrap_or(&nothing);
        let named = |i: usize| header.cells.get(i).map_or("", |cell| cell.text.trim());
        for (i, column) in columns.list.columns.iter().enumerate() {
            let at = header.cells.get(i).map_or(i + 1, |cell| cell.column);
            match *column {
                Use::Nothing => {}
                Use::NoUnit(_) => {
                    let what = format!("'{}' does not say a known unit", named(i));
                    let mend = format!("name the column {}", column.examples());
                    self.wrong(header, at, what, &mend);
                }
                Use::Is(field, _) => {
                    let first = columns.list.column(field).map_or(i, |(first, _)| first);
                    if first < i {
                        let what = format!("'{}' and '{}' say the same", named(i), named(first));
                        self.wrong(header, at, what, "keep one of the two columns");
                    }
                }
            }
        }
    }

    /// Notes columns that are missing, where all others are known.
    fn all_there(&mut self, columns: &Columns<'_>) {
        if !self.faults.is_empty() {
            return;
        }
        let nothing = columns.nothing();
        let header = columns.header.unwrap_or(&nothing);
        let names: Vec<&str> = (header.cells.iter().map(|cell| cell.text.trim()))
            .filter(|name| !name.is_empty())
            .collect();
        let only = match names.as_slice() {
            [] => String::new(),
            names => format!(", only {}", in_words(names)),
        };
        for field in [Field::X, Field::Y, Field::Height, Field::Irradiance] {
            let is_height = field == Field::Height;
            if columns.list.column(field).is_some() || (is_height && columns.list.height.is_some())
            {
                continue;
            }
            let mend = if is_height {
                "add the column, or give one height for all (--reading-height on the command line)"
            } else {
                "name the columns in the first row, such as x_mm,y_mm,height_mm,irradiance_mw_cm2"
            };
            let what = format!("there is no column {}{only}", field.header());
            self.wrong(header, 1, what, mend);
        }
    }

    /// The reading of a row. Where something is wrong it holds a stand-in and is never handed out.
    fn reading(&mut self, row: &Row, columns: &Columns<'_>) -> Reading {
        if let Some(cell) = row.cells.iter().find(|c| c.text.len() > LONGEST_CELL) {
            let what = "the cell is too long".into();
            self.wrong(row, cell.column, what, "check the quotes before it");
        }
        if let Some(header) = columns.header {
            let headers = header.cells.len();
            let mut spare = row.cells.iter().skip(headers);
            if let Some(cell) = spare.find(|cell| !cell.is_blank()) {
                let mend = if self.has_commas() {
                    "with decimal commas separate the columns by semicolons"
                } else {
                    "give each column a header"
                };
                let what = format!(
                    "the row has {} cells, the header {headers}",
                    row.cells.len()
                );
                self.wrong(row, cell.column, what, mend);
            }
        }
        let x = self.needed(row, columns, Field::X);
        let y = self.needed(row, columns, Field::Y);
        let height = match columns.list.column(Field::Height) {
            Some(_) => self.needed(row, columns, Field::Height),
            None => columns.list.height.unwrap_or_default(),
        };
        let reading = Reading {
            position: columns.words(row, Field::Position),
            x,
            y,
            height,
            irradiance: self.optional(row, columns, Field::Irradiance),
            repeat: self.repeat(row, columns),
            minute: self.optional(row, columns, Field::Minute),
            excluded: excluded(columns.words(row, Field::Excluded)),
            saturated: self.yes_or_no(row, columns, Field::Saturated),
            note: columns.words(row, Field::Note),
        };
        self.sound(row, 1, &reading);
        reading
    }

    /// A number that must be there where its column is.
    fn needed(&mut self, row: &Row, columns: &Columns<'_>, field: Field) -> f64 {
        if columns.list.column(field).is_some() && columns.cell(row, field).is_none() {
            let name = columns.name(field).to_owned();
            let at = (columns.list.column(field))
                .and_then(|(column, _)| row.cells.get(column))
                .or(row.cells.last())
                .map_or(1, |cell| cell.column);
            let what = format!("'{name}' is empty");
            self.wrong(row, at, what, "type a number such as 12.5");
        }
        self.optional(row, columns, field).unwrap_or_default()
    }

    fn optional(&mut self, row: &Row, columns: &Columns<'_>, field: Field) -> Option<f64> {
        let (cell, size) = columns.cell(row, field)?;
        self.number(row, cell, size, columns.name(field))
    }

    fn repeat(&mut self, row: &Row, columns: &Columns<'_>) -> u32 {
        let Some((cell, _)) = columns.cell(row, Field::Repeat) else {
            return 1;
        };
        match parse_number(&cell.text) {
            Ok(n) if n >= 1.0 && n.fract() == 0.0 && n <= f64::from(u32::MAX) => n as u32,
            _ => {
                let said: String = cell.text.trim().chars().take(40).collect();
                let name = columns.name(Field::Repeat);
                let what = format!("'{name}': '{said}' is not a repeat");
                self.wrong(row, cell.column, what, "type a whole number from 1 on");
                1
            }
        }
    }

    fn yes_or_no(&mut self, row: &Row, columns: &Columns<'_>, field: Field) -> bool {
        let Some((cell, _)) = columns.cell(row, field) else {
            return false;
        };
        said_yes(&cell.text).unwrap_or_else(|| {
            let said: String = cell.text.trim().chars().take(40).collect();
            let what = format!("'{}': '{said}' is neither yes nor no", columns.name(field));
            self.wrong(row, cell.column, what, "type yes or no, or leave it empty");
            false
        })
    }
}
