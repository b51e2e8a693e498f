//! The trend of the irradiance log: what is asked is [`Asked`], what is answered is [`Trend`], by [`trend`].

mod asked;
mod exponential;
mod told;

pub use asked::{Asked, Mark, Marked, Reading, Refused};
pub use exponential::{Exponential, Reaches};
pub use told::{
    Borrowed, Cause, Clock, LampTrend, Level, Noise, Oddity, Offset, Outlier, Outlook, Passage,
    Slope, TooLittle, Trend,
};

use crate::progress::{Cancelled, Progress};

/// How many times the length of the present lamp's data is looked ahead at most: the greatest multiple that IES TM-21-11 allows
/// (with 20 units on test). One lamp read daily is less than that; the interval says so by its width.
pub const AHEAD: f64 = 6.0;
/// Below so many days of readings nothing is said of fading.
pub const LEAST_DAYS: f64 = 5.0;
/// Below so many readings that count nothing is said of fading.
pub const LEAST_READINGS: usize = 5;

/// Works out the trend of a log. Ten thousand readings take well under a second.
///
/// # Errors
/// [`Cancelled`]; inside, [`Refused`] names the first reading or mark that can't be used.
pub fn trend(asked: &Asked<'_>, progress: &Progress) -> Result<Result<Trend, Refused>, Cancelled> {
    progress.check()?;
    let _ = asked;
    todo!("insides follow")
}
