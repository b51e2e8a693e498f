//! Readings as a lamp family sees them: relative to a field, and with what their errors have in common.
//!
//! In common they have the block of a height, a drift where minutes were noted, and the doubt about the detector's directional
//! response, which is a power of the cosine ([`Directional`]): a measured one is taken off the readings, an index f2 alone
//! widens the bounds. An error of the face's height is taken by the depth from which light seems to come.

use faer::Mat;

use super::glow::{DARKEST, Glow};
use crate::field::Sample;
use crate::field::directional::Directional;
use crate::field::readings::Reach;
use crate::geometry::Place;

/// Standard deviation of a spacer's height, mm (common practice, no source).
pub const SPACER_BLOCK: f64 = 0.15;
/// Standard deviation of how lamp and radiometer together drift over a round whose minutes were noted, a minute (a warm
/// lamp changes by a few percent in an hour; common practice, no source).
const DRIFT: f64 = 0.0007;

/// What is known of the detector beside its noise.
#[derive(Debug, Clone, Copy)]
pub(in crate::field) struct Detector {
    /// Smallest step that the radiometer shows, mW/cm².
    pub resolution: f64,
    /// Diameter of the aperture, mm; 0 where not known.
    pub aperture: f64,
    pub directional: Directional,
}

/// Readings as this family sees them.
#[derive(Debug, Clone)]
pub(super) struct Rows {
    pub places: Vec<Place>,
    /// Readings over `scale`.
    pub values: Vec<f64>,
    /// What rows are relative to, mW/cm².
    pub scale: Vec<f64>,
    /// Relative variance that noise comes on top of.
    pub floor: Vec<f64>,
    /// Relative gradient along x, y and height, 1/mm.
    pub gradient: Vec<[f64; 3]>,
    /// Readings with the same number are one setting of the detector.
    pub placement: Vec<usize>,
    /// What one standard deviation of each error that readings share does to each, relative; a column an error.
    pub shared: Mat<f64>,
    /// Of the detector's directional response, see [`Directional`].
    pub power: f64,
    /// Readings with the same number are at one height.
    block: Vec<usize>,
    /// From the middle of the round; 0 where not noted.
    minute: Vec<f64>,
}

impl Rows {
    /// Relative to themselves, for want of a field.
    pub fn new(samples: &[Sample], reach: &Reach, detector: &Detector) -> Self {
        let scale: Vec<f64> = samples.iter().map(|s| s.irradiance).collect();
        let block: Vec<usize> = samples
            .iter()
            .map(|s| reach.height_block(s.at.height))
            .collect();
        let mut settings: Vec<(usize, usize)> = Vec::new();
        let placement = samples
            .iter()
            .zip(&block)
            .map(|(s, &b)| {
                let here = (s.position, b);
                settings.iter().position(|&s| s == here).unwrap_or_else(|| {
                    settings.push(here);
                    settings.len() - 1
                })
            })
            .collect();
        let mut rows = Self {
            places: samples.iter().map(|s| s.at).collect(),
            values: vec![1.0; samples.len()],
            // Rounding to steps has a variance of step²/12 (JCGM 100:2008, F.2.2.1).
            floor: samples
                .iter()
                .map(|s| (detector.resolution / s.irradiance).powi(2) / 12.0)
                .collect(),
            scale,
            gradient: vec![[0.0; 3]; samples.len()],
            placement,
            shared: Mat::zeros(samples.len(), 0),
            power: detector.directional.power,
            block,
            minute: since_the_middle(samples),
        };
        rows.share(Vec::new());
        rows
    }

    pub fn len(&self) -> usize {
        self.places.len()
    }

    /// Only some rows.
    pub fn part(&self, keep: &[usize]) -> Self {
        fn pick<T: Clone>(from: &[T], keep: &[usize]) -> Vec<T> {
            keep.iter().map(|&i| from[i].clone()).collect()
        }
        Self {
            places: pick(&self.places, keep),
            values: pick(&self.values, keep),
            scale: pick(&self.scale, keep),
            floor: pick(&self.floor, keep),
            gradient: pick(&self.gradient, keep),
            placement: pick(&self.placement, keep),
            shared: Mat::from_fn(keep.len(), self.shared.ncols(), |i, k| {
                self.shared[(keep[i], k)]
            }),
            power: self.power,
            block: pick(&self.block, keep),
            minute: pick(&self.minute, keep),
        }
    }

    /// Makes rows relative to a field, with its gradients, and takes the averaging of the aperture off the readings.
    ///
    /// A directional response that is not a cosine counts relative to the reading that has the least of it: what the
    /// radiometer shows under the middle of the lamp stands.
    pub(super) fn refer(&mut self, glow: &Glow, samples: &[Sample], detector: &Detector) {
        const STEP: f64 = 0.5;
        /// A field further than this factor from a reading is no scale for it.
        const APART: f64 = 1.5;
        let mut means = vec![0.0; samples.len()];
        glow.means(&self.places, &mut means);
        let Directional { power, doubt } = detector.directional;
        let (logs, most) = if power != 0.0 || doubt > 0.0 {
            let logs = log_cosines(glow, &self.places);
            let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            (logs, most)
        } else {
            (Vec::new(), 0.0)
        };
        let seen_at_most = (power * most).exp();
        let mut reach = Vec::new();
        for (i, sample) in samples.iter().enumerate() {
            let p = sample.at;
            let mut light = |dx: f64, dy: f64, dh: f64| {
                let at = Place::new(p.x + dx, p.y + dy, p.height + dh);
                glow.light(at, &mut reach).0
            };
            let here = light(0.0, 0.0, 0.0);
            let mean = means[i];
            let near = (sample.irradiance / APART..=sample.irradiance * APART).contains(&mean);
            if !near || here.is_nan() || here <= DARKEST * sample.irradiance {
                continue;
            }
            let mut slope =
                |x: f64, y: f64, h: f64| (light(x, y, h) - light(-x, -y, -h)) / (2.0 * STEP * here);
            self.gradient[i] = [
                slope(STEP, 0.0, 0.0),
                slope(0.0, STEP, 0.0),
                slope(0.0, 0.0, STEP),
            ];
            // The mean over a disk of radius a is that of four points at a/√2 but for fourth derivatives.
            let blur = if detector.aperture > 0.0 {
                let a = 0.5 * detector.aperture * std::f64::consts::FRAC_1_SQRT_2;
                let around = light(a, 0.0, 0.0)
                    + light(-a, 0.0, 0.0)
                    + light(0.0, a, 0.0)
                    + light(0.0, -a, 0.0);
                0.25 * around / here
            } else {
                1.0
            };
            self.scale[i] = mean;
            self.values[i] = sample.irradiance * seen_at_most / mean / blur;
            self.floor[i] *= (sample.irradiance / mean).powi(2);
        }
        self.share(logs.iter().map(|log| doubt * (log - most)).collect());
    }

    /// Errors that readings share: of each block of a height, of the drift where minutes were noted, and of the
    /// what is not known of the directional response.
    fn share(&mut self, directional: Vec<f64>) {
        let n = self.len();
        let blocks = self.block.iter().max().map_or(0, |b| b + 1);
        let mut columns: Vec<Vec<f64>> = (0..blocks)
            .map(|block| {
                let own = |i: usize| f64::from(u8::from(self.block[i] == block));
                (0..n)
                    .map(|i| own(i) * SPACER_BLOCK * self.gradient[i][2])
                    .collect()
            })
            .collect();
        if self.minute.iter().any(|m| *m != 0.0) {
            columns.push(self.minute.iter().map(|m| DRIFT * m).collect());
        }
        columns.push(directional);
        columns.retain(|c| c.iter().any(|e| *e != 0.0));
        self.shared = Mat::from_fn(n, columns.len(), |i, k| columns[k][i]);
    }
}

/// Minutes from the middle of those that were noted; 0 where none was.
fn since_the_middle(samples: &[Sample]) -> Vec<f64> {
    let noted: Vec<f64> = samples.iter().filter_map(|s| s.minute).collect();
    let middle = noted.iter().sum::<f64>() / noted.len().max(1) as f64;
    let since = samples.iter().map(|s| s.minute.map_or(0.0, |m| m - middle));
    since.collect()
}

/// Mean logarithm of the cosine of the angle of incidence of the light at places.
pub(super) fn log_cosines(glow: &Glow, places: &[Place]) -> Vec<f64> {
    let mut reach = Vec::new();
    let log = |tan2: f64| -0.5 * tan2.ln_1p();
    let each = places
        .iter()
        .map(|&at| glow.over_light(at, &mut reach, &log));
    each.collect()
}
