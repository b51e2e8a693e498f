//! Figures and places as they are written.

use serde::Serialize;

use crate::geometry::Place;

/// A place.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PlaceRecord {
    /// To the right of the datum.
    pub x_mm: f64,
    /// To the back of the datum.
    pub y_mm: f64,
    /// Above the fixture's base.
    pub height_mm: f64,
}

/// A share as percent.
pub(super) fn percent(share: f64) -> f64 {
    rounded(100.0 * share)
}

/// An interval of shares as percent.
pub(super) fn both((low, high): (f64, f64)) -> [f64; 2] {
    [percent(low), percent(high)]
}

/// Digits kept in records: a thousandth of a unit is far below what any radiometer tells, and keeps
/// files alike when only rounding differs.
pub(super) fn rounded(value: f64) -> f64 {
    (value * 1e4).round() / 1e4
}

pub(super) fn maybe(value: Option<f64>) -> Option<f64> {
    value.map(rounded)
}

impl From<Place> for PlaceRecord {
    fn from(at: Place) -> Self {
        Self {
            x_mm: rounded(at.x),
            y_mm: rounded(at.y),
            height_mm: rounded(at.height),
        }
    }
}
