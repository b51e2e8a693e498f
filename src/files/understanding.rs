//! How a file of readings is understood: guessed from what its cells say, shown to the person, corrected,
//! and only then read.

use super::headers::{Field, Use};
use super::raw::Raw;

/// The mark between whole and fraction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DecimalMark {
    /// 12.5
    Point,
    /// 12,5
    Comma,
}

/// How a file of readings is understood.
#[derive(Debug, Clone, PartialEq)]
pub struct Understanding {
    /// `None`: as the first number that has a mark; then all numbers must have the same.
    pub decimal: Option<DecimalMark>,
    /// Where the readings are.
    pub layout: Layout,
}

/// Where the readings are in a file.
#[derive(Debug, Clone, PartialEq)]
pub enum Layout {
    /// One reading a row.
    List(List),
    /// One height a block: x to the right, y down.
    Blocks(Blocks),
}

/// One reading a row, on one sheet. Rows are counted from 0 among those that hold something.
#[derive(Debug, Clone, PartialEq)]
pub struct List {
    /// Which sheet.
    pub sheet: usize,
    /// The row that names the columns.
    pub header: Option<usize>,
    /// The first row of a reading.
    pub first: usize,
    /// What is taken from each column.
    pub columns: Vec<Use>,
    /// Height of all readings, mm, where no column says it.
    pub height: Option<f64>,
}

/// Blocks of readings, on one sheet or on several.
#[derive(Debug, Clone, PartialEq)]
pub struct Blocks {
    /// In the order of the file.
    pub blocks: Vec<Block>,
    /// Size of the unit of x and y, mm; `None`: not known.
    pub length: Option<f64>,
    /// Size of the unit of irradiance, mW/cm²; `None`: not known.
    pub irradiance: Option<f64>,
}

/// One block: a row of x, below it rows that begin with y.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    /// Which sheet.
    pub sheet: usize,
    /// The row of x, counted as in a [`List`].
    pub row: usize,
    /// The row after the last one.
    pub end: usize,
    /// mm; `None`: not known.
    pub height: Option<f64>,
}

impl List {
    /// The list under that header, or from the first row on without one.
    pub fn under(raw: &Raw, sheet: usize, header: Option<usize>, height: Option<f64>) -> Self {
        let rows = raw.sheets.get(sheet).map_or(&[][..], |sheet| &sheet.rows);
        let named = header.and_then(|header| rows.get(header));
        let mut columns: Vec<Use> = match named {
            Some(row) => row
                .cells
                .iter()
                .map(|c| Use::of_header(c.text.trim()))
                .collect(),
            None => vec![Use::Nothing; raw.columns(sheet)],
        };
        let mut first = header.map_or(0, |header| header + 1);
        // units may have a row of their own
        if let Some(row) = rows.get(first).filter(|_| header.is_some()) {
            let with_units: Vec<Use> = (columns.iter().enumerate())
                .map(|(i, column)| match row.cells.get(i) {
                    Some(cell) => column.with_unit(&cell.text),
                    None => *column,
                })
                .collect();
            if with_units != columns {
                columns = with_units;
                first += 1;
            }
        }
        Self {
            sheet,
            header,
            first,
            columns,
            height,
        }
    }

    /// The first column of a field.
    pub(super) fn column(&self, field: Field) -> Option<(usize, f64)> {
        let mut columns = self.columns.iter().enumerate();
        columns.find_map(|(i, column)| match column {
            Use::Is(known, factor) if *known == field => Some((i, *factor)),
            _ => None,
        })
    }
}
