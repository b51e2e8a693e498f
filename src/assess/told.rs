//! Everything the program says of a survey.

use super::limits::{self, Scale};
use super::{ColdestReading, Leaning, OfBond, OfDetector, SiteAnswer, Spot, Uniformity};
use crate::field::{Drift, HoldOutScore};
use crate::station::{Family, GoverningRule};

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
    /// What is told of light at bonds; `None` where nothing stands in its way.
    pub bond: Option<OfBond>,
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
    /// The drift over the round, where it was taken out.
    pub drift: Option<Drift>,
    /// Standard uncertainty of the radiometer's calibration, relative; `None` when not known.
    pub calibration: Option<f64>,
    /// The field against the limits, or a sentence of why there is no lower limit; `None`: no limits
    /// are set.
    pub judged: Option<Result<limits::Judged, String>>,
    /// What the detector can't show.
    pub detector: OfDetector,
    /// What to be careful about: plain sentences.
    pub warnings: Vec<String>,
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
