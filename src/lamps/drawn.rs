//! Lamps as they may be where no more than a face is known: for what a plan can be expected to show before anything is read.
//!
//! What is drawn is common practice, no source: how many LEDs stand on a panel and how unlike they are, how a housing leans,
//! where its mirrors are worn. The same number gives the same lamp.

use std::f64::consts::FRAC_PI_2;

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::{
    AnyLamp, Arc, Emitters, Housing, HousingLamp, LineLamp, Lobe, SideReflectors, WornMirror,
};
use crate::geometry::{Footprint, Point};

/// Flux of a panel, mW; intensity of an arc, mW/sr and mW/sr/mm: only shares of it are looked at.
const PANEL: f64 = 30_000.0;
const ARC: f64 = 3_000.0;
const LONG_ARC: f64 = 60.0;

fn chance(number: u64) -> ChaCha8Rng {
    ChaCha8Rng::seed_from_u64(number)
}

/// A panel of LEDs on a face at a height, in so many columns and rows where they are known.
pub fn led_panel(
    face: &Footprint,
    height: f64,
    counts: Option<(u32, u32)>,
    number: u64,
) -> AnyLamp {
    let mut chance = chance(number);
    let (width, depth) = face.shape.size();
    let counts = counts.unwrap_or_else(|| {
        let pitch = chance.random_range(10.0..30.0);
        let count = |extent: f64| ((extent / pitch).round() as u32).clamp(2, 24);
        (count(width), count(depth))
    });
    let lobe = if chance.random_bool(0.5) {
        Lobe::lambertian()
    } else {
        Lobe::flat_window()
    };
    let unlike = (0.05, chance.random_range(0.03..0.12));
    let panel = Emitters::scattered(face, height, counts, lobe, PANEL, unlike, number);
    let dead = chance.random_range(0..panel.emitters.len().max(1));
    Box::new(if chance.random_bool(0.3) {
        panel.with_dead(&[dead])
    } else {
        panel
    })
}

/// An arc in a housing of flat mirrors whose opening is the bounds of the face; up to two of them are worn. `None` for a
/// face too small to hold one.
pub fn reflector(face: &Footprint, height: f64, number: u64) -> Option<AnyLamp> {
    let mut chance = chance(number);
    let (width, depth) = face.shape.size();
    let up = chance.random_range(50.0..110.0);
    let mut over = |extent: f64| {
        let lean: f64 = chance.random_range(8.0..30.0);
        (extent - 2.0 * up * lean.to_radians().tan()).max(0.35 * extent)
    };
    let roof = (over(width), over(depth));
    let worn = (0..chance.random_range(0..3))
        .map(|_| WornMirror {
            at: [
                0.5 * width * if chance.random_bool(0.5) { 1.0 } else { -1.0 },
                0.5 * depth * chance.random_range(-1.0..1.0),
                up * chance.random_range(0.1..0.8),
            ],
            size: chance.random_range(10.0..35.0),
            loss: chance.random_range(0.2..0.7),
        })
        .collect();
    let lamp = HousingLamp::new(Housing {
        centre: face.middle(),
        face_height: height,
        opening: (width, depth),
        roof,
        depth: up,
        reflectance: chance.random_range(0.7..0.9),
        roof_reflectance: chance.random_range(0.7..0.9),
        seam: 4.0,
        arc: Arc {
            intensity: ARC,
            size: chance.random_range(10.0..16.0),
            below_focus: up * chance.random_range(-0.1..0.1),
        },
        arc_aside: (
            chance.random_range(-4.0..4.0),
            chance.random_range(-4.0..4.0),
        ),
        worn,
    })?;
    Some(Box::new(lamp))
}

/// A long arc between two mirrors along the longer side of the face.
pub fn trough(face: &Footprint, height: f64, number: u64) -> AnyLamp {
    let mut chance = chance(number);
    let (width, depth) = face.shape.size();
    let (length, across) = (width.max(depth), width.min(depth));
    let end = |sign: f64| {
        let along = 0.5 * sign * length;
        face.from_own(if width >= depth {
            Point::new(along, 0.0)
        } else {
            Point::new(0.0, along)
        })
    };
    let recess = chance.random_range(0.15..0.4) * across;
    // the mirrors reach from beside the line down and out to the edge of the face
    let most = (0.4 * across / recess).atan().min(0.4 * FRAC_PI_2);
    let lean = chance.random_range(0.2..1.0) * most;
    Box::new(LineLamp {
        from: end(-1.0),
        to: end(1.0),
        height: height + recess,
        face_height: height,
        intensity_per_mm: LONG_ARC,
        sides: Some(SideReflectors {
            gap: 0.5 * across - recess * lean.tan(),
            lean: lean.to_degrees(),
            reflectance: chance.random_range(0.6..0.9),
        }),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Place, Shape};

    #[test]
    fn each_kind_shines_below_its_face_and_is_the_same_for_the_same_number() {
        let shape = Shape::Rectangle {
            width: 150.0,
            depth: 90.0,
        };
        let face = Footprint::new(shape, Point::new(80.0, 60.0));
        let kinds = |number| {
            [
                led_panel(&face, 90.0, None, number),
                reflector(&face, 90.0, number).expect("large enough"),
                trough(&face, 90.0, number),
            ]
        };
        let at = |lamp: &AnyLamp, x: f64| lamp.irradiance(Place::new(x, 60.0, 10.0));
        for number in 0..6 {
            for (one, again) in kinds(number).iter().zip(&kinds(number)) {
                assert_eq!(at(one, 40.0), at(again, 40.0));
                assert!(at(one, 80.0) > 0.0 && at(one, 400.0) < at(one, 80.0));
            }
        }
    }
}
