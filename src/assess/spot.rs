//! Places of the field that matter, and what is known of them.

use super::limits::Scale;
use crate::geometry::Place;

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
    /// The light in the open at its coldest and at its hottest spot, mW/cm², where the figures are at the bond.
    pub open: Option<[f64; 2]>,
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
