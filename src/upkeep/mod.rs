//! Upkeep of a validated station: how the light at the monitor position fades, when it reaches its limit, what is no fading, how
//! long a lamp lasts, and whether two radiometers say the same.
//!
//! Irradiance in mW/cm²; times in days from any beginning (fractions count) and in lamp hours; shares are parts of 1, negative
//! where it got less. A [`Figure`] stands with the interval that holds it with 95 % confidence. Nothing here is worded, and no
//! argument makes it panic: what can't be told is a value that says why.
//!
//! | file | what it is |
//! | --- | --- |
//! | `figure` | a value with its interval |
//! | `trend` | the irradiance log: level, fading, steps, outliers, and when the limit is reached |
//! | `life` | former lamps' fading laid over one another, and how long the next one lasts |
//! | `beside` | two radiometers side by side; a radiometer before and after its calibration |
//! | `terms` | what daily readings are held against, and what brings one back |
//! | `scales` | radiometers within one calibration each, and how their readings come to the scale of the limits |
//! | `daily` | the log, entry by entry: what counts, and where it lies |
//! | `fading` | the log as `trend` and `life` ask for it |
//! | `again` | what a recalibration touches, and verdicts worked out again |
//! | `due` | what is due |
//! | `review` | all of it on a day |

mod again;
pub mod beside;
mod daily;
mod day;
mod due;
mod fading;
mod figure;
pub mod life;
mod review;
mod scales;
mod terms;
pub mod trend;

pub use again::{Again, Touched, entries_touched, touched};
pub use daily::{Daily, Latest, NextCheck, Row, Side, Standing, Why, face_height_at, side};
pub use day::{day_of, days_between, moment_of};
pub use due::{Due, DueWhat, OLD, SOON, due};
pub use fading::{Fading, fading};
pub use figure::Figure;
pub use review::Review;
pub use scales::{
    Carried, Comparison, Scale, Scales, calibrations, certificate, compared, pairs, shift,
};
pub use terms::{MonitorTerms, MonitorWindow, Remedy, SetBy};
