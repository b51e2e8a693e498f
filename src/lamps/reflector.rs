//! An arc in a bowl reflector, traced backwards.

use std::f64::consts::{PI, TAU};

use super::{Lamp, PER_CM2, slanting};
use crate::geometry::{Place, Point};

/// A bowl of revolution, open downwards: an ellipsoid or a paraboloid with an arc near its focus.
#[derive(Debug, Clone, PartialEq)]
pub struct Reflector {
    /// Its axis on the plan.
    pub centre: Point,
    /// Of the rim above the fixture's base, mm.
    pub face_height: f64,
    /// mm.
    pub rim_diameter: f64,
    /// From the apex to the nearer focus, mm.
    pub focal_length: f64,
    /// 0 is a sphere, below 1 an ellipsoid, 1 a paraboloid.
    pub eccentricity: f64,
    /// Share of the light that comes back where nothing is worn.
    pub reflectance: f64,
    /// What shines in it.
    pub arc: Arc,
    /// Where it has become dull.
    pub worn: Vec<Worn>,
}

/// A soft round arc: its radiance falls off as a bell with the distance from its middle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arc {
    /// The same in all directions, mW/sr.
    pub intensity: f64,
    /// Standard deviation of the bell, mm; the scatter of a dimpled reflector is part of it.
    pub size: f64,
    /// How far its middle sits below the focus, mm; negative above.
    pub below_focus: f64,
}

/// A dull patch of the reflector.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Worn {
    /// Its middle as seen from below, on the fixture's plan.
    pub at: Point,
    /// Standard deviation of the patch, which fades out as a bell, mm.
    pub size: f64,
    /// Share of the reflectance lost in the middle.
    pub loss: f64,
}

/// The lamp with its reflector cut into facets.
#[derive(Debug, Clone, PartialEq)]
pub struct ReflectorLamp {
    reflector: Reflector,
    arc_at: Vector,
    facets: Vec<Facet>,
}

/// A piece of the mirror: where it is, how it faces (down and inwards), and what it returns.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Facet {
    at: Vector,
    normal: Vector,
    /// Area times reflectance, mm².
    area: f64,
}

/// x, y on the plan and height.
pub(super) type Vector = [f64; 3];

pub(super) fn minus(a: Vector, b: Vector) -> Vector {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

pub(super) fn dot(a: Vector, b: Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// Most facets a reflector is cut into.
const MOST_FACETS: f64 = 200_000.0;

impl Reflector {
    /// How far the surface lies below the apex at a distance from the axis, and its slope there:
    /// z = r² / (R + √(R² - (1 - e²) r²)), R the radius of curvature at the apex.
    fn sag(&self, r: f64) -> (f64, f64) {
        let e = self.eccentricity;
        let radius = self.focal_length * (1.0 + e);
        let root = (radius * radius - (1.0 - e * e) * r * r).sqrt();
        (r * r / (radius + root), r / root)
    }

    fn reflectance_at(&self, p: Point) -> f64 {
        self.worn.iter().fold(self.reflectance, |left, worn| {
            let away = p.distance(worn.at) / worn.size;
            left * (1.0 - worn.loss * (-0.5 * away * away).exp())
        })
    }
}

impl ReflectorLamp {
    /// Cuts the reflector into facets a quarter of an arc's size apart, each with the same area on the plan,
    /// in the spiral of a sunflower so that no direction is preferred. `None` when a size is not above
    /// zero or the rim is as wide as the ellipsoid itself.
    pub fn new(reflector: Reflector) -> Option<Self> {
        let rim = 0.5 * reflector.rim_diameter;
        let (_, steepest) = reflector.sag(rim);
        let sound = rim > 0.0 && reflector.focal_length > 0.0 && reflector.arc.size > 0.0;
        if !(sound && steepest.is_finite()) {
            return None;
        }
        let apex = reflector.face_height + reflector.sag(rim).0;
        let spacing = 0.25 * reflector.arc.size;
        let plan_area = PI * rim * rim;
        let count = (plan_area / (spacing * spacing)).ceil().min(MOST_FACETS) as usize;
        let golden = PI * (3.0 - 5.0_f64.sqrt());
        let facets = (0..count)
            .map(|i| {
                let r = rim * ((i as f64 + 0.5) / count as f64).sqrt();
                let (sin, cos) = (golden * i as f64).sin_cos();
                let (sag, slope) = reflector.sag(r);
                let stretch = slope.hypot(1.0);
                let plan = Point::new(reflector.centre.x + r * cos, reflector.centre.y + r * sin);
                Facet {
                    at: [plan.x, plan.y, apex - sag],
                    normal: [
                        -slope * cos / stretch,
                        -slope * sin / stretch,
                        -1.0 / stretch,
                    ],
                    area: plan_area / count as f64 * stretch * reflector.reflectance_at(plan),
                }
            })
            .collect();
        let arc_at = [
            reflector.centre.x,
            reflector.centre.y,
            apex - reflector.focal_length - reflector.arc.below_focus,
        ];
        Some(Self {
            reflector,
            arc_at,
            facets,
        })
    }

    /// Whether the straight way from a place below the rim to a point in the bowl passes its opening.
    fn is_open(&self, from: Vector, to: Vector) -> bool {
        let rise = to[2] - from[2];
        let part = (self.reflector.face_height - from[2]) / rise;
        let crossing = Point::new(
            from[0] + part * (to[0] - from[0]),
            from[1] + part * (to[1] - from[1]),
        );
        crossing.distance(self.reflector.centre) <= 0.5 * self.reflector.rim_diameter
    }

    /// What reaches a place straight from the arc, mW/mm².
    fn direct(&self, place: Vector, slant: f64) -> f64 {
        let way = minus(self.arc_at, place);
        if way[2] <= 0.0 || !self.is_open(place, self.arc_at) {
            return 0.0;
        }
        let r2 = dot(way, way);
        let r = r2.sqrt();
        self.reflector.arc.intensity * way[2] / (r2 * r) * slanting(way[2] / r, slant)
    }

    /// What reaches a place by way of one facet, mW/mm²: the arc's radiance where the way back from
    /// the place, turned round at the facet by the law of reflection, passes the arc.
    fn by_way_of(&self, facet: &Facet, place: Vector, slant: f64) -> f64 {
        let way = minus(facet.at, place);
        let r2 = dot(way, way);
        let r = r2.sqrt();
        let facing = -dot(way, facet.normal) / r;
        if facing <= 0.0 || way[2] <= 0.0 {
            return 0.0;
        }
        let mirrored: Vector = std::array::from_fn(|k| way[k] / r + 2.0 * facing * facet.normal[k]);
        let to_arc = minus(self.arc_at, facet.at);
        let ahead = dot(to_arc, mirrored);
        if ahead <= 0.0 {
            return 0.0;
        }
        let miss2 = (dot(to_arc, to_arc) - ahead * ahead).max(0.0);
        let size2 = self.reflector.arc.size.powi(2);
        // A bell of radiance whose integral over its cross-section is the arc's intensity.
        let radiance = self.reflector.arc.intensity / (TAU * size2) * (-0.5 * miss2 / size2).exp();
        if radiance <= 0.0 || !self.is_open(place, facet.at) {
            return 0.0;
        }
        radiance * facet.area * facing * (way[2] / r) / r2 * slanting(way[2] / r, slant)
    }
}

impl Lamp for ReflectorLamp {
    fn seen(&self, at: Place, slant: f64) -> f64 {
        if at.height >= self.reflector.face_height {
            return 0.0;
        }
        let place = [at.x, at.y, at.height];
        let reflected: f64 = self
            .facets
            .iter()
            .map(|f| self.by_way_of(f, place, slant))
            .sum();
        PER_CM2 * (self.direct(place, slant) + reflected)
    }

    fn face_height(&self) -> f64 {
        self.reflector.face_height
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bowl() -> Reflector {
        Reflector {
            centre: Point::new(90.0, 60.0),
            face_height: 80.0,
            rim_diameter: 170.0,
            focal_length: 35.0,
            eccentricity: 0.8,
            reflectance: 0.85,
            arc: Arc {
                intensity: 2000.0,
                size: 6.0,
                below_focus: 4.0,
            },
            worn: vec![],
        }
    }

    fn traced(reflector: Reflector) -> ReflectorLamp {
        ReflectorLamp::new(reflector).expect("a bowl that can be made")
    }

    #[test]
    fn a_rim_wider_than_the_ellipsoid_makes_no_bowl() {
        // the ellipsoid's greatest radius is f √((1 + e) / (1 - e)), here 105 mm
        let wide = |rim_diameter| Reflector {
            rim_diameter,
            ..bowl()
        };
        assert!(ReflectorLamp::new(wide(209.0)).is_some());
        assert!(ReflectorLamp::new(wide(210.1)).is_none());
        assert!(ReflectorLamp::new(wide(0.0)).is_none());
    }

    #[test]
    fn the_field_is_round_about_the_axis() {
        let lamp = traced(bowl());
        let on_circle: Vec<f64> = (0..12)
            .map(|i| {
                let (sin, cos) = (TAU * f64::from(i) / 12.0).sin_cos();
                lamp.irradiance(Place::new(90.0 + 50.0 * cos, 60.0 + 50.0 * sin, 20.0))
            })
            .collect();
        let mean = on_circle.iter().sum::<f64>() / 12.0;
        assert!(
            on_circle.iter().all(|e| (e / mean - 1.0).abs() < 0.01),
            "{on_circle:?}"
        );
    }

    #[test]
    fn finer_facets_change_little() {
        let coarse = traced(bowl());
        let mut fine = bowl();
        fine.arc.size *= 0.5; // half the spacing ...
        let mut fine = traced(fine);
        fine.reflector.arc.size *= 2.0; // ... of the same arc
        assert!(fine.facets.len() > 3 * coarse.facets.len());
        for at in [
            Place::new(90.0, 60.0, 20.0),
            Place::new(30.0, 60.0, 10.0),
            Place::new(178.0, 118.0, 0.0),
        ] {
            let (a, b) = (coarse.irradiance(at), fine.irradiance(at));
            // half a percent at the corner, where the rim hides facets one by one
            assert!((a / b - 1.0).abs() < 6e-3, "{a} {b}");
        }
    }

    #[test]
    fn a_worn_patch_only_takes_away() {
        let whole = traced(bowl());
        let worn = traced(Reflector {
            worn: vec![Worn {
                at: Point::new(140.0, 95.0),
                size: 15.0,
                loss: 0.6,
            }],
            ..bowl()
        });
        let loss = |x, y| {
            let at = Place::new(x, y, 20.0);
            1.0 - worn.irradiance(at) / whole.irradiance(at)
        };
        // light from the patch leans inwards, to the far focus 315 mm below the apex
        let (below, opposite) = (loss(130.0, 88.0), loss(50.0, 32.0));
        assert!(below > 0.1, "{below}");
        assert!((0.0..0.01).contains(&opposite), "{opposite}");
    }
}
