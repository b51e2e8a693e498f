//! When a lamp's level reaches the limit: first passage, by draws of what is believed.

use faer::Mat;

use super::belief::{Belief, Cell, End};
use super::design::{Design, Role};
use super::series::Series;
use super::told::{Clock, Outlook, Passage, TooLittle};
use crate::numeric::cholesky::Factor;
use crate::numeric::distributions::normal_above;
use crate::numeric::quantile::of_sorted;
use crate::numeric::random::Normals;
use crate::progress::{Cancelled, Progress};

/// How many times the length of the present lamp's data is looked ahead at most: the greatest multiple that IES TM-21-11 allows
/// (with 20 units on test). One lamp read daily is less than that; the interval says so by its width.
pub const AHEAD: f64 = 6.0;
/// Below so many days of readings nothing is said of fading.
pub const LEAST_DAYS: f64 = 5.0;
/// Below so many readings that count nothing is said of fading.
pub const LEAST_READINGS: usize = 5;

const DRAWS: usize = 4000;
/// Steps of a path to the end of what is looked at.
const STEPS: usize = 160;
/// Windows of so many days tell how unevenly a lamp is used.
const WEEK: f64 = 7.0;
/// Where they don't: relative standard deviation of use from week to week (common practice, no source).
const USE: f64 = 0.3;

/// Whether there is enough for a slope.
///
/// # Errors
/// [`TooLittle`].
pub fn enough(series: &Series, design: &Design) -> Result<(), TooLittle> {
    let counted: f64 = (design.times.iter().filter(|t| t.counts).map(|t| t.together)).sum();
    if (counted as usize) < LEAST_READINGS {
        return Err(TooLittle::Readings {
            have: counted as usize,
            need: LEAST_READINGS,
        });
    }
    if series.days() < LEAST_DAYS || series.length() <= 0.0 {
        return Err(TooLittle::Short);
    }
    Ok(())
}

/// Lamp hours that a day adds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Use {
    /// Mean.
    pub rate: f64,
    /// Standard deviation from week to week.
    weekly: f64,
    /// Days that tell of it.
    days: f64,
    /// Day and hours last known.
    last: (f64, f64),
}

impl Use {
    /// Of a series, where hours are known at two days or more.
    pub fn of(series: &Series) -> Option<Self> {
        let (first, last) = (*series.burnt.first()?, *series.burnt.last()?);
        let days = last.0 - first.0;
        let rate = (last.1 - first.1) / days;
        if !(days > 0.0 && rate > 0.0 && rate.is_finite()) {
            return None;
        }
        let (mut rates, mut from) = (Vec::new(), first);
        for &at in &series.burnt {
            let apart = at.0 - from.0;
            if apart >= WEEK {
                // as it would be from week to week
                rates.push(((at.1 - from.1) / apart - rate) * (apart / WEEK).sqrt());
                from = at;
            }
        }
        let weekly = if rates.len() >= 4 {
            (rates.iter().map(|r| r * r).sum::<f64>() / (rates.len() - 1) as f64).sqrt()
        } else {
            USE * rate
        };
        Some(Self {
            rate,
            weekly,
            days,
            last,
        })
    }

    /// Days until so many more hours have burnt, by a standard normal number.
    fn days_until(&self, hours: f64, normal: f64) -> f64 {
        let ahead = hours / self.rate;
        let deviation = self.weekly * (WEEK / self.days + WEEK / ahead.max(WEEK)).sqrt();
        hours / (self.rate + normal * deviation).max(0.2 * self.rate)
    }

    /// Hours after so many more days.
    fn hours_after(&self, days: f64, normal: f64) -> f64 {
        let deviation = self.weekly * (WEEK / self.days + WEEK / days.max(WEEK)).sqrt();
        days * (self.rate + normal * deviation).max(0.2 * self.rate)
    }
}

/// A chi-square variable over its degrees of freedom (Wilson & Hilferty 1931).
fn chi_square_ratio(dof: f64, normal: f64) -> f64 {
    let c = 2.0 / (9.0 * dof);
    (1.0 - c + normal * c.sqrt()).powi(3).max(1e-6)
}

/// A lamp's level above the limit from now on: fading and what is left of settling.
struct Path<'a> {
    above: f64,
    /// Over the whole of what is looked at.
    slope: f64,
    /// What is left of each settling, and how often it falls to 1/e in what is looked at.
    settling: Vec<(f64, f64)>,
    /// Standard deviation of the slope's logarithm over the whole: fading slows down or speeds up, a lamp does not brighten again.
    bend: f64,
    normals: &'a mut Normals,
}

impl Path<'_> {
    /// When the level is at the limit first, in parts of what is looked at: `None` not in it.
    fn passage(self) -> Option<f64> {
        if self.above <= 0.0 {
            return Some(0.0);
        }
        let settles: f64 = self.settling.iter().map(|s| s.0).sum();
        let mut fading = self.above - settles;
        let mut slope = self.slope.min(0.0);
        let spread = self.bend * (1.0 / STEPS as f64).sqrt();
        let (mut before, mut level) = (0.0, self.above);
        for step in 1..=STEPS {
            let at = step as f64 / STEPS as f64;
            let later = if spread > 0.0 {
                slope * (spread * self.normals.draw()).exp()
            } else {
                slope
            };
            fading += 0.5 * (at - before) * (slope + later);
            let left = self
                .settling
                .iter()
                .map(|(left, times)| left * (-times * at).exp());
            let next = fading + left.sum::<f64>();
            if next <= 0.0 {
                return Some(before + (at - before) * level / (level - next));
            }
            (before, level, slope) = (at, next, later);
        }
        None
    }
}

/// The first time from which the level's estimate (times and logarithms, in order) is below.
fn since(levels: &[(f64, f64)], limit: f64) -> f64 {
    let above = levels.iter().rposition(|l| l.1 > limit);
    let at = above.map_or(0, |i| (i + 1).min(levels.len().saturating_sub(1)));
    levels.get(at).map_or(0.0, |l| l.0)
}

/// One draw of where a lamp stands now.
fn state(cell: &Cell, end: &End, lower: &Mat<f64>, normals: &mut Normals) -> Vec<f64> {
    let ratio = chi_square_ratio(2.0 * cell.shape, normals.draw());
    let deviation = (cell.scale / cell.shape / ratio).sqrt();
    let m = end.mean.len();
    let own: Vec<f64> = (0..m).map(|_| normals.draw()).collect();
    (0..m)
        .map(|i| end.mean[i] + deviation * (0..=i).map(|j| lower[(i, j)] * own[j]).sum::<f64>())
        .collect()
}

/// When the level falls to `limit`, mW/cm². `levels` are days and logarithms of the station's smoothed level.
///
/// # Errors
/// [`Cancelled`].
pub fn outlook(
    series: &Series,
    design: &Design,
    belief: &Belief,
    levels: &[(f64, f64)],
    (limit, seed): (f64, u64),
    progress: &Progress,
) -> Result<Outlook, Cancelled> {
    let limit = limit.ln();
    let below: f64 = (belief.cells.iter())
        .map(|cell| {
            let end = cell.end(design);
            let variance = end.covariance[(0, 0)] * cell.scale / cell.shape;
            let above = end.mean[0] + design.middle - limit;
            cell.weight * normal_above(above / variance.max(1e-300).sqrt())
        })
        .sum();
    if below > 0.5 {
        return Ok(Outlook::Reached {
            since: since(levels, limit),
            probability: below,
        });
    }
    if let Err(why) = enough(series, design) {
        return Ok(Outlook::TooLittle(why));
    }
    let used = Use::of(series);
    let last = series.times.last().map_or(0.0, |t| t.day);
    let (length, ahead) = (design.lengths.0, AHEAD * design.lengths.0);
    let settles = design.roles.iter().filter_map(|role| match role {
        Role::Settling(to) => Some(AHEAD / to),
        _ => None,
    });
    let times: Vec<f64> = settles.collect();
    let mut passed: Vec<(f64, Option<f64>)> = Vec::new();
    let mut cumulated = 0.0;
    let mut done = 0;
    for (index, cell) in belief.cells.iter().enumerate() {
        progress.check()?;
        cumulated += cell.weight;
        let until = (cumulated * DRAWS as f64).round() as usize;
        let mut normals = Normals::new(seed, index as u64);
        let end = cell.end(design);
        let lower = match Factor::of(end.covariance.as_ref()) {
            Ok(factor) => factor.lower().to_owned(),
            Err(_) => Mat::zeros(end.mean.len(), end.mean.len()),
        };
        while done < until.min(DRAWS) {
            done += 1;
            let drawn = state(cell, &end, &lower, &mut normals);
            let path = Path {
                above: drawn[0] + design.middle - limit,
                slope: drawn[1] * AHEAD,
                settling: drawn[2..]
                    .iter()
                    .copied()
                    .zip(times.iter().copied())
                    .collect(),
                bend: cell.bend * AHEAD.sqrt(),
                normals: &mut normals,
            };
            let found = path.passage();
            let normal = normals.draw();
            if let Some(part) = found {
                let clock = part * ahead;
                passed.push(match (series.clock, &used) {
                    (Clock::Hours, Some(used)) => (
                        last + used.days_until(clock, normal),
                        Some(now_hours(series) + clock),
                    ),
                    (_, Some(used)) => {
                        let known = used.last.1 + used.rate * (last - used.last.0);
                        (last + clock, Some(known + used.hours_after(clock, normal)))
                    }
                    (_, None) => (last + clock, None),
                });
            }
        }
    }
    let rate = used.map_or(1.0, |u| u.rate);
    let until = last
        + if series.clock == Clock::Hours {
            ahead / rate
        } else {
            ahead
        };
    let until_hours = match (series.clock, used) {
        (Clock::Hours, _) => Some(now_hours(series) + AHEAD * length),
        (Clock::Days, Some(u)) => Some(u.last.1 + u.rate * (until - u.last.0)),
        _ => None,
    };
    let probability = passed.len() as f64 / done.max(1) as f64;
    let mut days: Vec<f64> = passed.iter().map(|p| p.0).collect();
    days.sort_by(f64::total_cmp);
    let of_all = |sorted: &[f64], p: f64| of_sorted(sorted, p / probability);
    let earliest = (probability > 0.025)
        .then(|| of_all(&days, 0.025))
        .flatten();
    if probability < 0.5 {
        return Ok(Outlook::NotInSight {
            until,
            until_hours,
            probability,
            earliest,
        });
    }
    let mut hours: Vec<f64> = passed.iter().filter_map(|p| p.1).collect();
    hours.sort_by(f64::total_cmp);
    let bounded = probability >= 0.975;
    let ends = |sorted: &[f64]| {
        let latest = bounded.then(|| of_all(sorted, 0.975)).flatten();
        Some((of_all(sorted, 0.5)?, of_all(sorted, 0.025)?, latest))
    };
    let Some((day, earliest, latest)) = ends(&days) else {
        return Ok(Outlook::TooLittle(TooLittle::Short));
    };
    Ok(Outlook::Reaches(Passage {
        day,
        earliest,
        latest,
        hours: (hours.len() == days.len()).then(|| ends(&hours)).flatten(),
        until,
    }))
}

/// Hours at the last time of a series along hours.
fn now_hours(series: &Series) -> f64 {
    let clock = series.times.last().map_or(0.0, |t| t.clock);
    series.hours.unwrap_or(0.0) + clock
}
