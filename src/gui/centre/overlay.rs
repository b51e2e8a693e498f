//! What is drawn over the plan beside its positions: those that are tried out, and the largest gap.

use std::collections::HashSet;

use crate::geometry::{Footprint, Point, Shape};
use crate::probing::Route;
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

/// The way from stop to stop, once round all positions; a ring where it begins, a square at the reference.
pub(super) fn way(drawing: &mut Drawing, route: &Route) {
    let mut seen = HashSet::new();
    let readings = route.stops.iter().filter(|stop| stop.visit.is_none());
    let points: Vec<Point> = readings
        .filter(|stop| seen.insert(stop.position))
        .map(|stop| stop.place.point())
        .collect();
    let mark = |at, form| Item::Mark {
        at,
        form,
        role: Role::Way,
    };
    let first = points.first().map(|at| mark(*at, MarkForm::Ring));
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
    let line = Item::Path {
        points,
        closed: false,
        role: Role::Way,
    };
    let at = beneath.unwrap_or(drawing.items.len());
    let all = [Some(line), first, reference].into_iter().flatten();
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
