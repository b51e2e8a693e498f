//! What the cells of a file of readings say by themselves.

use super::blocks;
use super::headers::names_columns;
use super::raw::Raw;
use super::sheet::Sheet;
use super::understanding::{Layout, List, Understanding};

/// Rows at the begin of a sheet among which a header is looked for.
const HEADER_AMONG: usize = 50;

impl Understanding {
    /// What the cells say by themselves: a header that names x or y and another quantity makes a list,
    /// numbers in rows and columns under a row of numbers make blocks; a list of columns that mean
    /// nothing otherwise. `height`, mm, counts where the file says none.
    pub fn guess(raw: &Raw, height: Option<f64>) -> Self {
        let layout = (raw.sheets.iter().enumerate())
            .find_map(|(sheet, of)| {
                let header = header_row(of)?;
                Some(Layout::List(List::under(raw, sheet, Some(header), height)))
            })
            .or_else(|| blocks::find(raw, height).map(Layout::Blocks))
            .unwrap_or_else(|| Layout::List(List::under(raw, 0, Some(0), height)));
        Self {
            decimal: None,
            layout,
        }
    }
}

/// The row that names a place and another quantity.
fn header_row(sheet: &Sheet) -> Option<usize> {
    let mut rows = sheet.rows.iter().take(HEADER_AMONG);
    rows.position(|row| names_columns(row.cells.iter().map(|cell| &*cell.text)))
}
