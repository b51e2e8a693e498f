//! A sheet of cells, as files of readings hold them.

use super::table::Row;

/// Cells that a file may have.
pub(super) const MOST_CELLS: usize = 12_000_000;

/// A sheet of a workbook; a text is one without a name.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sheet {
    pub name: String,
    pub rows: Vec<Row>,
}
