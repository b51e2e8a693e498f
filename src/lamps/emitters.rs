//! A panel of single emitters, each with its own place and power.

use std::f64::consts::{FRAC_PI_2, TAU};

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;

use super::{Lamp, PER_CM2, slanting};
use crate::geometry::{Footprint, Place, Point};

/// How an emitter's radiant intensity falls with the angle from its axis, from a table of equal
/// steps and with smooth values between them. Its flux over the half space is 1 mW.
#[derive(Debug, Clone, PartialEq)]
pub struct Lobe {
    /// mW/sr for 1 mW, the first on the axis, the last at 90 degrees.
    table: Vec<f64>,
}

/// One emitter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Emitter {
    /// On the plan.
    pub at: Point,
    /// Its whole flux, mW; 0 when it is dead.
    pub power: f64,
}

/// Emitters in one plane that all have the same lobe and shine straight down.
#[derive(Debug, Clone, PartialEq)]
pub struct Emitters {
    /// Of their plane above the fixture's base, mm.
    pub face_height: f64,
    /// How each one shines.
    pub lobe: Lobe,
    /// Where and how much.
    pub emitters: Vec<Emitter>,
}

impl Lobe {
    /// A lobe from relative intensities at equal steps from the axis (first) to 90 degrees (last).
    /// `None` with fewer than three, with one that is negative or not finite, or when all are zero.
    pub fn from_table(relative: &[f64]) -> Option<Self> {
        let sound = relative.len() >= 3 && relative.iter().all(|v| v.is_finite() && *v >= 0.0);
        let mut lobe = Self {
            table: sound.then(|| relative.to_vec())?,
        };
        let flux = lobe.flux();
        if flux <= 0.0 {
            return None;
        }
        lobe.table.iter_mut().for_each(|v| *v /= flux);
        Some(lobe)
    }

    /// Lambert's cosine law, tabulated every 3 degrees.
    pub fn lambertian() -> Self {
        Self::sampled(31, f64::cos)
    }

    /// An emitter under a flat window: wider than Lambert's in the middle, cut off at the edge.
    pub fn flat_window() -> Self {
        Self::sampled(19, |angle| {
            angle.cos() * (1.0 + 0.25 * angle.sin().powi(2)) * (1.0 - angle.sin().powi(8))
        })
    }

    /// An emitter under a small dome: half its intensity at about 30 degrees, with a faint shoulder.
    pub fn domed() -> Self {
        Self::sampled(19, |angle| {
            let shoulder = 0.06 * (-((angle.to_degrees() - 52.0) / 9.0).powi(2)).exp();
            angle.cos() * ((-(angle.to_degrees() / 38.0).powi(2)).exp() + shoulder)
        })
    }

    /// A lobe whose greatest intensity is off the axis, as some lenses make it for even floods.
    pub fn batwing() -> Self {
        Self::sampled(19, |angle| {
            angle.cos() * (0.55 + (-((angle.to_degrees() - 42.0) / 20.0).powi(2)).exp())
        })
    }

    fn sampled(rows: usize, intensity: impl Fn(f64) -> f64) -> Self {
        let table: Vec<f64> = (0..rows)
            .map(|i| intensity(FRAC_PI_2 * i as f64 / (rows - 1) as f64).max(0.0))
            .collect();
        Self::from_table(&table).expect("at least three finite values, not all zero")
    }

    /// Intensity in mW/sr of an emitter of 1 mW at an angle from its axis, radians; zero behind it.
    /// Between the table's rows a cubic with the neighbours' slopes, even about the axis.
    pub fn intensity(&self, angle: f64) -> f64 {
        let last = self.table.len() - 1;
        let along = angle / FRAC_PI_2 * last as f64;
        if !(0.0..=last as f64).contains(&along) {
            return 0.0;
        }
        let i = (along as usize).min(last - 1);
        let t = along - i as f64;
        let value = |k: usize| self.table[k];
        let slope = |k: usize| match k {
            0 => 0.0,
            k if k == last => value(last) - value(last - 1),
            k => 0.5 * (value(k + 1) - value(k - 1)),
        };
        let (t2, t3) = (t * t, t * t * t);
        let between = value(i) * (2.0 * t3 - 3.0 * t2 + 1.0)
            + value(i + 1) * (3.0 * t2 - 2.0 * t3)
            + slope(i) * (t3 - 2.0 * t2 + t)
            + slope(i + 1) * (t3 - t2);
        between.max(0.0)
    }

    /// Flux over the half space by Simpson's rule, mW.
    fn flux(&self) -> f64 {
        const PANELS: usize = 2000;
        let step = FRAC_PI_2 / PANELS as f64;
        let sum: f64 = (0..=PANELS)
            .map(|i| {
                let angle = step * i as f64;
                let weight = match i {
                    0 | PANELS => 1.0,
                    i if i % 2 == 1 => 4.0,
                    _ => 2.0,
                };
                weight * self.intensity(angle) * angle.sin()
            })
            .sum();
        TAU * sum * step / 3.0
    }
}

impl Emitters {
    /// Emitters in about even rows over a face, but off any lattice: each is put up to `shake` times
    /// the pitch from its lattice point along x and y, and its power has the relative standard
    /// deviation `spread`. `power` is the flux of all together, mW; the same seed gives the same
    /// panel.
    pub fn scattered(
        face: &Footprint,
        face_height: f64,
        (columns, rows): (u32, u32),
        lobe: Lobe,
        power: f64,
        (shake, spread): (f64, f64),
        seed: u64,
    ) -> Self {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let (width, depth) = face.shape.size();
        let (pitch_x, pitch_y) = (width / f64::from(columns), depth / f64::from(rows));
        let mut emitters: Vec<Emitter> = (0..rows)
            .flat_map(|row| (0..columns).map(move |column| (column, row)))
            .map(|(column, row)| {
                let mut along = |i: u32, pitch: f64, extent: f64| {
                    let shaken = f64::from(i) + 0.5 + shake * rng.random_range(-1.0..=1.0);
                    shaken * pitch - 0.5 * extent
                };
                let own = Point::new(along(column, pitch_x, width), along(row, pitch_y, depth));
                let draw: f64 = rng.sample(StandardNormal);
                Emitter {
                    at: face.from_own(own),
                    power: (1.0 + spread * draw).max(0.0),
                }
            })
            .collect();
        let total: f64 = emitters.iter().map(|e| e.power).sum();
        for emitter in &mut emitters {
            emitter.power *= power / total;
        }
        Self {
            face_height,
            lobe,
            emitters,
        }
    }

    /// The same panel with some emitters dead, by their order; numbers beyond the last are ignored.
    pub fn with_dead(mut self, dead: &[usize]) -> Self {
        for &i in dead {
            if let Some(emitter) = self.emitters.get_mut(i) {
                emitter.power = 0.0;
            }
        }
        self
    }

    /// The same panel with each emitter's power multiplied by what `factor` says of its place: a
    /// string that ages faster, dirt on one side.
    pub fn dimmed(mut self, factor: impl Fn(Point) -> f64) -> Self {
        for emitter in &mut self.emitters {
            emitter.power *= factor(emitter.at);
        }
        self
    }
}

impl Lamp for Emitters {
    /// Each emitter by the inverse-square law and the cosine at the receiving plane.
    fn seen(&self, at: Place, slant: f64) -> f64 {
        let distance = self.face_height - at.height;
        if distance <= 0.0 {
            return 0.0;
        }
        let per_mm2: f64 = self
            .emitters
            .iter()
            .filter(|e| e.power > 0.0)
            .map(|e| {
                let offset = at.point().distance(e.at);
                let r2 = offset * offset + distance * distance;
                let angle = offset.atan2(distance);
                let r = r2.sqrt();
                e.power * self.lobe.intensity(angle) * distance / (r2 * r)
                    * slanting(distance / r, slant)
            })
            .sum();
        PER_CM2 * per_mm2
    }

    fn beams(&self, at: Place, each: &mut dyn FnMut([f64; 3], f64)) -> bool {
        for &emitter in &self.emitters {
            let alone = |at: Place| {
                let distance = self.face_height - at.height;
                let offset = at.point().distance(emitter.at);
                let r2 = offset * offset + distance * distance;
                let towards = self.lobe.intensity(offset.atan2(distance));
                PER_CM2 * emitter.power * towards * distance / (r2 * r2.sqrt())
            };
            if emitter.power > 0.0 && at.height < self.face_height {
                let from = [emitter.at.x, emitter.at.y, self.face_height];
                each(from, alone(at));
            }
        }
        true
    }

    fn face_height(&self) -> f64 {
        self.face_height
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Shape;
    use std::f64::consts::PI;

    #[test]
    fn lamberts_lobe_is_a_cosine_over_pi() {
        let lobe = Lobe::lambertian();
        for degrees in [0.0_f64, 1.7, 20.0, 44.4, 80.0, 89.0] {
            let angle = degrees.to_radians();
            let error = lobe.intensity(angle) - angle.cos() / PI;
            assert!(error.abs() < 1e-5, "{degrees}: {error}");
        }
        assert_eq!(lobe.intensity(1.6), 0.0);
    }

    #[test]
    fn every_lobe_has_unit_flux() {
        for lobe in [
            Lobe::lambertian(),
            Lobe::flat_window(),
            Lobe::domed(),
            Lobe::batwing(),
        ] {
            assert!((lobe.flux() - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn a_table_that_says_nothing_makes_no_lobe() {
        assert_eq!(Lobe::from_table(&[1.0, 0.5]), None);
        assert_eq!(Lobe::from_table(&[0.0, 0.0, 0.0]), None);
        assert_eq!(Lobe::from_table(&[1.0, f64::NAN, 0.0]), None);
        assert_eq!(Lobe::from_table(&[1.0, -0.1, 0.0]), None);
    }

    #[test]
    fn a_dead_emitter_takes_its_light_away() {
        let face = Footprint::new(
            Shape::Rectangle {
                width: 150.0,
                depth: 100.0,
            },
            Point::new(90.0, 60.0),
        );
        let panel = |seed| {
            let lobe = Lobe::domed();
            Emitters::scattered(&face, 75.0, (9, 6), lobe, 20_000.0, (0.2, 0.03), seed)
        };
        let whole = panel(4);
        assert_eq!(whole, panel(4));
        assert_ne!(whole, panel(5));
        let total: f64 = whole.emitters.iter().map(|e| e.power).sum();
        assert!((total - 20_000.0).abs() < 1e-8);
        let below = whole.emitters[10].at.at_height(20.0);
        let single = Emitters {
            emitters: vec![whole.emitters[10]],
            ..whole.clone()
        };
        let (lit, lost) = (whole.irradiance(below), single.irradiance(below));
        let dead = whole.with_dead(&[10, 9999]);
        assert!(lost > 0.0);
        assert!((dead.irradiance(below) + lost - lit).abs() < 1e-9);
    }
}
