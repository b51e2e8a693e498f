//! One lamp's answer, put together from what is believed of it.

use super::ahead::enough;
use super::asked::Asked;
use super::belief::{self, Belief, Cell};
use super::burning::Use;
use super::design::{Design, MONTH, Role};
use super::exponential::{Exponential, least_squares};
use super::filter;
use super::series::Series;
use super::shocks::Found;
use super::told::{Cause, Clock, LampTrend, Level, Noise, Offset, Outlier, Slope};
use crate::numeric::distributions::student_quantile;
use crate::upkeep::figure::Figure;

/// Cells that weigh less than this are left out of smoothed levels.
const LIGHT: f64 = 0.01;

/// Keeps the exponential of nonsense a number.
fn bounded(log: f64) -> f64 {
    log.clamp(-700.0, 700.0)
}

/// A mean, a variance and degrees of freedom, averaged over cells.
#[derive(Debug, Clone, Copy, Default)]
struct Mixed {
    weight: f64,
    mean: f64,
    square: f64,
    freedom: f64,
}

impl Mixed {
    fn add(&mut self, weight: f64, mean: f64, variance: f64, freedom: f64) {
        self.weight += weight;
        self.mean += weight * mean;
        self.square += weight * (variance + mean * mean);
        self.freedom += weight * freedom;
    }

    fn mean(&self) -> f64 {
        self.mean / self.weight
    }

    fn deviation(&self) -> f64 {
        (self.square / self.weight - self.mean().powi(2))
            .max(0.0)
            .sqrt()
    }

    /// With 95 % confidence.
    fn figure(&self) -> Figure {
        let k = student_quantile(0.975, (self.freedom / self.weight).max(1.0));
        Figure::about(self.mean(), k * self.deviation())
    }
}

fn mixed(belief: &Belief, of: impl Fn(&Cell) -> (f64, f64)) -> Mixed {
    let mut mixed = Mixed::default();
    for cell in &belief.cells {
        let (mean, variance) = of(cell);
        let scale = cell.scale / cell.shape;
        mixed.add(cell.weight, mean, variance * scale, 2.0 * cell.shape);
    }
    mixed
}

/// Fading per unit of the clock over all of a lamp, settling left out, on the logarithm, with its standard uncertainty.
pub fn mean_slope(found: &Found) -> (f64, f64) {
    let ends = mixed(&found.belief, |cell| {
        let end = cell.end(&found.design);
        let settling: f64 = end.mean[2..].iter().sum();
        (
            end.mean[0] - settling - cell.factors[0],
            end.covariance[(0, 0)] + cell.inverse[(0, 0)],
        )
    });
    let length = found.design.lengths.0;
    (ends.mean() / length, ends.deviation() / length)
}

/// All that is told of a lamp.
pub fn told(asked: &Asked<'_>, series: &Series, found: &Found) -> LampTrend {
    let (design, belief) = (&found.design, &found.belief);
    let used = Use::of(series);
    let (lamp, station) = levels(found);
    let length = design.lengths.0;
    let per = |unit: f64| {
        let of = mixed(belief, |cell| {
            let end = cell.end(design);
            let unit = unit / length;
            (end.mean[1] * unit, end.covariance[(1, 1)] * unit * unit)
        });
        of.figure().through(|log| bounded(log).exp_m1())
    };
    let slope = enough(series, design).map(|()| match (series.clock, used) {
        (Clock::Hours, used) => Slope {
            per_month: per(used.map_or(1.0, |u| u.rate) * MONTH),
            per_1000_hours: Some(per(1000.0)),
        },
        (Clock::Days, used) => Slope {
            per_month: per(MONTH),
            per_1000_hours: used.map(|u| per(1000.0 / u.rate)),
        },
    });
    let now = mixed(belief, |cell| {
        let end = cell.end(design);
        (end.mean[0], end.covariance[(0, 0)])
    });
    LampTrend {
        since: series.since,
        hours: series.burnt.first().map(|b| b.1),
        readings: series.readings,
        clock: series.clock,
        hours_a_day: used.map(|u| u.rate),
        levels: (series.times.iter().zip(lamp.iter().zip(&station)))
            .map(|(time, (lamp, station))| Level {
                day: time.day,
                hours: series.hours.map(|h| h + time.clock),
                read: time.log.exp(),
                station: bounded(station.mean() + design.middle).exp(),
                uncertainty: station.deviation(),
                lamp: bounded(lamp.mean() + design.middle).exp(),
                lamp_uncertainty: lamp.deviation(),
            })
            .collect(),
        now: now
            .figure()
            .through(|log| bounded(log + design.middle).exp()),
        slope,
        noise: noise(belief),
        offsets: offsets(asked, series, found),
        outliers: (found.outliers.iter())
            .map(|&t| Outlier {
                reading: series.times[t].reading,
                day: series.times[t].day,
                off: bounded(series.times[t].log - design.middle - station[t].mean()).exp_m1(),
                last: t + 1 == series.times.len(),
            })
            .collect(),
        exponential: exponential(series, design),
    }
}

/// The lamp's and the station's level at each time, about the readings' mean.
fn levels(found: &Found) -> (Vec<Mixed>, Vec<Mixed>) {
    let (design, belief) = (&found.design, &found.belief);
    let n = design.times.len();
    let c = design.factors();
    let (mut lamp, mut station) = (vec![Mixed::default(); n], vec![Mixed::default(); n]);
    let heavy = (belief.cells.iter().enumerate()).filter(|(i, c)| *i == 0 || c.weight > LIGHT);
    for (_, cell) in heavy {
        let smoothed = filter::smooth(&belief.times, &belief::kept(design, belief, cell));
        let scale = cell.scale / cell.shape;
        for (t, at) in smoothed.iter().enumerate() {
            for (whole, out) in [(false, &mut lamp[t]), (true, &mut station[t])] {
                let share: Vec<f64> = (0..c)
                    .map(|j| {
                        let own = match design.roles[j] {
                            Role::Beginning | Role::Slope | Role::Settling(_) => {
                                design.columns[j][t]
                            }
                            Role::Before(..) if whole => design.columns[j][t],
                            _ => 0.0,
                        };
                        own - at.levels[j]
                    })
                    .collect();
                let sum: f64 = share.iter().zip(&cell.factors).map(|(w, b)| w * b).sum();
                let variance = at.variance + cell.form(&share, &share);
                out.add(
                    cell.weight,
                    at.levels[c] + sum,
                    variance * scale,
                    2.0 * cell.shape,
                );
            }
        }
    }
    (lamp, station)
}

fn noise(belief: &Belief) -> Noise {
    let of = |f: &dyn Fn(&Cell) -> f64| belief.cells.iter().map(|c| c.weight * f(c)).sum::<f64>();
    let lasting = of(&|c| c.process.lasting);
    let days = of(&|c| c.process.lasting * c.process.days.ln());
    Noise {
        deviation: belief.variance().sqrt(),
        lasting,
        days: if lasting > 0.0 {
            (days / lasting).exp()
        } else {
            0.0
        },
    }
}

fn offsets(asked: &Asked<'_>, series: &Series, found: &Found) -> Vec<Offset> {
    let times = &series.times;
    let mut offsets: Vec<Offset> = (found.design.roles.iter().enumerate())
        .filter_map(|(j, role)| {
            let Role::Before(from, known) = *role else {
                return None;
            };
            let factor = mixed(&found.belief, |cell| {
                (-cell.factors[j], cell.inverse[(j, j)])
            });
            let step = found
                .steps
                .iter()
                .find(|s| known.is_none() && s.from == from);
            let (first, last) = step.map_or((from, from), |s| s.window);
            let marked = known.map(|k| series.known[k].mark);
            Some(Offset {
                cause: marked.map_or(Cause::Found, Cause::Mark),
                day: marked.map_or(times[from].day, |m| asked.marks[m].day),
                window: (times[first.saturating_sub(1)].day, times[last].day),
                size: factor.figure().through(|log| bounded(log).exp_m1()),
            })
        })
        .collect();
    offsets.sort_by(|a, b| a.day.total_cmp(&b.day));
    offsets
}

/// Of the readings that count, offsets as further unknowns; those known are taken out.
fn exponential(series: &Series, design: &Design) -> Option<Exponential> {
    let counting: Vec<usize> = (0..series.times.len())
        .filter(|&t| design.times[t].counts)
        .collect();
    let pick = |column: &[f64]| counting.iter().map(|&t| column[t]).collect::<Vec<f64>>();
    let clock: Vec<f64> = counting.iter().map(|&t| series.times[t].clock).collect();
    let mut logs: Vec<f64> = counting.iter().map(|&t| series.times[t].log).collect();
    let mut offsets = Vec::new();
    for ((role, column), prior) in design.roles.iter().zip(&design.columns).zip(&design.priors) {
        let Role::Before(_, known) = role else {
            continue;
        };
        let column = pick(column);
        if known.is_some_and(|k| series.known[k].size.is_some()) {
            for (log, before) in logs.iter_mut().zip(&column) {
                *log -= before * prior.0;
            }
        } else {
            offsets.push(column);
        }
    }
    least_squares(&clock, &logs, offsets)
}
