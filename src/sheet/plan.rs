//! The probe-position plan on paper: where to put the detector, in which order, and lines to write
//! the readings on.

use std::collections::HashSet;

use super::drawing::{Anchor, Drawing, Item, MarkForm, Role};
use super::figure;
use super::flow::{self, Flow};
use super::page::Page;
use super::picture::labels::names::{Stop, beside_stops};
use super::picture::{Layers, Picture};
use super::title::{Title, radiometer_fields, source};
use super::words::recorded;
use crate::geometry::Point;
use crate::record::{PlanRecord, UnreachedRecord};
use crate::units::{fixed, trim_zeros};

mod asked;
mod origin;
mod sections;

pub use asked::PlanSheet;

use sections::Section;

/// The pages of a plan: title with lines to fill in, the drawing and the cautions, then a table for each height. Numbers and
/// names are the same on drawing and tables, and a number stands for one stop of the whole round.
pub fn plan_pages(sheet: &PlanSheet<'_>) -> Vec<Page> {
    let title = title(sheet);
    let mut flow = Flow::new(sheet.paper, &title, sheet.version);
    let sections = sections::of(sheet.record);
    let round = said_of_round(sheet, &sections);
    picture(sheet, &sections, &round, &mut flow);
    if !round.is_empty() {
        flow.heading(ROUND, round_height(&round, &flow));
        for sentence in &round {
            flow.paragraph(sentence);
        }
    }
    flow::cautions(&mut flow);
    if sections.is_empty() {
        flow.paragraph("This plan has no positions yet: plan positions and heights first.");
    }
    for section in &sections {
        sections::put(sheet, section, &mut flow);
    }
    flow.finish()
}

const ROUND: &str = "The round";

/// Height of what is said of the round, without its heading, mm.
fn round_height(round: &[String], flow: &Flow<'_>) -> f64 {
    round.iter().map(|s| flow.paragraph_height(s)).sum()
}

/// The drawing with the numbers of the first stops, and what it shows; what is said of the round and the cautions have room
/// below it.
fn picture(sheet: &PlanSheet<'_>, sections: &[Section<'_>], round: &[String], flow: &mut Flow<'_>) {
    let (left, right, top) = (flow.left(), flow.right(), flow.y);
    let said = [
        origin::sentence(&sheet.station.fixture, sheet.length),
        "Each upright cross is the middle of the detector's aperture, above it the number of the stop, beside it the name of \
         the position, as in the tables. Take them in the order of the numbers."
            .to_owned(),
        numbers(sheet, sections),
    ];
    let text: f64 = said.iter().map(|s| flow.paragraph_height(s)).sum();
    let round = if round.is_empty() {
        0.0
    } else {
        flow::HEADING + round_height(round, flow)
    };
    let room = (flow.room() - text - round - flow::cautions_height(flow)).max(60.0);
    flow.y = figure::put(
        flow.page(),
        drawing(sheet),
        (left, right),
        (top, room),
        sheet.length,
        None,
    );
    for sentence in said.iter().filter(|s| !s.is_empty()) {
        flow.paragraph(sentence);
    }
}

/// Of which stops the drawn numbers are.
fn numbers(sheet: &PlanSheet<'_>, sections: &[Section<'_>]) -> String {
    if sheet.record.route.outermost == "positions" {
        return "The number is that of the first stop at a position; its other heights follow before the next position."
            .to_owned();
    }
    match drawn_and_further(sections) {
        ([], _) => String::new(),
        (drawn, _) => format!("The numbers are those of {}.", spans(sheet, drawn)),
    }
}

/// The sections at the lowest height, and the others.
fn drawn_and_further<'a, 'b>(
    sections: &'a [Section<'b>],
) -> (&'a [Section<'b>], &'a [Section<'b>]) {
    let lowest = sections.first().and_then(|s| s.height);
    sections.split_at(sections.iter().take_while(|s| s.height == lowest).count())
}

/// `stops 1 to 12 at 20 mm, stops 13 to 24 at 30 mm`.
fn spans(sheet: &PlanSheet<'_>, sections: &[Section<'_>]) -> String {
    let at = |section: &Section<'_>| {
        let plate = (section.plate).map_or_else(String::new, |plate| format!(" on plate {plate}"));
        let height = section.height.map_or_else(String::new, |height| {
            format!(" at {}", sheet.length.show_with_unit(height))
        });
        format!("{}{height}{plate}", section.span())
    };
    sections.iter().map(at).collect::<Vec<_>>().join(", ")
}

/// What is to be known of the round beside its picture.
fn said_of_round(sheet: &PlanSheet<'_>, sections: &[Section<'_>]) -> Vec<String> {
    let mut said = Vec::new();
    let (_, further) = drawn_and_further(sections);
    if !further.is_empty() {
        said.push(format!(
            "The same crosses in the same order are {}.",
            spans(sheet, further)
        ));
    }
    said.extend(reference(sheet));
    if !sections.is_empty() {
        said.push(round(sheet));
    }
    let unreached = sheet
        .record
        .unreached
        .iter()
        .map(|low| unreached(low, sheet));
    said.extend(unreached);
    said
}

/// Which stops are visits of the reference position.
fn reference(sheet: &PlanSheet<'_>) -> Option<String> {
    const LISTED: usize = 16;
    let reference = sheet.record.route.reference.as_ref()?;
    let visits: Vec<String> = (sheet.record.positions.iter())
        .filter(|stop| stop.reference_visit.is_some())
        .map(|stop| stop.number.to_string())
        .collect();
    let more = if visits.len() > LISTED {
        " and so on"
    } else {
        ""
    };
    let numbers = visits[..visits.len().min(LISTED)].join(", ");
    Some(format!(
        "The cross marked R, {}, is the reference position: stops {numbers}{more}, always at {}, {}. What changes there is drift.",
        reference.position,
        sheet.length.show_with_unit(reference.height_mm),
        sections::spacer(sheet, reference.height_mm)
    ))
}

/// How long the round is and takes.
fn round(sheet: &PlanSheet<'_>) -> String {
    let route = &sheet.record.route;
    let cycle = route.cycle_s;
    let reading = cycle.open + cycle.place + cycle.close + cycle.settle + cycle.expose + cycle.read;
    let mut changes = Vec::new();
    for (count, what) in [
        (route.height_changes, "spacer"),
        (route.plate_changes, "plate"),
    ] {
        if count > 0 {
            let times = if count == 1 {
                "once"
            } else {
                &format!("{count} times")
            };
            changes.push(format!("the {what} is changed {times}"));
        }
    }
    let changes = if changes.is_empty() {
        String::new()
    } else {
        format!(
            "; {}, {} s each",
            changes.join(" and "),
            trim_zeros(fixed(cycle.change, 1))
        )
    };
    format!(
        "The round has {} readings of {} s each (open, place, close, settle, expose, read){changes}: about {} min, by times that \
         are {}.",
        route.readings,
        trim_zeros(fixed(reading, 1)),
        fixed(route.minutes.ceil(), 0),
        if sheet.station.plan.cycle.is_some() {
            "entered in the plan"
        } else {
            "usual"
        }
    )
}

/// What a bond line below the sensing plane costs.
fn unreached(low: &UnreachedRecord, sheet: &PlanSheet<'_>) -> String {
    let mm = sheet.length;
    let cost = low.more_percent.map_or_else(String::new, |percent| {
        format!(
            ": about {} % more is read there than lies at the bond, by the inverse square of the distance, an estimate",
            fixed(percent, 0)
        )
    });
    format!(
        "The sensing plane can't be brought to the bond line {} of {}; its lowest place is {}{cost}. Raise the source by {} for \
         the survey and write its face height down, or read at heights it reaches.",
        mm.show_with_unit(low.height_mm),
        recorded(&low.sites),
        mm.show_with_unit(low.lowest_mm),
        mm.show_with_unit(low.raise_source_mm)
    )
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
    let record = sheet.record;
    if let Some(plates) = record.plates.as_ref().filter(|plates| plates.used) {
        let plates = match plates.count {
            1 => "one plate".to_owned(),
            n => format!("{n} plates"),
        };
        about.push(("Located by", plates));
    }
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

/// Crosses with the number of each position's first stop. What lies beneath is grey, and nothing runs through a cross.
fn drawing(sheet: &PlanSheet<'_>) -> Drawing {
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
    for item in &mut drawing.items {
        if let Item::Path { role, .. } = item
            && *role == Role::Site
        {
            *role = Role::Beneath;
        }
    }
    drawing.items.extend(origin::centre(&sheet.station.fixture));
    let stops = first_stops(sheet.record);
    for stop in &stops {
        drawing.items.push(Item::Mark {
            at: stop.at,
            form: MarkForm::Plus,
            role: Role::Stop,
        });
        // a name gives way where it would cover a number; the table has it all the same
        for (text, anchor, role) in [
            (stop.number.as_str(), Anchor::Above, Role::Stop),
            (stop.name, Anchor::Left, Role::Site),
        ] {
            drawing.items.push(Item::Label {
                at: stop.at,
                text: text.to_owned(),
                anchor,
                role,
            });
        }
    }
    // after those of the stops: what comes later gives way
    drawing.items.extend(beside_stops(sheet.station, &stops));
    drawing
}

/// For each position its first stop; the reference has an R instead of its many numbers.
fn first_stops(record: &PlanRecord) -> Vec<Stop<'_>> {
    let mut seen = HashSet::new();
    let reference = record.route.reference.as_ref();
    let first = record
        .positions
        .iter()
        .filter(|stop| seen.insert(&stop.position));
    first
        .map(|stop| Stop {
            at: Point::new(stop.x_mm, stop.y_mm),
            number: match reference {
                Some(reference) if reference.position == stop.position => "R".to_owned(),
                _ => stop.number.to_string(),
            },
            name: &stop.position,
        })
        .collect()
}
