//! The numeric core: readings as bare [`Sample`]s in, a [`Fitted`] field out that never changes.
//! Nothing here knows stations, files or screens.
//!
//! `fit(settings, samples, progress)` gives a [`Fitted`]; a fitted field answers
//! [`at`](Fitted::at) any places, and draws the field [`joint`](Fitted::joint)ly where its family
//! can. A family that cannot answers `None`, and has therefore no assured minimum.

use crate::geometry::{Bounds, Footprint, Place, Point};
use crate::progress::{Cancelled, Progress};

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
}

/// How a field is made from samples.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Family {
    /// Kriging of log irradiance with a constant trend.
    OrdinaryKriging,
    /// Kriging of log irradiance with a trend in place and height.
    UniversalKriging,
    /// Inverse-distance weights.
    InverseDistance,
}

/// What a fit needs beside the samples.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FitSettings {
    /// The family to use; `None`: the one of those with joint draws that predicts left-out positions
    /// best.
    pub family: Option<Family>,
    /// The smallest step that the radiometer shows, mW/cm²: no reading is surer than that.
    pub resolution: f64,
}

/// What a fitted field says of one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// mW/cm²; the median where the family has a distribution.
    pub irradiance: f64,
    /// Standard uncertainty (k = 1) of the field there without the radiometer's scale error, mW/cm²;
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
    /// Mean log predictive density of a left-out log reading (natural logarithm); `None` for a family
    /// without a distribution.
    pub log_density: Option<f64>,
    /// Whether this family makes the field.
    pub used: bool,
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
}

/// Why a field could not be made.
#[derive(Debug, Clone, PartialEq)]
pub enum FitError {
    /// No samples.
    NoReadings,
    /// A sample is not finite or not above zero: its index.
    BadSample(usize),
    /// More samples than the family takes here.
    TooMany {
        /// How many there are.
        readings: usize,
        /// How many it takes.
        most: usize,
    },
    /// Asked to stop.
    Cancelled,
    /// The equations could not be solved even after stabilising them.
    Singular,
}

/// Readings an exact kriging takes.
pub const MOST_READINGS: usize = 1500;

/// A fitted field. Cheap to clone, never changes.
#[derive(Debug, Clone)]
pub struct Fitted {}

/// Makes a field from samples.
///
/// # Errors
/// [`FitError`]; every number of samples from 1 to [`MOST_READINGS`] gives a field.
pub fn fit(
    settings: &FitSettings,
    samples: &[Sample],
    progress: &Progress,
) -> Result<Fitted, FitError> {
    todo!("{settings:?} {} {progress:?}", samples.len())
}

impl Fitted {
    /// The family that makes the field.
    pub fn family(&self) -> Family {
        todo!()
    }

    /// The field at places, in their order.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn at(&self, places: &[Place], progress: &Progress) -> Result<Vec<Estimate>, Cancelled> {
        todo!("{places:?} {progress:?}")
    }

    /// Only the irradiance at places, mW/cm²: much faster than [`at`](Self::at).
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn irradiance(&self, places: &[Place], progress: &Progress) -> Result<Vec<f64>, Cancelled> {
        todo!("{places:?} {progress:?}")
    }

    /// `n` draws of the whole field at `places` at once, so that their minima and maxima are those of
    /// possible fields. The same seed gives the same draws. `Ok(None)` for a family without.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn joint(
        &self,
        places: &[Place],
        seed: u64,
        n: usize,
        progress: &Progress,
    ) -> Result<Option<Draws>, Cancelled> {
        todo!("{places:?} {seed} {n} {progress:?}")
    }

    /// How each family that was tried predicted what it had not seen, best first.
    pub fn scores(&self) -> &[HoldOutScore] {
        todo!()
    }

    /// Each sample against the others, in the order of the samples.
    pub fn leave_one_out(&self) -> &[LeaveOneOut] {
        todo!()
    }

    /// What the readings do not tell.
    pub fn shortcomings(&self) -> &[Shortcoming] {
        todo!()
    }

    /// Relative standard deviation of a reading about the field, as estimated (0.012 is 1.2 %);
    /// `None` for a family without a distribution.
    pub fn noise(&self) -> Option<f64> {
        todo!()
    }
}

/// A field on a regular lattice at one height: what a map, contours and a grid file are made of.
/// Node `(column, row)` is at `origin + (column * step_x, row * step_y)` and stands at
/// `row * columns + column` in the vectors.
#[derive(Debug, Clone, PartialEq)]
pub struct Raster {
    /// Nodes along x.
    pub columns: usize,
    /// Nodes along y.
    pub rows: usize,
    /// Node (0, 0).
    pub origin: Point,
    /// mm from node to node along x.
    pub step_x: f64,
    /// mm from node to node along y.
    pub step_y: f64,
    /// Of the map, mm above the fixture's base.
    pub height: f64,
    /// mW/cm², NaN outside the outline.
    pub irradiance: Vec<f64>,
    /// Standard uncertainty, mW/cm², NaN outside or where the family has none.
    pub uncertainty: Vec<f64>,
    /// Whether the node is extrapolated.
    pub extrapolated: Vec<bool>,
}

impl Raster {
    /// The field over an outline's bounds, edges included, with nodes at most `step` mm apart; nodes
    /// outside the outline are NaN.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn of(
        fitted: &Fitted,
        outline: &Footprint,
        height: f64,
        step: f64,
        progress: &Progress,
    ) -> Result<Self, Cancelled> {
        todo!("{fitted:?} {outline:?} {height} {step} {progress:?}")
    }

    /// The place of a node.
    pub fn node(&self, column: usize, row: usize) -> Point {
        Point::new(
            self.origin.x + column as f64 * self.step_x,
            self.origin.y + row as f64 * self.step_y,
        )
    }

    /// What the raster covers.
    pub fn bounds(&self) -> Bounds {
        Bounds {
            min: self.origin,
            max: self.node(self.columns.saturating_sub(1), self.rows.saturating_sub(1)),
        }
    }

    /// Least and greatest finite irradiance, mW/cm².
    pub fn range(&self) -> Option<(f64, f64)> {
        self.irradiance
            .iter()
            .filter(|e| e.is_finite())
            .fold(None, |range, &e| match range {
                None => Some((e, e)),
                Some((lo, hi)) => Some((f64::min(lo, e), f64::max(hi, e))),
            })
    }
}

/// A line of equal irradiance, joined. Closed lines repeat their first point at the end.
#[derive(Debug, Clone, PartialEq)]
pub struct Contour {
    /// mW/cm².
    pub level: f64,
    /// mm.
    pub points: Vec<Point>,
}

/// Contours of values on a raster's nodes by marching squares with linear interpolation: in mm,
/// lines end where the values do (NaN), a saddle is split by the mean of its cell, the order is
/// deterministic.
pub fn contours(raster: &Raster, levels: &[f64]) -> Vec<Contour> {
    todo!("{raster:?} {levels:?}")
}

/// About `wanted` round levels (1, 2, 2.5 or 5 times a power of ten apart) strictly inside a range.
pub fn round_levels(low: f64, high: f64, wanted: usize) -> Vec<f64> {
    todo!("{low} {high} {wanted}")
}

/// Which extreme.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Extreme {
    /// The least irradiance.
    Coldest,
    /// The greatest.
    Hottest,
}

/// A part of the assessed area: everything inside an outline at one height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    /// The outline.
    pub outline: Footprint,
    /// Height of what counts there, mm.
    pub height: f64,
}

/// The place of the field's extreme over areas, found on a lattice and refined between its nodes:
/// index of the area and place.  `None` without areas.
///
/// # Errors
/// [`Cancelled`].
pub fn extremum(
    fitted: &Fitted,
    areas: &[Area],
    extreme: Extreme,
    progress: &Progress,
) -> Result<Option<(usize, Place)>, Cancelled> {
    todo!("{fitted:?} {areas:?} {extreme:?} {progress:?}")
}
