//! The trend, and lives of lamps.

use jiff::civil::DateTime;

use super::daily::event_words;
use super::figures::{day_words, percent_between, signed_percent};
use crate::station::Upkeep;
use crate::units::{Units, fixed};
use crate::upkeep::Review;
use crate::upkeep::life::{Life, NotProven};
use crate::upkeep::trend::{Cause, Clock, LampTrend, Oddity, Outlook, Refused, TooLittle, Trend};

fn too_little_words(why: TooLittle) -> String {
    match why {
        TooLittle::Readings { have, need } => {
            format!("{have} readings of this lamp count, {need} are needed")
        }
        TooLittle::Short => "all readings of this lamp are of less than five days".to_owned(),
    }
}

/// How fast a lamp fades.
pub fn slope_words(lamp: &LampTrend) -> String {
    match &lamp.slope {
        Ok(slope) => {
            let month = percent_between(slope.per_month, 2);
            match slope.per_1000_hours {
                Some(hours) => {
                    format!("{month} a month, {} in 1000 h", percent_between(hours, 1))
                }
                None => format!("{month} a month"),
            }
        }
        Err(why) => format!("Too little is known: {}", too_little_words(*why)),
    }
}

/// When the level reaches the least of the window.
pub fn outlook_words(trend: &Trend) -> Option<String> {
    Some(match trend.outlook? {
        Outlook::Reached { since, probability } => format!(
            "The level is below the least since {} (probability {} %)",
            day_words(since),
            fixed(100.0 * probability, 0)
        ),
        Outlook::Reaches(passage) => {
            let latest = passage.latest.map_or_else(
                || {
                    format!(
                        "after {}, further than which nothing is said",
                        day_words(passage.until)
                    )
                },
                day_words,
            );
            let hours = passage.hours.map(|(median, earliest, latest)| {
                let latest = latest.map_or_else(|| "more".to_owned(), |h| fixed(h, 0));
                format!(
                    "; at {} lamp hours ({} to {latest})",
                    fixed(median, 0),
                    fixed(earliest, 0)
                )
            });
            format!(
                "The least will be reached about {} (95 %: {} to {latest}){}",
                day_words(passage.day),
                day_words(passage.earliest),
                hours.unwrap_or_default()
            )
        }
        Outlook::NotInSight {
            until,
            probability,
            earliest,
            ..
        } => {
            let earliest = earliest.map(|day| {
                format!(
                    "; it is reached before {} with a probability of 2.5 %",
                    day_words(day)
                )
            });
            format!(
                "Not in sight: until {} the least is reached with a probability of {} %{}. Nothing is said further ahead",
                day_words(until),
                fixed(100.0 * probability, 0),
                earliest.unwrap_or_default()
            )
        }
        Outlook::TooLittle(why) => format!("Too little is known: {}", too_little_words(why)),
    })
}

/// The exponential beside it.
pub fn exponential_words(lamp: &LampTrend) -> Option<String> {
    let fit = lamp.exponential.as_ref()?;
    let per = match lamp.clock {
        Clock::Hours => ("1000 h", 1000.0),
        Clock::Days => ("30 days", 30.0),
    };
    let rate = |alpha: f64| -(-alpha * per.1).exp_m1();
    Some(format!(
        "Exponential by least squares: {} % in {} (standard error {} %), readings scatter by {} % about it",
        fixed(100.0 * rate(fit.alpha), 2),
        per.0,
        fixed(100.0 * fit.alpha_error * per.1, 2),
        fixed(100.0 * fit.scatter, 2)
    ))
}

/// What was taken out of a lamp's fading, and readings that stand out.
pub fn offset_words(
    lamp: &LampTrend,
    review: &Review,
    upkeep: &Upkeep,
    units: Units,
) -> Vec<String> {
    let offsets = lamp.offsets.iter().map(|offset| {
        let size = percent_between(offset.size, 1);
        let day = day_words(offset.day);
        match offset.cause {
            Cause::Found => format!(
                "{day}: the light changed all at once by {size}; nothing in the list of events tells of it"
            ),
            Cause::Mark(mark) => {
                let event = review.fading.events.get(mark);
                let event = event.and_then(|&i| upkeep.events.get(i));
                let what = event.map_or_else(String::new, |event| event_words(event, units));
                format!("{day}, {what}: {size}")
            }
        }
    });
    let outliers = lamp.outliers.iter().map(|outlier| {
        let last = if outlier.last {
            "; it is the last one and may be a change that stays: read again"
        } else {
            ""
        };
        format!(
            "{}: one reading {} off the level{last}",
            day_words(outlier.day),
            signed_percent(outlier.off, 1)
        )
    });
    offsets.chain(outliers).collect()
}

/// How long lamps last.
pub fn life_words(life: &Life, share: f64, by_hours: bool) -> String {
    let unit = if by_hours { "h" } else { "days" };
    let to = format!("to {} % of its beginning", fixed(100.0 * share, 0));
    match &life.next {
        Ok(expected) => format!(
            "The next lamp is expected to last {} {unit} {to} (95 %: {} to {}); {} lamps got there, {} were changed before or burn",
            fixed(expected.next.value, 0),
            fixed(expected.next.low, 0),
            fixed(expected.next.high, 0),
            expected.reached,
            expected.longer
        ),
        Err(NotProven::Few(n)) => format!(
            "How long a lamp lasts {to} is not proven: {n} got there, two are needed"
        ),
        Err(NotProven::BadShare) => {
            "How long a lamp lasts can't be said: the window at the monitor position is too narrow or too wide".to_owned()
        }
    }
}

/// Why there is no trend.
pub fn refused_words(why: Refused) -> String {
    match why {
        Refused::NotPositive(i) => format!("reading {} is not above zero", i + 1),
        Refused::NoTime(i) => format!("reading {} has no time", i + 1),
        Refused::NoConversion(i) | Refused::BadConversion(i) => {
            format!("a conversion between radiometers is wrong ({})", i + 1)
        }
        Refused::BadMark(i) => format!("event {} can't be used", i + 1),
        Refused::BadLimit => "the limit is not above zero".to_owned(),
        Refused::BadResolution => "the radiometer's resolution can't be".to_owned(),
    }
}

/// What is odd in the log.
pub fn oddity_words(trend: &Trend, review: &Review, upkeep: &Upkeep) -> Vec<String> {
    let at = |reading: usize| -> Option<DateTime> {
        let row = review.daily.rows.get(*review.fading.rows.get(reading)?)?;
        Some(upkeep.log.get(row.entry)?.at)
    };
    let oddities = trend.oddities.iter().map(|oddity| match oddity {
        Oddity::HoursBack(i) => (at(*i), "fewer lamp hours than before; they are not used"),
        Oddity::HoursTooMany(i) => (
            at(*i),
            "more lamp hours than there were in the days between; they are not used",
        ),
    });
    oddities
        .filter_map(|(at, what)| Some(format!("{}: {what}", at?.date())))
        .collect()
}
