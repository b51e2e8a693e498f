//! What can be dragged in each step, and what a drag changes.

use crate::geometry::{Footprint, Point, Shape};
use crate::gui::panels::Thing;
use crate::gui::widgets::plan_view::{Body, Drag, Handle, Phase};
use crate::session::{Command, Gesture, Session, Step};
use crate::station::{Edit, Station};

/// What can be dragged in this step.
pub(super) fn handles(session: &Session) -> Vec<Handle<Thing>> {
    let station = session.station();
    match session.step() {
        Step::Fixture => {
            let sites = station.sites.iter().enumerate().map(|(i, group)| Handle {
                key: Thing::Sites(i),
                at: group.first_centre(),
                body: body(&group.shape, group.turn),
            });
            let keep_outs = station.keep_outs.iter().enumerate().map(|(i, k)| Handle {
                key: Thing::KeepOut(i),
                at: k.footprint.centre,
                body: body(&k.footprint.shape, k.footprint.turn),
            });
            sites.chain(keep_outs).chain(corners(station)).collect()
        }
        Step::Plan => station
            .positions()
            .into_iter()
            .enumerate()
            .map(|(i, p)| Handle {
                key: Thing::Position(i),
                at: p.at,
                body: Body::default(),
            })
            .collect(),
        Step::Readings
        | Step::Field
        | Step::Limits
        | Step::Placement
        | Step::Change
        | Step::Upkeep
        | Step::Export => Vec::new(),
    }
}

/// The parts of groups beside the first of each, by which the whole group is dragged as well: which group, and from the
/// first part to this one.
pub(super) fn parts(session: &Session) -> Vec<Handle<(usize, [f64; 2])>> {
    /// More are not looked over each time the pointer moves; their first parts can be dragged.
    const MOST: usize = 2000;
    let station = session.station();
    let sites = station.all_sites();
    if session.step() != Step::Fixture || sites.len() > MOST {
        return Vec::new();
    }
    let further = sites.into_iter().filter_map(|site| {
        let first = station.sites.get(site.group)?.first_centre();
        let at = site.footprint.centre;
        (at != first).then(|| Handle {
            key: (site.group, [at.x - first.x, at.y - first.y]),
            at,
            body: body(&site.footprint.shape, site.footprint.turn),
        })
    });
    further.collect()
}

/// All of a thing but for a polygon, whose middle is where its corners are measured from: it is dragged by these alone.
fn body(shape: &Shape, turn: f64) -> Body {
    let (width, depth) = match shape {
        Shape::Polygon { .. } => (0.0, 0.0),
        _ => shape.size(),
    };
    Body {
        half: [0.5 * width, 0.5 * depth],
        turn,
        is_round: matches!(shape, Shape::Circle { .. }),
    }
}

/// The corners of polygons: of the fixture and of its keep-outs.
fn corners(station: &Station) -> Vec<Handle<Thing>> {
    let of = |footprint: &Footprint, key: &dyn Fn(usize) -> Thing| -> Vec<Handle<Thing>> {
        let corners = footprint.corners().into_iter().enumerate();
        corners
            .map(|(i, at)| Handle {
                key: key(i),
                at,
                body: Body::default(),
            })
            .collect()
    };
    let mut all = of(&station.fixture.footprint(), &Thing::FixtureCorner);
    for (k, keep_out) in station.keep_outs.iter().enumerate() {
        all.extend(of(&keep_out.footprint, &|i| Thing::KeepOutCorner(k, i)));
    }
    all
}

/// A handle was moved: a drag is one step of undo as a whole, and so is each move by a key.
pub(super) fn moved(
    station: &Station,
    gesture: &mut Gesture,
    drag: Drag<Thing>,
    commands: &mut Vec<Command>,
) {
    match drag.phase {
        Phase::Started => *gesture += 1,
        Phase::GivenUp => return commands.push(Command::GiveUp(*gesture)),
        Phase::Moving | Phase::Done | Phase::ByKey => {}
    }
    let edit = match drag.target {
        Thing::Sites(i) => {
            let Some(group) = station.sites.get(i) else {
                return;
            };
            let from = group.first_centre();
            Edit::MoveSites(i, Point::new(drag.at.x - from.x, drag.at.y - from.y))
        }
        Thing::KeepOut(i) => {
            let Some(mut keep_out) = station.keep_outs.get(i).cloned() else {
                return;
            };
            keep_out.footprint.centre = drag.at;
            Edit::SetKeepOut(i, keep_out)
        }
        Thing::Position(i) => Edit::MovePosition(i, drag.at),
        Thing::FixtureCorner(i) => {
            let mut fixture = station.fixture.clone();
            let Some(shape) = fixture.footprint().with_corner(i, drag.at) else {
                return;
            };
            fixture.shape = shape;
            Edit::SetFixture(fixture)
        }
        Thing::KeepOutCorner(k, i) => {
            let Some(mut keep_out) = station.keep_outs.get(k).cloned() else {
                return;
            };
            let Some(shape) = keep_out.footprint.with_corner(i, drag.at) else {
                return;
            };
            keep_out.footprint.shape = shape;
            Edit::SetKeepOut(k, keep_out)
        }
    };
    commands.push(match drag.phase {
        Phase::ByKey => Command::Edit(edit),
        _ => Command::Drag(edit, *gesture),
    });
}
