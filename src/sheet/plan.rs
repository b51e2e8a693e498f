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
use crate::geometry::{Footprint, Point};
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

/// The pages of a plan: title with lines to fill in, the drawing of the first height and the cautions, then a table; and
/// for each further height its drawing and its table. Numbers and names are the same on drawing and table, and a number
/// stands for one stop of the whole round.
pub fn plan_pages(sheet: &PlanSheet<'_>) -> Vec<Page> {
    let title = title(sheet);
    let mut flow = Flow::new(sheet.paper, &title, sheet.version);
    // the cautions stand on the first page, under the sentence below the drawing
    let below = flow::cautions_height(&flow) + 18.0;
    let stops = &sheet.record.positions[..];
    let heights: Vec<_> = stops.chunk_by(|a, b| a.height_mm == b.height_mm).collect();
    picture(
        sheet,
        heights.first().copied().unwrap_or_default(),
        below,
        &mut flow,
    );
    flow::cautions(&mut flow);
    if stops.is_empty() {
        flow.paragraph("This plan has no positions yet: plan positions and heights first.");
    }
    for (i, stops) in heights.into_iter().enumerate() {
        if i > 0 {
            flow.next_page();
            picture(sheet, stops, 18.0, &mut flow);
        }
        flow.next_page();
        at_height(sheet, stops, &mut flow);
    }
    flow.finish()
}

/// The drawing of the stops at one height, with `below` mm left under it, and what it shows.
fn picture(sheet: &PlanSheet<'_>, stops: &[PositionRecord], below: f64, flow: &mut Flow<'_>) {
    let (left, right, top) = (flow.left(), flow.right(), flow.y);
    let origin = origin::sentence(&sheet.station.fixture, sheet.length);
    let below = below + flow.paragraph_height(&origin);
    let room = (flow.room() - below).max(60.0);
    flow.y = figure::put(
        flow.page(),
        drawing(sheet, stops),
        (left, right),
        (top, room),
        sheet.length,
        None,
    );
    flow.paragraph(&origin);
    let here = match stops {
        [] => String::new(),
        [first, .., last] => format!(
            "Height {}: stops {} to {}. ",
            sheet.length.show_with_unit(first.height_mm),
            first.number,
            last.number
        ),
        [one] => format!(
            "Height {}: stop {}. ",
            sheet.length.show_with_unit(one.height_mm),
            one.number
        ),
    };
    let body = if bodies_have_room(sheet.station, stops) {
        ", the fine dashes around it the detector's body"
    } else {
        ""
    };
    flow.paragraph(&format!(
        "{here}Each upright cross is the middle of the detector's aperture{body}, above it the number of the stop, beside it \
         the name of the position, as in the table. Take them in the order of the numbers, all at one height before the next."
    ));
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
    about.extend(radiometer_fields(station.plan_radiometer()));
    Title {
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
                blank("In the way"),
                blank("Face height found"),
            ],
        ],
    }
}

/// Whether the detector's body is known and reaches over no other stop: where bodies lie on each other like scales, the
/// crosses are not found among them.
fn bodies_have_room(station: &Station, stops: &[PositionRecord]) -> bool {
    let Some(radiometer) = station.plan_radiometer() else {
        return false;
    };
    let places: Vec<Point> = (stops.iter())
        .map(|stop| Point::new(stop.x_mm, stop.y_mm))
        .collect();
    let (width, depth) = radiometer.body.size();
    let reach = width.hypot(depth);
    places.iter().enumerate().all(|(i, &at)| {
        let body = Footprint::new(radiometer.body.clone(), at);
        let others = places.iter().enumerate().filter(|(j, _)| *j != i);
        let near = others.filter(|(_, p)| p.distance(at) < reach);
        near.map(|(_, p)| p).all(|p| !body.contains(*p))
    })
}

fn drawing(sheet: &PlanSheet<'_>, stops: &[PositionRecord]) -> super::drawing::Drawing {
    let mut drawing = Picture {
        station: sheet.station,
        survey: None,
        height: None,
        map: None,
        unit: sheet.irradiance,
        contours: &[],
        against: None,
        proposed: &[],
        answer: None,
        layers: Layers {
            map: false,
            contours: false,
            face: true,
            sites: true,
            keep_outs: true,
            positions: false,
            bodies: bodies_have_room(sheet.station, stops),
            readings: false,
            numbers: false,
            spots: false,
        },
    }
    .drawing(&|_| String::new());
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
    let underside = underside(sheet, height);
    flow.heading(&format!("Height {}", mm.show_with_unit(height)), 30.0);
    flow.paragraph(&format!(
        "Working distance {distance} {}. {radiometer}{}",
        mm.symbol(),
        underside.1
    ));
    let column = |heading: String, share, stand| Column {
        heading,
        share,
        stand,
    };
    let (symbol, unit) = (mm.symbol(), sheet.irradiance.symbol());
    flow.table(&Table {
        columns: vec![
            column("No.".to_owned(), 9.0, Stand::Point),
            column("Position".to_owned(), 17.0, Stand::Left),
            column(format!("x, {symbol}"), 14.0, Stand::Point),
            column(format!("y, {symbol}"), 14.0, Stand::Point),
            column(format!("Height, {symbol}"), 14.0, Stand::Point),
            column(format!("Working distance, {symbol}"), 17.0, Stand::Point),
            column(
                format!("Spacer under detector, {symbol}"),
                18.0,
                Stand::Point,
            ),
            column(format!("Reading 1, {unit}"), 21.0, Stand::Left),
            column(format!("Reading 2, {unit}"), 21.0, Stand::Left),
            column("Minute".to_owned(), 14.0, Stand::Left),
            column("Note".to_owned(), 26.0, Stand::Left),
        ],
        rows: stops
            .iter()
            .map(|stop| {
                let mut row = vec![
                    stop.number.to_string(),
                    stop.position.clone(),
                    mm.show(stop.x_mm),
                    mm.show(stop.y_mm),
                    mm.show(height),
                    distance.clone(),
                    underside.0.clone(),
                ];
                row.extend(std::iter::repeat_n(String::new(), 4));
                row
            })
            .collect(),
        row_height: 7.2,
        ruled: true,
    });
}

/// The spacer that brings the sensing plane to a height: as a cell and as a sentence.
fn underside(sheet: &PlanSheet<'_>, height: f64) -> (String, String) {
    let mm = sheet.length;
    let Some(radiometer) = sheet.station.plan_radiometer() else {
        return (
            "?".to_owned(),
            "Choose the plan's radiometer to see the spacer that the detector needs.".to_owned(),
        );
    };
    let plane = radiometer.sensing_plane;
    let spacer = height - plane;
    if spacer < -1e-9 {
        return (
            "too low".to_owned(),
            format!(
                "The sensing plane of this detector is {} above its underside: it cannot be brought \
                 down to this height on the fixture's base.",
                mm.show_with_unit(plane)
            ),
        );
    }
    (
        mm.show(spacer),
        format!(
            "The detector's underside stands {} above the fixture's base (its sensing plane is {} above \
             its underside).",
            mm.show_with_unit(spacer),
            mm.show_with_unit(plane)
        ),
    )
}
