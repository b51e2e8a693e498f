//! The limits of a station and how they came about: what the parts need at the least and bear at the
//! most, and where the daily reading is taken. What follows from them is worked out in
//! [`crate::assess`]'s room of limits.
//!
//! Irradiance in mW/cm², times in s, lengths in mm, shares in percent.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::SourceKind;
use super::numbers::{Fault, above_zero, fault, not_negative, number, optional};
use crate::geometry::Place;

/// What the parts need and bear.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limits {
    /// The least irradiance for full cure.
    #[serde(default)]
    pub least: Least,
    /// What is put on top of the least irradiance, percent of it.
    #[serde(default)]
    pub safety_factor_percent: f64,
    /// The most that parts bear; `None`: no upper limit is held.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub upper: Option<Upper>,
    /// How long parts are exposed; `None`: as the cure trials say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub exposure_s: Option<f64>,
    /// What may happen between two checks.
    #[serde(default)]
    pub allowances: Allowances,
    /// Parts that are cured through a substrate.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub transmission: Vec<Transmission>,
    /// Where the daily reading is taken; `None`: the program proposes a position.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub monitor: Option<Monitor>,
    /// How the source is kept at its level.
    #[serde(default)]
    pub kept: Kept,
    /// How fast the source fades, percent in 100 hours, where it is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fading_percent_per_100_h: Option<f64>,
    /// When rule and limits were frozen; a later change is on record.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub frozen: Option<Frozen>,
    /// What was changed after freezing, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub record: Vec<Change>,
}

/// Where the least irradiance comes from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Least {
    /// From the station's cure trials: the upper bound of the least level.
    FromTrials,
    /// Typed.
    Typed(Figure),
}

impl Default for Least {
    fn default() -> Self {
        Self::Typed(Figure::default())
    }
}

/// An irradiance that was found somewhere.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Figure {
    /// mW/cm²; `None`: not typed yet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub irradiance: Option<f64>,
    /// How it was found.
    #[serde(default)]
    pub origin: Origin,
    /// Name of the radiometer it was found with.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub pair: String,
    /// The day of the calibration that counted then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub calibrated_on: Option<Date>,
    /// Anything worth keeping.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// How an irradiance was found: it decides whether the radiometer's calibration error counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Origin {
    /// With the radiometer pair that judges the station, within one calibration: the calibration error cancels.
    SamePair,
    /// With another pair, or after another calibration.
    OtherPair,
    /// A data sheet's figure.
    #[default]
    DataSheet,
}

/// The most that parts bear, and for what that holds.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Upper {
    /// The highest irradiance that gave undamaged parts.
    pub figure: Figure,
    /// The kind of source it was found under; `None`: not said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source: Option<SourceKind>,
    /// The working distances for which it holds, least and greatest, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub distances: Option<(f64, f64)>,
    /// The drive settings for which it holds, in words.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub drive: String,
}

/// What may happen between two checks, percent of the irradiance.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Allowances {
    /// The source fades until the next check.
    #[serde(default)]
    pub until_check_percent: f64,
    /// Parts are loaded again and the source is set again a little differently: up or down.
    #[serde(default)]
    pub reload_percent: f64,
}

/// Parts that are cured through a substrate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Transmission {
    /// Name of the site, or of the group of sites.
    pub sites: String,
    /// How much of the light reaches the bond.
    pub percent: f64,
}

/// Where the daily reading is taken.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Monitor {
    /// Such as D4.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// Of the sensing plane.
    pub at: Place,
}

/// How the source is kept at its level.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Kept {
    /// Not at all: it only fades, and is set nearer the upper limit when new.
    #[default]
    OnlyFades,
    /// By its drive or its distance: set in the middle.
    Adjusted,
}

/// Rule and limits as they were declared final.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Frozen {
    /// The day, where it was known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub on: Option<Date>,
    /// How many readings had been entered by then.
    pub readings: usize,
}

/// A change after freezing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Change {
    /// The day, where it was known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub on: Option<Date>,
    /// What was changed, in words.
    pub what: String,
}

/// The note of readings that were added to settle a verdict that was not proven.
pub const TO_SETTLE: &str = "To settle the verdict";

/// No share that a person types is larger, percent.
const MOST_PERCENT: f64 = 1000.0;
/// No exposure is longer, s.
const LONGEST_S: f64 = 1e6;
/// No irradiance is greater, mW/cm².
const BRIGHTEST: f64 = 1e9;

fn share_lost(label: &str, percent: f64) -> Result<(), Fault> {
    not_negative(label, percent, MOST_PERCENT)?;
    if percent < 100.0 {
        Ok(())
    } else {
        fault(
            format!("the {label} is {percent} %"),
            "type a share below 100 %",
        )
    }
}

impl Figure {
    fn sound(&self, label: &str) -> Result<(), Fault> {
        optional(self.irradiance, |e| above_zero(label, e, BRIGHTEST))
    }
}

impl Limits {
    /// With the label of the field that is wrong.
    pub(super) fn sound(&self) -> Result<(), (&'static str, Fault)> {
        let at = |label| move |fault| (label, fault);
        if let Least::Typed(figure) = &self.least {
            figure
                .sound("least irradiance")
                .map_err(at("Least irradiance"))?;
        }
        not_negative("safety factor", self.safety_factor_percent, MOST_PERCENT)
            .map_err(at("Safety factor"))?;
        if let Some(upper) = &self.upper {
            upper
                .figure
                .sound("upper limit")
                .map_err(at("Highest undamaged"))?;
            if let Some((near, far)) = upper.distances {
                above_zero("least working distance", near, 1e6)
                    .and_then(|()| above_zero("greatest working distance", far, 1e6))
                    .map_err(at("Distances"))?;
            }
        }
        optional(self.exposure_s, |s| {
            above_zero("exposure time", s, LONGEST_S)
        })
        .map_err(at("Exposure time"))?;
        share_lost(
            "fading until the next check",
            self.allowances.until_check_percent,
        )
        .map_err(at("Until the next check"))?;
        share_lost("change on reloading", self.allowances.reload_percent)
            .map_err(at("Reload and reset"))?;
        for through in &self.transmission {
            above_zero("transmission", through.percent, 100.0).map_err(at("Transmission"))?;
        }
        if let Some(monitor) = &self.monitor {
            for (label, value) in [
                ("x of the monitor position", monitor.at.x),
                ("y of the monitor position", monitor.at.y),
                ("height of the monitor position", monitor.at.height),
            ] {
                number(label, value, 1e6).map_err(at("Monitor position"))?;
            }
        }
        optional(self.fading_percent_per_100_h, |f| share_lost("fading", f)).map_err(at("Fading"))
    }

    /// What the parts of a site see of the light over it, 0 to 1. The site's own entry counts before
    /// that of its group.
    pub fn through(&self, site: &str, group: &str) -> f64 {
        let named = |name: &str| {
            let mut all = self.transmission.iter();
            all.find(|t| t.sites.trim() == name.trim())
        };
        named(site)
            .or_else(|| named(group))
            .map_or(1.0, |t| t.percent / 100.0)
    }
}
