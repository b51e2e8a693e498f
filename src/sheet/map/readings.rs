//! The readings themselves: what the map was made from, position by position.

use super::sheet::MapSheet;
use crate::geometry::Point;
use crate::sheet::flow::Flow;
use crate::sheet::table::{Column, Stand, Table};
use crate::station::Reading;
use crate::units::trim_zeros;

/// More readings than this are those of a machine, and nobody looks one up on paper.
const MOST: usize = 800;
/// Heights in one table.
const HEIGHTS: usize = 6;
/// With so many heights at most two positions stand beside one another.
const IN_TWO: usize = 3;
/// Rows from which they do.
const LONG: usize = 16;
/// Remarks at most.
const REMARKS: usize = 24;

/// The readings of a position, in a column for each height.
struct Row<'a> {
    position: &'a str,
    at: Point,
    readings: Vec<&'a Reading>,
}

/// Tables of the readings, and what was noted of them.
pub(super) fn table(sheet: &MapSheet<'_>, flow: &mut Flow<'_>) {
    let Some(survey) = sheet.station.survey_at(sheet.answer.survey) else {
        return;
    };
    let unit = sheet.irradiance;
    let title = format!("Readings, {}", unit.symbol());
    let read = (survey.readings.iter()).filter(|r| r.irradiance.is_some() || r.saturated);
    let read: Vec<&Reading> = read.collect();
    if read.len() > MOST {
        flow.heading(&title, 8.0);
        flow.paragraph(&format!(
            "{} readings: too many for paper; they are in the station file.",
            read.len()
        ));
        return;
    }
    if read.is_empty() {
        return;
    }
    let mut heights: Vec<f64> = read.iter().map(|r| r.height).collect();
    heights.sort_by(f64::total_cmp);
    heights.dedup();
    let rows = by_position(&read);
    for (i, heights) in heights.chunks(HEIGHTS).enumerate() {
        let table = at_heights(sheet, &rows, heights);
        let blocks = if heights.len() <= IN_TWO && table.rows.len() > LONG {
            2
        } else {
            1
        };
        let more = if i > 0 { ", further heights" } else { "" };
        flow.heading(&format!("{title}{more}"), flow.beginning(&table, blocks));
        flow.table_in(&table, blocks);
    }
    remarks(sheet, &read, flow);
}

fn by_position<'a>(read: &[&'a Reading]) -> Vec<Row<'a>> {
    let mut rows: Vec<Row<'a>> = Vec::new();
    for &reading in read {
        let at = reading.place().point();
        let here = |row: &&mut Row<'_>| row.at == at && row.position == reading.position;
        match rows.iter_mut().find(here) {
            Some(row) => row.readings.push(reading),
            None => rows.push(Row {
                position: &reading.position,
                at,
                readings: vec![reading],
            }),
        }
    }
    rows
}

fn at_heights(sheet: &MapSheet<'_>, rows: &[Row<'_>], heights: &[f64]) -> Table {
    let mm = sheet.length;
    let column = |heading: String, share, stand| Column {
        heading,
        share,
        stand,
    };
    let mut columns = vec![
        column("Position".to_owned(), 16.0, Stand::Left),
        column(format!("x, {}", mm.symbol()), 12.0, Stand::Point),
        column(format!("y, {}", mm.symbol()), 12.0, Stand::Point),
    ];
    columns.extend(heights.iter().map(|&h| {
        let unit = sheet.irradiance.symbol();
        let heading = format!("at {}, {unit}", mm.show_with_unit(h));
        column(heading, 18.0, Stand::Left)
    }));
    let rows = rows.iter().filter_map(|row| {
        let at = |&h: &f64| {
            let here = row.readings.iter().filter(|r| r.height == h);
            here.map(|r| said(sheet, r)).collect::<Vec<_>>().join(", ")
        };
        let cells: Vec<String> = heights.iter().map(at).collect();
        if cells.iter().all(String::is_empty) {
            return None;
        }
        let place = [
            row.position.to_owned(),
            mm.show(row.at.x),
            mm.show(row.at.y),
        ];
        Some(place.into_iter().chain(cells).collect())
    });
    Table {
        rows: rows.collect(),
        columns,
        row_height: 0.0,
        ruled: false,
    }
}

/// A reading as it was read; in parentheses one that does not count.
fn said(sheet: &MapSheet<'_>, reading: &Reading) -> String {
    let value = match reading.irradiance {
        Some(e) => trim_zeros(sheet.irradiance.show(e, None)),
        None => "over-range".to_owned(),
    };
    if reading.counted().is_some() {
        value
    } else {
        format!("({value})")
    }
}

/// Why readings do not count, and what was noted.
fn remarks(sheet: &MapSheet<'_>, read: &[&Reading], flow: &mut Flow<'_>) {
    let said = |r: &&Reading| {
        let why = match &r.excluded {
            Some(why) => Some(format!("left out, {why}")),
            None => r.saturated.then(|| "over-range".to_owned()),
        };
        let note = Some(r.note.trim().to_owned()).filter(|note| !note.is_empty());
        let all: Vec<String> = why.into_iter().chain(note).collect();
        (!all.is_empty()).then(|| {
            format!(
                "Position {}, height {}: {}",
                r.position,
                sheet.length.show_with_unit(r.height),
                all.join("; ")
            )
        })
    };
    let all: Vec<String> = read.iter().filter_map(said).collect();
    if read.iter().any(|r| r.counted().is_none()) {
        flow.paragraph("In parentheses: not counted.");
    }
    for remark in all.iter().take(REMARKS) {
        flow.point(remark);
    }
    if all.len() > REMARKS {
        flow.paragraph(&format!("and {} more remarks.", all.len() - REMARKS));
    }
}
