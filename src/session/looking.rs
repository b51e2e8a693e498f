//! What of the field is looked at, and how; none of it is part of the document.

use jiff::civil::Date;

use super::placing::Placing;
use super::planning::Trial;
use super::steps::Step;
use crate::geometry::Point;

/// What is looked at; none of it is part of the document.
#[derive(Debug)]
pub(super) struct Looking {
    pub step: Step,
    pub survey: Option<usize>,
    pub height: f64,
    /// Whether the person has chosen the height; until then it is the usual one of the document.
    pub height_chosen: bool,
    /// The height that was chosen in the step Limits; until then the map there is at the height of the coldest part.
    pub height_in_limits: Option<f64>,
    pub sliding: bool,
    pub cross: Option<Point>,
    /// Whether the person has put the cross; until then it stands at the coldest spot.
    pub cross_chosen: bool,
    pub along: Along,
    pub map_of: MapOf,
    /// The map leaves out what stands in the light's way.
    pub in_the_open: bool,
    pub colours: ColourRanges,
    pub trial: Trial,
    /// What is asked of a placement; until something is, what the station begins with.
    pub placing: Option<Placing>,
    /// The kept arrangement that is shown.
    pub arrangement: Option<usize>,
    /// Positions to measure next are wanted.
    pub proposing: bool,
    /// The surveys that were chosen to be held against each other, earlier and later.
    pub compared: Option<(usize, usize)>,
    /// The short check is wanted.
    pub short_check: bool,
    /// What recalibrations touch is wanted.
    pub touched: bool,
    /// The first and the last day of the log that is shown on paper.
    pub period: (Option<Date>, Option<Date>),
    /// The survey is read at the bench, stop by stop.
    pub at_bench: bool,
}

impl Default for Looking {
    fn default() -> Self {
        Self {
            step: Step::Fixture,
            survey: None,
            height: 0.0,
            height_chosen: false,
            height_in_limits: None,
            sliding: false,
            cross: None,
            cross_chosen: false,
            along: Along::default(),
            map_of: MapOf::default(),
            in_the_open: false,
            colours: ColourRanges::default(),
            trial: Trial::default(),
            placing: None,
            arrangement: None,
            proposing: false,
            compared: None,
            short_check: false,
            touched: false,
            period: (None, None),
            at_bench: false,
        }
    }
}

/// What the map shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum MapOf {
    /// The irradiance.
    #[default]
    Irradiance,
    /// How far off the irradiance may be: its expanded uncertainty (k = 2), percent of it.
    Uncertainty,
    /// How bright the lamp's face is inferred to be; in the step Field only.
    Brightness,
}

impl MapOf {
    /// As a list of maps says it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Irradiance => "Irradiance",
            Self::Uncertainty => "Uncertainty, k = 2, %",
            Self::Brightness => "Lamp's brightness",
        }
    }
}

/// The ends of the map's colours where they are the same for every map; `None`: each map has its own.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ColourRanges {
    /// Of maps of irradiance, mW/cm².
    pub irradiance: Option<[f64; 2]>,
    /// Of maps of uncertainty, percent (k = 2).
    pub uncertainty: Option<[f64; 2]>,
}

impl ColourRanges {
    /// Of maps of that; the brightness of a face has no range that is fixed.
    pub fn of(&self, what: MapOf) -> Option<[f64; 2]> {
        match what {
            MapOf::Irradiance => self.irradiance,
            MapOf::Uncertainty => self.uncertainty,
            MapOf::Brightness => None,
        }
    }

    /// Fixes or frees a range. One that does not ascend changes nothing.
    pub(super) fn fix(&mut self, what: MapOf, range: Option<[f64; 2]>) {
        let ascends = |[low, high]: &[f64; 2]| low.is_finite() && high.is_finite() && low < high;
        if !range.as_ref().is_none_or(ascends) {
            return;
        }
        match what {
            MapOf::Irradiance => self.irradiance = range,
            MapOf::Uncertainty => self.uncertainty = range,
            MapOf::Brightness => {}
        }
    }
}

/// What the strip below the picture runs along, through the cross.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Along {
    /// Upwards, at the cross.
    #[default]
    Height,
    /// From left to right, at the height of the map.
    X,
    /// From front to back, at the height of the map.
    Y,
}

impl Along {
    /// All, in the order of menus.
    pub const ALL: [Self; 3] = [Self::Height, Self::X, Self::Y];
}
