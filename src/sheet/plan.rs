//! The probe-position plan on paper: where to put the detector, in which order, and lines to write
//! the readings on.

use super::drawing::{Anchor, Item, MarkForm, Role};
use super::figure;
use super::flow::{self, Flow};
use super::page::{Page, PaperSize};
use super::picture::{Layers, Picture};
use super::table::{Column, Stand, Table};
use super::title::{Title, radiometer_fields, source};
use super::words::recorded;
use crate::station::{Position, Station};
use crate::units::{IrradianceUnit, LengthUnit};

/// What the pages of a plan are made of.
#[derive(Debug, Clone, Copy)]
pub struct PlanSheet<'a> {
    /// The document.
    pub station: &'a Station,
    /// The order of the positions: indices into [`Station::positions`]; others are passed over.
    pub route: &'a [usize],
    /// For lengths.
    pub length: LengthUnit,
    /// For irradiance.
    pub irradiance: IrradianceUnit,
    /// The paper.
    pub paper: PaperSize,
    /// The program's version.
    pub version: &'a str,
}

/// The pages of a plan: title with lines to fill in, the drawing with numbered positions, the
/// cautions, then a table for each height. The numbers are those of the drawing.
pub fn plan_pages(sheet: &PlanSheet<'_>) -> Vec<Page> {
    let title = title(sheet);
    let mut flow = Flow::new(sheet.paper, &title, sheet.version);
    let route = visited(sheet);
    let (left, right, top) = (flow.left(), flow.right(), flow.y);
    // the cautions stand on the first page, under the sentence below the drawing
    let room = (flow.room() - flow::cautions_height(&flow) - 12.0).max(60.0);
    flow.y = figure::put(
        flow.page(),
        drawing(sheet, &route),
        (left, right),
        (top, room),
        sheet.length,
        None,
    );
    flow.paragraph(
        "Each number is the middle of the detector's aperture. Take them in the order of the numbers, \
         all at one height before the next.",
    );
    flow::cautions(&mut flow);
    if route.is_empty() || sheet.station.plan.heights.is_empty() {
        flow.paragraph("This plan has no positions yet: plan positions and heights first.");
    }
    for &height in &sheet.station.plan.heights {
        if !route.is_empty() {
            flow.next_page();
            at_height(sheet, &route, height, &mut flow);
        }
    }
    flow.finish()
}

fn visited(sheet: &PlanSheet<'_>) -> Vec<Position> {
    let positions = sheet.station.positions();
    sheet
        .route
        .iter()
        .filter_map(|&i| positions.get(i).cloned())
        .collect()
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
                blank("Pallet, empty or loaded"),
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

fn drawing(sheet: &PlanSheet<'_>, route: &[Position]) -> super::drawing::Drawing {
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
            bodies: false,
            readings: false,
            numbers: false,
            spots: false,
        },
    }
    .drawing(&|_| String::new());
    // the numbers are what has to be read here
    drawing.items.retain(|item| {
        !matches!(
            item,
            Item::Label {
                role: Role::Site,
                ..
            }
        )
    });
    for (i, position) in route.iter().enumerate() {
        drawing.items.push(Item::Mark {
            at: position.at,
            form: MarkForm::Plus,
            role: Role::Position,
        });
        drawing.items.push(Item::Label {
            at: position.at,
            text: (i + 1).to_string(),
            anchor: Anchor::Above,
            role: Role::Position,
        });
    }
    drawing
}

fn at_height(sheet: &PlanSheet<'_>, route: &[Position], height: f64, flow: &mut Flow<'_>) {
    let mm = sheet.length;
    let distance = mm.show(sheet.station.source.face_height - height);
    let underside = underside(sheet, height);
    flow.heading(&format!("Height {}", mm.show_with_unit(height)), 30.0);
    flow.paragraph(&format!(
        "Working distance {} {}. {}",
        distance,
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
        rows: route
            .iter()
            .enumerate()
            .map(|(i, p)| {
                let mut row = vec![
                    (i + 1).to_string(),
                    p.name.clone(),
                    mm.show(p.at.x),
                    mm.show(p.at.y),
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
