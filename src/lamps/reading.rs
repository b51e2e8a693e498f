//! What a radiometer would show under a simulated lamp, errors included.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;

use super::Lamp;
use crate::geometry::Place;

/// The errors people and radiometers make; without any by default.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Errors {
    /// Relative standard deviation of a reading from one to the next.
    pub noise: f64,
    /// Standard deviation along x and along y of where the detector is set down, mm.
    pub placement: f64,
    /// Standard deviation of the height blocks: one error for all readings at a height, mm.
    pub block: f64,
    /// The detector averages over a round aperture of this diameter, mm.
    pub aperture: f64,
    /// Relative change per minute of lamp and detector together.
    pub drift: f64,
    /// What the radiometer shows over what is there: the calibration error of its calibration, 1 without.
    pub scale: f64,
    /// The smallest step it shows, mW/cm²; 0 shows every digit.
    pub resolution: f64,
    /// Its directional response is the cosine to the power 1 + this; below 0 it reads slanting light as too much.
    pub slant: f64,
}

/// Somebody with a radiometer. The same seed gives the same readings.
#[derive(Debug, Clone)]
pub struct Reader {
    errors: Errors,
    seed: u64,
    rng: ChaCha8Rng,
}

impl Default for Errors {
    fn default() -> Self {
        Self {
            noise: 0.0,
            placement: 0.0,
            block: 0.0,
            aperture: 0.0,
            drift: 0.0,
            scale: 1.0,
            resolution: 0.0,
            slant: 0.0,
        }
    }
}

impl Errors {
    /// Somebody careful with a small detector: 1.2 % noise, 0.7 mm placement error, blocks good to
    /// 0.2 mm, an aperture of 6 mm, a display of 0.1 mW/cm², no drift and a true scale (common
    /// practice, no source).
    pub fn careful() -> Self {
        Self {
            noise: 0.012,
            placement: 0.7,
            block: 0.2,
            aperture: 6.0,
            resolution: 0.1,
            ..Self::default()
        }
    }
}

impl Reader {
    /// Somebody who makes these errors.
    pub fn new(errors: Errors, seed: u64) -> Self {
        Self {
            errors,
            seed,
            rng: ChaCha8Rng::seed_from_u64(seed),
        }
    }

    /// Sets the detector down on the block of a height, and answers where the middle of its aperture
    /// really is. Readings that follow without moving it share its error of place; all readings on a
    /// block share the block's.
    pub fn set_down(&mut self, meant: Place) -> Place {
        let mut draw = || -> f64 { self.rng.sample(StandardNormal) };
        let (dx, dy) = (
            self.errors.placement * draw(),
            self.errors.placement * draw(),
        );
        Place::new(
            meant.x + dx,
            meant.y + dy,
            meant.height + self.block_error(meant.height),
        )
    }

    /// One block has one error, whenever it is used: it is drawn from the seed and the height.
    fn block_error(&self, height: f64) -> f64 {
        let mut own = ChaCha8Rng::seed_from_u64(self.seed);
        own.set_stream(height.to_bits() | 1); // stream 0 is that of the readings
        let draw: f64 = own.sample(StandardNormal);
        self.errors.block * draw
    }

    /// What the radiometer shows with its aperture at a place, so many minutes after the round began,
    /// mW/cm².
    pub fn read(&mut self, lamp: &dyn Lamp, at: Place, minute: f64) -> f64 {
        let draw: f64 = self.rng.sample(StandardNormal);
        let shown = self.over_aperture(lamp, at)
            * self.errors.scale
            * (1.0 + self.errors.drift * minute)
            * (1.0 + self.errors.noise * draw);
        let shown = shown.max(0.0);
        if self.errors.resolution > 0.0 {
            // divided by steps per unit, 0.1 gives the nearest number to 101.3, not a sum of tenths
            let steps = 1.0 / self.errors.resolution;
            (shown * steps).round() / steps
        } else {
            shown
        }
    }

    /// A whole round: one reading at each place, a minute's share apart, mW/cm².
    pub fn round(&mut self, lamp: &dyn Lamp, places: &[Place], minutes_each: f64) -> Vec<f64> {
        places
            .iter()
            .enumerate()
            .map(|(i, &place)| {
                let placed = self.set_down(place);
                self.read(lamp, placed, minutes_each * i as f64)
            })
            .collect()
    }

    /// Mean over the aperture by seven points, exact for polynomials of the fifth degree (Stroud 1971,
    /// S2 5-1; from memory).
    fn over_aperture(&self, lamp: &dyn Lamp, at: Place) -> f64 {
        let slant = self.errors.slant;
        let middle = lamp.seen(at, slant);
        if self.errors.aperture <= 0.0 {
            return middle;
        }
        let r = 0.5 * self.errors.aperture * (2.0_f64 / 3.0).sqrt();
        let around: f64 = (0..6)
            .map(|i| {
                let (sin, cos) = (std::f64::consts::FRAC_PI_3 * f64::from(i)).sin_cos();
                lamp.seen(Place::new(at.x + r * cos, at.y + r * sin, at.height), slant)
            })
            .sum();
        0.25 * middle + 0.125 * around
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Irradiance given by a formula, to see each error alone.
    struct Formula<F: Fn(Place) -> f64>(F);

    impl<F: Fn(Place) -> f64> Lamp for Formula<F> {
        fn seen(&self, at: Place, _: f64) -> f64 {
            (self.0)(at)
        }
        fn face_height(&self) -> f64 {
            100.0
        }
    }

    fn mean_and_spread(values: &[f64]) -> (f64, f64) {
        let n = values.len() as f64;
        let mean = values.iter().sum::<f64>() / n;
        let squares: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
        (mean, (squares / (n - 1.0)).sqrt())
    }

    const HERE: Place = Place::new(10.0, 20.0, 30.0);

    #[test]
    fn without_errors_the_truth_is_shown() {
        let lamp = Formula(|p| p.x + 2.0 * p.y + 3.0 * p.height);
        assert_eq!(
            Reader::new(Errors::default(), 1).round(&lamp, &[HERE], 1.0),
            [140.0]
        );
    }

    #[test]
    fn noise_is_relative() {
        let mut reader = Reader::new(
            Errors {
                noise: 0.02,
                ..Errors::default()
            },
            7,
        );
        let shown = reader.round(&Formula(|_| 50.0), &[HERE; 4000], 0.0);
        let (mean, spread) = mean_and_spread(&shown);
        assert!((mean - 50.0).abs() < 0.06, "{mean}");
        assert!((spread - 1.0).abs() < 0.05, "{spread}");
    }

    #[test]
    fn placement_costs_the_gradient() {
        let mut reader = Reader::new(
            Errors {
                placement: 0.7,
                ..Errors::default()
            },
            8,
        );
        let lamp = Formula(|p| 100.0 + 2.0 * p.x);
        let (_, spread) = mean_and_spread(&reader.round(&lamp, &[HERE; 4000], 0.0));
        assert!((spread - 1.4).abs() < 0.06, "{spread}");
        // ... but not between repeats that leave the detector where it is
        let placed = reader.set_down(HERE);
        assert_eq!(
            reader.read(&lamp, placed, 0.0),
            reader.read(&lamp, placed, 1.0)
        );
        assert_ne!(placed, HERE);
    }

    #[test]
    fn a_height_block_has_one_error() {
        let lamp = Formula(|p| p.height);
        let errors: Vec<f64> = (0..600)
            .map(|seed| {
                let mut reader = Reader::new(
                    Errors {
                        block: 0.3,
                        ..Errors::default()
                    },
                    seed,
                );
                let shown = reader.round(&lamp, &[HERE, HERE, Place::new(0.0, 0.0, 30.0)], 0.0);
                assert!(shown.iter().all(|e| *e == shown[0]));
                let other = reader.round(&lamp, &[Place::new(0.0, 0.0, 20.0)], 0.0)[0];
                assert_ne!(other - 20.0, shown[0] - 30.0);
                shown[0] - 30.0
            })
            .collect();
        let (mean, spread) = mean_and_spread(&errors);
        assert!(
            mean.abs() < 0.05 && (spread - 0.3).abs() < 0.04,
            "{mean} {spread}"
        );
    }

    #[test]
    fn the_aperture_averages() {
        // The mean of x² over a disk of radius R is R²/4.
        let mut reader = Reader::new(
            Errors {
                aperture: 8.0,
                ..Errors::default()
            },
            3,
        );
        let lamp = Formula(|p| (p.x - 10.0).powi(2));
        assert!((reader.round(&lamp, &[HERE], 0.0)[0] - 4.0).abs() < 1e-12);
    }

    #[test]
    fn drift_scale_and_resolution_are_seen() {
        let mut reader = Reader::new(
            Errors {
                drift: -0.001,
                scale: 1.05,
                resolution: 0.5,
                ..Errors::default()
            },
            3,
        );
        let shown = reader.round(&Formula(|_| 100.0), &[HERE; 3], 10.0);
        assert_eq!(shown, [105.0, 104.0, 103.0]);
    }
}
