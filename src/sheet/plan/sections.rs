//! The tables of a plan: one for each height, or for each plate at it.

use super::asked::PlanSheet;
use crate::record::{PlanRecord, PositionRecord};
use crate::sheet::flow::Flow;
use crate::sheet::table::{Column, Stand, Table};
use crate::units::fixed;

/// Stops that are read one after the other, with the visits of the reference among them.
pub(super) struct Section<'a> {
    pub(super) stops: &'a [PositionRecord],
    /// Of all but the visits, mm; `None`: they are at several.
    pub(super) height: Option<f64>,
    pub(super) plate: Option<usize>,
}

impl Section<'_> {
    /// `stops 1 to 12`.
    pub(super) fn span(&self) -> String {
        match self.stops {
            [] => String::new(),
            [one] => format!("stop {}", one.number),
            [first, .., last] => format!("stops {} to {}", first.number, last.number),
        }
    }
}

/// The sections of a round in their order.
pub(super) fn of(record: &PlanRecord) -> Vec<Section<'_>> {
    let by_height = record.route.outermost == "heights";
    let own = |stop: &PositionRecord| (by_height.then_some(stop.height_mm), stop.plate);
    // a visit belongs to the readings before it, at the beginning to those that follow
    let stops = &record.positions[..];
    let first = stops.iter().find(|stop| stop.reference_visit.is_none());
    let mut key = first.or(stops.first()).map(own).unwrap_or_default();
    let mut sections: Vec<(usize, _)> = Vec::new();
    for (i, stop) in stops.iter().enumerate() {
        if stop.reference_visit.is_none() {
            key = own(stop);
        }
        if sections.last().is_none_or(|(_, last)| *last != key) {
            sections.push((i, key));
        }
    }
    let ends = sections.iter().skip(1).map(|(from, _)| *from);
    let ends = ends.chain([stops.len()]);
    let each = sections.iter().zip(ends);
    each.map(|((from, (height, plate)), to)| Section {
        stops: &stops[*from..to],
        height: *height,
        plate: *plate,
    })
    .collect()
}

/// More stops than this at a height stand in two blocks side by side, without a column for notes.
const LONG: usize = 24;
/// Height of a row to write in, mm.
const ROW: f64 = 7.2;
/// Room for notes below two blocks, mm.
const NOTES: f64 = 16.0;

/// Writes a section.
pub(super) fn put(sheet: &PlanSheet<'_>, section: &Section<'_>, flow: &mut Flow<'_>) {
    let (mm, stops) = (sheet.length, section.stops);
    let (Some(first), Some(last)) = (stops.first(), stops.last()) else {
        return;
    };
    let mut said = String::new();
    if let Some(height) = section.height {
        let distance = mm.show_with_unit(sheet.station.source.face_height - height);
        said += &format!("Working distance {distance}. ");
    }
    if let Some(name) = &sheet.record.radiometer {
        said += &format!("Radiometer {name}. ");
    }
    if let Some(height) = section.height {
        said += &underside(sheet, height);
    }
    let reference = sheet.record.route.reference.as_ref();
    if let Some(reference) = reference.filter(|_| stops.iter().any(|s| s.reference_visit.is_some()))
    {
        said += &format!(
            " R: the reference position, at {}, {}.",
            mm.show_with_unit(reference.height_mm),
            spacer(sheet, reference.height_mm)
        );
    }
    said += &format!(
        " Minutes {} to {} of the round.",
        fixed(first.minute.floor(), 0),
        fixed(last.minute.ceil(), 0)
    );
    let several = section.height.is_none();
    let blocks = if stops.len() > LONG && !several { 2 } else { 1 };
    let table = table(sheet, stops, blocks == 1, several);
    let lines = stops.len().div_ceil(blocks) as f64;
    let whole = flow.paragraph_height(&said) + ROW * (lines + 2.0) + NOTES;
    let height = match section.height {
        Some(height) => format!("Height {}", mm.show_with_unit(height)),
        None => "All heights".to_owned(),
    };
    let plate = (section.plate).map_or_else(String::new, |plate| format!(", plate {plate}"));
    flow.heading(
        &format!("{height}{plate}"),
        if whole < flow.empty_page() {
            whole
        } else {
            40.0
        },
    );
    flow.paragraph(said.trim());
    flow.table_in(&table, blocks);
    if blocks > 1 {
        flow.line_to_write_on("Notes", NOTES);
    }
}

/// Stops with cells to write in; with `notes` one for a note, with `heights` the height and the spacer of each.
fn table(sheet: &PlanSheet<'_>, stops: &[PositionRecord], notes: bool, heights: bool) -> Table {
    let (mm, unit) = (sheet.length, sheet.irradiance.symbol());
    let column = |heading: String, share, stand| Column {
        heading,
        share,
        stand,
    };
    let mut columns = vec![
        column("No.".to_owned(), 9.5, Stand::Point),
        column("Position".to_owned(), 14.0, Stand::Left),
        column(format!("x, {}", mm.symbol()), 12.0, Stand::Point),
        column(format!("y, {}", mm.symbol()), 12.0, Stand::Point),
    ];
    if heights {
        columns.push(column(
            format!("Height, {}", mm.symbol()),
            12.0,
            Stand::Point,
        ));
        columns.push(column(
            format!("Spacer, {}", mm.symbol()),
            12.0,
            Stand::Point,
        ));
    }
    let filled = columns.len();
    columns.extend([
        column(format!("Reading 1, {unit}"), 17.0, Stand::Left),
        column(format!("Reading 2, {unit}"), 17.0, Stand::Left),
        column("Minute".to_owned(), 14.0, Stand::Left),
    ]);
    if notes {
        columns.push(column("Note".to_owned(), 40.0, Stand::Left));
    }
    let blanks = columns.len() - filled;
    let rows = stops.iter().map(|stop| {
        let visit = if stop.reference_visit.is_some() {
            " R"
        } else {
            ""
        };
        let mut row = vec![
            stop.number.to_string(),
            format!("{}{visit}", stop.position),
            mm.show(stop.x_mm),
            mm.show(stop.y_mm),
        ];
        if heights {
            row.push(mm.show(stop.height_mm));
            row.push(stop.spacer_mm.map_or_else(String::new, |s| mm.show(s)));
        }
        row.extend(std::iter::repeat_n(String::new(), blanks));
        row
    });
    Table {
        rows: rows.collect(),
        columns,
        row_height: ROW,
        ruled: true,
    }
}

/// `spacer 13.5 mm`, for a height.
pub(super) fn spacer(sheet: &PlanSheet<'_>, height: f64) -> String {
    let radiometer = sheet.station.plan_radiometer();
    let spacer = radiometer.map(|r| crate::probing::spacer(height, r.sensing_plane));
    match spacer {
        None => "spacer not known without a radiometer".to_owned(),
        Some(None) => "out of the detector's reach".to_owned(),
        Some(Some(spacer)) => format!("spacer {}", sheet.length.show_with_unit(spacer)),
    }
}

/// The spacer that brings the sensing plane to a height.
fn underside(sheet: &PlanSheet<'_>, height: f64) -> String {
    let mm = sheet.length;
    let Some(radiometer) = sheet.station.plan_radiometer() else {
        return "Choose the plan's radiometer to see the spacer that the detector needs."
            .to_owned();
    };
    let plane = radiometer.sensing_plane;
    let Some(spacer) = crate::probing::spacer(height, plane) else {
        let raise = plane - height;
        return format!(
            "The sensing plane of this detector is {} above its underside: it cannot be brought down to this height on the \
             fixture's base. With the source raised by {} to {} the working distance is the same; write that face height down.",
            mm.show_with_unit(plane),
            mm.show_with_unit(raise),
            mm.show_with_unit(sheet.station.source.face_height + raise)
        );
    };
    format!(
        "Spacer under the detector {} (its sensing plane is {} above its underside).",
        mm.show_with_unit(spacer),
        mm.show_with_unit(plane)
    )
}
