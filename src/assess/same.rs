//! What counts as the same place.

/// Readings nearer to each other than this on the plan are at one position, mm: a tenth of what a
/// careful hand places a detector to.
pub(super) const SAME_POSITION: f64 = 0.05;
