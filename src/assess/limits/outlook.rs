//! What hangs on the verdict, put together from what was looked at beside the spots.

use super::borne::{Borne, borne};
use super::budget::{Budget, budget};
use super::distance::{self, Distances, Slip};
use super::excluded::{AllCounted, Both, both};
use super::hanging::{Hanging, LeftOut, hanging};
use super::looked::Looked;
use super::monitor::{self, MonitorAnswer};
use super::settle::{self, Settle};
use super::verdict::Judged;
use crate::assess::no_bound::no_bound;
use crate::assess::{Answer, SurveyFit, ToJudge};

/// The reading noise taken where it is not known: 1.2 % (common practice, no source).
const USUAL_NOISE: f64 = 0.012;

/// What hangs on the verdict.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    /// The monitor position; `None`: no position is planned where a detector can sit.
    pub monitor: Option<MonitorAnswer>,
    /// What would settle what is not proven.
    pub settle: Vec<Settle>,
    /// Other working distances.
    pub distances: Distances,
    /// What an error costs at the coldest spot.
    pub slip: Slip,
    /// The budget of uncertainties at the coldest spot.
    pub budget: Budget,
    /// Positions without whose readings it would not be `meets`.
    pub hanging: Vec<Hanging>,
    /// Errors that all readings share, of which a `meets` bears less than can be expected.
    pub borne: Vec<Borne>,
    /// Where readings are excluded: what would be said with them.
    pub with_excluded: Option<Both>,
}

/// What was looked at for an answer that was judged.
#[derive(Debug, Clone, Copy)]
pub struct OutlookGrounds<'a> {
    /// The field.
    pub fit: &'a SurveyFit,
    /// What the answer was made from.
    pub judge: &'a ToJudge,
    /// The answer.
    pub answer: &'a Answer,
    /// The field beside the spots.
    pub looked: &'a Looked,
    /// The field without single positions.
    pub left_out: &'a [LeftOut],
    /// The field with all readings.
    pub all_counted: Option<&'a AllCounted>,
}

impl Outlook {
    /// Puts it together; `None` for an answer without limits. `show` says irradiances in its sentences.
    pub fn of(seen: &OutlookGrounds<'_>, show: &dyn Fn(f64) -> String) -> Option<Self> {
        let OutlookGrounds { fit, judge, .. } = *seen;
        let judged = seen.answer.judged()?;
        let limits = &judge.limits.as_ref()?.limits;
        let (answer, looked) = (seen.answer, seen.looked);
        let monitor = looked.monitor.as_ref().map(|monitor| {
            let seen = monitor::MonitorGrounds {
                limits,
                terms: &judged.terms,
                sampled: looked.sampled.as_ref(),
                noise: answer.noise,
                calibration: answer.calibration,
                family: judged.family,
                unproven_at_bond: judged.unproven_at_bond,
            };
            monitor::answer(&seen, monitor)
        });
        let against = distance::Against {
            terms: &judged.terms,
            limits,
            noise: answer.noise,
            calibration: answer.calibration,
        };
        let mut distances = distance::distances(&looked.distances, &against);
        // the table draws its own fields: the row in use says what was judged
        for row in distances.rows.iter_mut().filter(|row| row.in_use) {
            row.judged = judged.coldest.bounds.at_least;
            row.window = monitor
                .as_ref()
                .and_then(|m| m.window.as_ref().ok().copied());
            row.judged_most = judged.hottest.as_ref().and_then(|h| h.bounds.at_most);
        }
        Some(Self {
            monitor,
            settle: settled(judge, answer, judged, looked, show),
            distances,
            slip: looked.slip,
            budget: budget(answer, fit, &judge.survey, &looked.slip),
            hanging: hanging(seen.left_out, judge, show),
            borne: looked.bending.as_ref().map_or_else(Vec::new, |bending| {
                borne(judged, bending, judge.units.length)
            }),
            with_excluded: seen.all_counted.and_then(|all| both(all, judge)),
        })
    }
}

fn settled(
    judge: &ToJudge,
    answer: &Answer,
    judged: &Judged,
    looked: &Looked,
    show: &dyn Fn(f64) -> String,
) -> Vec<Settle> {
    let Some(sampled) = &looked.sampled else {
        return vec![Settle {
            of_lower: true,
            sentences: vec![format!(
                "No reading can settle it as long as there is no bound: {}",
                no_bound(judged.family, judged.unproven_at_bond)
            )],
            readings: None,
            calibration_percent: None,
        }];
    };
    let seen = settle::SettleGrounds {
        length: judge.units.length,
        judged,
        sampled,
        first: looked.first_candidate(),
        candidates: &looked.candidates,
        noise: answer.noise.unwrap_or(USUAL_NOISE),
        calibration: answer.calibration,
    };
    settle::settle(&seen, show)
}
