//! Exponential fading by least squares.

use crate::numeric::distributions::student_quantile;
use crate::upkeep::figure::Figure;

/// `E = B exp(-α t)` by least squares on `ln E` (the projection of IES TM-21-11).
#[derive(Debug, Clone, PartialEq)]
pub struct Exponential {
    /// `ln B`, B in mW/cm² at clock 0, as the station would read at its present setting. The clock of a lamp is days since it was put
    /// in ([`super::LampTrend::since`]), or hours since its first known ones ([`super::LampTrend::hours`]).
    pub ln_b: f64,
    /// Its standard error.
    pub ln_b_error: f64,
    /// `α`, per hour or per day; positive while it fades.
    pub alpha: f64,
    /// Its standard error.
    pub alpha_error: f64,
    /// Covariance of `ln B` and the slope `-α`.
    pub covariance: f64,
    /// Standard deviation of the residuals of `ln E`.
    pub scatter: f64,
    /// Readings less what is fitted.
    pub dof: f64,
}

/// When an exponential reaches a level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reaches {
    /// At this clock, with Fieller's 95 % interval (Fieller 1954).
    At(Figure),
    /// The fading is not significant: the interval has no end. The clock, where the fit falls at all.
    Unbounded(Option<f64>),
}

impl Exponential {
    /// Of points (clock, ln E) of equal weight. `None` for fewer than three, for points above each other, or not finite.
    pub fn through(points: &[(f64, f64)]) -> Option<Self> {
        let clock: Vec<f64> = points.iter().map(|p| p.0).collect();
        let logs: Vec<f64> = points.iter().map(|p| p.1).collect();
        least_squares(&clock, &logs, Vec::new())
    }

    /// `ln E` at a clock, its standard uncertainty, and that of a new reading there.
    pub fn at(&self, clock: f64) -> (f64, f64, f64) {
        let variance = self.ln_b_error.powi(2)
            + clock * (2.0 * self.covariance + clock * self.alpha_error.powi(2));
        let variance = variance.max(0.0);
        let new = (variance + self.scatter * self.scatter).sqrt();
        (self.ln_b - self.alpha * clock, variance.sqrt(), new)
    }

    /// The clock at which it falls to a level above zero, mW/cm².
    pub fn reaches(&self, level: f64) -> Reaches {
        let height = self.ln_b - level.ln();
        let clock = height / self.alpha;
        let told = (self.alpha > 0.0 && clock.is_finite()).then_some(clock);
        // (height - α t)² = q² (var + 2 t cov + t² var'): a quadratic in t
        let q2 = student_quantile(0.975, self.dof).powi(2);
        let a = self.alpha * self.alpha - q2 * self.alpha_error.powi(2);
        let half_b = -self.alpha * height - q2 * self.covariance;
        let c = height * height - q2 * self.ln_b_error.powi(2);
        let root = (half_b * half_b - a * c).sqrt();
        match told {
            Some(value) if a > 0.0 && root.is_finite() => Reaches::At(Figure {
                value,
                low: (-half_b - root) / a,
                high: (-half_b + root) / a,
            }),
            told => Reaches::Unbounded(told),
        }
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// Least squares on a beginning, offsets and the clock, by orthogonal columns. Offsets that the others make up are left out.
pub(super) fn least_squares(
    clock: &[f64],
    logs: &[f64],
    offsets: Vec<Vec<f64>>,
) -> Option<Exponential> {
    let n = clock.len();
    let mut basis: Vec<Vec<f64>> = Vec::new();
    // what is left of a column beside those before it, and its shares of them
    let rest = |basis: &[Vec<f64>], column: &[f64]| -> (Vec<f64>, Vec<f64>) {
        let (mut left, mut shares) = (column.to_vec(), vec![0.0; basis.len()]);
        for _ in 0..2 {
            for (q, share) in basis.iter().zip(&mut shares) {
                let along = dot(&left, q) / dot(q, q);
                *share += along;
                for (l, q) in left.iter_mut().zip(q) {
                    *l -= along * q;
                }
            }
        }
        (left, shares)
    };
    // the beginning comes last but the clock, so that its factor is that of the present setting
    for column in offsets {
        let (left, _) = rest(&basis, &column);
        if dot(&left, &left) > 1e-9 * dot(&column, &column).max(1e-300) {
            basis.push(left);
        }
    }
    let (one, _) = rest(&basis, &vec![1.0; n]);
    if n < 3 || dot(&one, &one) < 1e-9 {
        return None;
    }
    basis.push(one);
    let (along, shares) = rest(&basis, clock);
    let spread = dot(&along, &along);
    let (left, logs_shares) = rest(&basis, logs);
    let dof = n as f64 - basis.len() as f64 - 1.0;
    let slope = dot(&along, &left) / spread;
    let scale = clock.iter().fold(0.0_f64, |a, c| a.max(c.abs()));
    if !(dof >= 1.0 && spread > 1e-18 * scale * scale && slope.is_finite()) {
        return None;
    }
    let squares: f64 = left
        .iter()
        .zip(&along)
        .map(|(l, a)| (l - slope * a).powi(2))
        .sum();
    let scatter = (squares / dof).sqrt();
    let beginning = basis.len() - 1;
    let share = shares[beginning];
    let one = &basis[beginning];
    let (slope_variance, one_variance) = (1.0 / spread, 1.0 / dot(one, one));
    let s2 = scatter * scatter;
    let ln_b = logs_shares[beginning] - slope * share;
    ln_b.is_finite().then_some(Exponential {
        ln_b,
        ln_b_error: scatter * (one_variance + share * share * slope_variance).sqrt(),
        alpha: -slope,
        alpha_error: scatter * slope_variance.sqrt(),
        covariance: -s2 * share * slope_variance,
        scatter,
        dof,
    })
}
