//! Exponential fading by least squares.

use crate::upkeep::figure::Figure;

/// `E = B exp(-α t)` by least squares on `ln E` (the projection of IES TM-21-11).
#[derive(Debug, Clone, PartialEq)]
pub struct Exponential {
    /// `ln B`, B in mW/cm² at clock 0 (hours or days; see the lamp's clock, days counted since it was put in).
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
