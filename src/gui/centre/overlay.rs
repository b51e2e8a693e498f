//! What is drawn over the plan beside its positions: those that are tried out, and the largest gap.

use crate::geometry::{Footprint, Point, Shape};
use crate::probing::{Route, Stop};
use crate::session::Gap;
use crate::sheet::drawing::{Anchor, Drawing, Item, MarkForm, Role};
use crate::station::{Position, Station};
use crate::units::LengthUnit;

/// Takes names and bodies of the plan's positions away, so that those tried out are seen.
pub(super) fn make_room(drawing: &mut Drawing) {
    drawing.items.retain(|item| match item {
        Item::Label { role, .. } => *role != Role::Position,
        Item::Path { role, .. } => *role != Role::Body,
        _ => true,
    });
}

/// The way from stop to stop at the lowest height; a ring where it begins, a square at the reference.
pub(super) fn way(drawing: &mut Drawing, route: &Route) {
    let readings = route.stops.iter().filter(|stop| stop.visit.is_none());
    let lowest = readings.clone().next().map(|stop| stop.place.height);
    let once: Vec<&Stop> = readings
        .filter(|stop| Some(stop.place.height) == lowest)
        .collect();
    let points =
        |stops: &[&Stop]| -> Vec<Point> { stops.iter().map(|stop| stop.place.point()).collect() };
    let mark = |at, form| Item::Mark {
        at,
        form,
        role: Role::Way,
    };
    let first = (once.first()).map(|stop| mark(stop.place.point(), MarkForm::Ring));
    let visit = route.stops.iter().find(|stop| stop.visit.is_some());
    let reference = visit.map(|stop| mark(stop.place.point(), MarkForm::Square));
    // beneath names and crosses
    let beneath = drawing.items.iter().position(|item| {
        matches!(
            item,
            Item::Mark {
                role: Role::Position,
                ..
            }
        )
    });
    // from plate to plate nobody walks
    let lines = once
        .chunk_by(|a, b| a.plate == b.plate)
        .map(|on_plate| Item::Path {
            points: points(on_plate),
            closed: false,
            role: Role::Way,
        });
    let marks = [first, reference].into_iter().flatten();
    let all: Vec<Item> = lines.chain(marks).collect();
    let at = beneath.unwrap_or(drawing.items.len());
    drawing.items.splice(at..at, all);
}

/// Adds them to a drawing.
pub(super) fn add(
    drawing: &mut Drawing,
    tried: &[Position],
    gap: Option<Gap>,
    station: &Station,
    unit: LengthUnit,
) {
    let area = |footprint: Footprint, role| Item::Path {
        points: footprint.outline(),
        closed: true,
        role,
    };
    let body = station.plan_radiometer().map(|r| &r.body);
    for position in tried {
        if let Some(body) = body {
            let body = Footprint::new(body.clone(), position.at);
            drawing.items.push(area(body, Role::Preview));
        }
        drawing.items.push(Item::Mark {
            at: position.at,
            form: MarkForm::Square,
            role: Role::Preview,
        });
    }
    if let Some((at, radius)) = gap {
        let disk = Footprint::new(
            Shape::Circle {
                diameter: 2.0 * radius,
            },
            at,
        );
        drawing.items.push(area(disk, Role::Gap));
        drawing.items.push(Item::Label {
            at,
            text: format!("largest gap, radius {}", unit.show_with_unit(radius)),
            anchor: Anchor::Centre,
            role: Role::Gap,
        });
    }
}
