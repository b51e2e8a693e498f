//! A survey's answer: where it is coldest and hottest in the assessed area, how sure that is, which
//! figure governs, how even the field is, and what to be careful about.
//!
//! Each question has a value that holds all it is asked of, and nothing else ([`ToFit`], [`ToSearch`], [`ToJudge`], and in
//! [`limits`] those of what hangs on a verdict): who keeps answers asks again only where that value changes. Window and
//! command line ask the same ones; [`Assessment`] asks them one after the other.

mod answer;
mod area;
mod asked;
mod detector;
mod drift;
mod expected;
mod fit;
mod leaning;
pub mod limits;
mod lit;
mod no_bound;
mod of_bond;
mod out_of_line;
mod same;
mod spot;
mod spots;
mod standing;
mod thrown_back;
mod told;
mod warnings;
mod whole;

pub use answer::ToJudge;
pub use area::{Assessed, Assumed, assessed_area};
pub use asked::{FamilyChoice, NoAnswer, Request};
pub use detector::{OfDetector, UnreachedSite};
pub use drift::{ENOUGH_VISITS, MOST_VISITS, drift_of_visits, takes_out, visits};
pub use expected::{Expected, ExpectedFrom, expected};
pub use fit::{SurveyFit, ToFit, fit_settings, fit_survey, heights_of};
pub use leaning::{Leaning, LeansOn};
pub use of_bond::OfBond;
pub use out_of_line::OutOfLine;
pub use spot::{ColdestReading, Lies, SiteAnswer, Spot, Uniformity};
pub use spots::{PartSpots, Spots, ToSearch};
pub use standing::Standing;
pub use thrown_back::{ThrownBack, ToCompare};
pub use told::{Answer, Governing};
pub use whole::{Assessment, answer, answer_with};
