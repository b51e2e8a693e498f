//! What a bound on the least level is told by.

/// Bound, estimate, and how it was found.
pub(super) type Bound = (f64, Option<f64>, String);

/// Levels lie so far apart that the least one could be found much lower.
pub(super) const COARSE: f64 = 1.5;

/// Parts at a level below which their scatter is hardly known.
pub(super) const FEW: usize = 3;
