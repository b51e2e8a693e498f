//! An arc in a reflector of flat facets: each facet is a window through which the arc's image is seen.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;

use super::reflector::{Vector, dot, minus};
use super::soft::{between, within};
use super::{Arc, Lamp, PER_CM2, Worn, slanting};
use crate::geometry::{Footprint, Place, Point, Shape};

/// Flat facets laid on a conic of revolution, open downwards. Light that meets two of them is left out.
#[derive(Debug, Clone, PartialEq)]
pub struct Faceted {
    /// Its axis on the plan.
    pub centre: Point,
    /// Of the opening above the fixture's base, mm.
    pub face_height: f64,
    /// What the light leaves by.
    pub opening: Opening,
    /// What a facet looks like, and how they are laid.
    pub form: FacetForm,
    /// From one facet to the next on the plan, mm.
    pub pitch: f64,
    /// From the apex to the nearer focus, mm.
    pub focal_length: f64,
    /// 0 is a sphere, below 1 an ellipsoid, 1 a paraboloid.
    pub eccentricity: f64,
    /// Share of the light that comes back where nothing is worn.
    pub reflectance: f64,
    /// What shines in it.
    pub arc: Arc,
    /// The arc's middle off the axis, along x and y, mm.
    pub arc_aside: (f64, f64),
    /// By which the mirror with its arc leans towards x and y, degrees; the opening stays level.
    pub lean: (f64, f64),
    /// Standard deviation by which each facet misses its direction, degrees.
    pub aim: f64,
    /// Where it has become dull; a facet is as dull as its middle.
    pub worn: Vec<Worn>,
    /// Of the facets' directions.
    pub seed: u64,
}

/// The opening of a reflector, about its axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Opening {
    /// mm.
    Round(f64),
    /// Along x and y, mm.
    Rectangle(f64, f64),
}

/// The form of facets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FacetForm {
    /// In rows and columns.
    Square,
    /// Disks, laid like hexagons.
    Round,
    /// Like a honeycomb.
    Hexagon,
}

/// The lamp with its facets as planes.
#[derive(Debug, Clone, PartialEq)]
pub struct FacetedLamp {
    reflector: Faceted,
    arc_at: Vector,
    facets: Vec<Facet>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Facet {
    at: Vector,
    /// Down and inwards.
    normal: Vector,
    /// In its plane.
    axes: [Vector; 2],
    /// From its middle to its sides along the axes, mm.
    half: (f64, f64),
    reflectance: f64,
    /// The arc mirrored in its plane.
    image: Vector,
    /// Of the arc from its plane, mm.
    arc_off: f64,
}

/// Facets touch but for this share of their size.
const SEAM: f64 = 0.03;
/// Most facets.
const MOST_FACETS: f64 = 2000.0;

fn scaled(v: Vector, by: f64) -> Vector {
    v.map(|c| c * by)
}

fn plus(a: Vector, b: Vector) -> Vector {
    std::array::from_fn(|k| a[k] + b[k])
}

fn cross(a: Vector, b: Vector) -> Vector {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

fn unit(v: Vector) -> Vector {
    scaled(v, 1.0 / dot(v, v).sqrt())
}

/// Turned so that what was up leans by small angles towards x and y, radians.
fn leaning(v: Vector, (x, y): (f64, f64)) -> Vector {
    let (sx, cx) = x.sin_cos();
    let v = [v[0] * cx + v[2] * sx, v[1], v[2] * cx - v[0] * sx];
    let (sy, cy) = y.sin_cos();
    [v[0], v[1] * cy + v[2] * sy, v[2] * cy - v[1] * sy]
}

impl Opening {
    fn reach(self) -> f64 {
        match self {
            Self::Round(diameter) => 0.5 * diameter,
            Self::Rectangle(width, depth) => 0.5 * width.hypot(depth),
        }
    }

    fn size(self) -> (f64, f64) {
        match self {
            Self::Round(diameter) => (diameter, diameter),
            Self::Rectangle(width, depth) => (width, depth),
        }
    }

    fn holds(self, x: f64, y: f64) -> bool {
        match self {
            Self::Round(diameter) => x.hypot(y) <= 0.5 * diameter,
            Self::Rectangle(width, depth) => x.abs() <= 0.5 * width && y.abs() <= 0.5 * depth,
        }
    }

    /// Share of a bell about a point of the opening's plane that passes.
    fn passes(self, x: f64, y: f64, size: f64) -> f64 {
        match self {
            Self::Round(diameter) => within(0.5 * diameter - x.hypot(y), size),
            Self::Rectangle(width, depth) => {
                between(x, 0.5 * width, size) * between(y, 0.5 * depth, size)
            }
        }
    }
}

impl Faceted {
    /// How far the surface lies below the apex at a distance from the axis, and its slope there; not finite beyond the
    /// conic.
    fn sag(&self, r: f64) -> (f64, f64) {
        let e = self.eccentricity;
        let radius = self.focal_length * (1.0 + e);
        let root = (radius * radius - (1.0 - e * e) * r * r).sqrt();
        (r * r / (radius + root), r / root)
    }

    /// Middles of facets whose middle lies in the opening, from the axis.
    fn middles(&self) -> Vec<(f64, f64)> {
        let (width, depth) = self.opening.size();
        let row_pitch = match self.form {
            FacetForm::Square => self.pitch,
            FacetForm::Round | FacetForm::Hexagon => self.pitch * 0.75_f64.sqrt(),
        };
        let columns = (0.5 * width / self.pitch).ceil() as i32 + 1;
        let rows = (0.5 * depth / row_pitch).ceil() as i32 + 1;
        let mut middles = Vec::new();
        for row in -rows..=rows {
            let shift = match self.form {
                FacetForm::Square => 0.5,
                _ if row.rem_euclid(2) == 1 => 0.5,
                _ => 0.0,
            };
            for column in -columns..=columns {
                let x = self.pitch * (f64::from(column) + shift);
                let y = row_pitch
                    * (f64::from(row)
                        + if self.form == FacetForm::Square {
                            0.5
                        } else {
                            0.0
                        });
                if self.opening.holds(x, y) {
                    middles.push((x, y));
                }
            }
        }
        middles
    }
}

impl FacetedLamp {
    /// `None` when a size is not above zero, the opening reaches as far as the conic itself, the arc hangs out of it, or
    /// facets are too many or fewer than four.
    pub fn new(reflector: Faceted) -> Option<Self> {
        let reach = reflector.opening.reach();
        let (depth, steepest) = reflector.sag(reach);
        let (width, length) = reflector.opening.size();
        let sizes = [
            reach,
            reflector.focal_length,
            reflector.arc.size,
            reflector.pitch,
        ];
        let many = width * length / (reflector.pitch * reflector.pitch);
        if !(sizes.iter().all(|s| *s > 0.0) && steepest.is_finite() && many <= MOST_FACETS) {
            return None;
        }
        let apex = reflector.face_height + depth;
        let lean = (reflector.lean.0.to_radians(), reflector.lean.1.to_radians());
        let hinge = [
            reflector.centre.x,
            reflector.centre.y,
            reflector.face_height + depth,
        ];
        let leant = |at: Vector| plus(hinge, leaning(minus(at, hinge), lean));
        let arc_at = leant([
            reflector.centre.x + reflector.arc_aside.0,
            reflector.centre.y + reflector.arc_aside.1,
            apex - reflector.focal_length - reflector.arc.below_focus,
        ]);
        if arc_at[2] < reflector.face_height + reflector.arc.size {
            return None;
        }
        let mut rng = ChaCha8Rng::seed_from_u64(reflector.seed);
        let facets: Vec<Facet> = (reflector.middles().into_iter())
            .map(|(x, y)| {
                let r = x.hypot(y);
                let (sag, slope) = reflector.sag(r);
                let outwards = if r > 0.0 { (x / r, y / r) } else { (1.0, 0.0) };
                let mut miss = || -> f64 {
                    let draw: f64 = rng.sample(StandardNormal);
                    reflector.aim.to_radians() * draw
                };
                let plan = Point::new(reflector.centre.x + x, reflector.centre.y + y);
                let at = leant([plan.x, plan.y, apex - sag]);
                let normal = [-slope * outwards.0, -slope * outwards.1, -1.0];
                let normal = leaning(unit(normal), (lean.0 + miss(), lean.1 + miss()));
                let first = unit(minus([1.0, 0.0, 0.0], scaled(normal, normal[0])));
                let second = cross(normal, first);
                let side = 0.5 * reflector.pitch * (1.0 - SEAM);
                let half = match reflector.form {
                    // as wide as its cell of the plan
                    FacetForm::Square => (side / first[0].abs(), side / second[1].abs()),
                    FacetForm::Round | FacetForm::Hexagon => {
                        let stretched = side / normal[2].abs().sqrt();
                        (stretched, stretched)
                    }
                };
                let arc_off = dot(minus(arc_at, at), normal);
                let worn = reflector.worn.iter();
                Facet {
                    at,
                    normal,
                    axes: [first, second],
                    half,
                    reflectance: worn.fold(reflector.reflectance, |left, worn| {
                        let away = plan.distance(worn.at) / worn.size;
                        left * (1.0 - worn.loss * (-0.5 * away * away).exp())
                    }),
                    image: minus(arc_at, scaled(normal, 2.0 * arc_off)),
                    arc_off,
                }
            })
            .filter(|facet| facet.arc_off > 0.0)
            .collect();
        (facets.len() >= 4).then_some(Self {
            reflector,
            arc_at,
            facets,
        })
    }

    /// The opening on the plan.
    pub fn outline(&self) -> Footprint {
        let shape = match self.reflector.opening {
            Opening::Round(diameter) => Shape::Circle { diameter },
            Opening::Rectangle(width, depth) => Shape::Rectangle { width, depth },
        };
        Footprint::new(shape, self.reflector.centre)
    }

    /// Share of light on the way from a place to the arc or an image of it that passes the opening.
    fn passes(&self, place: Vector, way: Vector) -> f64 {
        let part = (self.reflector.face_height - place[2]) / way[2];
        let (x, y) = (
            place[0] + part * way[0] - self.reflector.centre.x,
            place[1] + part * way[1] - self.reflector.centre.y,
        );
        self.reflector
            .opening
            .passes(x, y, part * self.reflector.arc.size)
    }

    /// What a point of unit intensity gives to a place, over way and slant; zero for one that is not above it.
    fn from_point(way: Vector, slant: f64) -> f64 {
        if way[2] <= 0.0 {
            return 0.0;
        }
        let r2 = dot(way, way);
        let r = r2.sqrt();
        way[2] / (r2 * r) * slanting(way[2] / r, slant)
    }

    /// Share of the arc's image that a place sees through a facet. The arc is a bell across the way; on the facet's plane
    /// it is as much smaller as that is nearer than the image, and drawn out the way it slants.
    fn through(&self, facet: &Facet, place: Vector) -> f64 {
        let off = dot(minus(place, facet.at), facet.normal);
        if off <= 0.0 {
            return 0.0;
        }
        let way = minus(facet.image, place);
        let part = off / (off + facet.arc_off);
        let hit = minus(plus(place, scaled(way, part)), facet.at);
        let size = part * self.reflector.arc.size;
        let down = dot(way, facet.normal);
        let along = |axis: Vector| {
            let slope = dot(way, axis) / down;
            (dot(hit, axis), size * slope.hypot(1.0))
        };
        let ((u, su), (v, sv)) = (along(facet.axes[0]), along(facet.axes[1]));
        match self.reflector.form {
            FacetForm::Square => between(u, facet.half.0, su) * between(v, facet.half.1, sv),
            FacetForm::Round => {
                let size = (su * sv).sqrt();
                within(facet.half.0 - u.hypot(v), size)
            }
            FacetForm::Hexagon => {
                let size = (su * sv).sqrt();
                let (sin, cos) = (0.75_f64.sqrt(), 0.5);
                between(u, facet.half.0, size)
                    * between(cos * u + sin * v, facet.half.0, size)
                    * between(cos * u - sin * v, facet.half.0, size)
            }
        }
    }
}

impl Lamp for FacetedLamp {
    fn seen(&self, at: Place, slant: f64) -> f64 {
        if at.height >= self.reflector.face_height {
            return 0.0;
        }
        let place = [at.x, at.y, at.height];
        let by_facets: f64 = (self.facets.iter())
            .map(|facet| {
                let through = self.through(facet, place);
                if through <= 0.0 {
                    return 0.0;
                }
                let way = minus(facet.image, place);
                let open = if way[2] > 0.0 {
                    self.passes(place, way)
                } else {
                    0.0
                };
                facet.reflectance * through * open * Self::from_point(way, slant)
            })
            .sum();
        let way = minus(self.arc_at, place);
        let direct = if way[2] > 0.0 {
            self.passes(place, way) * Self::from_point(way, slant)
        } else {
            0.0
        };
        PER_CM2 * self.reflector.arc.intensity * (direct + by_facets)
    }

    fn beams(&self, at: Place, each: &mut dyn FnMut([f64; 3], f64)) -> bool {
        let place = [at.x, at.y, at.height];
        let mut beam = |from: Vector, share: f64| {
            let way = minus(from, place);
            if share > 0.0 && way[2] > 0.0 {
                let gives = self.passes(place, way) * Self::from_point(way, 0.0);
                each(from, PER_CM2 * self.reflector.arc.intensity * share * gives);
            }
        };
        if at.height < self.reflector.face_height {
            for facet in &self.facets {
                beam(facet.image, facet.reflectance * self.through(facet, place));
            }
            beam(self.arc_at, 1.0);
        }
        true
    }

    fn face_height(&self) -> f64 {
        self.reflector.face_height
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reflector(form: FacetForm) -> Faceted {
        Faceted {
            centre: Point::new(90.0, 60.0),
            face_height: 90.0,
            opening: Opening::Rectangle(160.0, 120.0),
            form,
            pitch: 20.0,
            focal_length: 40.0,
            eccentricity: 0.9,
            reflectance: 0.8,
            arc: Arc {
                intensity: 2000.0,
                size: 4.0,
                below_focus: -8.0,
            },
            arc_aside: (3.0, -2.0),
            lean: (2.0, -1.0),
            aim: 0.5,
            worn: vec![],
            seed: 7,
        }
    }

    fn made(reflector: Faceted) -> FacetedLamp {
        FacetedLamp::new(reflector).expect("a reflector that can be made")
    }

    /// Rays from the arc to evenly drawn points of a facet, reflected and followed down to a plane: what falls into a
    /// patch there, over the patch's area.
    fn traced(lamp: &FacetedLamp, facet: &Facet, middle: Place, half: f64) -> f64 {
        let mut rng = ChaCha8Rng::seed_from_u64(11);
        let n = 400_000;
        let area = 4.0 * facet.half.0 * facet.half.1;
        let mut sum = 0.0;
        for _ in 0..n {
            let mut draw = |half: f64| half * rng.random_range(-1.0..=1.0);
            let (u, v) = (draw(facet.half.0), draw(facet.half.1));
            let on = plus(
                facet.at,
                plus(scaled(facet.axes[0], u), scaled(facet.axes[1], v)),
            );
            let mut bell = || -> f64 { rng.sample::<f64, _>(StandardNormal) };
            let from = plus(
                lamp.arc_at,
                scaled([bell(), bell(), bell()], lamp.reflector.arc.size),
            );
            let way = minus(on, from);
            let r2 = dot(way, way);
            let way = unit(way);
            let facing = -dot(way, facet.normal);
            let mirrored = plus(way, scaled(facet.normal, 2.0 * facing));
            let down = (middle.height - on[2]) / mirrored[2];
            let lands = plus(on, scaled(mirrored, down));
            let inside = (lands[0] - middle.x).abs() < half && (lands[1] - middle.y).abs() < half;
            if mirrored[2] < 0.0 && inside {
                sum += facing / r2;
            }
        }
        let flux = lamp.reflector.arc.intensity * facet.reflectance * area * sum / f64::from(n);
        100.0 * flux / (4.0 * half * half)
    }

    #[test]
    fn images_give_what_traced_rays_do() {
        let lamp = made(Faceted {
            opening: Opening::Rectangle(400.0, 400.0),
            pitch: 45.0,
            focal_length: 90.0,
            eccentricity: 1.0,
            ..reflector(FacetForm::Square)
        });
        for index in [20, 30, 41] {
            let facet = lamp.facets[index];
            // where the image's middle is seen through the facet's
            let way = minus(facet.at, facet.image);
            let down = (30.0 - facet.at[2]) / way[2];
            let middle = plus(facet.at, scaled(way, down));
            for aside in [0.0, 18.0, 36.0] {
                let middle = Place::new(middle[0] + aside, middle[1], 30.0);
                let one = FacetedLamp {
                    facets: vec![facet],
                    ..lamp.clone()
                };
                let none = FacetedLamp {
                    facets: vec![],
                    ..lamp.clone()
                };
                const HALF: f64 = 5.0;
                let mut mean = 0.0;
                for i in 0..5 {
                    for j in 0..5 {
                        let at = |k: i32| HALF * (f64::from(k) - 2.0) / 2.5;
                        let place = Place::new(middle.x + at(i), middle.y + at(j), 30.0);
                        mean += (one.irradiance(place) - none.irradiance(place)) / 25.0;
                    }
                }
                let rays = traced(&lamp, &facet, middle, HALF);
                let error = (mean - rays).abs();
                assert!(
                    error < 0.03 * rays + 0.3,
                    "facet {index}, {aside} mm aside: {mean} {rays}"
                );
            }
        }
    }

    #[test]
    fn forms_are_laid_side_by_side() {
        let count = |form| made(reflector(form)).facets.len();
        assert_eq!(count(FacetForm::Square), 48);
        // a honeycomb has 2/√3 as many on the same area
        let honeycomb = count(FacetForm::Hexagon);
        assert!((48..=64).contains(&honeycomb), "{honeycomb}");
        assert_eq!(count(FacetForm::Round), honeycomb);
    }

    #[test]
    fn hexagons_give_more_than_the_disks_in_them_by_their_area() {
        // of a small arc, for the edges of a wide one are softened for each form in its own way
        let of = |form| {
            let whole = reflector(form);
            let arc = Arc {
                size: 1.0,
                ..whole.arc
            };
            let lamp = made(Faceted { arc, ..whole });
            let bare = FacetedLamp {
                facets: vec![],
                ..lamp.clone()
            };
            let places = (0..60 * 48).map(|i| {
                Place::new(
                    -20.0 + 4.0 * f64::from(i % 60),
                    -20.0 + 4.0 * f64::from(i / 60),
                    20.0,
                )
            });
            let each = places.map(|at| lamp.irradiance(at) - bare.irradiance(at));
            each.sum::<f64>()
        };
        let ratio = of(FacetForm::Hexagon) / of(FacetForm::Round);
        // a hexagon is 2√3/π of the disk in it
        let area = 12f64.sqrt() / std::f64::consts::PI;
        assert!((ratio / area - 1.0).abs() < 0.03, "{ratio} {area}");
    }

    #[test]
    fn what_cannot_be_laid_makes_no_lamp() {
        let few = Faceted {
            pitch: 300.0,
            ..reflector(FacetForm::Square)
        };
        assert_eq!(FacetedLamp::new(few), None);
        let wide = Faceted {
            eccentricity: 0.3,
            ..reflector(FacetForm::Square)
        };
        assert_eq!(FacetedLamp::new(wide), None);
    }

    #[test]
    fn a_worn_patch_only_takes_away() {
        let worn = Faceted {
            worn: vec![Worn {
                at: Point::new(130.0, 80.0),
                size: 20.0,
                loss: 0.7,
            }],
            ..reflector(FacetForm::Hexagon)
        };
        let (worn, whole) = (made(worn), made(reflector(FacetForm::Hexagon)));
        let loss = |x, y| {
            let at = Place::new(x, y, 20.0);
            1.0 - worn.irradiance(at) / whole.irradiance(at)
        };
        assert!(loss(125.0, 80.0) > 0.05, "{}", loss(125.0, 80.0));
        assert!(
            (0.0..0.03).contains(&loss(30.0, 20.0)),
            "{}",
            loss(30.0, 20.0)
        );
    }
}
