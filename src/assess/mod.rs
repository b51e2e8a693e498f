//! A survey's answer: where it is coldest and hottest in the assessed area, how sure that is, which
//! figure governs, how even the field is, and what to be careful about.
//!
//! Each question has a value that holds all it is asked of, and nothing else ([`ToFit`], [`ToSearch`], [`ToJudge`], and in
//! [`limits`] those of what hangs on a verdict): who keeps answers asks again only where that value changes. Window and
//! command line ask the same ones; [`Assessment`] asks them one after the other.

mod answer;
mod area;
mod fit;
mod leaning;
pub mod limits;
mod out_of_line;
mod spots;
mod warnings;
mod whole;

pub use answer::ToJudge;
pub use area::{Assessed, Assumed, assessed_area};
pub use fit::{ToFit, fit_settings, fit_survey, heights_of};
pub use leaning::{Leaning, LeansOn};
pub use out_of_line::OutOfLine;
pub use spots::{PartSpots, Spots, ToSearch};
pub use whole::{Assessment, answer, answer_with};

use std::sync::Arc;

use limits::Scale;

use crate::field::{Fitted, HoldOutScore};
use crate::geometry::Place;
use crate::progress::Cancelled;
use crate::station::{Family, GoverningRule};

/// What is asked of a station.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Request {
    /// Which survey; `None`: the newest.
    pub survey: Option<usize>,
    /// One height for everything instead of each site's own bond line; for the fixture as assessed
    /// area the height of the map.
    pub height: Option<f64>,
    /// Another family than the document's setting.
    pub family: Option<FamilyChoice>,
}

/// A family by name, or the automatic choice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FamilyChoice {
    /// Source-aware where the lamp's face is over all readings, else the kriging that predicts left-out
    /// positions best.
    Automatic,
    /// This one.
    Fixed(Family),
}

/// A survey's readings made into a field.
#[derive(Debug, Clone)]
pub struct SurveyFit {
    /// Which survey of the station.
    pub survey: usize,
    /// The field.
    pub field: Arc<Fitted>,
    /// For each sample of the fit its row among the survey's readings.
    pub rows: Arc<[usize]>,
    /// Heights that were measured, ascending, mm.
    pub heights: Vec<f64>,
    /// Readings that the others do not bear out, in the order of the rows.
    pub out_of_line: Arc<[OutOfLine]>,
}

/// An extreme of the field with its bounds. Bounds are `None` for a family without joint draws.
#[derive(Debug, Clone, PartialEq)]
pub struct Spot {
    /// Where.
    pub at: Place,
    /// The field there, mW/cm².
    pub irradiance: f64,
    /// Standard uncertainty of the field there, mW/cm².
    pub uncertainty: Option<f64>,
    /// One-sided 95 % lower bound of the extreme over the area, without the radiometer's calibration error.
    pub at_least: Option<f64>,
    /// One-sided 95 % upper bound of the extreme, without the calibration error.
    pub at_most: Option<f64>,
    /// As `at_least`, with the calibration error; also `None` when the calibration's uncertainty is unknown.
    pub at_least_absolute: Option<f64>,
    /// As `at_most`, with the calibration error.
    pub at_most_absolute: Option<f64>,
    /// The field there is extrapolated.
    pub extrapolated: bool,
    /// Name of the site it lies in.
    pub site: Option<String>,
}

/// What the field is over one site.
#[derive(Debug, Clone, PartialEq)]
pub struct SiteAnswer {
    /// The site's name.
    pub site: String,
    /// Its coldest spot; `at_least` is the site's assured minimum.
    pub coldest: Spot,
    /// Mean over the footprint, mW/cm².
    pub mean: f64,
    /// Its hottest spot.
    pub hottest: Spot,
    /// How much of the light over it reaches its bond, 0 to 1; the figures above are before that.
    pub through: f64,
}

/// How even the field is over the assessed area, by the published definitions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Uniformity {
    /// Mean, mW/cm².
    pub mean: f64,
    /// Least over mean (EN 12464-1, Uo).
    pub min_over_mean: f64,
    /// Least over greatest.
    pub min_over_max: f64,
    /// (max - min) / (max + min), percent (IEC 60904-9, ASTM E927).
    pub nonuniformity_percent: f64,
}

/// The coldest reading that counts, of those at heights that are assessed (all readings when none is).
#[derive(Debug, Clone, PartialEq)]
pub struct ColdestReading {
    /// Row among the survey's readings.
    pub row: usize,
    /// Name of its position, or its coordinates where it has none.
    pub position: String,
    /// Where.
    pub at: Place,
    /// mW/cm².
    pub irradiance: f64,
    /// How it lies to the assessed area, where the coldest spot is looked for.
    pub lies: Lies,
}

/// How a reading lies to the assessed area.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lies {
    /// In it, at its height.
    Within,
    /// At a height that is assessed, outside the outlines there.
    Beside,
    /// At a height where nothing is assessed.
    AtAnotherHeight,
}

/// The figure that limits are held against: with limits the very one that is judged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Governing {
    /// By which rule.
    pub rule: GoverningRule,
    /// mW/cm²; `None`: the rule asks for an assured minimum that is not known.
    pub irradiance: Option<f64>,
    /// Which of its two assured minima it is; `None` where the rule asks for none. Without limits the relative one.
    pub scale: Option<Scale>,
    /// Whether meeting a limit with this figure proves anything.
    pub can_prove: bool,
}

/// Everything the program says of a survey.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// Which survey of the station.
    pub survey: usize,
    /// The one height at which everything was assessed, mm; `None`: sites lie at several.
    pub height: Option<f64>,
    /// The family that makes the field.
    pub family: Family,
    /// How each family tried predicted what it had not seen, best first.
    pub scores: Vec<HoldOutScore>,
    /// Coldest spot of the assessed area.
    pub coldest: Spot,
    /// Hottest spot of the assessed area.
    pub hottest: Spot,
    /// What the coldest spot's figure leans on; `None` for a field without knowledge of the lamp.
    pub leaning: Option<Leaning>,
    /// Coldest reading.
    pub coldest_reading: ColdestReading,
    /// The figure that governs.
    pub governing: Governing,
    /// How even the field is.
    pub uniformity: Uniformity,
    /// Per site, coldest first.
    pub sites: Vec<SiteAnswer>,
    /// How many readings the field was made from.
    pub counted: usize,
    /// Relative standard deviation of a reading about the field.
    pub noise: Option<f64>,
    /// Standard uncertainty of the radiometer's calibration, relative; `None` when not known.
    pub calibration: Option<f64>,
    /// The field against the limits, or a sentence of why there is no lower limit; `None`: no limits
    /// are set.
    pub judged: Option<Result<limits::Judged, String>>,
    /// What to be careful about: plain sentences.
    pub warnings: Vec<String>,
}

/// Why there is no answer: a sentence of what and what to do.
#[derive(Debug, Clone, PartialEq)]
pub enum NoAnswer {
    /// What is missing next.
    Missing(String),
    /// Asked to stop.
    Cancelled,
}

impl Spot {
    /// The assured minimum on a scale.
    pub fn assured(&self, scale: Scale) -> Option<f64> {
        match scale {
            Scale::Relative => self.at_least,
            Scale::Absolute => self.at_least_absolute,
        }
    }

    /// The assured maximum on a scale.
    pub fn assured_most(&self, scale: Scale) -> Option<f64> {
        match scale {
            Scale::Relative => self.at_most,
            Scale::Absolute => self.at_most_absolute,
        }
    }
}

impl Answer {
    /// What the field is against the limits, where they are complete.
    pub fn judged(&self) -> Option<&limits::Judged> {
        self.judged.as_ref()?.as_ref().ok()
    }

    /// On which scale the coldest is judged: the lower limit's; without limits the relative one.
    pub fn scale(&self) -> Scale {
        self.judged()
            .map_or(Scale::Relative, |j| j.coldest.limit.scale)
    }

    /// On which scale the hottest is judged: the upper limit's; without one the relative one.
    pub fn scale_of_hottest(&self) -> Scale {
        let hottest = self.judged().and_then(|j| j.hottest.as_ref());
        hottest.map_or(Scale::Relative, |h| h.limit.scale)
    }
}

impl From<Cancelled> for NoAnswer {
    fn from(_: Cancelled) -> Self {
        Self::Cancelled
    }
}

impl std::fmt::Display for NoAnswer {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Missing(what) => f.write_str(what),
            Self::Cancelled => f.write_str("cancelled"),
        }
    }
}

impl std::error::Error for NoAnswer {}
