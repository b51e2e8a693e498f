//! The numeric core: readings as bare [`Sample`]s in, a [`Fitted`] field out that never changes.
//! Nothing here knows stations, files or screens.
//!
//! `fit(settings, samples, progress)` gives a [`Fitted`]; a fitted field answers
//! [`at`](Fitted::at) any places, and draws the field [`joint`](Fitted::joint)ly where its family
//! can. A family that cannot answers `None`, and has therefore no assured minimum.
//!
//! | folder | what it is |
//! | --- | --- |
//! | `equations` | covariances, trends, and the linear system of both |
//! | `readings` | what was read, made ready: where positions lie, what is left out together, many taken together, drift |
//! | `score` | how well a family predicts what it has not seen |
//! | `bond` | what stands between the lamp and a bond, and what comes past it |
//! | `families` | `lamp`, `kriging`, `plain`, the `blend` of the first two, and the one answer of all |
//! | `fit`, `fitted` | families made and chosen between; the field that comes of it |
//! | `at_bond` | the field as it arrives at bonds |
//! | `ask`, `picture` | what a field is asked: extremes, the next position; rasters, contours, maps |
//!
//! Each knows only those above it.

mod ask;
mod at_bond;
mod bond;
mod directional;
mod equations;
mod families;
mod fine;
mod fit;
mod fitted;
mod picture;
mod readings;
mod score;
mod unseen;

use crate::geometry::{Footprint, Place};

pub use ask::{Area, Extreme, Next, extremes_at_bonds, extremes_of_each, extremum, next_positions};
pub use at_bond::{AtBond, BondDraws};
pub use bond::{Block, Bond, EvenFace, Frame, Glass, Lies, Receiver, Scene};
pub use directional::Directional;
pub use equations::{kernel, trend};
pub use families::{SPACER_BLOCK, kriging, thin_plate};
pub use fit::{fit, fit_near, fit_round};
pub use fitted::Fitted;
pub use picture::{Contour, Map, Raster, contours, round_levels};
pub use readings::{Drift, Round, Visit};
pub use score::{Foretold, Predicted, hold_out};

/// One reading as the numeric core sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Where, mm.
    pub at: Place,
    /// mW/cm², above zero.
    pub irradiance: f64,
    /// Readings at the same position (all heights and repeats) share this number: they are left out
    /// together when a fit is scored.
    pub position: usize,
    /// When in the round, minutes, where noted.
    pub minute: Option<f64>,
}

/// How a field is made from samples.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Family {
    /// All of the families below that start from the lamp, and kriging for what they miss, weighted by how each
    /// predicts left-out positions.
    SourceAware,
    /// A lamp of round lobes, its light from the face.
    RoundFace,
    /// A lamp of round lobes, its light from anywhere.
    RoundOpen,
    /// A lamp of leaning lobes and an arc, its light from the face.
    LeaningFace,
    /// Kriging of log irradiance with a constant trend.
    OrdinaryKriging,
    /// Kriging of log irradiance with a trend in place and height.
    UniversalKriging,
    /// A thin plate near log irradiance, as smooth as predicts left-out positions best; no joint draws.
    ThinPlate,
    /// Natural neighbours at each height; no joint draws.
    NaturalNeighbour,
    /// Inverse-distance weights; no joint draws.
    InverseDistance,
}

impl Family {
    /// Whether it starts from the lamp.
    pub fn is_of_lamp(self) -> bool {
        matches!(
            self,
            Self::SourceAware | Self::RoundFace | Self::RoundOpen | Self::LeaningFace
        )
    }

    /// Whether it has joint draws, and so an assured minimum.
    pub fn has_draws(self) -> bool {
        !matches!(
            self,
            Self::ThinPlate | Self::NaturalNeighbour | Self::InverseDistance
        )
    }
}

/// What a fit needs beside the samples.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FitSettings {
    /// The family to use; `None`: source-aware where the face allows, else, or of more than [`MOST_READINGS`], the one
    /// of those with joint draws that predicts left-out positions best.
    pub family: Option<Family>,
    /// The smallest step that the radiometer shows, mW/cm²: no reading is surer than its rounding to that
    /// (a variance of step²/12).
    pub resolution: f64,
    /// The lamp's face, as far as it is known. Without it no family starts from the source.
    pub face: Option<Face>,
    /// Diameter of the detector's aperture, mm; 0 where it is not known.
    pub aperture: f64,
    /// What is known of the detector's directional response.
    pub directional: Directional,
    /// Whether light may come by way of mirrors, whose edges can cut it off beyond the outermost positions within a few
    /// millimetres.
    pub mirrors: bool,
    /// Whether the field is left as its family makes it, without what that may miss between and beyond the positions:
    /// for holding methods against each other, not for limits.
    pub bare: bool,
    /// How readings scatter, where that was found out beforehand.
    pub scatter: Option<Scatter>,
}

/// How readings scatter, as a study of repeated rounds found it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scatter {
    /// Relative standard deviation of a reading at one place.
    pub noise: f64,
    /// Standard deviation along x and along y of where a detector is set down, mm.
    pub placement: Option<f64>,
}

impl Scatter {
    /// Standard deviation of the logarithm of what a study finds: so far the readings may have it otherwise.
    const SURE: f64 = 0.2;
}

/// The lower face of a lamp: where light comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Face {
    /// Above the fixture's base, mm.
    pub height: f64,
    /// Its outline on the plan, where known.
    pub outline: Option<Footprint>,
}

/// What a fitted field says of one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// mW/cm²; the median where the family has a distribution.
    pub irradiance: f64,
    /// Standard uncertainty (k = 1) of the field there without the radiometer's calibration error, mW/cm²;
    /// `None` where the family has none.
    pub uncertainty: Option<f64>,
    /// The place lies beyond what the readings span: outside their heights by more than half their
    /// span, or further from any reading than readings are from each other.
    pub extrapolated: bool,
}

/// Joint draws of a field at the same places: row-major, one row a draw.
#[derive(Debug, Clone, PartialEq)]
pub struct Draws {
    /// Places in a draw.
    pub places: usize,
    /// mW/cm², `places` values a draw.
    pub values: Vec<f64>,
}

/// How a family predicted readings that it had not seen, whole positions left out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HoldOutScore {
    /// Which family.
    pub family: Family,
    /// Root mean square of (predicted / read - 1), percent.
    pub rms_percent: f64,
    /// The same of the outer ring, all of it left out at once; `None` where the positions inside are too few.
    pub outer_ring_rms_percent: Option<f64>,
    /// Mean log predictive density of a left-out log reading (natural logarithm); `None` for a family
    /// without a distribution.
    pub log_density: Option<f64>,
    /// This family's share in the field; 0 when it is only compared.
    pub weight: f64,
}

/// A reading against what all others predict there (leave-one-out).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeaveOneOut {
    /// What the other readings predict, mW/cm².
    pub predicted: f64,
    /// (ln reading - ln prediction) / predictive standard deviation; `None` without a distribution.
    pub standardised: Option<f64>,
}

/// Something the readings do not tell, that widens the answer or makes it lean on assumptions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shortcoming {
    /// Fewer than eight readings: how many.
    FewReadings(usize),
    /// Fewer than three positions, or all on one line.
    OnOneLine,
    /// One height only: heights away from it lean on a typical decay.
    OneHeight(f64),
    /// Two heights nearer to each other than 5 mm: their distance.
    HeightsTooNear(f64),
    /// The likelihood had no interior maximum: typical values were taken for scale and noise.
    TypicalParameters,
    /// More than [`MOST_READINGS`]: they were taken together in so many cells, and what is smaller than a cell of this
    /// many millimetres is not told.
    TakenTogether {
        /// How many cells.
        cells: usize,
        /// The longer side of one, mm.
        side: f64,
    },
}

/// Why a field could not be made.
#[derive(Debug, Clone, PartialEq)]
pub enum FitError {
    /// No samples.
    NoReadings,
    /// A sample is not finite or not above zero: its index.
    BadSample(usize),
    /// Asked to stop.
    Cancelled,
    /// The equations could not be solved even after stabilising them.
    Singular,
    /// The family that was asked for cannot be made of these samples: natural neighbours want three places that are
    /// not on one line at some height.
    NotPossible(Family),
}

/// Readings that families take one by one. Of more, as a machine's scan has them, those near to each other are taken
/// together first.
pub const MOST_READINGS: usize = 1500;
