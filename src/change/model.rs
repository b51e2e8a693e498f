//! The change of log irradiance as one model: common + local + what is no wear + noise, solved at once.
//!
//! `z = c + g(place) + N a + e`: z is the second survey against what the first one left known there, c the common change (any
//! value), g the local change, a Gaussian field whose mean over the positions is zero as long as no zone is told, N the patterns of
//! what is no wear with a prior each, and of zones, e noise of both surveys. Where a place was read in both, the first survey's level there is a free
//! parameter of its own, so that what no family of fields sees cancels; elsewhere the first survey's field is the prior, with its
//! joint covariance. Generalised least squares with one free mean (Rasmussen & Williams 2006, section 2.7); the sizes of noise and of
//! local change by restricted likelihood (Patterson & Thompson 1971) with weak priors.
//!
//! How much of a pattern there is, such as of a zone at some place, is its own generalised least squares estimate beside all that.

use faer::Mat;

use crate::geometry::Place;
use crate::numeric::cholesky::Factor;
use crate::progress::{Cancelled, Progress};

/// Over this much of the logarithm of the working distance a local change turns into another (a guess that matters little:
/// heights of one survey lie within it).
const OVER_DISTANCE: f64 = 0.6;
/// A fading that is uneven by so much and as smooth as the fixture is large is no zone; relative standard deviation.
const SMOOTH_WEAR: f64 = 0.01;

/// What is compared, place by place.
#[derive(Debug, Clone)]
pub struct Data {
    /// Change of the logarithm.
    pub z: Vec<f64>,
    /// Where.
    pub at: Vec<Place>,
    /// How many times the square of a reading's noise.
    pub readings: Vec<f64>,
    /// How many times the square of the error of placement, per mm².
    pub slope: Vec<f64>,
    /// Variance that is known: rounding.
    pub known: Vec<f64>,
    /// Covariance of what the first survey left open; `None`: all were read in both.
    pub baseline: Option<Mat<f64>>,
    /// Patterns of what is no wear, a column each, one standard deviation of their priors.
    pub modes: Mat<f64>,
    /// Weights of the mean that the common change is; their sum is 1.
    pub weights: Vec<f64>,
    /// Zones are among the modes. Without any, what is uneven has mean zero over the places by the meaning of a common change.
    /// What is left beside zones has not: how far it is from that counts as uncertainty of the common change.
    pub has_zones: bool,
    /// Height of the lamp's face, mm.
    pub face_height: f64,
}

/// Sizes that the data say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sizes {
    /// Relative standard deviation of a reading.
    pub noise: f64,
    /// Standard deviation of where the detector is set down, mm.
    pub placement: f64,
    /// Standard deviation of the local change.
    pub local: f64,
    /// Length over which it changes, mm.
    pub length: f64,
    /// Length of smooth wear, mm.
    pub smooth: f64,
}

/// Typical values and the spreads of their logarithms: noise 1 %, placement 0.5 mm, local change 2 % (common practice, no source).
const TYPICAL: [(f64, f64); 3] = [(0.01, 0.5), (0.5, 0.5), (0.02, 1.0)];

impl Sizes {
    fn of(logs: [f64; 3], length: f64, smooth: f64) -> Self {
        Self {
            noise: logs[0].exp(),
            placement: logs[1].exp(),
            local: logs[2].exp(),
            length,
            smooth,
        }
    }

    /// The same with another size of the local change.
    pub fn with_local(self, local: f64) -> Self {
        Self { local, ..self }
    }
}

/// Covariance of a local change at two places over its variance.
fn alike(a: Place, b: Place, length: f64, face_height: f64) -> f64 {
    let r = 5f64.sqrt() * a.point().distance(b.point()) / length;
    let log = |p: Place| (face_height - p.height).max(1.0).ln();
    let apart = (log(a) - log(b)) / OVER_DISTANCE;
    // Matérn 5/2 on the plan (Rasmussen & Williams 2006, equation 4.17)
    (1.0 + r + r * r / 3.0) * (-r - 0.5 * apart * apart).exp()
}

fn smooth(a: Place, b: Place, length: f64) -> f64 {
    let r = a.point().distance(b.point()) / length;
    SMOOTH_WEAR * SMOOTH_WEAR * (-0.5 * r * r).exp()
}

impl Data {
    /// Covariance of what is uneven, as it stands beside the common change.
    fn beside(&self, k: Mat<f64>) -> Mat<f64> {
        if self.has_zones {
            k
        } else {
            centred(&k, &self.weights)
        }
    }
}

/// Less its weighted mean over the places of the data, on both sides.
fn centred(k: &Mat<f64>, w: &[f64]) -> Mat<f64> {
    let n = w.len();
    let mean: Vec<f64> = (0..n)
        .map(|i| (0..n).map(|j| k[(i, j)] * w[j]).sum())
        .collect();
    let all: f64 = mean.iter().zip(w).map(|(m, w)| m * w).sum();
    Mat::from_fn(n, n, |i, j| k[(i, j)] - mean[i] - mean[j] + all)
}

/// The patterns that do not hang on sizes.
struct Shapes {
    /// Of a local change of standard deviation 1.
    local: Mat<f64>,
    /// All that is neither local change nor noise.
    rest: Mat<f64>,
}

impl Shapes {
    fn of(data: &Data, length: f64, smooth_length: f64) -> Self {
        let n = data.z.len();
        let local = Mat::from_fn(n, n, |i, j| {
            alike(data.at[i], data.at[j], length, data.face_height)
        });
        let broad = Mat::from_fn(n, n, |i, j| smooth(data.at[i], data.at[j], smooth_length));
        let mut rest = data.beside(broad) + &data.modes * data.modes.transpose();
        if let Some(baseline) = &data.baseline {
            rest += baseline;
        }
        Self {
            local: data.beside(local),
            rest,
        }
    }
}

fn noise(data: &Data, sizes: &Sizes, i: usize) -> f64 {
    data.readings[i] * sizes.noise.powi(2) + data.slope[i] * sizes.placement.powi(2) + data.known[i]
}

/// Everything but the local change.
fn plain(data: &Data, shapes: &Shapes, sizes: &Sizes) -> Mat<f64> {
    let mut v = shapes.rest.clone();
    for i in 0..data.z.len() {
        v[(i, i)] += noise(data, sizes, i);
    }
    v
}

/// The data weighted by a covariance, the mean taken out.
struct Weighed {
    /// Inverse less what the mean takes.
    p: Mat<f64>,
    /// Weights of the common change.
    mean: Vec<f64>,
    /// Its variance.
    variance: f64,
}

impl Weighed {
    fn of(v: &Mat<f64>) -> Option<Self> {
        let n = v.nrows();
        let factor = Factor::of(v.as_ref()).ok()?;
        let mut p = factor.inverse();
        let row: Vec<f64> = (0..n).map(|i| (0..n).map(|j| p[(i, j)]).sum()).collect();
        let sum: f64 = row.iter().sum();
        if !(sum > 0.0 && sum.is_finite()) {
            return None;
        }
        for i in 0..n {
            for j in 0..n {
                p[(i, j)] -= row[i] * row[j] / sum;
            }
        }
        Some(Self {
            p,
            mean: row.iter().map(|r| r / sum).collect(),
            variance: 1.0 / sum,
        })
    }
}

/// Twice the negative restricted log likelihood with the priors, constants left out.
fn misfit(data: &Data, shapes: &Shapes, logs: [f64; 3]) -> f64 {
    let sizes = Sizes::of(logs, 1.0, 1.0);
    let n = data.z.len();
    let mut v = plain(data, shapes, &sizes);
    let local = sizes.local.powi(2);
    for j in 0..n {
        for i in j..n {
            v[(i, j)] += local * shapes.local[(i, j)];
        }
    }
    let Ok(factor) = Factor::of(v.as_ref()) else {
        return f64::INFINITY;
    };
    let mut b = Mat::from_fn(n, 2, |i, j| if j == 0 { 1.0 } else { data.z[i] });
    factor.whiten(b.as_mut());
    let dot = |a: usize, c: usize| (0..n).map(|i| b[(i, a)] * b[(i, c)]).sum::<f64>();
    let ones = dot(0, 0);
    let squares = dot(1, 1) - dot(0, 1).powi(2) / ones;
    let prior: f64 = (logs.iter().zip(TYPICAL))
        .map(|(l, (typical, spread))| ((l - typical.ln()) / spread).powi(2))
        .sum();
    factor.log_determinant() + ones.ln() + squares + prior
}

/// Finds the sizes: for each of some lengths by halving steps along each axis, the best of all.
///
/// # Errors
/// [`Cancelled`].
pub fn sizes(
    data: &Data,
    lengths: &[f64],
    smooth: f64,
    progress: &Progress,
) -> Result<Sizes, Cancelled> {
    let mut best = (f64::INFINITY, [0.0; 3], lengths[0]);
    for &length in lengths {
        let shapes = Shapes::of(data, length, smooth);
        let mut at = TYPICAL.map(|(typical, _)| typical.ln());
        let mut value = misfit(data, &shapes, at);
        let mut step = 0.8;
        while step > 0.1 {
            let mut moved = false;
            for axis in 0..3 {
                for sign in [1.0, -1.0] {
                    progress.check()?;
                    let mut next = at;
                    next[axis] += sign * step;
                    let there = misfit(data, &shapes, next);
                    if there < value - 1e-6 {
                        (at, value, moved) = (next, there, true);
                        break;
                    }
                }
            }
            if !moved {
                step *= 0.5;
            }
        }
        if value < best.0 {
            best = (value, at, length);
        }
    }
    Ok(Sizes::of(best.1, best.2, smooth))
}

/// The model solved for given sizes.
pub struct Solved<'a> {
    data: &'a Data,
    sizes: Sizes,
    shapes: Shapes,
    weighed: Weighed,
    /// What the weights of all estimates are multiplied with: `P z`.
    pz: Vec<f64>,
}

/// What a pattern is estimated to be worth: times the pattern, in the logarithm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Amplitude {
    /// The estimate.
    pub value: f64,
    /// Its standard uncertainty.
    pub uncertainty: f64,
}

impl Amplitude {
    /// Estimate over its uncertainty: a standard normal deviate where there is nothing of the pattern.
    pub fn score(&self) -> f64 {
        self.value / self.uncertainty
    }
}

impl<'a> Solved<'a> {
    /// `None` where the equations can't be solved.
    pub fn of(data: &'a Data, sizes: Sizes) -> Option<Self> {
        let shapes = Shapes::of(data, sizes.length, sizes.smooth);
        let v0 = plain(data, &shapes, &sizes);
        let n = data.z.len();
        let local = sizes.local.powi(2);
        let v = Mat::from_fn(n, n, |i, j| v0[(i, j)] + local * shapes.local[(i, j)]);
        let weighed = Weighed::of(&v)?;
        let pz = (0..n)
            .map(|i| (0..n).map(|j| weighed.p[(i, j)] * data.z[j]).sum())
            .collect();
        Some(Self {
            data,
            sizes,
            shapes,
            weighed,
            pz,
        })
    }

    /// The common change of the logarithm and its standard uncertainty.
    pub fn common(&self) -> (f64, f64) {
        let mean = &self.weighed.mean;
        let value = mean.iter().zip(&self.data.z).map(|(w, z)| w * z).sum();
        (value, self.weighed.variance.sqrt())
    }

    /// What is left to tell noise by: places less what the model can bend to.
    pub fn freedom(&self) -> f64 {
        let n = self.data.z.len();
        let local = self.sizes.local.powi(2);
        let bent: f64 = (0..n)
            .flat_map(|i| (0..n).map(move |j| (i, j)))
            .map(|(i, j)| {
                self.weighed.p[(i, j)]
                    * (local * self.shapes.local[(i, j)] + self.shapes.rest[(i, j)])
            })
            .sum();
        (n as f64 - 1.0 - bent).max(2.0)
    }

    /// The modes in standard deviations of their priors, and the covariance of these.
    pub fn modes(&self) -> (Vec<f64>, Mat<f64>) {
        let (n, m) = (self.data.z.len(), &self.data.modes);
        let told = m.transpose() * (&self.weighed.p * m);
        let values = (0..m.ncols())
            .map(|k| (0..n).map(|i| m[(i, k)] * self.pz[i]).sum())
            .collect();
        let covariance = Mat::from_fn(m.ncols(), m.ncols(), |a, b| {
            if a == b {
                (1.0 - told[(a, b)]).max(0.0)
            } else {
                -told[(a, b)]
            }
        });
        (values, covariance)
    }

    /// How much of each pattern there is, one a column, each by itself beside all that the model holds.
    pub fn amplitudes(&self, patterns: &Mat<f64>) -> Vec<Amplitude> {
        let pm = &self.weighed.p * patterns;
        let n = self.data.z.len();
        (0..patterns.ncols())
            .map(|k| {
                let square: f64 = (0..n).map(|i| patterns[(i, k)] * pm[(i, k)]).sum();
                let square = square.max(1e-12);
                let along: f64 = (0..n).map(|i| patterns[(i, k)] * self.pz[i]).sum();
                Amplitude {
                    value: along / square,
                    uncertainty: square.sqrt().recip(),
                }
            })
            .collect()
    }

    /// Covariances of the local change at places with that at the places of the data.
    fn across(&self, places: &[Place]) -> Mat<f64> {
        let (data, sizes) = (self.data, &self.sizes);
        let (n, w) = (data.z.len(), &data.weights);
        let k = |a: Place, b: Place| {
            sizes.local.powi(2) * alike(a, b, sizes.length, data.face_height)
                + smooth(a, b, sizes.smooth)
        };
        let raw = Mat::from_fn(places.len(), n, |s, i| k(places[s], data.at[i]));
        if data.has_zones {
            return raw;
        }
        // what of the data's own covariance the centring takes
        let inner = Mat::from_fn(n, n, |i, j| k(data.at[i], data.at[j]));
        let mean: Vec<f64> = (0..n)
            .map(|i| (0..n).map(|j| inner[(i, j)] * w[j]).sum())
            .collect();
        let all: f64 = mean.iter().zip(w).map(|(m, w)| m * w).sum();
        let own: Vec<f64> = (0..places.len())
            .map(|s| (0..n).map(|i| raw[(s, i)] * w[i]).sum())
            .collect();
        Mat::from_fn(places.len(), n, |s, i| raw[(s, i)] - mean[i] - own[s] + all)
    }

    /// What is left of a local change at places beside the modes.
    pub fn local(&self, places: &[Place]) -> Vec<f64> {
        let k = self.across(places);
        let n = self.data.z.len();
        (0..places.len())
            .map(|s| (0..n).map(|i| k[(s, i)] * self.pz[i]).sum())
            .collect()
    }
}
