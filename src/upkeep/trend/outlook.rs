//! When a lamp's level reaches the limit, and where it stands until then.

use super::ahead::{AHEAD, Paths, enough, paths};
use super::belief::Belief;
use super::burning::Use;
use super::design::Design;
use super::series::Series;
use super::told::{Ahead, Clock, Outlook, Passage};
use crate::numeric::distributions::normal_above;
use crate::numeric::quantile::of_sorted;
use crate::progress::{Cancelled, Progress};

/// The first time from which the level's estimate (times and logarithms, in order) is below.
fn since(levels: &[(f64, f64)], limit: f64) -> f64 {
    let above = levels.iter().rposition(|l| l.1 > limit);
    let at = above.map_or(0, |i| (i + 1).min(levels.len().saturating_sub(1)));
    levels.get(at).map_or(0.0, |l| l.0)
}

/// The end of a lamp's readings as the start of what is ahead.
struct Start<'a> {
    clock: Clock,
    used: &'a Option<Use>,
    /// Day, and hours where known.
    day: f64,
    hours: Option<f64>,
}

impl<'a> Start<'a> {
    fn of(series: &Series, used: &'a Option<Use>) -> Self {
        let (day, clock) = series.times.last().map_or((0.0, 0.0), |t| (t.day, t.clock));
        let hours = match series.clock {
            Clock::Hours => series.hours.map(|hours| hours + clock),
            Clock::Days => used.map(|used| used.last.1 + used.rate * (day - used.last.0)),
        };
        Self {
            clock: series.clock,
            used,
            day,
            hours,
        }
    }

    /// Day and hours so much further along the clock; `normal` is how use is off from its mean.
    fn after(&self, clock: f64, normal: f64) -> (f64, Option<f64>) {
        match (self.clock, self.used) {
            (Clock::Hours, Some(used)) => {
                let hours = self.hours.map(|h| h + clock);
                (self.day + used.days_until(clock, normal), hours)
            }
            (_, Some(used)) => {
                let hours = self.hours.map(|h| h + used.hours_after(clock, normal));
                (self.day + clock, hours)
            }
            (_, None) => (self.day + clock, None),
        }
    }
}

/// When the level falls to `limit`, mW/cm² (`None` where there is none), and the level ahead. `levels` are days and logarithms of
/// the station's smoothed level.
///
/// # Errors
/// [`Cancelled`].
pub fn outlook(
    series: &Series,
    (design, belief): (&Design, &Belief),
    levels: &[(f64, f64)],
    (limit, seed): (Option<f64>, u64),
    progress: &Progress,
) -> Result<(Option<Outlook>, Vec<Ahead>), Cancelled> {
    let limit = limit.map(f64::ln);
    let reached = limit.and_then(|limit| reached((design, belief), levels, limit));
    if let Err(why) = enough(series, design) {
        let told = reached.or(limit.map(|_| Outlook::TooLittle(why)));
        return Ok((told, Vec::new()));
    }
    let used = Use::of(series);
    let start = Start::of(series, &used);
    let asked = (limit.unwrap_or(f64::NEG_INFINITY), seed);
    let paths = paths(design, belief, asked, progress)?;
    let ahead = (paths.levels.iter())
        .map(|(clock, log)| {
            let (day, hours) = start.after(*clock, 0.0);
            Ahead {
                day,
                hours,
                level: log.through(|log| log.clamp(-700.0, 700.0).exp()),
            }
        })
        .collect();
    let told = limit.map(|_| match reached {
        Some(reached) => reached,
        None => passage(&start, &paths, AHEAD * design.lengths.0),
    });
    Ok((told, ahead))
}

/// Whether the level is at the limit or below it by now, more likely than not.
fn reached(
    (design, belief): (&Design, &Belief),
    levels: &[(f64, f64)],
    limit: f64,
) -> Option<Outlook> {
    let below: f64 = (belief.cells.iter())
        .map(|cell| {
            let end = cell.end(design);
            let variance = end.covariance[(0, 0)] * cell.scale / cell.shape;
            let above = end.mean[0] + design.middle - limit;
            cell.weight * normal_above(above / variance.max(1e-300).sqrt())
        })
        .sum();
    (below > 0.5).then(|| Outlook::Reached {
        since: since(levels, limit),
        probability: below,
    })
}

/// When paths pass the limit; nothing is said of what is further than `whole` along the clock.
fn passage(start: &Start<'_>, paths: &Paths, whole: f64) -> Outlook {
    let (until, until_hours) = start.after(whole, 0.0);
    let passed: Vec<(f64, Option<f64>)> = paths
        .passed
        .iter()
        .map(|(clock, normal)| start.after(*clock, *normal))
        .collect();
    let probability = passed.len() as f64 / paths.drawn.max(1) as f64;
    let sorted = |mut values: Vec<f64>| {
        values.sort_by(f64::total_cmp);
        values
    };
    let days = sorted(passed.iter().map(|p| p.0).collect());
    let hours = sorted(passed.iter().filter_map(|p| p.1).collect());
    // a quantile of all paths, those that do not pass later than all that do
    let of_all = |sorted: &[f64], p: f64| {
        let within = (probability > p).then(|| of_sorted(sorted, p / probability));
        within.flatten()
    };
    let ends = |sorted: &[f64]| {
        let (earliest, latest) = (of_all(sorted, 0.025)?, of_all(sorted, 0.975));
        Some((of_all(sorted, 0.5)?, earliest, latest))
    };
    let earliest = of_all(&days, 0.025);
    match ends(&days) {
        Some((day, earliest, latest)) => Outlook::Reaches(Passage {
            day,
            earliest,
            latest,
            hours: (hours.len() == days.len()).then(|| ends(&hours)).flatten(),
            until,
        }),
        None => Outlook::NotInSight {
            until,
            until_hours,
            probability,
            earliest,
        },
    }
}
