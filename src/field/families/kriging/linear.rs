//! Kriging of any values with a given covariance, trend and noise (Isaaks & Srivastava 1989, ch. 12;
//! Cressie 1993, ch. 3). The field without noise is predicted; noise is only in the readings.

use faer::{ColRef, Mat};

use crate::field::equations::System;
use crate::field::equations::kernel::{Covariance, Scaled};
use crate::field::equations::trend::Trend;
use crate::field::readings::Amounts;
use crate::field::score::hold_out::HoldOut;
use crate::geometry::Place;
use crate::numeric::cholesky::NotPositive;
use crate::numeric::triangle::{add_gram, add_outer_gram};
use crate::numeric::wide::wide;

/// Values at places, kriged.
#[derive(Debug, Clone)]
pub struct Kriging {
    covariance: Covariance,
    trend: Trend,
    scaled: Scaled,
    system: System,
}

/// A prediction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prediction {
    /// Expected value of the field.
    pub mean: f64,
    /// Its variance, that of the trend included; never below zero.
    pub variance: f64,
}

/// Targets that are worked on at once, so that what they need stays in the nearest cache.
pub(in crate::field) const BLOCK: usize = 256;

impl<'a> HoldOut<'a> {
    /// Prepared once for a kriging.
    pub fn of(kriging: &'a Kriging) -> Self {
        Self::new(&kriging.system, kriging.sill())
    }
}

impl Kriging {
    /// Solves the kriging equations: `noise` is the variance of each value about the field.
    ///
    /// # Errors
    /// [`NotPositive`] when the equations cannot be solved even after stabilising them.
    pub fn new(
        covariance: Covariance,
        trend: Trend,
        places: &[Place],
        values: &[f64],
        noise: &[f64],
    ) -> Result<Self, NotPositive> {
        Self::with_shared(covariance, trend, places, values, noise, None)
    }

    /// As [`new`](Self::new) with errors that values share, a column each: what one standard deviation of it does to each.
    pub(in crate::field) fn with_shared(
        covariance: Covariance,
        trend: Trend,
        places: &[Place],
        values: &[f64],
        noise: &[f64],
        shared: Option<&Mat<f64>>,
    ) -> Result<Self, NotPositive> {
        let n = places.len();
        let scaled = Scaled::of(places, covariance.lengths);
        let mut v = Mat::<f64>::zeros(n, n);
        for j in 0..n {
            let column = v.col_as_slice_mut(j);
            scaled.squared_from(&scaled, j, column);
            covariance.kernel.correlate(column);
            column.iter_mut().for_each(|c| *c *= covariance.sill);
            column[j] += noise[j];
        }
        if let Some(shared) = shared {
            add_outer_gram(&mut v, shared.as_ref(), 1.0);
        }
        let columns = Mat::from_fn(n, trend.terms(), |i, k| trend.value(k, places[i]));
        let system = System::solve(v.as_ref(), &columns, values)?;
        Ok(Self {
            covariance,
            trend,
            scaled,
            system,
        })
    }

    /// How many values there are.
    pub fn len(&self) -> usize {
        self.scaled.x.len()
    }

    /// What it says of the errors that values share, whose columns it was made with.
    pub(in crate::field) fn amounts(&self, shared: &Mat<f64>) -> Amounts {
        Amounts::of(shared, &self.system)
    }

    /// Correlation lengths along x, y and height, mm.
    pub(in crate::field) fn lengths(&self) -> [f64; 3] {
        self.covariance.lengths
    }

    /// Variance of the field about its trend.
    pub(in crate::field) fn sill(&self) -> f64 {
        self.covariance.sill
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The expected field at places, into `out` of the same length.
    pub fn means(&self, places: &[Place], out: &mut [f64]) {
        let targets = Scaled::of(places, self.covariance.lengths);
        for (place, mean) in places.iter().zip(out.iter_mut()) {
            *mean = self.trend_at(*place);
        }
        let mut along = vec![0.0; places.len()];
        let Covariance { kernel, sill, .. } = self.covariance;
        wide(
            #[inline(always)]
            || {
                for (i, pull) in self.system.pull.iter().enumerate() {
                    targets.squared_from(&self.scaled, i, &mut along);
                    kernel.accumulate(sill * pull, 0.0, &along, out);
                }
            },
        );
    }

    /// The expected field on one line of a lattice: at `(xs[i], y, height)`, where `columns` is
    /// what [`columns`](Self::columns) made of `xs`.
    pub(in crate::field) fn row(
        &self,
        columns: &[f64],
        xs: &[f64],
        y: f64,
        height: f64,
        out: &mut [f64],
    ) {
        self.trend
            .row(&self.system.coefficients, xs, y, height, out);
        let [_, b, c] = self.covariance.lengths;
        let (y, h) = (y / b, height / c);
        let Covariance { kernel, sill, .. } = self.covariance;
        wide(
            #[inline(always)]
            || {
                for (i, along) in columns.chunks_exact(xs.len()).enumerate() {
                    let (dy, dh) = (self.scaled.y[i] - y, self.scaled.h[i] - h);
                    let weight = sill * self.system.pull[i];
                    kernel.accumulate(weight, dy * dy + dh * dh, along, out);
                }
            },
        );
    }

    /// For each value the squared scaled distances along x from it to `xs`, one value after the other.
    pub(in crate::field) fn columns(&self, xs: &[f64]) -> Vec<f64> {
        let a = self.covariance.lengths[0];
        let mut out = Vec::with_capacity(self.len() * xs.len());
        for &sx in &self.scaled.x {
            out.extend(xs.iter().map(|x| (x / a - sx) * (x / a - sx)));
        }
        out
    }

    fn trend_at(&self, place: Place) -> f64 {
        self.system
            .coefficients
            .iter()
            .enumerate()
            .map(|(k, beta)| beta * self.trend.value(k, place))
            .sum()
    }

    /// The field and its variance at a few places (some hundreds are best).
    pub fn predict(&self, places: &[Place]) -> Vec<Prediction> {
        let parts = self.parts(places);
        (0..places.len())
            .map(|j| Prediction {
                mean: parts.means[j],
                variance: (self.covariance.sill - squared(parts.explained.col_as_slice(j))
                    + squared(parts.trend.col_as_slice(j)))
                .max(0.0),
            })
            .collect()
    }

    /// The expected field at places and its covariance between them (lower triangle).
    pub fn joint(&self, places: &[Place]) -> (Vec<f64>, Mat<f64>) {
        let m = places.len();
        let parts = self.parts(places);
        let scaled = Scaled::of(places, self.covariance.lengths);
        let mut c = Mat::<f64>::zeros(m, m);
        add_gram(&mut c, parts.trend.as_ref(), 1.0);
        add_gram(&mut c, parts.explained.as_ref(), -1.0);
        let mut prior = vec![0.0; m];
        for j in 0..m {
            let prior = &mut prior[j..];
            scaled.squared_below(j, prior);
            self.covariance.kernel.correlate(prior);
            let column = c.col_as_slice_mut(j)[j..].iter_mut();
            column
                .zip(prior)
                .for_each(|(c, k)| *c += self.covariance.sill * *k);
        }
        (parts.means, c)
    }

    /// Weights of the values in the prediction at a place and, for an unknown constant as trend, the
    /// Lagrange parameter of the published equations (variance = sill - weights · covariances - it).
    pub fn weights(&self, place: Place) -> (Vec<f64>, f64) {
        let mut parts = self.parts(&[place]);
        // w = V⁻¹ (k + F A⁻¹ (f - Fᵀ V⁻¹ k)) ; Lagrange = -A⁻¹ (f - Fᵀ V⁻¹ k)
        let factor = &self.system.trend_factor;
        factor.unwhiten(parts.trend.as_mut());
        let mut w = parts.explained + &self.system.whitened_trend * &parts.trend;
        self.system.factor.unwhiten(w.as_mut());
        let lagrange = if parts.trend.nrows() > 0 {
            -parts.trend[(0, 0)]
        } else {
            0.0
        };
        (w.col_as_slice(0).to_vec(), lagrange)
    }

    /// What each prediction consists of: means, `L⁻¹ k` and `A^(-1/2) (f - Wᵀ L⁻¹ k)`, a column a place.
    fn parts(&self, places: &[Place]) -> Parts {
        let (n, m, p) = (self.len(), places.len(), self.trend.terms());
        let targets = Scaled::of(places, self.covariance.lengths);
        let mut explained = Mat::<f64>::zeros(n, m);
        let sill = self.covariance.sill;
        for j in 0..m {
            let column = explained.col_as_slice_mut(j);
            self.scaled.squared_from(&targets, j, column);
            self.covariance.kernel.correlate(column);
            column.iter_mut().for_each(|c| *c *= sill);
        }
        let pulled = explained.transpose() * ColRef::from_slice(&self.system.pull);
        let means = places.iter().zip(pulled.iter());
        let means = means
            .map(|(place, by)| self.trend_at(*place) + by)
            .collect();
        self.system.factor.whiten(explained.as_mut());
        let mut trend = Mat::from_fn(p, m, |k, j| self.trend.value(k, places[j]));
        trend -= self.system.whitened_trend.transpose() * &explained;
        self.system.trend_factor.whiten(trend.as_mut());
        Parts {
            means,
            explained,
            trend,
        }
    }
}

struct Parts {
    means: Vec<f64>,
    explained: Mat<f64>,
    trend: Mat<f64>,
}

/// The sum of squares: four sums side by side, so that they are vectors.
fn squared(v: &[f64]) -> f64 {
    let mut sums = [0.0; 4];
    let (fours, rest) = v.as_chunks::<4>();
    for four in fours {
        for (sum, x) in sums.iter_mut().zip(four) {
            *sum += x * x;
        }
    }
    let [a, b, c, d] = sums;
    let rest: f64 = rest.iter().map(|x| x * x).sum();
    (a + b) + (c + d) + rest
}
