//! A straight line by least squares.

/// `y = intercept + slope x` with what is known of both.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// At x = 0.
    pub intercept: f64,
    /// Its standard uncertainty.
    pub intercept_uncertainty: f64,
    /// Per unit of x.
    pub slope: f64,
    /// Its standard uncertainty.
    pub slope_uncertainty: f64,
    /// Standard deviation of the residuals.
    pub scatter: f64,
    /// Points less 2.
    pub dof: f64,
    middle: f64,
    mean: f64,
    spread: f64,
}

impl Line {
    /// The line through points (x, y) of equal weight (JCGM 100:2008, H.3.2), worked out about the middle
    /// of x. `None` for fewer than three points, for points above each other, or not finite.
    pub fn through(points: &[(f64, f64)]) -> Option<Self> {
        let n = points.len() as f64;
        if points.len() < 3 {
            return None;
        }
        let mean_of = |of: fn(&(f64, f64)) -> f64| points.iter().map(of).sum::<f64>() / n;
        let (middle, mean) = (mean_of(|p| p.0), mean_of(|p| p.1));
        let spread: f64 = points.iter().map(|p| (p.0 - middle).powi(2)).sum();
        let along: f64 = points.iter().map(|p| (p.0 - middle) * (p.1 - mean)).sum();
        let slope = along / spread;
        if !(spread > 0.0 && slope.is_finite()) {
            return None;
        }
        let dof = n - 2.0;
        let squares: f64 = (points.iter())
            .map(|p| (p.1 - mean - slope * (p.0 - middle)).powi(2))
            .sum();
        let scatter = (squares / dof).sqrt();
        let slope_uncertainty = scatter / spread.sqrt();
        Some(Self {
            intercept: mean - slope * middle,
            intercept_uncertainty: scatter * (1.0 / n + middle * middle / spread).sqrt(),
            slope,
            slope_uncertainty,
            scatter,
            dof,
            middle,
            mean,
            spread,
        })
    }

    /// The line at x, and its standard uncertainty there.
    pub fn at(&self, x: f64) -> (f64, f64) {
        let away = x - self.middle;
        let n = self.dof + 2.0;
        let uncertainty = self.scatter * (1.0 / n + away * away / self.spread).sqrt();
        (self.mean + self.slope * away, uncertainty)
    }
}
