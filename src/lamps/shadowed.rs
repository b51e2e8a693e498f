//! What of a lamp's beams arrives at a face among solids, traced beam by beam: the truth for bonds beside clamps, in pockets,
//! tilted or behind a window. Solids are black.

use super::Lamp;
use crate::geometry::{Place, Point};

/// An upright solid from the base up; its plan is convex.
#[derive(Debug, Clone, PartialEq)]
pub struct Solid {
    /// Corners counter-clockwise.
    pub plan: Vec<Point>,
    /// Of its top, mm.
    pub top: f64,
}

/// A face that light arrives at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Face {
    /// Where.
    pub at: Place,
    /// Unit normal.
    pub normal: [f64; 3],
}

/// A clear plate with level faces over all that is looked at, its lower face at the place itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pane {
    /// mm.
    pub thickness: f64,
    /// Refractive index.
    pub index: f64,
    /// Per mm of the way inside.
    pub absorption: f64,
}

/// What stands around a face.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Shadowed {
    /// In the way.
    pub solids: Vec<Solid>,
    /// Convex holes that faces lie on the bottom of: corners counter-clockwise, and how far above the face they end.
    pub hole: Option<(Vec<Point>, f64)>,
    /// Over the face.
    pub pane: Option<Pane>,
}

impl Solid {
    /// Whether the straight way from a place to a point goes through it.
    fn stops(&self, from: Place, to: [f64; 3]) -> bool {
        let (dx, dy, dz) = (to[0] - from.x, to[1] - from.y, to[2] - from.height);
        // the part of the way that is below its top
        let mut ends = (0.0, ((self.top - from.height) / dz).min(1.0));
        for (i, a) in self.plan.iter().enumerate() {
            let b = self.plan[(i + 1) % self.plan.len()];
            let outwards = (b.y - a.y, a.x - b.x);
            let off = (from.x - a.x) * outwards.0 + (from.y - a.y) * outwards.1;
            let along = dx * outwards.0 + dy * outwards.1;
            if along.abs() < 1e-12 {
                if off > 0.0 {
                    return false;
                }
            } else if along > 0.0 {
                ends.1 = f64::min(ends.1, -off / along);
            } else {
                ends.0 = f64::max(ends.0, -off / along);
            }
        }
        ends.1 > ends.0
    }
}

impl Pane {
    /// Angles outside and inside of the way from a face below it to a point `aside` and `above` it, as sines.
    fn way(&self, aside: f64, above: f64) -> (f64, f64) {
        let clear = above - self.thickness;
        let reaches = |sine: f64| {
            let inside = sine / self.index;
            clear * sine / (1.0 - sine * sine).sqrt()
                + self.thickness * inside / (1.0 - inside * inside).sqrt()
        };
        let (mut low, mut high) = (0.0, 1.0 - 1e-12);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if reaches(middle) < aside {
                low = middle;
            } else {
                high = middle;
            }
        }
        (low, low / self.index)
    }

    /// What comes through that meets it under an angle of this sine; by amplitudes, all passes of the intensities between
    /// the faces (Fresnel; Beer and Lambert).
    fn through(&self, sine: f64) -> f64 {
        let inside = sine / self.index;
        let (c, ci) = ((1.0 - sine * sine).sqrt(), (1.0 - inside * inside).sqrt());
        let left = (-self.absorption * self.thickness / ci).exp();
        let comes = |reflected: f64| {
            let r = reflected * reflected;
            (1.0 - r).powi(2) * left / (1.0 - (r * left).powi(2))
        };
        let s = (c - self.index * ci) / (c + self.index * ci);
        let p = (self.index * c - ci) / (self.index * c + ci);
        0.5 * (comes(s) + comes(p))
    }
}

impl Shadowed {
    /// Irradiance on a face, mW/cm²; `None` for a lamp that does not tell its beams.
    pub fn irradiance(&self, lamp: &dyn Lamp, face: Face) -> Option<f64> {
        let at = face.at;
        let mut sum = 0.0;
        let told = lamp.beams(at, &mut |from, level| {
            let way = [from[0] - at.x, from[1] - at.y, from[2] - at.height];
            let up = way[2];
            let towards: f64 = (0..3).map(|k| face.normal[k] * way[k]).sum();
            if towards <= 0.0 || self.is_stopped(at, from) {
                return;
            }
            let level = match &self.pane {
                None => level,
                Some(pane) => level * pane_gives(pane, way[0].hypot(way[1]), up),
            };
            sum += level * towards / up;
        });
        told.then_some(sum)
    }

    fn is_stopped(&self, at: Place, from: [f64; 3]) -> bool {
        if self.solids.iter().any(|solid| solid.stops(at, from)) {
            return true;
        }
        let Some((plan, depth)) = &self.hole else {
            return false;
        };
        let part = depth / (from[2] - at.height);
        let (x, y) = (
            at.x + part * (from[0] - at.x),
            at.y + part * (from[1] - at.y),
        );
        plan.iter().enumerate().any(|(i, a)| {
            let b = plan[(i + 1) % plan.len()];
            (b.x - a.x) * (y - a.y) - (b.y - a.y) * (x - a.x) < 0.0
        })
    }
}

/// What a plate makes of the light of a point so far aside and above on a level face, as a factor on what it gives there
/// without the plate: the bent way is shorter, its bundle is wider or narrower, and part of it is lost. The point's intensity
/// is taken as that of the straight way, whose direction is nearly the same.
fn pane_gives(pane: &Pane, aside: f64, above: f64) -> f64 {
    let (sine, inside) = pane.way(aside, above);
    let (c, ci) = ((1.0 - sine * sine).sqrt(), (1.0 - inside * inside).sqrt());
    let clear = above - pane.thickness;
    // flux between two directions over the ring of the face that it falls on
    let spread = clear / c.powi(3) + pane.thickness / (pane.index * ci.powi(3));
    let bent = if aside < 1e-9 {
        1.0 / (clear + pane.thickness / pane.index).powi(2)
    } else {
        sine / (aside * spread) / c
    };
    let r2 = aside * aside + above * above;
    let straight = above / (r2 * r2.sqrt());
    bent * pane.through(sine) / straight
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lamps::{Emitter, Emitters, Lobe};

    fn one(x: f64) -> Emitters {
        Emitters {
            face_height: 100.0,
            lobe: Lobe::lambertian(),
            emitters: vec![Emitter {
                at: Point::new(x, 0.0),
                power: 1000.0,
            }],
        }
    }

    fn level() -> Face {
        Face {
            at: Place::new(0.0, 0.0, 0.0),
            normal: [0.0, 0.0, 1.0],
        }
    }

    #[test]
    fn a_beam_passes_over_a_solid_or_not() {
        let plan = [(10.0, -5.0), (14.0, -5.0), (14.0, 5.0), (10.0, 5.0)];
        let solid = |top| Shadowed {
            solids: vec![Solid {
                plan: plan.iter().map(|&(x, y)| Point::new(x, y)).collect(),
                top,
            }],
            ..Shadowed::default()
        };
        // the way to a point 50 mm aside rises 2 mm each mm: 20 mm at the solid's near side
        let seen = |top, x| solid(top).irradiance(&one(x), level());
        let past = seen(19.9, 50.0).expect("beams");
        let bare = one(50.0).irradiance(level().at);
        assert!((past / bare - 1.0).abs() < 1e-12, "{past} {bare}");
        assert_eq!(seen(20.1, 50.0), Some(0.0));
        assert!(seen(60.0, -50.0) > Some(0.0));
    }

    #[test]
    fn a_plate_of_air_changes_nothing_and_one_of_glass_takes_eight_percent() {
        let through = |index, x| {
            let pane = Pane {
                thickness: 3.0,
                index,
                absorption: 0.0,
            };
            let scene = Shadowed {
                pane: Some(pane),
                ..Shadowed::default()
            };
            let bare = one(x).irradiance(level().at);
            scene.irradiance(&one(x), level()).expect("beams") / bare
        };
        for x in [0.0, 30.0, 90.0] {
            assert!((through(1.0, x) - 1.0).abs() < 1e-6, "{x}");
        }
        // 0.92308, and the lamp seems 1 mm nearer
        let nearer = (100.0_f64 / 99.0).powi(2);
        assert!((through(1.5, 0.0) / nearer - 0.92308).abs() < 1e-4);
    }
}
