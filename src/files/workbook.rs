//! Spreadsheet workbooks (XLSX) as rows of cells.
//!
//! They are read by `calamine` cell by cell, never as a dense range, after each part was unpacked once to see how large it
//! is; its panics (overflows in debug builds) cost only the file, and print nothing.

use std::io::{Cursor, Read};
use std::panic::{AssertUnwindSafe, catch_unwind, set_hook, take_hook};
use std::sync::Once;

use calamine::{DataRef, Reader, SheetType, Xlsx};

use super::FileError;
use super::sheet::{MOST_CELLS, Sheet};
use super::table::{Cell, Row};

/// Columns that are looked at; a readings file has a dozen, a block of readings some hundred.
const MOST_COLUMNS: u32 = 2_000;

/// What the parts of a workbook may unpack to, bytes: a part that holds shared texts, and a sheet. A small
/// packed file can unpack to more than any memory holds.
const MOST_TEXTS: u64 = 16 * 1024 * 1024;
const MOST_SHEET: u64 = 400 * 1024 * 1024;

/// Whether the bytes begin as a packed file does.
pub(super) fn is_packed(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04")
}

/// The worksheets of a workbook in their order, without those that are empty.
///
/// # Errors
/// When it is no workbook, is damaged, or is too large.
pub(super) fn sheets(bytes: &[u8]) -> Result<Vec<Sheet>, FileError> {
    sizes_allowed(bytes)?;
    // what is read is what somebody else wrote: a fault in reading it must cost no more than this file
    quietly(|| read(bytes)).unwrap_or_else(|| Err(damaged("")))
}

/// `None` when the work ended in a panic: it is said as an error, so nothing of it is printed.
fn quietly<T>(work: impl FnOnce() -> T) -> Option<T> {
    thread_local! {
        static QUIET: std::cell::Cell<bool> = const { std::cell::Cell::new(false) };
    }
    static HOOK: Once = Once::new();
    HOOK.call_once(|| {
        let before = take_hook();
        set_hook(Box::new(move |panic| {
            if !QUIET.try_with(std::cell::Cell::get).unwrap_or(false) {
                before(panic);
            }
        }));
    });
    QUIET.set(true);
    let done = catch_unwind(AssertUnwindSafe(work));
    QUIET.set(false);
    done.ok()
}

fn damaged(said: impl std::fmt::Display) -> FileError {
    log::info!("a workbook could not be read: {said}");
    FileError::new(
        "this is no XLSX workbook, or a damaged one",
        "save it again as XLSX, or as CSV UTF-8",
    )
}

fn too_large() -> FileError {
    FileError::new(
        "the workbook unpacks to more than can be read",
        "keep only the readings in it, or save them as CSV",
    )
}

/// Unpacks each part once, to see how large it really is: what the file says of that may be wrong.
fn sizes_allowed(bytes: &[u8]) -> Result<(), FileError> {
    let mut parts = zip::ZipArchive::new(Cursor::new(bytes)).map_err(damaged)?;
    let mut sheets = 0;
    for i in 0..parts.len() {
        let part = parts.by_index(i).map_err(damaged)?;
        let is_sheet = part.name().is_ok_and(|name| name.contains("sheets/"));
        let most = if is_sheet {
            MOST_SHEET - sheets
        } else {
            MOST_TEXTS
        };
        // a part that can't be unpacked says so when it is read, and may never be
        let unpacked = std::io::copy(&mut part.take(most + 1), &mut std::io::sink()).unwrap_or(0);
        if unpacked > most {
            return Err(too_large());
        }
        if is_sheet {
            sheets += unpacked;
        }
    }
    Ok(())
}

fn read(bytes: &[u8]) -> Result<Vec<Sheet>, FileError> {
    let mut workbook: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).map_err(damaged)?;
    let names: Vec<String> = (workbook.sheets_metadata().iter())
        .filter(|sheet| sheet.typ == SheetType::WorkSheet)
        .map(|sheet| sheet.name.clone())
        .collect();
    let mut sheets = Vec::new();
    let mut left = MOST_CELLS;
    for name in names {
        let rows = rows(&mut workbook, &name, &mut left)?;
        if !rows.is_empty() {
            sheets.push(Sheet { name, rows });
        }
    }
    if sheets.is_empty() {
        return Err(FileError::new(
            "the workbook is empty",
            "have a header such as x_mm,y_mm,height_mm,irradiance_mw_cm2 and rows under it",
        ));
    }
    Ok(sheets)
}

/// The rows of a sheet that hold something, their cells from column A on.
fn rows(
    workbook: &mut Xlsx<Cursor<&[u8]>>,
    name: &str,
    left: &mut usize,
) -> Result<Vec<Row>, FileError> {
    let mut rows: Vec<Row> = Vec::new();
    let mut cells = workbook.worksheet_cells_reader(name).map_err(damaged)?;
    while let Some(cell) = cells.next_cell().map_err(damaged)? {
        let (row, column) = cell.get_position();
        let (text, number) = said(cell.get_value());
        if text.trim().is_empty() {
            continue;
        }
        let line = row as usize + 1;
        if column >= MOST_COLUMNS {
            let what = format!("the sheet '{name}' has more than {MOST_COLUMNS} columns");
            let error = FileError::new(what, "keep only the readings in it");
            return Err(error.at(line, column as usize + 1));
        }
        if rows.last().is_none_or(|last| last.line < line) {
            rows.push(Row {
                line,
                cells: Vec::new(),
            });
        }
        // a damaged sheet can name its rows and columns in any order
        let Some(last) = rows.last_mut().filter(|last| last.line == line) else {
            return Err(damaged("rows out of order"));
        };
        let column = column as usize;
        while last.cells.len() <= column {
            *left = left.checked_sub(1).ok_or_else(too_large)?;
            last.cells.push(Cell {
                text: String::new(),
                column: last.cells.len() + 1,
                number: None,
            });
        }
        last.cells[column].text = text;
        last.cells[column].number = number;
    }
    Ok(rows)
}

/// What a cell says, and the number that it holds.
fn said(value: &DataRef<'_>) -> (String, Option<f64>) {
    match value {
        DataRef::Empty => (String::new(), None),
        DataRef::Int(n) => (n.to_string(), Some(*n as f64)),
        DataRef::Float(x) if x.is_finite() => (x.to_string(), Some(*x)),
        DataRef::Float(x) => (x.to_string(), None),
        DataRef::String(text) => (text.clone(), None),
        DataRef::SharedString(text) => ((*text).to_owned(), None),
        DataRef::Bool(yes) => (yes.to_string(), None),
        // a date where a number is expected is refused by what it looks like
        DataRef::DateTime(date) => {
            let (year, month, day, ..) = date.to_ymd_hms_milli();
            (format!("{year}-{month:02}-{day:02}"), None)
        }
        DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => (text.clone(), None),
        DataRef::Error(error) => (error.to_string(), None),
    }
}

/// A cell as spreadsheets call it: `C7`. The column counts from 1.
pub(super) fn cell_name(line: usize, column: usize) -> String {
    let mut letters = Vec::new();
    let mut rest = column;
    while rest > 0 {
        letters.push(char::from(b'A' + ((rest - 1) % 26) as u8));
        rest = (rest - 1) / 26;
    }
    let letters: String = letters.into_iter().rev().collect();
    format!("{letters}{line}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_called_as_in_a_spreadsheet() {
        assert_eq!(cell_name(7, 3), "C7");
        assert_eq!(cell_name(1, 26), "Z1");
        assert_eq!(cell_name(1, 27), "AA1");
        assert_eq!(cell_name(9, 703), "AAA9");
    }
}
