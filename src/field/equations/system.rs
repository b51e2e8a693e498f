//! Generalised least squares: what kriging, its likelihood and its hold-out scores all rest on.
//!
//! Values `y` about a trend `F β` with covariance `V`. With `W = L⁻¹ F`, `V = L Lᵀ`, `A = Wᵀ W`:
//! `β = A⁻¹ Wᵀ L⁻¹ y`, and the projection `P = V⁻¹ - V⁻¹ F A⁻¹ Fᵀ V⁻¹` gives `P y = V⁻¹ (y - F β)`.

use faer::linalg::matmul::matmul;
use faer::{Accum, Mat, MatRef, Par};

use crate::numeric::cholesky::{Factor, NotPositive, mirror};

/// The system, solved.
#[derive(Debug, Clone)]
pub(in crate::field) struct System {
    /// Of `V`.
    pub factor: Factor,
    /// `W`, one column a term of the trend.
    pub whitened_trend: Mat<f64>,
    /// Of `A`.
    pub trend_factor: Factor,
    /// `β`.
    pub coefficients: Vec<f64>,
    /// `P y`.
    pub pull: Vec<f64>,
    /// `yᵀ P y`.
    pub misfit: f64,
}

impl System {
    /// Solves for a covariance (lower triangle read), trend columns and values.
    pub fn solve(
        covariance: MatRef<'_, f64>,
        trend: &Mat<f64>,
        values: &[f64],
    ) -> Result<Self, NotPositive> {
        let (n, p) = (trend.nrows(), trend.ncols());
        let factor = Factor::of(covariance)?;
        let mut whitened_trend = trend.clone();
        factor.whiten(whitened_trend.as_mut());
        let mut y = Mat::from_fn(n, 1, |i, _| values[i]);
        factor.whiten(y.as_mut());
        let a = whitened_trend.transpose() * &whitened_trend;
        let trend_factor = Factor::of(a.as_ref())?;
        let mut beta = whitened_trend.transpose() * &y;
        trend_factor.whiten(beta.as_mut());
        trend_factor.unwhiten(beta.as_mut());
        let mut rest = y - &whitened_trend * &beta;
        let misfit = rest.col_as_slice(0).iter().map(|r| r * r).sum();
        factor.unwhiten(rest.as_mut());
        Ok(Self {
            factor,
            whitened_trend,
            trend_factor,
            coefficients: (0..p).map(|k| beta[(k, 0)]).collect(),
            pull: rest.col_as_slice(0).to_vec(),
            misfit,
        })
    }

    /// Minus the logarithm of the restricted likelihood, without its constant (Patterson & Thompson 1971;
    /// Rasmussen & Williams 2006, eq. 2.45).
    pub fn restricted_loss(&self) -> f64 {
        0.5 * (self.factor.log_determinant() + self.trend_factor.log_determinant() + self.misfit)
    }

    /// `P`, both triangles.
    pub fn projection(&self) -> Mat<f64> {
        let mut projection = self.factor.inverse();
        if self.trend_factor.size() == 0 {
            return projection;
        }
        // V⁻¹ F A^(-T/2), so that its outer product is what the trend takes
        let mut taken = self.whitened_trend.clone();
        self.factor.unwhiten(taken.as_mut());
        let mut transposed = taken.transpose().to_owned();
        self.trend_factor.whiten(transposed.as_mut());
        matmul(
            projection.as_mut(),
            Accum::Add,
            transposed.transpose(),
            transposed.as_ref(),
            -1.0,
            Par::Seq,
        );
        mirror(&mut projection);
        projection
    }
}
