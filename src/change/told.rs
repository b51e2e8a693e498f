//! What is said of one survey against another.

use super::modes::Mode;
use super::states::{Cause, StateChange};
use crate::field::Raster;
use crate::geometry::{Place, Point};
use crate::station::Survey;

/// What is asked for beside the surveys.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bars {
    /// The false discovery rate that is held.
    pub false_share: f64,
    /// A local change of less than this share is no zone.
    pub worth: f64,
    /// The power at which the smallest change is stated.
    pub power: f64,
}

impl Default for Bars {
    /// 5 % each, power 90 % (common practice, no source).
    fn default() -> Self {
        Self {
            false_share: 0.05,
            worth: 0.05,
            power: 0.9,
        }
    }
}

/// The same change everywhere: shares, -0.1 is 10 % less.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Common {
    /// The estimate.
    pub change: f64,
    /// With 95 % confidence, the radiometers' calibration in it where it counts.
    pub interval: (f64, f64),
    /// The same without calibration.
    pub relative: (f64, f64),
    /// How calibration counts.
    pub calibration: Calibration,
}

/// How the radiometers' calibration counts in the common change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Calibration {
    /// One pair within one calibration: its scale error is the same in both.
    Cancels,
    /// Two scales: their relative standard uncertainty together.
    Counts(f64),
    /// Two scales, at least one of which nobody told the uncertainty of.
    NotKnown,
}

/// A place where it changed otherwise than in common.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    /// Where its middle is, weighted by the change.
    pub centre: Point,
    /// Where the change is largest.
    pub deepest: Place,
    /// mm², inside its outline.
    pub area: f64,
    /// Largest local change, a share: below 0 colder.
    pub depth: f64,
    /// With 95 % confidence, paid for having been picked.
    pub interval: (f64, f64),
    /// Lines where the local change reaches what is worth a zone.
    pub outline: Vec<Vec<Point>>,
    /// Names of the sites that lie in it or are touched by it.
    pub sites: Vec<String>,
    /// How many positions of the later survey lie in it.
    pub positions: usize,
    /// Where on the lamp's face light is missing, and how much of the lamp's light; `None` where nothing can be said.
    pub face: Option<OnFace>,
}

/// Where on the lamp's face light went missing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnFace {
    /// The middle of it, from the fixture's datum.
    pub at: Point,
    /// Of the lamp's light, a share.
    pub share: f64,
    /// From the face's middle over half its sides: -1 to 1 to the right and to the back; `None` without an outline.
    pub part: Option<(f64, f64)>,
}

/// A place that was read in the later survey.
#[derive(Debug, Clone, PartialEq)]
pub struct PositionChange {
    /// Name of the position; may be empty.
    pub position: String,
    /// Where.
    pub at: Place,
    /// What was read before, mW/cm²; of the field where nothing was.
    pub before: f64,
    /// What was read after.
    pub after: f64,
    /// After over before less 1.
    pub change: f64,
    /// The local change there, a share.
    pub local: f64,
    /// A zone there is significant at the false discovery rate, and the local change large enough to matter.
    pub significant: bool,
    /// Read in both surveys.
    pub matched: bool,
}

/// What the second round shows of how it was set up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SetUp {
    /// In which way.
    pub mode: Mode,
    /// By how much, in the mode's unit.
    pub by: f64,
    /// Standard uncertainty of that.
    pub uncertainty: f64,
    /// What it does to all alike, a share: part of the common change.
    pub common: f64,
    /// Beyond doubt by itself, and large enough to be named.
    pub named: bool,
    /// Beyond doubt together with this one, from which the readings may not tell it.
    pub or: Option<Mode>,
}

/// The smallest local loss that this pair of surveys would have shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Smallest {
    /// Share lost in the middle of a round zone, anywhere within the outermost positions.
    pub loss: f64,
    /// Of the zone where half of that is lost, mm.
    pub diameter: f64,
    /// With this probability.
    pub power: f64,
}

/// Fading by lamp hours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FadingRate {
    /// Between the surveys.
    pub hours: f64,
    /// Share lost per 100 hours.
    pub per_100_h: f64,
    /// With 95 % confidence.
    pub interval: (f64, f64),
}

/// One survey against another.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// Which surveys of the station, earlier and later.
    pub surveys: (usize, usize),
    /// What the same change everywhere is.
    pub common: Common,
    /// Cold zones, deepest first.
    pub cold: Vec<Zone>,
    /// Hot zones, strongest first.
    pub hot: Vec<Zone>,
    /// Position by position.
    pub positions: Vec<PositionChange>,
    /// How the second round was set up.
    pub set_up: Vec<SetUp>,
    /// `None`: too few positions for any.
    pub smallest: Option<Smallest>,
    /// Local change in percent over the fixture at [`height`](Self::height); empty where nothing can be said.
    pub map: Option<Raster>,
    /// For each node of the map whether the change there is significant.
    pub significant: Vec<bool>,
    /// At which zones and map are, mm.
    pub height: f64,
    /// What the recorded states say is not the same.
    pub states: Vec<StateChange>,
    /// What the common change may be, as far as the records leave it open.
    pub may_be: Vec<Cause>,
    /// How fast the lamp fades, where its hours are known.
    pub fading: Option<FadingRate>,
    /// How many places were read in both.
    pub matched: usize,
    /// How many were compared through the field.
    pub through_field: usize,
    /// The largest distance between matched places, mm.
    pub aside: f64,
    /// Relative standard deviation of a reading, as the pairs show it.
    pub noise: f64,
    /// What was asked for.
    pub bars: Bars,
    /// What most places changed by, without any model, and the interval that holds it with 95 % confidence; `None` for few places.
    pub typical: Option<(f64, (f64, f64))>,
}

impl Change {
    /// What was found of the set-up that is worth a word: beyond doubt by itself, or one of two of which the likelier is named.
    pub fn named(&self) -> impl Iterator<Item = &SetUp> {
        let weight = |s: &SetUp| s.by.abs() / s.mode.usual();
        self.set_up.iter().filter(move |s| {
            let Some(or) = s.or else { return s.named };
            let other = self.set_up.iter().find(|o| o.mode == or);
            s.named || other.is_none_or(|o| !o.named && weight(o) <= weight(s))
        })
    }

    /// Whether the common change is beyond doubt: its interval lies on one side of none.
    pub fn is_common_proven(&self) -> bool {
        self.common.interval.0 > 0.0 || self.common.interval.1 < 0.0
    }

    /// The later survey of some.
    pub fn later<'a>(&self, surveys: &'a [crate::station::Shared<Survey>]) -> Option<&'a Survey> {
        surveys.get(self.surveys.1).map(|s| &**s)
    }
}
