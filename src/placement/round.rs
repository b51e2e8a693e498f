//! An array on round figures: what is machined is dimensioned in tenths of a millimetre.

use super::cells::{Cell, Level, Room, cell, offsets};
use super::layout::Layout;
use super::light::Light;
use super::{Lattice, ToPlace};
use crate::geometry::{Point, Shape};

/// Round figures, the roundest first, mm.
const ROUND: [f64; 4] = [1.0, 0.5, 0.1, 0.05];
/// So much less far inside the limits a part may come to lie for it, standard uncertainties.
const GIVEN: f32 = 0.03;
/// And so much less bright than the coldest, or brighter than the hottest, in logarithms.
const ALIKE: f32 = 0.004;

/// The same array with offsets and pitches on round figures, where every part has room there and lies as far inside the
/// limits; else as it is.
pub(super) fn rounded(layout: Layout, ask: &ToPlace, light: &Light) -> Layout {
    let Some(lattice) = layout.lattice else {
        return layout;
    };
    for round in ROUND {
        for pitches in [true, false] {
            if let Some(rounder) = on(&layout, lattice, round, pitches, ask, light) {
                return rounder;
            }
        }
    }
    layout
}

/// On multiples of `round`; the pitches, too, where `pitches`.
fn on(
    layout: &Layout,
    lattice: Lattice,
    round: f64,
    pitches: bool,
    ask: &ToPlace,
    light: &Light,
) -> Option<Layout> {
    let to = |v: f64| (v / round).round() * round;
    let pitch = |p: f64| if pitches { to(p).max(round) } else { p };
    let new = Lattice {
        first: Point::new(to(lattice.first.x), to(lattice.first.y)),
        pitch_x: pitch(lattice.pitch_x),
        pitch_y: pitch(lattice.pitch_y),
        ..lattice
    };
    let room = Room::new(&ask.part, &ask.bed);
    let level = Level::of(&ask.bars);
    let worst = layout
        .parts
        .iter()
        .map(|p| p.2.level)
        .fold(f32::INFINITY, f32::min);
    let ends = layout.parts.iter().map(|p| (p.2.cold, p.2.hot));
    let (cold, hot) = ends.fold((f32::INFINITY, f32::NEG_INFINITY), |(l, h), e| {
        (l.min(e.0), h.max(e.1))
    });
    let offsets = offsets(&ask.part, lattice.turned, 100);
    // whole and half pitches from the first
    let steps = |v: f64, from: f64, pitch: f64| (2.0 * (v - from) / pitch).round() / 2.0;
    let mut parts: Vec<(Point, bool, Cell)> = Vec::with_capacity(layout.parts.len());
    for &(old, turned, _) in &layout.parts {
        let centre = Point::new(
            new.first.x + steps(old.x, lattice.first.x, lattice.pitch_x) * new.pitch_x,
            new.first.y + steps(old.y, lattice.first.y, lattice.pitch_y) * new.pitch_y,
        );
        let cell = cell(centre, &offsets, light, level);
        // at none of its points less than what holds of the worst part
        let dimmer = cell.cold < cold - ALIKE || cell.hot > hot + ALIKE;
        if !room.has(centre, turned) || cell.level < worst - GIVEN || dimmer {
            return None;
        }
        parts.push((centre, turned, cell));
    }
    let clear = parts.iter().enumerate().all(|(i, a)| {
        parts[..i]
            .iter()
            .all(|b| apart(ask, (a.0, a.1), (b.0, b.1)))
    });
    clear.then_some(Layout {
        parts,
        lattice: Some(new),
    })
}

/// Whether two parts are clear of one another.
fn apart(ask: &ToPlace, a: (Point, bool), b: (Point, bool)) -> bool {
    /// What rounding makes of a touch, mm.
    const TOUCH: f64 = 1e-6;
    let part = &ask.part;
    let clearance = part.clearance - TOUCH;
    let (dx, dy) = ((a.0.x - b.0.x).abs(), (a.0.y - b.0.y).abs());
    let ((aw, ad), (bw, bd)) = (part.reach(a.1), part.reach(b.1));
    match part.shape {
        Shape::Circle { .. } => dx.hypot(dy) >= aw + clearance,
        _ => dx >= 0.5 * (aw + bw) + clearance || dy >= 0.5 * (ad + bd) + clearance,
    }
}
