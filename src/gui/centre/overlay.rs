//! What is drawn over the plan beside its positions: those that are tried out, and the largest gap.

use crate::geometry::{Footprint, Shape};
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
