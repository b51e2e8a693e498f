//! Lamps whose light comes by way of mirrors.

use std::f64::consts::TAU;

use evenfield::geometry::{Footprint, Point, Shape};
use evenfield::lamps::{
    Arc, FacetForm, Faceted, FacetedLamp, Housing, HousingLamp, Lamp, LineLamp, LongArc, Opening,
    Reflector, ReflectorLamp, SideReflectors, Trough, TroughLamp, Worn, WornMirror, WornStrip,
};
use evenfield::station::SourceKind;

use super::{Lit, Over, about, rectangle, share};
use crate::chance::Chance;

fn lit(lamp: impl Lamp + Send + Sync + 'static, face: Footprint, told: SourceKind) -> Lit {
    Lit {
        lamp: Box::new(lamp),
        face,
        told,
        pallet_out: None,
    }
}

/// What a trough's mirror is bent like.
#[derive(Clone, Copy)]
pub enum Bend {
    Ellipse,
    Parabola,
}

/// How facets are laid.
#[derive(Clone, Copy, PartialEq)]
pub enum Laid {
    /// Squares in a rectangular opening.
    Square,
    /// Disks in a round one.
    Round,
    /// Hexagons in either, out of focus and leaning.
    Leaning,
}

/// A long arc under a bent mirror, along the fixture's longer side and mostly narrower than the fixture.
pub fn trough(chance: &mut Chance, over: Over<'_>, bend: Bend, worn: bool) -> Option<Lit> {
    let (width, depth) = over.fixture.shape.size();
    let along_x = width >= depth;
    let length = width.max(depth) * chance.between(0.8, 1.4);
    let opening = width.min(depth) * chance.between(0.5, 1.1);
    let focal_length = opening * chance.between(0.18, 0.38);
    let centre = about(chance, over.fixture);
    let eccentricity = match bend {
        Bend::Ellipse => chance.between(0.55, 0.92),
        Bend::Parabola => 1.0,
    };
    let arc = LongArc {
        intensity_per_mm: chance.between(30.0, 90.0),
        size: chance.between(3.0, 9.0),
        below_focus: focal_length * chance.between(-0.4, 0.3),
        aside: chance.between(-2.0, 2.0),
    };
    let side = if chance.happens(0.5) { 1.0 } else { -1.0 };
    let patches = if worn { chance.whole(1, 3) } else { 0 };
    let worn = (0..patches)
        .map(|_| WornStrip {
            across: side * opening * chance.between(0.1, 0.45),
            wide: opening * chance.between(0.08, 0.25),
            along: length * chance.between(-0.4, 0.4),
            long: length * chance.between(0.1, 0.6),
            loss: chance.between(0.2, 0.7),
        })
        .collect();
    let turn = if along_x { 0.0 } else { 90.0 } + chance.between(-1.0, 1.0);
    let lamp = TroughLamp::new(Trough {
        centre,
        turn,
        length,
        opening,
        face_height: over.face_height,
        focal_length,
        eccentricity,
        reflectance: chance.between(0.65, 0.9),
        arc,
        worn,
    })?;
    let face = if along_x {
        rectangle(length, opening, centre)
    } else {
        rectangle(opening, length, centre)
    };
    Some(lit(lamp, face, SourceKind::LinearArc))
}

pub fn facets(chance: &mut Chance, over: Over<'_>, laid: Laid) -> Option<Lit> {
    let (width, depth) = over.fixture.shape.size();
    let centre = about(chance, over.fixture);
    let round = match laid {
        Laid::Square => false,
        Laid::Round => true,
        Laid::Leaning => chance.happens(0.6),
    };
    let opening = if round {
        Opening::Round(0.5 * (width + depth) * chance.between(0.8, 1.5))
    } else if chance.happens(0.5) {
        let side = (width * depth).sqrt() * chance.between(0.8, 1.4);
        Opening::Rectangle(side, side)
    } else {
        Opening::Rectangle(
            width * chance.between(0.75, 1.3),
            depth * chance.between(0.75, 1.3),
        )
    };
    let (reach, extent) = match opening {
        Opening::Round(diameter) => (0.5 * diameter, diameter),
        Opening::Rectangle(x, y) => (0.5 * x.hypot(y), x.min(y)),
    };
    let focal_length = reach * chance.between(0.28, 0.55);
    let defocus = match laid {
        Laid::Leaning => chance.between(-0.6, 0.4),
        Laid::Square | Laid::Round => chance.between(-0.35, 0.1),
    };
    let most = if laid == Laid::Leaning { 6.0 } else { 1.5 };
    let worn = (0..chance.whole(0, 3))
        .map(|_| {
            let angle = chance.between(0.0, TAU);
            let away = 0.5 * extent * chance.between(0.15, 1.0);
            Worn {
                at: Point::new(centre.x + away * angle.cos(), centre.y + away * angle.sin()),
                size: chance.between(8.0, 35.0),
                loss: chance.between(0.2, 0.7),
            }
        })
        .collect();
    let lamp = FacetedLamp::new(Faceted {
        centre,
        face_height: over.face_height,
        opening,
        form: match laid {
            Laid::Square => FacetForm::Square,
            Laid::Round => FacetForm::Round,
            Laid::Leaning => FacetForm::Hexagon,
        },
        pitch: chance.between(12.0, 30.0),
        focal_length,
        eccentricity: chance.between(0.6, 1.0),
        reflectance: chance.between(0.75, 0.9),
        arc: Arc {
            intensity: chance.between(1500.0, 5000.0),
            size: chance.between(3.5, 9.0),
            below_focus: focal_length * defocus,
        },
        arc_aside: (chance.between(-4.0, 4.0), chance.between(-4.0, 4.0)),
        lean: (chance.between(-most, most), chance.between(-most, most)),
        aim: chance.between(0.2, 1.5),
        worn,
        seed: chance.seed(),
    })?;
    let face = lamp.outline();
    Some(lit(lamp, face, SourceKind::ReflectorArc))
}

pub fn bowl(chance: &mut Chance, fixture: &Footprint, face_height: f64) -> Option<Lit> {
    let (width, depth) = fixture.shape.size();
    let rim_diameter = 0.5 * (width + depth) * share(chance);
    let centre = about(chance, fixture);
    let focal_length = rim_diameter * chance.between(0.15, 0.3);
    let lamp = ReflectorLamp::new(Reflector {
        centre,
        face_height,
        rim_diameter,
        focal_length,
        // a flood's arc sits above the focus, so that its beam spreads
        eccentricity: chance.between(0.7, 1.0),
        reflectance: chance.between(0.75, 0.9),
        arc: Arc {
            intensity: chance.between(1500.0, 5000.0),
            size: chance.between(8.0, 20.0),
            below_focus: focal_length * chance.between(-0.55, 0.0),
        },
        worn: (0..chance.whole(0, 3))
            .map(|_| {
                let angle = chance.between(0.0, TAU);
                let away = 0.5 * rim_diameter * chance.between(0.15, 1.0);
                Worn {
                    at: Point::new(centre.x + away * angle.cos(), centre.y + away * angle.sin()),
                    size: chance.between(8.0, 30.0),
                    loss: chance.between(0.2, 0.7),
                }
            })
            .collect(),
    })?;
    let face = Footprint::new(
        Shape::Circle {
            diameter: rim_diameter,
        },
        centre,
    );
    Some(lit(lamp, face, SourceKind::ReflectorArc))
}

pub fn housing(chance: &mut Chance, fixture: &Footprint, face_height: f64) -> Option<Lit> {
    let (width, depth) = fixture.shape.size();
    let opening = if chance.happens(0.5) {
        let side = (width * depth).sqrt() * share(chance);
        (side, side)
    } else {
        (width * share(chance), depth * share(chance))
    };
    let up = chance.between(50.0, 110.0);
    let mut over = |extent: f64| extent - 2.0 * up * chance.between(8.0, 38.0).to_radians().tan();
    let roof = (over(opening.0), over(opening.1));
    let size = chance.between(8.0, 13.0);
    if roof.0.min(roof.1) < 4.0 * size {
        return None;
    }
    let worn = (0..chance.whole(0, 3))
        .map(|_| {
            // on a side or on the roof
            let part = chance.between(0.0, 1.0);
            let half = |opening: f64, roof: f64| 0.5 * (opening + part * (roof - opening));
            let (x, y) = (half(opening.0, roof.0), half(opening.1, roof.1));
            let at = match chance.whole(0, 4) {
                0 => [x, y * chance.between(-1.0, 1.0), part * up],
                1 => [-x, y * chance.between(-1.0, 1.0), part * up],
                2 => [x * chance.between(-1.0, 1.0), y, part * up],
                3 => [x * chance.between(-1.0, 1.0), -y, part * up],
                _ => [
                    0.5 * roof.0 * chance.between(-1.0, 1.0),
                    0.5 * roof.1 * chance.between(-1.0, 1.0),
                    up,
                ],
            };
            WornMirror {
                at,
                size: chance.between(10.0, 35.0),
                loss: chance.between(0.2, 0.7),
            }
        })
        .collect();
    let lamp = HousingLamp::new(Housing {
        centre: about(chance, fixture),
        face_height,
        opening,
        roof,
        depth: up,
        reflectance: chance.between(0.7, 0.9),
        roof_reflectance: chance.between(0.7, 0.9),
        seam: chance.between(3.0, 6.0),
        arc: Arc {
            intensity: chance.between(1500.0, 5000.0),
            size,
            below_focus: chance.between(-0.15, 0.15) * up,
        },
        arc_aside: (chance.between(-4.0, 4.0), chance.between(-4.0, 4.0)),
        worn,
    })?;
    let face = lamp.outline();
    Some(lit(lamp, face, SourceKind::ReflectorArc))
}

/// A trough along the fixture's longer side.
pub fn linear(chance: &mut Chance, fixture: &Footprint, face_height: f64) -> Option<Lit> {
    let (width, depth) = fixture.shape.size();
    let along_x = width >= depth;
    let length = width.max(depth) * share(chance);
    let across = width.min(depth) * share(chance);
    let Point { x, y } = about(chance, fixture);
    let (ux, uy) = if along_x {
        (0.5 * length, 0.0)
    } else {
        (0.0, 0.5 * length)
    };
    let recess = chance.between(12.0, 45.0);
    let lean = chance.between(5.0, 35.0);
    // the mirrors reach from beside the line down and out to the trough's edge
    let gap = 0.5 * across - recess * lean.to_radians().tan();
    let lamp = LineLamp {
        from: Point::new(x - ux, y - uy),
        to: Point::new(x + ux, y + uy),
        height: face_height + recess,
        face_height,
        intensity_per_mm: chance.between(30.0, 90.0),
        sides: Some(SideReflectors {
            gap,
            lean,
            reflectance: chance.between(0.6, 0.9),
        }),
    };
    let (width, depth) = if along_x {
        (length, across)
    } else {
        (across, length)
    };
    let face = Footprint::new(Shape::Rectangle { width, depth }, Point::new(x, y));
    (gap > 8.0).then(|| lit(lamp, face, SourceKind::LinearArc))
}
