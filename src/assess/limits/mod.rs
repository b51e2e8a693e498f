//! The field held against limits: which lower and upper limit follow from what the station says, the
//! verdict over all parts and for each site, and what hangs on it: what would settle an open verdict,
//! what the radiometer must read at the monitor position, other working distances, fading, the budget of
//! uncertainties.
//!
//! The rule is a decision rule in the sense of JCGM 106:2012: `meets` needs both governing bounds inside
//! the limits (guarded acceptance at one-sided 95 % each), `fails` needs the bound on the other side
//! outside (guarded rejection), what lies between is `not proven`.
//!
//! Allowances make meeting harder and failing no easier. The field is held against the unrounded limit; as written it has
//! three significant digits, rounded to the safe side. `fails` does not ask for the governing rule.

mod against;
mod borne;
mod budget;
mod distance;
mod excluded;
mod hanging;
mod looked;
mod monitor;
pub mod outlook;
mod pair;
mod sampled;
mod settle;
mod terms;
mod verdict;

pub use against::{Class, Margins, against};
pub use borne::{Bending, Borne, Together};
pub use budget::{Basis, Budget, Component, Counts, budget};
pub use distance::{AtDistance, Distances, Restored, Slip};
pub use excluded::{AllCounted, Both, ToCountAll};
pub use hanging::{Hanging, LeftOut, ToLeaveOut};
pub use looked::{Looked, ToLook};
pub use monitor::{MonitorAnswer, Window, window};
pub use outlook::Outlook;
pub use settle::{MoreReadings, Settle};
pub use terms::{Line, Scale, Terms, ToLimit, limits_of, rounded_down, rounded_up, terms};
pub use verdict::{Bounded, Dose, Fading, Judged, Side, Verdict, allowed, verdict};

pub(super) use verdict::{VerdictGrounds, judge};

/// One-sided 95 % of a normal distribution, standard deviations.
pub const Z95: f64 = 1.644_853_626_951_472_2;
