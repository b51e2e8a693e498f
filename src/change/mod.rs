//! One survey against another: is the lamp only older, or has a cold zone appeared?
//!
//! Readings are matched by name and place; their change in log irradiance is taken apart into what is common, what is local, and
//! what is no wear ([`Mode`]): read higher, aside, tilted. A zone is reported where a local change is significant with the false
//! discovery rate held, and large enough to matter. What two surveys could not have shown is said beside what they show.
//!
//! Shares are parts of 1, negative where it got colder; lengths in mm.

mod compare;
mod discovery;
mod face;
mod form;
mod history;
mod matching;
mod model;
mod modes;
mod paired;
mod power;
mod read;
mod robust;
mod search;
mod set_up;
mod short;
mod states;
mod told;
mod zones;

pub use compare::ToCompare;
pub use discovery::{adjusted, discoveries, level_of_picked};
pub use form::bump;
pub use history::{Along, Bounded, History, LEAST_FOR_TREND, SurveyOfHistory, Trend};
pub use modes::Mode;
pub use paired::Paired;
pub use robust::pseudo_median;
pub use short::{Harm, ShortCheck, ToShorten};
pub use states::{Cause, StateChange, days, state_changes};
pub use told::{
    Bars, Calibration, Change, Common, FadingRate, OnFace, PositionChange, SetUp, Smallest, Zone,
};
pub use zones::encloses;

use crate::station::Station;

/// Which surveys are held against each other where nobody chose: the newest against the first.
pub fn usual_pair(station: &Station) -> Option<(usize, usize)> {
    let newest = station.newest_survey()?;
    let first = (0..station.surveys.len()).min_by_key(|&i| station.surveys[i].date)?;
    (first != newest).then_some((first, newest))
}
