//! Where one more reading would tell most of the coldest spot.
//!
//! Possible fields are drawn jointly over the assessed places and all places that could be read. What a reading would
//! leave of their spread follows from how the field varies together there and at the reading (conditioning by
//! kriging of draws; Chilès & Delfiner 2012, section 7.3), taken that the reading will be what is expected there. The
//! position after which the lower bound of the least irradiance stands highest is the next one.

use faer::Mat;

use crate::field::Fitted;
use crate::geometry::Place;
use crate::numeric::cholesky::mirror;
use crate::numeric::quantile::quantile;
use crate::numeric::random::Normals;
use crate::progress::{Cancelled, Progress};

/// Draws: the bound of each candidate is taken from the same ones.
const DRAWS: usize = 700;
/// Batches of draws, of which each has its own bound: how these scatter tells how sure a difference of bounds is.
const BATCHES: usize = 10;
/// One-sided 95 %.
const TAIL: f64 = 0.05;

/// A position to read next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Next {
    /// Which of the candidates.
    pub candidate: usize,
    /// The lower bound of the least irradiance to expect once it was read, and those before it, mW/cm².
    pub expected: f64,
    /// By how much it raises the bound, mW/cm².
    pub gain: f64,
    /// Standard error of that from the finite number of draws, mW/cm².
    pub gain_error: f64,
}

/// The bound now and up to `count` positions in the order in which to read them, each the best one after those
/// before it and after the places in `planned`, which will be read anyway. `assessed` are the places whose least
/// irradiance counts; a candidate is a position with all places that are read there. It ends early when no candidate raises the bound; `None` for a family without
/// joint draws.
///
/// Time grows with draws times candidates times assessed places: some hundreds of each are meant.
///
/// # Errors
/// [`Cancelled`].
pub fn next_positions(
    fitted: &Fitted,
    assessed: &[Place],
    planned: &[Place],
    candidates: &[Vec<Place>],
    count: usize,
    seed: u64,
    progress: &Progress,
) -> Result<Option<(f64, Vec<Next>)>, Cancelled> {
    let noise = fitted.noise().unwrap_or(0.0);
    let places: Vec<Place> = assessed
        .iter()
        .chain(planned)
        .chain(candidates.iter().flatten())
        .copied()
        .collect();
    let Some(draws) = fitted.joint(&places, seed, DRAWS, progress)? else {
        return Ok(None);
    };
    let Some(covariance) = fitted.log_covariance(&places) else {
        return Ok(None);
    };
    let mut fields = Possible::of(&draws.values, covariance);
    let area: Vec<usize> = (0..assessed.len()).collect();
    let mut first = assessed.len() + planned.len();
    let readings: Vec<Vec<usize>> = candidates
        .iter()
        .map(|c| {
            let own = (first..first + c.len()).collect();
            first += c.len();
            own
        })
        .collect();
    let mut normals = Normals::new(seed, u64::MAX);
    let errors: Vec<f64> = (0..DRAWS).map(|_| noise * normals.draw()).collect();

    let now = fields.bound(&area);
    (assessed.len()..assessed.len() + planned.len()).for_each(|p| fields.read(p, noise, &errors));
    let then = fields.bound(&area);
    let mut chosen: Vec<Next> = Vec::new();
    while chosen.len() < count {
        let mut best: Option<Next> = None;
        for (candidate, own) in readings.iter().enumerate() {
            progress.check()?;
            if own.is_empty() || chosen.iter().any(|c| c.candidate == candidate) {
                continue;
            }
            let looked_at: Vec<usize> = area.iter().chain(own).copied().collect();
            let mut then = fields.only(&looked_at);
            let here: Vec<usize> = (area.len()..area.len() + own.len()).collect();
            here.iter().for_each(|&p| then.read(p, noise, &errors));
            let expected = then.bound(&area);
            if best.is_none_or(|b| expected > b.expected) {
                best = Some(Next {
                    candidate,
                    expected,
                    gain: 0.0,
                    gain_error: 0.0,
                });
            }
        }
        let so_far = chosen.last().map_or(then, |c| c.expected);
        let Some(mut best) = best.filter(|b| b.expected > so_far) else {
            break;
        };
        let before = fields.bounds_of_batches(&area);
        readings[best.candidate]
            .iter()
            .for_each(|&p| fields.read(p, noise, &errors));
        best.gain = best.expected - so_far;
        best.gain_error = error_of_mean(&before, &fields.bounds_of_batches(&area));
        chosen.push(best);
        progress.set(chosen.len() as f64 / count as f64);
    }
    Ok(Some((now, chosen)))
}

/// Logarithms of possible fields: for each place its value in every draw, and how they vary together.
struct Possible {
    draws: Vec<Vec<f64>>,
    covariance: Mat<f64>,
}

impl Possible {
    /// From draws of irradiance, one after the other, and the covariance of logarithms (lower triangle).
    fn of(values: &[f64], mut covariance: Mat<f64>) -> Self {
        let places = covariance.nrows();
        let count = values.len() / places.max(1);
        mirror(&mut covariance);
        let at = |p: usize| (0..count).map(|d| values[d * places + p].ln()).collect();
        Self {
            draws: (0..places).map(at).collect(),
            covariance,
        }
    }

    fn only(&self, places: &[usize]) -> Self {
        let n = places.len();
        Self {
            draws: places.iter().map(|&p| self.draws[p].clone()).collect(),
            covariance: Mat::from_fn(n, n, |i, j| self.covariance[(places[i], places[j])]),
        }
    }

    /// What is left of them once a place was read and was as expected.
    fn read(&mut self, place: usize, noise: f64, errors: &[f64]) {
        let at = &self.draws[place];
        let mean = at.iter().sum::<f64>() / at.len() as f64;
        let off: Vec<f64> = at.iter().zip(errors).map(|(z, e)| z - mean + e).collect();
        let common: Vec<f64> = self.covariance.col_as_slice(place).to_vec();
        let variance = common[place] + noise * noise;
        if variance <= 0.0 {
            return;
        }
        for (x, common) in self.draws.iter_mut().zip(&common) {
            let pull = common / variance;
            x.iter_mut().zip(&off).for_each(|(x, o)| *x -= pull * o);
        }
        for (j, &with) in common.iter().enumerate() {
            let column = self.covariance.col_as_slice_mut(j).iter_mut();
            column
                .zip(&common)
                .for_each(|(c, &i)| *c -= i * with / variance);
        }
    }

    /// Lower bound of the least value over places, mW/cm².
    fn bound(&self, places: &[usize]) -> f64 {
        quantile(&self.least(places), TAIL).map_or(f64::NAN, f64::exp)
    }

    /// The same of each batch of draws by itself.
    fn bounds_of_batches(&self, places: &[usize]) -> Vec<f64> {
        let least = self.least(places);
        let batches = least.chunks(least.len().div_ceil(BATCHES).max(1));
        batches
            .map(|batch| quantile(batch, TAIL).map_or(f64::NAN, f64::exp))
            .collect()
    }

    /// Logarithm of the least value over places in each draw.
    fn least(&self, places: &[usize]) -> Vec<f64> {
        let draws = self.draws.first().map_or(0, Vec::len);
        let mut least = vec![f64::INFINITY; draws];
        for &p in places {
            for (l, x) in least.iter_mut().zip(&self.draws[p]) {
                *l = l.min(*x);
            }
        }
        least
    }
}

/// Standard error of the mean difference of two runs of batches.
fn error_of_mean(before: &[f64], after: &[f64]) -> f64 {
    let n = before.len() as f64;
    let off: Vec<f64> = after.iter().zip(before).map(|(a, b)| a - b).collect();
    let mean = off.iter().sum::<f64>() / n;
    let squares: f64 = off.iter().map(|d| (d - mean).powi(2)).sum();
    (squares / (n * (n - 1.0).max(1.0))).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A straight line's update by one reading of known noise is that of conditioning a normal distribution
    /// (Rasmussen & Williams 2006, eq. A.6).
    #[test]
    fn reading_a_place_leaves_what_conditioning_leaves() {
        let n = 20_000;
        let mut normals = Normals::new(5, 0);
        let (mut a, mut b) = (Vec::new(), Vec::new());
        for _ in 0..n {
            let (u, v) = (normals.draw(), normals.draw());
            a.push(0.1 * u);
            b.push(0.2 * (0.8 * u + 0.6 * v));
        }
        let noise = 0.05;
        let errors: Vec<f64> = (0..n).map(|_| noise * normals.draw()).collect();
        let mut fields = Possible {
            draws: vec![a, b],
            covariance: Mat::from_fn(2, 2, |i, j| [[0.01, 0.016], [0.016, 0.04]][i][j]),
        };
        fields.read(0, noise, &errors);
        let spread = |x: &[f64]| {
            let mean = x.iter().sum::<f64>() / n as f64;
            (x.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / n as f64).sqrt()
        };
        let part = 0.01 / (0.01 + noise * noise);
        let expected_a = (0.01 * (1.0 - part)).sqrt();
        let expected_b = (0.04 - (0.8 * 0.1 * 0.2f64).powi(2) / (0.01 + noise * noise)).sqrt();
        assert!((spread(&fields.draws[0]) / expected_a - 1.0).abs() < 0.02);
        assert!((spread(&fields.draws[1]) / expected_b - 1.0).abs() < 0.02);
        assert!((fields.covariance[(1, 1)].sqrt() / expected_b - 1.0).abs() < 1e-12);
    }
}
