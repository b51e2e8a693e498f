//! Blocks of readings: a row of x, below it rows that begin with y; one block a height.
//!
//! ```text
//! height_mm,20,irradiance_mw_cm2
//! y_mm \ x_mm,10,50,90
//! 10,81.2,85.0,80.7
//! 60,83.3,,82.1
//! ```

use super::FileError;
use super::headers::{Said, number_in, number_of};
use super::raw::Raw;
use super::reader::Reader;
use super::sheet::Sheet;
use super::table::Row;
use super::understanding::{Block, Blocks};
use crate::geometry::Place;
use crate::station::Reading;

/// Rows above a block in which its height and units are looked for.
const HEAD_ROWS: usize = 6;

/// Whether a row gives x: no number first, at least two numbers after it and nothing else.
fn is_axis(row: &Row) -> bool {
    let Some((corner, rest)) = row.cells.split_first() else {
        return false;
    };
    let filled = || rest.iter().filter(|cell| !cell.is_blank());
    number_of(corner).is_none()
        && filled().count() >= 2
        && filled().all(|cell| number_of(cell).is_some())
}

/// Whether a row gives y and readings.
fn is_body(row: &Row) -> bool {
    row.cells.len() > 1 && number_of(&row.cells[0]).is_some()
}

/// The blocks of a file; `None` when there is none. `height`, mm, counts where a block says none.
pub(super) fn find(raw: &Raw, height: Option<f64>) -> Option<Blocks> {
    let mut found = Blocks {
        blocks: Vec::new(),
        length: None,
        irradiance: None,
    };
    let mut heights = Vec::new();
    for (index, sheet) in raw.sheets.iter().enumerate() {
        let before = found.blocks.len();
        let mut row = 0;
        let mut head = 0;
        while row + 1 < sheet.rows.len() {
            if !(is_axis(&sheet.rows[row]) && is_body(&sheet.rows[row + 1])) {
                row += 1;
                continue;
            }
            let body = sheet.rows[row + 1..].iter().take_while(|row| is_body(row));
            let end = row + 1 + body.count();
            let head_rows = &sheet.rows[head.max(row.saturating_sub(HEAD_ROWS))..=row];
            heights.push(heading(head_rows, &mut found));
            found.blocks.push(Block {
                sheet: index,
                row,
                end,
                height: None,
            });
            (head, row) = (end, end);
        }
        if found.blocks.len() == before + 1 && heights[before].is_none() {
            heights[before] = of_name(sheet);
        }
    }
    for (block, said) in found.blocks.iter_mut().zip(heights) {
        let said = said.and_then(|(number, unit)| Some(number * unit.or(found.length)?));
        block.height = said.or(height);
    }
    (!found.blocks.is_empty()).then_some(found)
}

impl Blocks {
    /// The blocks that can be seen in a file; there may be none.
    pub fn find(raw: &Raw) -> Self {
        find(raw, None).unwrap_or(Self {
            blocks: Vec::new(),
            length: None,
            irradiance: None,
        })
    }
}

/// What the rows above a block say, the row of x being the last: its height in a unit, and units that are
/// not known yet.
fn heading(rows: &[Row], found: &mut Blocks) -> Option<(f64, Option<f64>)> {
    let mut height = None;
    let (axis, above) = rows.split_last()?;
    for row in above {
        for (i, cell) in row.cells.iter().enumerate() {
            let said = Said::of(&cell.text);
            found.irradiance = found.irradiance.or(said.irradiance);
            if said.is_height {
                let beside = || row.cells[i + 1..].iter().find(|cell| !cell.is_blank());
                let number = number_in(&cell.text).or_else(|| number_of(beside()?));
                height = number.map(|number| (number, said.length)).or(height);
            }
        }
    }
    let corner = Said::of(&axis.cells[0].text);
    found.length = found.length.or(corner.length);
    found.irradiance = found.irradiance.or(corner.irradiance);
    height
}

/// The height that a sheet's name says: `20 mm`, `height 20`.
fn of_name(sheet: &Sheet) -> Option<(f64, Option<f64>)> {
    let said = Said::of(&sheet.name);
    let number = number_in(&sheet.name)?;
    (said.is_height || said.length.is_some()).then_some((number, said.length))
}

/// Reads all blocks; what is wrong goes to the reader.
pub(super) fn read<'a>(raw: &'a Raw, blocks: &Blocks, reader: &mut Reader<'a>) -> Vec<Reading> {
    let mut readings = Vec::new();
    for (i, block) in blocks.blocks.iter().enumerate() {
        let Some(sheet) = raw.sheets.get(block.sheet) else {
            continue;
        };
        reader.sheet = sheet;
        let rows = sheet.rows.get(block.row..block.end).unwrap_or_default();
        let Some((axis, body)) = rows.split_first() else {
            continue;
        };
        if i == 0 {
            units_known(axis, blocks, reader);
        }
        let Some(height) = block.height else {
            let what = "the block under this row does not say its height";
            let mend = "write it above the block, such as height_mm and the number beside it";
            reader.wrong(axis, 1, what.into(), mend);
            continue;
        };
        let length = blocks.length.unwrap_or(1.0);
        let across: Vec<Option<f64>> = (axis.cells.iter().enumerate())
            .map(|(i, cell)| (i > 0).then(|| reader.number(axis, cell, length, "x"))?)
            .collect();
        for row in body {
            if reader.is_full(&readings) {
                return readings;
            }
            let y = reader.number(row, &row.cells[0], length, "y");
            for (i, cell) in row.cells.iter().enumerate().skip(1) {
                if cell.is_blank() {
                    continue;
                }
                let size = blocks.irradiance.unwrap_or(1.0);
                let irradiance = reader.number(row, cell, size, "irradiance");
                match (across.get(i).copied().flatten(), y) {
                    (Some(x), Some(y)) => {
                        let reading = Reading::new(Place::new(x, y, height), irradiance);
                        reader.sound(row, cell.column, &reading);
                        readings.push(reading);
                    }
                    (None, _) if axis.cells.get(i).is_none_or(|cell| cell.is_blank()) => {
                        let what = "there is no x above this reading".to_owned();
                        reader.wrong(row, cell.column, what, "give its column an x");
                    }
                    // said already
                    _ => {}
                }
            }
        }
    }
    readings
}

fn units_known(axis: &Row, blocks: &Blocks, reader: &mut Reader<'_>) {
    if blocks.length.is_none() {
        let what = "the block under this row does not say the unit of x and y";
        let mend = "write y_mm, y_cm or y_in in its corner";
        reader.wrong(axis, 1, what.into(), mend);
    }
    if blocks.irradiance.is_none() {
        let what = "the block under this row does not say the unit of its readings";
        let mend = "write irradiance_mw_cm2, irradiance_w_cm2 or irradiance_w_m2 above it";
        reader.wrong(axis, 1, what.into(), mend);
    }
}

/// No block where there should be one.
pub(super) fn none() -> FileError {
    FileError::new(
        "there is no block of readings",
        "have a row of x, and under it rows that begin with y",
    )
}
