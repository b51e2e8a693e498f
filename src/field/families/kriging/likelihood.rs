//! Finding variance, noise and correlation lengths from the readings: restricted likelihood with weak
//! priors on the logarithms.
//!
//! The climb is by own damped Newton steps with average information (Gilmour, Thompson & Cullis 1995).

use faer::Mat;

use crate::field::Scatter;
use crate::field::equations::System;
use crate::field::equations::kernel::{Covariance, Kernel, SQRT_5};
use crate::field::equations::trend::Trend;
use crate::geometry::Place;
use crate::numeric::exponential::exp_minus;
use crate::numeric::optimise::{Local, minimise};
use crate::numeric::triangle::add_outer_gram;
use crate::numeric::wide::wide;
use crate::progress::{Cancelled, Progress};

/// A parameter's prior: normal on its logarithm, with bounds.
#[derive(Debug, Clone, Copy)]
pub(in crate::field) struct Prior {
    /// The typical value.
    pub typical: f64,
    /// Standard deviation of the logarithm.
    pub spread: f64,
    /// Least value.
    pub low: f64,
    /// Greatest value.
    pub high: f64,
}

impl Prior {
    /// As a study found it, where one did: near that.
    pub fn found(self, value: Option<f64>) -> Self {
        match value {
            None => self,
            Some(value) => Self {
                typical: value.clamp(self.low, self.high),
                spread: Scatter::SURE,
                ..self
            },
        }
    }
}

/// What is to be found. Axes with the same number share one length; `None`: stays typical.
#[derive(Debug, Clone)]
pub(in crate::field) struct Unknowns {
    /// Standard deviation of the field about its trend (of the logarithm).
    pub amplitude: Prior,
    /// Relative noise.
    pub noise: Prior,
    /// Correlation lengths that are to be found, mm.
    pub lengths: Vec<Prior>,
    /// For x, y and height: which of `lengths`, or how long, mm.
    pub axes: [Axis; 3],
}

/// Where an axis has its length from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::field) enum Axis {
    /// The numbered length.
    Found(usize),
    /// Readings tell nothing: this, mm.
    Typical(f64),
}

/// Parameters of a field.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::field) struct Parameters {
    pub covariance: Covariance,
    /// Relative standard deviation of a reading about the field.
    pub noise: f64,
}

impl Unknowns {
    fn priors(&self) -> impl Iterator<Item = &Prior> {
        [&self.amplitude, &self.noise]
            .into_iter()
            .chain(&self.lengths)
    }

    /// The typical values.
    pub fn typical(&self) -> Parameters {
        let logs: Vec<f64> = self.priors().map(|p| p.typical.ln()).collect();
        self.parameters(&logs)
    }

    fn parameters(&self, logs: &[f64]) -> Parameters {
        Parameters {
            covariance: Covariance {
                kernel: Kernel::Matern52,
                sill: (2.0 * logs[0]).exp(),
                lengths: self.axes.map(|axis| match axis {
                    Axis::Found(i) => logs[2 + i].exp(),
                    Axis::Typical(length) => length,
                }),
            },
            noise: logs[1].exp(),
        }
    }
}

/// Readings as the likelihood sees them.
pub(in crate::field) struct Evidence<'a> {
    unknowns: &'a Unknowns,
    values: &'a [f64],
    /// Variance of each reading that the noise comes on top of.
    floor: &'a [f64],
    columns: Mat<f64>,
    /// Squared distances along x, y and height, mm².
    apart: [Mat<f64>; 3],
    /// Errors that readings share, a column each.
    shared: Option<Mat<f64>>,
}

impl<'a> Evidence<'a> {
    pub fn new(
        unknowns: &'a Unknowns,
        trend: &Trend,
        places: &[Place],
        values: &'a [f64],
        floor: &'a [f64],
    ) -> Self {
        let n = places.len();
        let along = |get: fn(&Place) -> f64| {
            let at: Vec<f64> = places.iter().map(get).collect();
            Mat::from_fn(n, n, |i, j| (at[i] - at[j]) * (at[i] - at[j]))
        };
        Self {
            unknowns,
            values,
            floor,
            columns: Mat::from_fn(n, trend.terms(), |i, k| trend.value(k, places[i])),
            apart: [along(|p| p.x), along(|p| p.y), along(|p| p.height)],
            shared: None,
        }
    }

    /// With errors that readings share, a column each.
    pub fn sharing(self, shared: Option<Mat<f64>>) -> Self {
        Self { shared, ..self }
    }

    /// The equations under the covariance of the field and its noise.
    fn system(&self, v: &Mat<f64>) -> Option<System> {
        let solve = |v: &Mat<f64>| System::solve(v.as_ref(), &self.columns, self.values).ok();
        match &self.shared {
            None => solve(v),
            Some(shared) => {
                let mut whole = v.clone();
                add_outer_gram(&mut whole, shared.as_ref(), 1.0);
                solve(&whole)
            }
        }
    }

    /// The parameters at the greatest posterior density; `None` when it cannot be found.
    pub fn best(&self, progress: &Progress) -> Result<Option<Parameters>, Cancelled> {
        let logs = |get: fn(&Prior) -> f64| -> Vec<f64> {
            self.unknowns.priors().map(|p| get(p).ln()).collect()
        };
        let (low, high) = (logs(|p| p.low), logs(|p| p.high));
        let typical = logs(|p| p.typical);
        // A long and a short start: the likelihood can have a second maximum where the field is taken
        // for noise. Only its value is looked at, which is cheap.
        let mut start: Option<(f64, Vec<f64>)> = None;
        for stretch in [-0.9, 0.0, 0.7] {
            progress.check()?;
            let mut at = typical.clone();
            at[2..].iter_mut().for_each(|l| *l += stretch);
            for i in 0..at.len() {
                at[i] = at[i].max(low[i]).min(high[i]);
            }
            let loss = self.loss(&at);
            if let Some(loss) = loss.filter(|l| start.as_ref().is_none_or(|s| *l < s.0)) {
                start = Some((loss, at));
            }
        }
        let Some((_, start)) = start else {
            return Ok(None);
        };
        /// Of a log likelihood this is nothing: parameters are uncertain by what changes it by 0.5.
        const ENOUGH: f64 = 1e-6;
        let local = |at: &[f64]| self.local(at);
        let valley = minimise(local, &start, &low, &high, ENOUGH, progress)?;
        Ok(valley
            .filter(|v| v.value.is_finite())
            .map(|v| self.unknowns.parameters(&v.at)))
    }

    /// Minus the logarithm of the posterior density at logarithms of parameters.
    fn loss(&self, logs: &[f64]) -> Option<f64> {
        let p = self.unknowns.parameters(logs);
        let (v, _) = self.covariances(&p, false);
        let system = self.system(&v)?;
        Some(system.restricted_loss() + self.prior_loss(logs))
    }

    fn prior_loss(&self, logs: &[f64]) -> f64 {
        self.unknowns
            .priors()
            .zip(logs)
            .map(|(prior, x)| 0.5 * ((x - prior.typical.ln()) / prior.spread).powi(2))
            .sum()
    }

    /// Covariance of the readings and, if wanted, `-2 dK/d(r²)`, from which the derivative for a length
    /// is that times the squared scaled distance along its axis.
    fn covariances(&self, p: &Parameters, slopes: bool) -> (Mat<f64>, Mat<f64>) {
        let n = self.values.len();
        let [a, b, c] = p.covariance.lengths.map(|l| 1.0 / (l * l));
        let sill = p.covariance.sill;
        let mut v = Mat::<f64>::zeros(n, n);
        let m = if slopes { n } else { 0 };
        let mut slope = Mat::<f64>::zeros(m, m);
        let mut squared = vec![0.0; n];
        for j in 0..n {
            let [x, y, h] = [0, 1, 2].map(|axis| &self.apart[axis].col_as_slice(j)[j..]);
            let squared = &mut squared[j..];
            for (s, ((x, y), h)) in squared.iter_mut().zip(x.iter().zip(y).zip(h)) {
                *s = a * x + b * y + c * h;
            }
            let column = &mut v.col_as_slice_mut(j)[j..];
            if slopes {
                let slope = &mut slope.col_as_slice_mut(j)[j..];
                wide(
                    #[inline(always)]
                    || {
                        for ((k, g), s) in column.iter_mut().zip(slope).zip(squared.iter()) {
                            let u = SQRT_5 * s.sqrt();
                            let e = sill * exp_minus(u);
                            *k = (1.0 + u + u * u * (1.0 / 3.0)) * e;
                            *g = (5.0 / 3.0) * (1.0 + u) * e;
                        }
                    },
                );
            } else {
                column.copy_from_slice(squared);
                Kernel::Matern52.correlate(column);
                column.iter_mut().for_each(|k| *k *= sill);
            }
            column[0] += p.noise * p.noise + self.floor[j];
        }
        (v, slope)
    }

    /// Loss, gradient and the average of observed and expected information as curvature (Gilmour,
    /// Thompson & Cullis 1995): for `V_i = dV/dθ_i` the gradient is `(tr P V_i - yᵀ P V_i P y) / 2`,
    /// the curvature `yᵀ P V_i P V_j P y / 2`.
    fn local(&self, logs: &[f64]) -> Option<Local> {
        let n = self.values.len();
        let q = logs.len();
        let parameters = self.unknowns.parameters(logs);
        let (v, slope) = self.covariances(&parameters, true);
        let system = self.system(&v)?;
        let projection = system.projection();
        let pull = &system.pull;
        let scales = parameters.covariance.lengths.map(|l| 1.0 / (l * l));
        let noise = 2.0 * parameters.noise * parameters.noise;

        let mut traces = vec![0.0; q];
        let mut pushed = Mat::<f64>::zeros(n, q); // V_i P y
        for j in 0..n {
            let p = &projection.col_as_slice(j)[j..];
            let k = &v.col_as_slice(j)[j..];
            let g = &slope.col_as_slice(j)[j..];
            let own = parameters.noise * parameters.noise + self.floor[j];
            traces[0] += 2.0
                * symmetric(&mut pushed, 0, j, pull, p, |i| {
                    2.0 * if i == 0 { k[0] - own } else { k[i] }
                });
            traces[1] += noise * p[0];
            pushed[(j, 1)] += noise * pull[j];
            for (axis, found) in self.unknowns.axes.iter().enumerate() {
                if let Axis::Found(length) = *found {
                    let d = &self.apart[axis].col_as_slice(j)[j..];
                    let scale = scales[axis];
                    traces[2 + length] += 2.0
                        * symmetric(&mut pushed, 2 + length, j, pull, p, |i| scale * g[i] * d[i]);
                }
            }
        }
        let spread = &projection * &pushed; // P V_i P y
        let mut gradient = Vec::with_capacity(q);
        for (i, (prior, x)) in self.unknowns.priors().zip(logs).enumerate() {
            let fitted = dot(pull, pushed.col_as_slice(i));
            let lean = (x - prior.typical.ln()) / prior.spread.powi(2);
            gradient.push(0.5 * (traces[i] - fitted) + lean);
        }
        let mut curvature = Mat::from_fn(q, q, |i, j| {
            0.5 * dot(pushed.col_as_slice(i), spread.col_as_slice(j))
        });
        for (i, prior) in self.unknowns.priors().enumerate() {
            curvature[(i, i)] += prior.spread.powi(-2);
        }
        let value = system.restricted_loss() + self.prior_loss(logs);
        (value.is_finite() && gradient.iter().all(|g| g.is_finite())).then_some(Local {
            value,
            gradient,
            curvature,
        })
    }
}

/// One column `j` from its diagonal down of a symmetric matrix `D`: adds its share of `D * pull` to column
/// `into` of `pushed` and gives half its share of the trace of `P D`.
#[inline(always)]
fn symmetric(
    pushed: &mut Mat<f64>,
    into: usize,
    j: usize,
    pull: &[f64],
    projection: &[f64],
    entry: impl Fn(usize) -> f64,
) -> f64 {
    let own = entry(0);
    let here = pull[j];
    let mut trace = 0.5 * own * projection[0];
    let mut across = own * here;
    let out = &mut pushed.col_as_slice_mut(into)[j..];
    let pull = &pull[j..];
    for i in 1..out.len() {
        let d = entry(i);
        trace += d * projection[i];
        across += d * pull[i];
        out[i] += d * here;
    }
    out[0] += across;
    trace
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unknowns() -> Unknowns {
        let length = Prior {
            typical: 60.0,
            spread: 0.8,
            low: 5.0,
            high: 500.0,
        };
        Unknowns {
            amplitude: Prior {
                typical: 0.3,
                spread: 1.0,
                low: 0.01,
                high: 5.0,
            },
            noise: Prior {
                typical: 0.012,
                spread: 0.5,
                low: 0.001,
                high: 0.2,
            },
            lengths: vec![length; 2],
            axes: [Axis::Found(0), Axis::Found(0), Axis::Found(1)],
        }
    }

    fn readings() -> (Vec<Place>, Vec<f64>) {
        (0..24)
            .map(|i| {
                let (x, y) = (f64::from(i % 4) * 30.0, f64::from((i / 4) % 3) * 25.0);
                let h = f64::from(i / 12) * 20.0;
                let wobble = 0.01 * f64::from((i * 7) % 5 - 2);
                (
                    Place::new(x, y, h),
                    3.0 - 1e-4 * ((x - 40.0).powi(2) + (y - 30.0).powi(2)) + 0.008 * h + wobble,
                )
            })
            .unzip()
    }

    #[test]
    fn the_gradient_is_that_of_the_loss() {
        let unknowns = unknowns();
        let (places, values) = readings();
        let floor = vec![1e-6; values.len()];
        for trend in [Trend::constant(), Trend::supported_by(&places, 12)] {
            let drift = Mat::from_fn(values.len(), 1, |i, _| 0.002 * (i as f64 - 11.5));
            let evidence = Evidence::new(&unknowns, &trend, &places, &values, &floor);
            let evidence = evidence.sharing(trend.is_more_than_constant().then_some(drift));
            let at = [-1.0, -4.2, 4.1, 3.6];
            let local = evidence.local(&at).expect("finite");
            assert!((local.value - evidence.loss(&at).expect("finite")).abs() < 1e-9);
            for i in 0..at.len() {
                let step = 1e-4;
                let moved = |sign: f64| {
                    let mut x = at;
                    x[i] += sign * step;
                    evidence.loss(&x).expect("finite")
                };
                let slope = (moved(1.0) - moved(-1.0)) / (2.0 * step);
                assert!(
                    (slope - local.gradient[i]).abs() < 1e-5 * (1.0 + slope.abs()),
                    "{i}: {slope} {}",
                    local.gradient[i]
                );
            }
        }
    }

    #[test]
    fn the_best_is_better_than_its_neighbours() {
        let unknowns = unknowns();
        let (places, values) = readings();
        let floor = vec![1e-6; values.len()];
        let evidence = Evidence::new(&unknowns, &Trend::constant(), &places, &values, &floor);
        let best = evidence
            .best(&Progress::new())
            .expect("not cancelled")
            .expect("found");
        let at = [
            0.5 * best.covariance.sill.ln(),
            best.noise.ln(),
            best.covariance.lengths[0].ln(),
            best.covariance.lengths[2].ln(),
        ];
        let least = evidence.loss(&at).expect("finite");
        for i in 0..at.len() {
            for step in [-0.2, 0.2] {
                let mut x = at;
                x[i] += step;
                assert!(evidence.loss(&x).expect("finite") > least);
            }
        }
    }
}
