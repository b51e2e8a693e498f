//! The probe-position plan on paper: where to put the detector, in which order, and lines to write
//! the readings on.

use super::drawing::{Anchor, Item, MarkForm, Role};
use super::figure;
use super::flow::{self, Flow};
use super::page::{Page, PaperSize};
use super::picture::labels::names::{Stop, beside_stops};
use super::picture::{Layers, Picture};
use super::table::{Column, Stand, Table};
use super::title::{Title, radiometer_fields, source};
use super::words::recorded;
use crate::geometry::Point;
use crate::record::{PlanRecord, PositionRecord};
use crate::station::Station;
use crate::units::{IrradianceUnit, LengthUnit};

mod origin;

/// What the pages of a plan are made of.
#[derive(Debug, Clone, Copy)]
pub struct PlanSheet<'a> {
    /// The document.
    pub station: &'a Station,
    /// Its stops, in the order in which they are visited.
    pub record: &'a PlanRecord,
    /// For lengths.
    pub length: LengthUnit,
    /// For irradiance.
    pub irradiance: IrradianceUnit,
    /// The paper.
    pub paper: PaperSize,
    /// The program's version.
    pub version: &'a str,
}

/// The pages of a plan: title with lines to fill in, the drawing and the cautions, then a table for each height. Numbers and
/// names are the same on drawing and tables, and a number stands for one stop of the whole round.
pub fn plan_pages(sheet: &PlanSheet<'_>) -> Vec<Page> {
    let title = title(sheet);
    let mut flow = Flow::new(sheet.paper, &title, sheet.version);
    let stops = &sheet.record.positions[..];
    let heights: Vec<_> = stops.chunk_by(|a, b| a.height_mm == b.height_mm).collect();
    picture(sheet, &heights, &mut flow);
    flow::cautions(&mut flow);
    if stops.is_empty() {
        flow.paragraph("This plan has no positions yet: plan positions and heights first.");
    }
    for stops in heights {
        at_height(sheet, stops, &mut flow);
    }
    flow.finish()
}

/// The drawing with the stops of the first height, and what it shows; the cautions have room below it.
fn picture(sheet: &PlanSheet<'_>, heights: &[&[PositionRecord]], flow: &mut Flow<'_>) {
    let (left, right, top) = (flow.left(), flow.right(), flow.y);
    let stops = heights.first().copied().unwrap_or_default();
    let said = [
        origin::sentence(&sheet.station.fixture, sheet.length),
        "Each upright cross is the middle of the detector's aperture, above it the number of the stop, beside it the name of \
         the position, as in the tables. Take them in the order of the numbers, all at one height before the next."
            .to_owned(),
        numbers(sheet, heights),
    ];
    let text: f64 = said.iter().map(|s| flow.paragraph_height(s)).sum();
    let room = (flow.room() - text - flow::cautions_height(flow)).max(60.0);
    flow.y = figure::put(
        flow.page(),
        drawing(sheet, stops),
        (left, right),
        (top, room),
        sheet.length,
        None,
    );
    for sentence in said.iter().filter(|s| !s.is_empty()) {
        flow.paragraph(sentence);
    }
}

/// Of which height the drawn numbers are, and which go with the same crosses at the others.
fn numbers(sheet: &PlanSheet<'_>, heights: &[&[PositionRecord]]) -> String {
    let mm = sheet.length;
    let span = |stops: &[PositionRecord]| match stops {
        [] => String::new(),
        [one] => format!("stop {}", one.number),
        [first, .., last] => format!("stops {} to {}", first.number, last.number),
    };
    let at = |stops: &[PositionRecord]| {
        let height = stops.first().map_or(0.0, |stop| stop.height_mm);
        format!("{} at {}", span(stops), mm.show_with_unit(height))
    };
    match heights {
        [] => String::new(),
        [one] => format!("The numbers are those of {}.", at(one)),
        [first, further @ ..] => {
            let further: Vec<String> = further.iter().map(|stops| at(stops)).collect();
            format!(
                "The numbers are those of {}; the same crosses in the same order are {}.",
                at(first),
                further.join(", ")
            )
        }
    }
}

fn title(sheet: &PlanSheet<'_>) -> Title {
    let station = sheet.station;
    let blank = |label| (label, String::new());
    let mut about = vec![
        ("Fixture", recorded(&station.fixture.name)),
        ("Source", source(station)),
        (
            "Face height",
            sheet.length.show_with_unit(station.source.face_height),
        ),
    ];
    about.extend(station.plan.plate.map(|plate| {
        let (mm, corner) = (sheet.length, plate.corner);
        let read = format!(
            "pallet out, on a plate of {} x {}, its front left corner at {}, {}",
            mm.show(plate.width),
            mm.show_with_unit(plate.depth),
            mm.show(corner.x),
            mm.show_with_unit(corner.y)
        );
        ("Read with", read)
    }));
    let radiometer = station.plan_radiometer();
    about.extend(radiometer_fields(radiometer));
    Title {
        later: vec![
            ("Fixture", recorded(&station.fixture.name)),
            ("Source", source(station)),
            (
                "Radiometer",
                radiometer.map_or_else(|| recorded(""), |r| recorded(&r.name)),
            ),
        ],
        document: "Probe-position plan",
        subject: station.name.clone(),
        columns: vec![
            about,
            vec![
                blank("Date"),
                blank("Operator"),
                blank("Radiometer used"),
                blank("Drive"),
                blank(match station.plan.plate {
                    None => "Pallet, empty or loaded",
                    Some(_) => "Pallet out",
                }),
            ],
            vec![
                blank("Lamp serial"),
                blank("Lamp hours"),
                blank("Minutes on"),
                blank("Shutter, filter, window"),
                blank("Face height found"),
            ],
        ],
    }
}

fn drawing(sheet: &PlanSheet<'_>, stops: &[PositionRecord]) -> super::drawing::Drawing {
    let mut drawing = Picture::bare(sheet.station, Layers::FIXTURE).drawing(&|_| String::new());
    // the numbers are what has to be read here: other names stand where they leave room
    drawing.items.retain(|item| {
        !matches!(
            item,
            Item::Label {
                role: Role::Site,
                ..
            }
        )
    });
    drawing.items.extend(origin::centre(&sheet.station.fixture));
    for stop in stops {
        let at = Point::new(stop.x_mm, stop.y_mm);
        drawing.items.push(Item::Mark {
            at,
            form: MarkForm::Plus,
            role: Role::Position,
        });
        // a name gives way where it would cover a number; the table has it all the same
        for (text, anchor, role) in [
            (stop.number.to_string(), Anchor::Above, Role::Position),
            (stop.position.clone(), Anchor::Left, Role::Site),
        ] {
            drawing.items.push(Item::Label {
                at,
                text,
                anchor,
                role,
            });
        }
    }
    let stops: Vec<Stop<'_>> = stops
        .iter()
        .map(|stop| Stop {
            at: Point::new(stop.x_mm, stop.y_mm),
            number: stop.number.to_string(),
            name: &stop.position,
        })
        .collect();
    // after those of the stops: what comes later gives way
    drawing.items.extend(beside_stops(sheet.station, &stops));
    drawing
}

fn at_height(sheet: &PlanSheet<'_>, stops: &[PositionRecord], flow: &mut Flow<'_>) {
    let mm = sheet.length;
    let Some(height) = stops.first().map(|stop| stop.height_mm) else {
        return;
    };
    let distance = mm.show(sheet.station.source.face_height - height);
    let radiometer = match &sheet.record.radiometer {
        Some(name) => format!("Radiometer {name}. "),
        None => String::new(),
    };
    let said = format!(
        "Working distance {distance} {}. {radiometer}{}",
        mm.symbol(),
        underside(sheet, height)
    );
    let blocks = if stops.len() > LONG { 2 } else { 1 };
    let table = table(sheet, stops, blocks == 1);
    let lines = stops.len().div_ceil(blocks) as f64;
    let whole = flow.paragraph_height(&said) + ROW * (lines + 2.0) + NOTES;
    flow.heading(
        &format!("Height {}", mm.show_with_unit(height)),
        if whole < flow.empty_page() {
            whole
        } else {
            40.0
        },
    );
    flow.paragraph(&said);
    flow.table_in(&table, blocks);
    if blocks > 1 {
        flow.line_to_write_on("Notes", NOTES);
    }
}

/// More stops than this at a height stand in two blocks side by side, without a column for notes.
const LONG: usize = 24;
/// Height of a row to write in, mm.
const ROW: f64 = 7.2;
/// Room for notes below two blocks, mm.
const NOTES: f64 = 16.0;

/// The stops at a height with cells to write in; with `notes` one for a note.
fn table(sheet: &PlanSheet<'_>, stops: &[PositionRecord], notes: bool) -> Table {
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
        column(format!("Reading 1, {unit}"), 17.0, Stand::Left),
        column(format!("Reading 2, {unit}"), 17.0, Stand::Left),
        column("Minute".to_owned(), 14.0, Stand::Left),
    ];
    if notes {
        columns.push(column("Note".to_owned(), 40.0, Stand::Left));
    }
    let blanks = columns.len() - 4;
    let rows = stops.iter().map(|stop| {
        let mut row = vec![
            stop.number.to_string(),
            stop.position.clone(),
            mm.show(stop.x_mm),
            mm.show(stop.y_mm),
        ];
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

/// The spacer that brings the sensing plane to a height.
fn underside(sheet: &PlanSheet<'_>, height: f64) -> String {
    let mm = sheet.length;
    let Some(radiometer) = sheet.station.plan_radiometer() else {
        return "Choose the plan's radiometer to see the spacer that the detector needs."
            .to_owned();
    };
    let plane = radiometer.sensing_plane;
    let spacer = height - plane;
    if spacer < -1e-9 {
        return format!(
            "The sensing plane of this detector is {} above its underside: it cannot be brought \
             down to this height on the fixture's base.",
            mm.show_with_unit(plane)
        );
    }
    format!(
        "Spacer under the detector {} (its sensing plane is {} above its underside).",
        mm.show_with_unit(spacer),
        mm.show_with_unit(plane)
    )
}
