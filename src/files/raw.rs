//! A file of readings taken apart into cells, before any of them means anything.

use std::sync::Arc;

use super::FileError;
use super::headers::names_columns;
use super::sheet::{MOST_CELLS, Sheet};
use super::table::{self, Cell, Row};
use super::text::{self, Encoding};
use super::workbook;

/// How a text is cut into cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cut {
    /// What the bytes stand for.
    pub encoding: Encoding,
    /// What stands between cells: comma, semicolon or tab.
    pub separator: char,
}

/// A file of readings, taken apart.
#[derive(Debug, Clone)]
pub struct Raw {
    bytes: Arc<[u8]>,
    /// `None`: a workbook, which says by itself where its cells are.
    cut: Option<Cut>,
    pub(super) sheets: Vec<Sheet>,
}

impl Raw {
    /// Takes the bytes of a CSV, TSV or XLSX file apart, whichever they are.
    ///
    /// # Errors
    /// When they are too many or none, or neither text nor a workbook, or a quote is never closed.
    pub fn new(bytes: Vec<u8>) -> Result<Self, FileError> {
        text::size_allowed(bytes.len() as u64)?;
        if workbook::is_packed(&bytes) {
            return Ok(Self {
                sheets: workbook::sheets(&bytes)?,
                bytes: bytes.into(),
                cut: None,
            });
        }
        let encoding = Encoding::guess(&bytes);
        let separator = separator(&text::decode(&bytes, encoding)?);
        let raw = Self {
            bytes: bytes.into(),
            cut: None,
            sheets: Vec::new(),
        };
        raw.cut(Cut {
            encoding,
            separator,
        })
    }

    /// The same text cut in another way; a workbook stays as it is.
    ///
    /// # Errors
    /// As [`new`](Self::new).
    pub fn cut(&self, cut: Cut) -> Result<Self, FileError> {
        if workbook::is_packed(&self.bytes) {
            return Ok(self.clone());
        }
        let text = text::decode(&self.bytes, cut.encoding)?;
        let cells = text.matches([cut.separator, '\n', '\r']).count();
        if cells > MOST_CELLS {
            return Err(FileError::new(
                format!("the file has more than {MOST_CELLS} cells"),
                "split it into several files",
            ));
        }
        let (mut rows, unclosed) = table::rows(&text, cut.separator);
        if let Some(at) = unclosed {
            let error = FileError::new(
                "a quote opens here and is never closed",
                "close it or take it out",
            );
            return Err(error.at(at.line, at.column));
        }
        rows.retain(|row| !row.is_blank());
        if rows.first().is_some_and(is_separator_note) {
            rows.remove(0);
        }
        if rows.is_empty() {
            return Err(FileError::new(
                "the file is empty",
                "have a header such as x_mm,y_mm,height_mm,irradiance_mw_cm2 and rows under it",
            ));
        }
        Ok(Self {
            bytes: self.bytes.clone(),
            cut: Some(cut),
            sheets: vec![Sheet {
                name: String::new(),
                rows,
            }],
        })
    }

    /// The cells of a pasted block; rows that hold nothing only count.
    pub(super) fn of_block(cells: &[Vec<String>]) -> Self {
        let row = |(i, cells): (usize, &Vec<String>)| Row {
            line: i + 1,
            cells: (cells.iter().zip(1..))
                .map(|(text, column)| Cell {
                    text: text.clone(),
                    column,
                    number: None,
                })
                .collect(),
        };
        Self {
            bytes: Arc::new([]),
            cut: Some(Cut {
                encoding: Encoding::Utf8,
                separator: '\t',
            }),
            sheets: vec![Sheet {
                name: String::new(),
                rows: (cells.iter().enumerate().map(row))
                    .filter(|row| !row.is_blank())
                    .collect(),
            }],
        }
    }

    /// How a text is cut; `None` for a workbook.
    pub fn how_cut(&self) -> Option<Cut> {
        self.cut
    }

    /// The names of the sheets; one without a name for a text.
    pub fn sheet_names(&self) -> Vec<&str> {
        self.sheets.iter().map(|sheet| &*sheet.name).collect()
    }

    /// How many rows a sheet has that hold something.
    pub fn rows(&self, sheet: usize) -> usize {
        self.sheets.get(sheet).map_or(0, |sheet| sheet.rows.len())
    }

    /// How many columns its rows have at most.
    pub fn columns(&self, sheet: usize) -> usize {
        let rows = self.sheets.get(sheet).map_or(&[][..], |sheet| &sheet.rows);
        rows.iter().map(|row| row.cells.len()).max().unwrap_or(0)
    }

    /// The line of a row in the file, counted from 1, and the texts of its cells.
    pub fn row(&self, sheet: usize, row: usize) -> Option<(usize, impl Iterator<Item = &str>)> {
        let row = self.sheets.get(sheet)?.rows.get(row)?;
        Some((row.line, row.cells.iter().map(|cell| cell.text.trim())))
    }
}

/// What stands between the names of columns; without such names the first line that holds something tells: a tab or a
/// semicolon there is a separator.
fn separator(text: &str) -> char {
    let first = text
        .split(['\n', '\r'])
        .find(|line| !line.trim().is_empty())
        .unwrap_or("");
    if let Some(said) = first.strip_prefix("sep=").and_then(|s| s.chars().next())
        && matches!(said, ',' | ';' | '\t')
    {
        return said;
    }
    // a title above the readings may have none, or another one
    const LOOKED_AT: usize = 20;
    let lines: Vec<&str> = (text
        .split(['\n', '\r'])
        .filter(|line| !line.trim().is_empty()))
    .take(LOOKED_AT)
    .collect();
    // the first names of columns tell, whatever is written below them
    let names = |line: &&str| {
        let mut separators = ['\t', ';', ','].into_iter();
        separators.find(|s| names_columns(line.split(*s)))
    };
    if let Some(separator) = lines.iter().find_map(names) {
        return separator;
    }
    let is_usual = |separator: char| {
        let having = lines.iter().filter(|line| line.contains(separator)).count();
        first.contains(separator) || (having > 0 && 2 * having >= lines.len())
    };
    ['\t', ';']
        .into_iter()
        .find(|&s| is_usual(s))
        .unwrap_or(',')
}

/// Some spreadsheet programs write `sep=;` above the header.
fn is_separator_note(row: &Row) -> bool {
    row.cells[0].text.starts_with("sep=")
}
