//! How long lamps last: former fading curves laid over one another.

use super::figure::Figure;
use super::trend::{Clock, LampTrend, Level};
use crate::numeric::combine::mean_and_variance;
use crate::numeric::distributions::normal_above;

/// One lamp's fading curve: its level against its first settled one.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Clock since its beginning (hours or days, the same for all curves of a question), level as a share of the first settled
    /// one. In the order of the clock.
    pub points: Vec<(f64, f64)>,
    /// Whether it was changed (a former lamp) or still burns.
    pub changed: bool,
}

/// The life of a lamp until its level is a given share of the first settled one.
#[derive(Debug, Clone, PartialEq)]
pub struct Life {
    /// Of each curve.
    pub lives: Vec<Lived>,
    /// What is expected of the next lamp.
    pub next: Result<Expected, NotProven>,
}

/// One lamp's life.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Lived {
    /// It reached the share at this clock.
    Reached(f64),
    /// It was above the share until this clock, when it was changed or last read.
    Longer(f64),
    /// Its curve says nothing.
    Unknown,
}

/// What is expected of a lamp, on the logarithm of life.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expected {
    /// Half of all lamps last longer: estimate and 95 % interval.
    pub median: Figure,
    /// The next lamp: median and the interval that holds 95 % of what is believed of it.
    pub next: Figure,
    /// How many reached the share.
    pub reached: usize,
    /// How many were changed before, or still burn: counted as lasting longer (censored).
    pub longer: usize,
}

/// Why no life is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotProven {
    /// So many lamps reached the share; two are needed for an interval.
    Few(usize),
    /// The share is not between 0 and 1.
    BadShare,
}

impl Curve {
    /// A lamp's fading curve along a clock: offsets taken out, against its level at the first time that is `settled` hours or days
    /// after its beginning. `None` where its hours are not known and are asked for, or it was not read after it settled.
    pub fn of(lamp: &LampTrend, clock: Clock, settled: f64, changed: bool) -> Option<Self> {
        let begun = lamp.levels.first()?.hours;
        let at = |level: &Level| match clock {
            Clock::Days => Some(level.day - lamp.since),
            Clock::Hours => Some(level.hours? - begun?),
        };
        let all: Option<Vec<(f64, f64)>> = lamp
            .levels
            .iter()
            .map(|level| Some((at(level)?, level.lamp)))
            .collect();
        let all = all?;
        let first = all.iter().find(|p| p.0 >= settled)?.1;
        let points = all.iter().map(|p| (p.0, p.1 / first)).collect();
        Some(Self { points, changed })
    }

    /// When it is at a share first, from its settled level on.
    fn lived(&self, share: f64) -> Lived {
        let Some(from) = self.points.iter().position(|p| p.1 > share) else {
            return Lived::Unknown;
        };
        for pair in self.points[from..].windows(2) {
            let ((t, above), (later, below)) = (pair[0], pair[1]);
            if below <= share {
                let at = t + (later - t) * (above - share) / (above - below);
                return if at > 0.0 {
                    Lived::Reached(at)
                } else {
                    Lived::Unknown
                };
            }
        }
        match self.points.last() {
            Some((last, _)) if *last > 0.0 => Lived::Longer(*last),
            _ => Lived::Unknown,
        }
    }
}

/// The life of lamps until their level is `share` of the first settled one.
///
/// Logarithms of lives are normal with mean and deviation unknown (prior `1/σ`): without lamps that lasted longer that is Student's
/// t; those count by the probability that they last as long as they did (censored).
pub fn life(curves: &[Curve], share: f64) -> Life {
    let lives: Vec<Lived> = curves.iter().map(|c| c.lived(share)).collect();
    if !(share > 0.0 && share < 1.0) {
        return Life {
            lives,
            next: Err(NotProven::BadShare),
        };
    }
    let reached: Vec<f64> = (lives.iter())
        .filter_map(|l| {
            if let Lived::Reached(t) = l {
                Some(t.ln())
            } else {
                None
            }
        })
        .collect();
    let longer: Vec<f64> = (lives.iter())
        .filter_map(|l| {
            if let Lived::Longer(t) = l {
                Some(t.ln())
            } else {
                None
            }
        })
        .collect();
    Life {
        next: expected(&reached, &longer),
        lives,
    }
}

/// Points of the grid over the deviation's logarithm, and over the mean.
const DEVIATIONS: usize = 90;
const MEANS: usize = 81;
/// Deviations looked at, as multiples of that of the lives; means, in standard errors below and above.
const WIDEST: (f64, f64) = (0.1, 800.0);
const ASIDE: (f64, f64) = (-6.0, 10.0);
/// Lives that are nearer to each other than this tell no smaller deviation.
const LEAST: f64 = 0.02;

/// Of logarithms of lives that were reached, and of those that are longer.
fn expected(reached: &[f64], longer: &[f64]) -> Result<Expected, NotProven> {
    let few = NotProven::Few(reached.len());
    let (mean, variance) = mean_and_variance(reached).ok_or(few)?;
    let n = reached.len() as f64;
    let variance = variance.ok_or(few)?.max(LEAST * LEAST);
    let mut cells: Vec<(f64, f64, f64)> = Vec::with_capacity(DEVIATIONS * MEANS);
    for i in 0..DEVIATIONS {
        let along = i as f64 / (DEVIATIONS - 1) as f64;
        let deviation = variance.sqrt() * WIDEST.0 * (WIDEST.1 / WIDEST.0).powf(along);
        let error = deviation / n.sqrt();
        for j in 0..MEANS {
            let aside = ASIDE.0 + (ASIDE.1 - ASIDE.0) * j as f64 / (MEANS - 1) as f64;
            let at = mean + aside * error;
            let squares = (n - 1.0) * variance / (deviation * deviation) + aside * aside;
            let last: f64 = longer
                .iter()
                .map(|c| normal_above((c - at) / deviation).max(1e-300).ln())
                .sum();
            // a cell is as wide as the error
            let log = -n * deviation.ln() - 0.5 * squares + error.ln() + last;
            cells.push((at, deviation, log));
        }
    }
    let top = cells.iter().map(|c| c.2).fold(f64::NEG_INFINITY, f64::max);
    for cell in &mut cells {
        cell.2 = (cell.2 - top).exp();
    }
    cells.retain(|c| c.2 > 1e-12);
    let all: f64 = cells.iter().map(|c| c.2).sum();
    // smoothed over a cell's width, so that the mean's quantiles do not jump from cell to cell
    let width = (ASIDE.1 - ASIDE.0) / (MEANS - 1) as f64 / n.sqrt();
    let quantile = |p: f64, own: f64| {
        let below = |y: f64| -> f64 {
            let each = cells
                .iter()
                .map(|(at, s, w)| w * normal_above((at - y) / (s * own)));
            each.sum::<f64>() / all
        };
        let (mut low, mut high) = (mean - 1.0, mean + 1.0);
        while below(low) > p && low > mean - FURTHEST {
            low -= mean - low;
        }
        while below(high) < p && high < mean + FURTHEST {
            high += high - mean;
        }
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            if below(middle) < p {
                low = middle;
            } else {
                high = middle;
            }
        }
        (0.5 * (low + high)).exp()
    };
    let figure = |own: f64| Figure {
        value: quantile(0.5, own),
        low: quantile(0.025, own),
        high: quantile(0.975, own),
    };
    Ok(Expected {
        median: figure(0.5 * width),
        next: figure(1.0),
        reached: reached.len(),
        longer: longer.len(),
    })
}

/// Logarithms of lives further from their mean than this are not told apart.
const FURTHEST: f64 = 200.0;
