//! What both rounds say at the places of the later one.

use faer::Mat;

use super::matching::Pair;
use super::model::Data;
use super::modes::{Mode, Slopes, displaced, logs};
use crate::assess::{NoAnswer, SurveyFit};
use crate::geometry::{Place, Point};
use crate::progress::Progress;
use crate::station::Survey;

/// Draws that the covariance of the earlier field is taken from.
const DRAWS: usize = 400;
const SEED: u64 = 0x00c4_a06e;

/// What both rounds say at the places of the later one.
pub struct Read {
    /// Where, at the same distance from the face as in the earlier round.
    pub at: Vec<Place>,
    /// Change of the logarithm.
    pub z: Vec<f64>,
    readings: Vec<f64>,
    known: Vec<f64>,
    /// Covariance of what the earlier round left open; `None`: all were read in both.
    pub baseline: Option<Mat<f64>>,
    /// Of the earlier field.
    pub slopes: Slopes,
    /// From the mean minute over the length of the round, where noted.
    pub minutes: Option<Vec<f64>>,
}

impl Read {
    /// From pairs of two surveys; `raised` is by how much the face was higher in the earlier one, mm.
    ///
    /// # Errors
    /// [`NoAnswer::Cancelled`].
    pub fn of(
        (earlier, later): (&Survey, &Survey),
        raised: f64,
        fit: &SurveyFit,
        pairs: &[Pair],
        progress: &Progress,
    ) -> Result<Self, NoAnswer> {
        let at: Vec<Place> = pairs
            .iter()
            .map(|p| Place::new(p.to.at.x, p.to.at.y, p.to.at.height + raised))
            .collect();
        let slopes = Slopes::of(fit, &at, progress)?;
        let before: Vec<Place> = pairs
            .iter()
            .zip(&at)
            .map(|(p, &at)| p.from.as_ref().map_or(at, |f| f.at))
            .collect();
        let there = logs(fit, &before, progress)?;
        let resolution = |s: &Survey| {
            s.radiometer
                .as_ref()
                .and_then(|r| r.resolution)
                .unwrap_or(0.0)
        };
        let rounding = |log: f64, step: f64| (step / log.exp()).powi(2) / 12.0;
        let (mut z, mut readings, mut known) = (vec![], vec![], vec![]);
        for (i, pair) in pairs.iter().enumerate() {
            let to = &pair.to;
            let level = pair
                .from
                .as_ref()
                .map_or(slopes.log[i], |from| from.log + slopes.log[i] - there[i]);
            z.push(to.log - level);
            let of = pair.from.as_ref().map_or(0.0, |f| 1.0 / f.count as f64);
            readings.push(of + 1.0 / to.count as f64);
            // what is recorded aside is carried there by the field, whose slope is good to some tenth
            let carried = 0.1 * pair.aside() * slopes.level(i);
            known.push(
                rounding(to.log, resolution(later))
                    + rounding(level, resolution(earlier))
                    + carried * carried,
            );
        }
        let apart: Vec<usize> = (0..pairs.len())
            .filter(|&i| pairs[i].from.is_none())
            .collect();
        let baseline = baseline(fit, &at, &apart, progress)?;
        let minutes: Vec<f64> = pairs.iter().filter_map(|p| p.to.minute).collect();
        let minutes = (minutes.len() == pairs.len()).then(|| {
            let mean = minutes.iter().sum::<f64>() / minutes.len() as f64;
            let least = minutes.iter().copied().fold(f64::INFINITY, f64::min);
            let most = minutes.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let span = (most - least).max(1e-9);
            minutes.iter().map(|m| (m - mean) / span).collect()
        });
        Ok(Self {
            at,
            z,
            readings,
            known,
            baseline,
            slopes,
            minutes,
        })
    }

    /// As the model takes it, all places alike in its mean.
    pub fn data(&self, modes: &[Mode], middle: Point, face_height: f64) -> Data {
        let n = self.at.len();
        let weights = vec![1.0 / n as f64; n];
        Data {
            z: self.z.clone(),
            at: self.at.clone(),
            readings: self.readings.clone(),
            slope: (0..n)
                .map(|i| self.slopes.level(i).powi(2) * if self.is_paired(i) { 2.0 } else { 1.0 })
                .collect(),
            known: self.known.clone(),
            baseline: self.baseline.clone(),
            modes: self.patterns(modes, middle, &weights),
            weights,
            has_zones: false,
            face_height,
        }
    }

    fn is_paired(&self, i: usize) -> bool {
        self.baseline.as_ref().is_none_or(|b| b[(i, i)] == 0.0)
    }

    /// A column a mode, one standard deviation of its prior.
    fn patterns(&self, modes: &[Mode], middle: Point, weights: &[f64]) -> Mat<f64> {
        let columns: Vec<Vec<f64>> = modes
            .iter()
            .map(|&mode| {
                let mut shape = match (mode, &self.minutes) {
                    (Mode::Drift, Some(minutes)) => minutes.iter().map(|m| 0.01 * m).collect(),
                    _ => self.slopes.shape(mode, &self.at, middle),
                };
                if mode.is_centred() {
                    let mean: f64 = shape.iter().zip(weights).map(|(s, w)| s * w).sum();
                    shape.iter_mut().for_each(|s| *s -= mean);
                }
                shape.iter_mut().for_each(|s| *s *= mode.usual());
                shape
            })
            .collect();
        Mat::from_fn(self.at.len(), columns.len(), |i, k| columns[k][i])
    }

    /// Takes from the data by how much modes of this size differ from their straight patterns. Whether that was much.
    ///
    /// # Errors
    /// [`NoAnswer::Cancelled`].
    pub fn straighten(
        &self,
        data: &mut Data,
        fit: &SurveyFit,
        by: &[(Mode, f64)],
        middle: Point,
        progress: &Progress,
    ) -> Result<bool, NoAnswer> {
        let moved = displaced(&self.at, by, middle);
        let there = logs(fit, &moved, progress)?;
        let bent = (0..self.at.len()).map(|i| {
            let slope = &self.slopes.along[i];
            let (from, to) = (self.at[i], moved[i]);
            let straight = slope[0] * (to.x - from.x)
                + slope[1] * (to.y - from.y)
                + slope[2] * (to.height - from.height);
            there[i] - self.slopes.log[i] - straight
        });
        let bent: Vec<f64> = bent.collect();
        // what it does to all alike counts as common, as with the straight patterns
        let mean: f64 = bent.iter().zip(&data.weights).map(|(b, w)| b * w).sum();
        let mut most: f64 = 0.0;
        for (i, bent) in bent.into_iter().enumerate() {
            most = most.max((bent - mean).abs());
            data.z[i] = self.z[i] - (bent - mean);
        }
        Ok(most > 2e-3)
    }
}

/// Covariance of what the earlier field leaves open at places that were not read then; zero at the others. `None`: all were.
fn baseline(
    fit: &SurveyFit,
    at: &[Place],
    apart: &[usize],
    progress: &Progress,
) -> Result<Option<Mat<f64>>, NoAnswer> {
    if apart.is_empty() {
        return Ok(None);
    }
    /// Relative standard deviation of a field whose family says nothing of it (a guess, on the cautious side).
    const UNSAID: f64 = 0.03;
    let places: Vec<Place> = apart.iter().map(|&i| at[i]).collect();
    let mut out = Mat::<f64>::zeros(at.len(), at.len());
    let Some(draws) = fit.field.joint(&places, SEED, DRAWS, progress)? else {
        apart.iter().for_each(|&i| out[(i, i)] = UNSAID * UNSAID);
        return Ok(Some(out));
    };
    let m = draws.places;
    let rows: Vec<Vec<f64>> = draws
        .values
        .chunks(m)
        .map(|row| row.iter().map(|e| e.max(1e-6).ln()).collect())
        .collect();
    let mean: Vec<f64> = (0..m)
        .map(|j| rows.iter().map(|r| r[j]).sum::<f64>() / rows.len() as f64)
        .collect();
    for (a, &i) in apart.iter().enumerate() {
        for (b, &j) in apart.iter().enumerate().take(a + 1) {
            let sum: f64 = rows
                .iter()
                .map(|r| (r[a] - mean[a]) * (r[b] - mean[b]))
                .sum();
            let c = sum / (rows.len() - 1) as f64;
            out[(i, j)] = c;
            out[(j, i)] = c;
        }
    }
    Ok(Some(out))
}
