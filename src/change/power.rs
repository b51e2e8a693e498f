//! The smallest local change that a pair of surveys would have shown.

use faer::Mat;

use super::discovery::level_of_picked;
use super::model::{Local, Solved};
use super::told::{Bars, Smallest};
use crate::geometry::{Place, Point};
use crate::numeric::distributions::{normal_quantile, student_quantile};

/// A round zone of log loss 1 in its middle and half of that over its diameter: a squared cosine.
pub fn bump(at: Point, middle: Point, diameter: f64) -> f64 {
    let r = at.distance(middle);
    if r >= diameter {
        return 0.0;
    }
    (0.5 * std::f64::consts::PI * r / diameter).cos().powi(2)
}

/// What the smallest loss is asked of.
pub struct Seen<'a> {
    /// The model that tests.
    pub tested: &'a Solved<'a>,
    /// The model that says how large.
    pub sized: &'a Solved<'a>,
    /// Where the data are.
    pub at: &'a [Place],
    /// Places where a zone may be, and their estimates by both.
    pub places: &'a [Place],
    /// By the one that tests.
    pub by_test: &'a [Local],
    /// By the one that sizes.
    pub by_size: &'a [Local],
    /// Which of them lie within the outermost positions.
    pub within: &'a [bool],
    /// Area of one of them, mm².
    pub cell: f64,
    /// To tell noise by.
    pub freedom: f64,
    /// What is asked for.
    pub bars: &'a Bars,
}

/// The least loss in the middle of a zone so wide that is reported with the power that is asked for, wherever within the
/// outermost positions it lies: significant there among all places, and estimated as worth a zone. `None` without places.
pub fn smallest(seen: &Seen<'_>, diameter: f64) -> Option<Smallest> {
    let Seen { places, bars, .. } = *seen;
    let signals = Mat::from_fn(places.len(), seen.at.len(), |s, i| {
        -bump(seen.at[i].point(), places[s].point(), diameter)
    });
    let tested = seen.tested.response(places, &signals);
    let sized = seen.sized.response(places, &signals);
    // those that are picked when the zone is: about as many as lie in it
    let cells = (0.25 * std::f64::consts::PI * diameter * diameter / seen.cell).max(1.0);
    let level = level_of_picked(bars.false_share, cells as usize, places.len()).min(0.5);
    let beyond = student_quantile(1.0 - level, seen.freedom);
    let power = normal_quantile(bars.power);
    let worth = -(-bars.worth).ln_1p();
    let mut least: Option<f64> = None;
    for s in (0..places.len()).filter(|&s| seen.within[s]) {
        let by_test = (beyond + power) * seen.by_test[s].by_chance / (-tested[s]).max(1e-9);
        let by_size = (worth + power * seen.by_size[s].by_chance) / (-sized[s]).max(1e-9);
        let here = by_test.max(by_size);
        least = Some(least.map_or(here, |l| l.max(here)));
    }
    least.map(|log| Smallest {
        loss: -(-log).exp_m1(),
        diameter,
        power: bars.power,
    })
}
