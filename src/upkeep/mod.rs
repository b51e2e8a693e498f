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

pub mod beside;
mod figure;
pub mod life;
pub mod trend;

pub use figure::Figure;
