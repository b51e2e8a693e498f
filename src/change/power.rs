//! The smallest zone that a pair of surveys would have shown.

use super::discovery::level_of_picked;
use super::model::Amplitude;
use super::told::{Bars, Smallest};
use crate::numeric::distributions::{normal_quantile, student_quantile};

/// The least loss in the middle of a zone of this width that is reported with the power that is asked for wherever it lies, from
/// what a zone at each of some places is estimated with: significant among `tested` tests, of which those that lie in it are
/// picked with it, and estimated as worth a zone. `None` without places.
pub fn smallest<'a>(
    zones: impl IntoIterator<Item = &'a Amplitude>,
    diameter: f64,
    (cell, tested): (f64, usize),
    freedom: f64,
    bars: &Bars,
) -> Option<Smallest> {
    let cells = 0.25 * std::f64::consts::PI * diameter * diameter / cell;
    let level = level_of_picked(bars.false_share, cells as usize, tested).min(0.5);
    let beyond = student_quantile(1.0 - 0.5 * level, freedom);
    let power = normal_quantile(bars.power);
    let worth = -(-bars.worth).ln_1p();
    let each = zones.into_iter().map(|zone| {
        let by_test = (beyond + power) * zone.uncertainty;
        by_test.max(worth + power * zone.uncertainty)
    });
    each.reduce(f64::max).map(|log| Smallest {
        loss: -(-log).exp_m1(),
        diameter,
        power: bars.power,
    })
}
