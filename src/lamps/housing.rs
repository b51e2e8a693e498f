//! An arc in a housing of flat mirrors, traced backwards.

use std::f64::consts::TAU;

use super::reflector::{Vector, dot, minus};
use super::{Arc, Lamp, PER_CM2, slanting};
use crate::geometry::{Footprint, Place, Point, Shape};

/// A rectangular opening under four flat sides that lean inwards and a flat roof: what a square lamp
/// with a lamp bulb in the middle looks like from below.
#[derive(Debug, Clone, PartialEq)]
pub struct Housing {
    /// The middle of the opening on the plan.
    pub centre: Point,
    /// Of the opening above the fixture's base, mm.
    pub face_height: f64,
    /// Of the opening along x and y, mm.
    pub opening: (f64, f64),
    /// Of the roof along x and y, mm; at most as much as the opening.
    pub roof: (f64, f64),
    /// From the opening up to the roof, mm.
    pub depth: f64,
    /// Share of the light that the sides return where nothing is worn.
    pub reflectance: f64,
    /// The same of the roof.
    pub roof_reflectance: f64,
    /// The sheets are dull along the seams between them: a mirror returns nothing at its neighbour and
    /// recovers over about this distance from it as a bell does, mm. It also keeps what is seen through
    /// the opening free of jumps, which no sum over points meets well.
    pub seam: f64,
    /// What shines in it; `below_focus` counts from the middle of the housing's depth.
    pub arc: Arc,
    /// The arc's middle off the housing's, along x and y, mm.
    pub arc_aside: (f64, f64),
    /// Where the mirrors have become dull.
    pub worn: Vec<WornMirror>,
}

/// A dull patch of a flat mirror.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WornMirror {
    /// Its middle: from the opening's along x and y, and up from the opening, mm.
    pub at: [f64; 3],
    /// Standard deviation of the patch, which fades out as a bell, mm.
    pub size: f64,
    /// Share of the reflectance lost in the middle.
    pub loss: f64,
}

/// The lamp, its mirrors as planes and points spread over its opening.
#[derive(Debug, Clone, PartialEq)]
pub struct HousingLamp {
    housing: Housing,
    arc_at: Vector,
    mirrors: [Mirror; 5],
    /// In the opening, from its middle.
    points: Vec<Vector>,
    /// The opening's share of a point, mm².
    area_each: f64,
}

/// A plane whose normal points into the housing.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Mirror {
    through: Vector,
    normal: Vector,
    reflectance: f64,
}

/// About how far apart points of the opening are, over the arc's size. A bell seen through the opening
/// is as much narrower there as the opening is nearer than the arc's image, some three to five times.
const APART: f64 = 0.3;
/// Most points.
const MOST_POINTS: f64 = 200_000.0;
/// Light is followed through so many mirrors.
const BOUNCES: usize = 8;
/// Light weaker than this share is not followed on.
const LEAST_SHARE: f64 = 1e-3;

impl HousingLamp {
    /// `None` when a size is not above zero, or the roof is wider than the opening.
    pub fn new(housing: Housing) -> Option<Self> {
        let ((wide, deep), (roof_x, roof_y)) = (housing.opening, housing.roof);
        let sizes = [
            roof_x,
            roof_y,
            housing.depth,
            housing.seam,
            housing.arc.size,
        ];
        let sound = sizes.iter().all(|s| s.is_finite() && *s > 0.0)
            && wide.is_finite()
            && deep.is_finite()
            && wide >= roof_x
            && deep >= roof_y;
        if !sound {
            return None;
        }
        let side = |axis: usize, sign: f64, half: f64, half_roof: f64| {
            let slope = (half - half_roof) / housing.depth;
            let length = slope.hypot(1.0);
            let (mut through, mut normal) = ([0.0; 3], [0.0, 0.0, -slope / length]);
            through[axis] = sign * half;
            normal[axis] = -sign / length;
            Mirror {
                through,
                normal,
                reflectance: housing.reflectance,
            }
        };
        let mirrors = [
            side(0, 1.0, 0.5 * wide, 0.5 * roof_x),
            side(0, -1.0, 0.5 * wide, 0.5 * roof_x),
            side(1, 1.0, 0.5 * deep, 0.5 * roof_y),
            side(1, -1.0, 0.5 * deep, 0.5 * roof_y),
            Mirror {
                through: [0.0, 0.0, housing.depth],
                normal: [0.0, 0.0, -1.0],
                reflectance: housing.roof_reflectance,
            },
        ];
        let wanted = wide * deep / (APART * housing.arc.size).powi(2);
        let points = spread_points(wanted.min(MOST_POINTS) as u64, wide, deep);
        let up = 0.5 * housing.depth - housing.arc.below_focus;
        Some(Self {
            arc_at: [housing.arc_aside.0, housing.arc_aside.1, up],
            mirrors,
            area_each: wide * deep / points.len() as f64,
            points,
            housing,
        })
    }

    /// The opening on the plan.
    pub fn outline(&self) -> Footprint {
        let (width, depth) = self.housing.opening;
        Footprint::new(Shape::Rectangle { width, depth }, self.housing.centre)
    }

    /// Radiance seen along a way that enters the opening, mW/mm²/sr: the arc's, a bell across the way
    /// whose integral is its intensity, wherever the way passes it, dimmed by the mirrors before.
    fn radiance(&self, mut from: Vector, mut way: Vector) -> f64 {
        let size2 = self.housing.arc.size.powi(2);
        let peak = self.housing.arc.intensity / (TAU * size2);
        let (mut seen, mut share) = (0.0, 1.0);
        for _ in 0..=BOUNCES {
            let hit = self.mirrors.iter().filter_map(|mirror| {
                let nearing = -dot(way, mirror.normal);
                let height = dot(minus(from, mirror.through), mirror.normal);
                // a mirror that the way comes from is left, not neared
                (nearing > 1e-12).then(|| (height.max(0.0) / nearing, mirror))
            });
            let next = hit.reduce(|a, b| if b.0 < a.0 { b } else { a });
            let out = if way[2] < 0.0 {
                -from[2] / way[2]
            } else {
                f64::INFINITY
            };
            let reach = next.map_or(out, |(length, _)| length.min(out));
            let to_arc = minus(self.arc_at, from);
            let ahead = dot(to_arc, way);
            if (0.0..reach).contains(&ahead) {
                let miss2 = (dot(to_arc, to_arc) - ahead * ahead).max(0.0);
                seen += share * peak * bell(miss2 / size2);
            }
            let Some((length, mirror)) = next.filter(|(length, _)| *length < out) else {
                break;
            };
            from = std::array::from_fn(|k| from[k] + length * way[k]);
            share *= self.returned(mirror, from);
            if share < LEAST_SHARE {
                break;
            }
            let turn = 2.0 * dot(way, mirror.normal);
            way = std::array::from_fn(|k| way[k] - turn * mirror.normal[k]);
        }
        seen
    }

    /// Share of the light that a mirror returns at a place.
    fn returned(&self, mirror: &Mirror, at: Vector) -> f64 {
        let others = self.mirrors.iter().filter(|other| *other != mirror);
        let to_seam = others
            .map(|other| dot(minus(at, other.through), other.normal))
            .fold(f64::INFINITY, f64::min);
        let seam = 1.0 - bell((to_seam / self.housing.seam).powi(2));
        let worn = self.housing.worn.iter();
        worn.fold(mirror.reflectance * seam, |left, worn| {
            let away = minus(at, worn.at);
            left * (1.0 - worn.loss * bell(dot(away, away) / worn.size.powi(2)))
        })
    }
}

/// exp(-x² / 2) of x²; most ways pass so far off that it is not worth working out.
fn bell(squared: f64) -> f64 {
    if squared < 60.0 {
        (-0.5 * squared).exp()
    } else {
        0.0
    }
}

/// At least so many points over a rectangle about its middle, each with the same share of it: a lattice
/// by Fibonacci numbers (Niederreiter 1992, Random Number Generation and Quasi-Monte Carlo Methods, 5.1;
/// from memory). Unlike in rows and columns, no two points lie on one line along a side, so that the
/// straight edges of what is seen through the opening are met evenly.
fn spread_points(wanted: u64, wide: f64, deep: f64) -> Vec<Vector> {
    let (mut before, mut count) = (1_u64, 1_u64);
    while count < wanted {
        (before, count) = (count, before + count);
    }
    let along = |i: u64, extent: f64| extent * ((i as f64 + 0.5) / count as f64 - 0.5);
    (0..count)
        .map(|i| [along(i, wide), along(i * before % count, deep), 0.0])
        .collect()
}

impl Lamp for HousingLamp {
    fn seen(&self, at: Place, slant: f64) -> f64 {
        let housing = &self.housing;
        if at.height >= housing.face_height {
            return 0.0;
        }
        let place = [
            at.x - housing.centre.x,
            at.y - housing.centre.y,
            at.height - housing.face_height,
        ];
        let sum: f64 = self
            .points
            .iter()
            .map(|&point| {
                let to = minus(point, place);
                let r2 = dot(to, to);
                let r = r2.sqrt();
                let way = to.map(|v| v / r);
                self.radiance(point, way) * way[2] * way[2] / r2 * slanting(way[2], slant)
            })
            .sum();
        PER_CM2 * self.area_each * sum
    }

    fn face_height(&self) -> f64 {
        self.housing.face_height
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn housing() -> Housing {
        Housing {
            centre: Point::new(90.0, 60.0),
            face_height: 80.0,
            opening: (150.0, 140.0),
            roof: (80.0, 90.0),
            depth: 80.0,
            reflectance: 0.85,
            roof_reflectance: 0.85,
            seam: 4.0,
            arc: Arc {
                intensity: 2000.0,
                size: 8.0,
                below_focus: 0.0,
            },
            arc_aside: (0.0, 0.0),
            worn: vec![],
        }
    }

    fn traced(housing: Housing) -> HousingLamp {
        HousingLamp::new(housing).expect("a housing that can be made")
    }

    #[test]
    fn a_roof_wider_than_the_opening_makes_no_housing() {
        let wide = Housing {
            roof: (151.0, 90.0),
            ..housing()
        };
        assert_eq!(HousingLamp::new(wide), None);
        let flat = Housing {
            depth: 0.0,
            ..housing()
        };
        assert_eq!(HousingLamp::new(flat), None);
    }

    #[test]
    fn black_sides_leave_the_arc_and_its_image_in_the_roof() {
        let lamp = traced(Housing {
            reflectance: 0.0,
            roof_reflectance: 0.7,
            arc: Arc {
                size: 3.0,
                ..housing().arc
            },
            ..housing()
        });
        // the arc is 40 mm over the opening, its image 40 mm over the roof
        let (x, below) = (15.0_f64, 60.0_f64);
        let from = |up: f64| (below + up) / (x * x + (below + up).powi(2)).powf(1.5);
        let expected = PER_CM2 * 2000.0 * (from(40.0) + 0.7 * from(120.0));
        let seen = lamp.irradiance(Place::new(90.0 + x, 60.0, 80.0 - below));
        // the bell has some width
        assert!((seen / expected - 1.0).abs() < 5e-3, "{seen} {expected}");
    }

    #[test]
    fn upright_sides_are_images() {
        // A place so near the opening's edge that the near side's image of the arc is seen whole, in a
        // housing whose roof and other sides are too far to matter.
        let lamp = traced(Housing {
            opening: (100.0, 600.0),
            roof: (100.0, 600.0),
            depth: 80.0,
            roof_reflectance: 0.0,
            reflectance: 0.8,
            arc: Arc {
                size: 3.0,
                below_focus: 10.0,
                ..housing().arc
            },
            ..housing()
        });
        // from 25 mm left of the middle and 30 mm below, the way to the image at +100 passes the side
        // at 75 / 125 of the way, 36 mm below the image's height of 30 + 30: 6 mm over the opening
        let at = Place::new(65.0, 60.0, 50.0);
        let from = |aside: f64| {
            let x = aside + 25.0;
            60.0 / (x * x + 3600.0).powf(1.5)
        };
        // the image at -100 is seen too: 25 / 75 of the way, 20 mm up, below the opening, so it is not
        let expected = PER_CM2 * 2000.0 * (from(0.0) + 0.8 * from(100.0));
        let seen = lamp.irradiance(at);
        assert!((seen / expected - 1.0).abs() < 1e-2, "{seen} {expected}");
    }

    #[test]
    fn more_points_change_little() {
        let coarse = traced(housing());
        let mut fine = housing();
        fine.arc.size *= 0.5; // points half as far apart ...
        let mut fine = traced(fine);
        fine.housing.arc.size *= 2.0; // ... of the same arc
        assert!(fine.points.len() > 3 * coarse.points.len());
        for at in [
            Place::new(90.0, 60.0, 30.0),
            Place::new(30.0, 60.0, 10.0),
            Place::new(178.0, 118.0, 0.0),
        ] {
            let (a, b) = (coarse.irradiance(at), fine.irradiance(at));
            assert!((a / b - 1.0).abs() < 2e-3, "{a} {b}");
        }
    }

    #[test]
    fn a_worn_patch_only_takes_away() {
        let whole = traced(housing());
        let worn = traced(Housing {
            worn: vec![WornMirror {
                at: [55.0, 0.0, 40.0],
                size: 15.0,
                loss: 0.6,
            }],
            ..housing()
        });
        let loss = |x| {
            let at = Place::new(x, 60.0, 20.0);
            1.0 - worn.irradiance(at) / whole.irradiance(at)
        };
        let losses: Vec<f64> = (0..=18).map(|i| loss(10.0 * f64::from(i))).collect();
        assert!(losses.iter().all(|l| *l >= 0.0), "{losses:?}");
        assert!(losses.iter().any(|l| *l > 0.03), "{losses:?}");
    }
}
