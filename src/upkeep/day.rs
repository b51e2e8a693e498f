//! Days from the beginning of 1970, by the clock on the wall: what trends are counted along.

use jiff::SignedDuration;
use jiff::civil::{Date, DateTime, date};

const SECONDS: f64 = 86_400.0;

fn beginning() -> DateTime {
    date(1970, 1, 1).at(0, 0, 0, 0)
}

/// Days until a moment; parts of a day count.
pub fn day_of(at: DateTime) -> f64 {
    at.duration_since(beginning()).as_secs_f64() / SECONDS
}

/// The moment of a day; `None` beyond all calendars.
pub fn moment_of(day: f64) -> Option<DateTime> {
    let seconds = (day * SECONDS).round();
    // a cast of a float saturates
    let duration = SignedDuration::from_secs(seconds as i64);
    day.is_finite()
        .then(|| beginning().checked_add(duration).ok())
        .flatten()
}

/// Whole days from one to the other; negative when `to` is earlier.
pub fn days_between(from: Date, to: Date) -> i64 {
    to.duration_since(from).as_hours().div_euclid(24)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_gives_its_moment_back() {
        for at in [
            date(2026, 11, 28).at(17, 45, 30, 0),
            date(1969, 7, 20).at(20, 17, 0, 0),
        ] {
            assert_eq!(moment_of(day_of(at)), Some(at));
        }
        assert_eq!(day_of(date(1970, 1, 2).at(12, 0, 0, 0)), 1.5);
        assert_eq!(moment_of(1e300), None);
        assert_eq!(moment_of(f64::NAN), None);
        assert_eq!(days_between(date(2026, 2, 27), date(2026, 3, 1)), 2);
        assert_eq!(days_between(date(2026, 3, 1), date(2026, 2, 27)), -2);
    }
}
