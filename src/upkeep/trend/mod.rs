//! The trend of the irradiance log: how the lamp fades, what is no fading, and when the limit is reached.
//!
//! Per lamp, the logarithm of irradiance is `level + offsets + noise`: a level whose slope wanders a little (fading need not be
//! exponential), offsets where something changed at once (marks, and steps that are found), and noise a part of which lasts for
//! days. All that is not known of these is averaged over, so that intervals are as wide as they have to be. Beside it stands the
//! plain exponential fit. What is asked is [`Asked`], what is answered [`Trend`]; how often intervals hold, and how many steps are
//! found and found wrongly, is in `tests/bench/upkeep.md`.
//!
//! | file | what it is |
//! | --- | --- |
//! | `asked`, `told` | the question, the answer |
//! | `series` | readings in order, a series a lamp |
//! | `design` | a series as columns with unknown factors |
//! | `filter` | the Kalman filter and smoother |
//! | `belief` | averaging over what is not known of noise and fading |
//! | `shocks` | steps and single readings that stand out |
//! | `burning` | how many hours a lamp burns in a day |
//! | `ahead`, `outlook` | paths of the level ahead; when the limit is reached |
//! | `exponential` | the fit by least squares |
//! | `lamp` | one lamp's answer |

mod ahead;
mod asked;
mod belief;
mod burning;
mod design;
mod exponential;
pub mod filter;
mod lamp;
mod outlook;
mod series;
mod shocks;
mod told;

pub use ahead::{AHEAD, LEAST_DAYS, LEAST_READINGS};
pub use asked::{Asked, Mark, Marked, Reading, Refused};
pub use exponential::{Exponential, Reaches};
pub use shocks::{FALSE_STEPS, LEAST_ASIDE, STANDS_OUT};
pub use told::{
    Ahead, Borrowed, Cause, Clock, LampTrend, Level, Noise, Oddity, Offset, Outlier, Outlook,
    Passage, Slope, TooLittle, Trend,
};

use self::belief::NoiseBelief;
use self::design::{ANY_SLOPE, MONTH, SlopePrior};
use self::shocks::Given;
use crate::numeric::combine::mean_and_variance;
use crate::numeric::distributions::student_quantile;
use crate::progress::{Cancelled, Progress};
use crate::upkeep::figure::Figure;

/// Works out the trend of a log. Ten thousand readings take well under a second.
///
/// # Errors
/// [`Cancelled`]; inside, [`Refused`] names the first reading or mark that can't be used.
pub fn trend(asked: &Asked<'_>, progress: &Progress) -> Result<Result<Trend, Refused>, Cancelled> {
    if let Err(why) = series::sound(asked) {
        return Ok(Err(why));
    }
    let (all, oddities) = series::series(asked);
    let mut lamps: Vec<LampTrend> = Vec::new();
    let mut former: Vec<Former> = Vec::new();
    let mut noise = NoiseBelief::default();
    let (mut outlook, mut ahead, mut borrowed) = (None, Vec::new(), None);
    for (i, series) in all.iter().enumerate() {
        progress.set(i as f64 / all.len() as f64);
        let prior = of_former(&former, series.clock);
        let given = Given {
            slope: prior.map(|p| p.1),
            conversions: asked.conversions,
            resolution: asked.resolution,
            noise: &noise,
        };
        let found = shocks::search(series, &given, progress)?;
        let lamp = lamp::told(asked, series, &found);
        if i + 1 == all.len() {
            let levels: Vec<(f64, f64)> = lamp
                .levels
                .iter()
                .map(|l| (l.day, l.station.ln()))
                .collect();
            let rate = match series.clock {
                Clock::Days => 1.0,
                Clock::Hours => lamp.hours_a_day.unwrap_or(1.0),
            };
            borrowed = prior.map(|(lamps, (mean, deviation))| Borrowed {
                lamps,
                per_month: Figure::about(mean * rate * MONTH, 1.96 * deviation * rate * MONTH)
                    .through(f64::exp_m1),
            });
            let of = (&found.design, &found.belief);
            let asked = (asked.limit, asked.seed);
            (outlook, ahead) = outlook::outlook(series, of, &levels, asked, progress)?;
        }
        if lamp.slope.is_ok() {
            let slope = lamp::mean_slope(&found);
            let rate = lamp.hours_a_day.unwrap_or(1.0);
            former.push(match series.clock {
                Clock::Days => Former {
                    a_day: slope,
                    an_hour: None,
                },
                Clock::Hours => Former {
                    a_day: (slope.0 * rate, slope.1 * rate),
                    an_hour: Some(slope),
                },
            });
        }
        noise = found.belief.noise_after(&noise);
        lamps.push(lamp);
    }
    progress.set(1.0);
    Ok(Ok(Trend {
        lamps,
        outlook,
        ahead,
        borrowed,
        oddities,
    }))
}

/// A new lamp's first slope differs from a mean one by so much of it, beside what lamps differ: fading bends.
const BENT: f64 = 0.35;
/// What lamps differ in their slope where only one was seen (common practice, no source).
const ONE_SEEN: f64 = 0.5;

/// A former lamp's mean fading on the logarithm, with its standard uncertainty.
struct Former {
    a_day: (f64, f64),
    /// Where its hours are known.
    an_hour: Option<(f64, f64)>,
}

/// What former lamps' fading says of a new one's: how many, and the slope's mean and standard deviation per unit of the clock.
fn of_former(former: &[Former], clock: Clock) -> Option<(usize, SlopePrior)> {
    let same: Vec<(f64, f64)> = match clock {
        Clock::Days => former.iter().map(|f| f.a_day).collect(),
        Clock::Hours => former.iter().filter_map(|f| f.an_hour).collect(),
    };
    let slopes: Vec<f64> = same.iter().map(|s| s.0).collect();
    let (mean, variance) = mean_and_variance(&slopes)?;
    let n = slopes.len() as f64;
    let error = (same.iter().map(|s| s.1 * s.1).sum::<f64>() / n).sqrt();
    let between = match variance {
        // a t interval's width as a normal one's
        Some(v) => (v * (1.0 + 1.0 / n)).sqrt() * student_quantile(0.975, n - 1.0) / 1.96,
        None => ONE_SEEN * mean.abs(),
    };
    let any = ANY_SLOPE / MONTH;
    let deviation = between.hypot(error).hypot(BENT * mean.abs());
    let usable = deviation.is_finite() && (clock == Clock::Hours || deviation < any);
    (usable && deviation > 0.0).then_some((slopes.len(), (mean, deviation)))
}
