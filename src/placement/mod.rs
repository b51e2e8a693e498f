//! Where parts may lie under the source, and how many: placement.
//!
//! A [`Part`] has a shape, a clearance to others and a tolerance of its place in the nest; a [`Bed`] is where it may lie: the
//! fixture within its rim, without what stands on it; [`Bars`] are the limits. [`ToPlace`] holds all that is asked and
//! [`place`](ToPlace::place) answers: [`Placed`].
//!
//! | file | what it is |
//! | --- | --- |
//! | `puzzle` | parts on a raster: which places exclude one another |
//! | `bound`, `free`, `exact` | no packing holds more; a packing found; the best one proven, where it is small |
//! | `rows` | regular arrays: the best of all pitches and offsets |
//! | `passes`, `light` | how the pallet stands in time; the field over the bed in the mean of that |
//! | `cells` | for each place of a part how far inside the limits it lies |
//! | `sure` | joint draws: with what confidence all parts lie inside the limits at once |
//! | `round` | an array on round figures |
//! | `layout`, `arrange`, `anywhere` | parts arranged: rows or free, over all places that lie so far inside |
//! | `ready`, `search`, `best` | what is asked, put together: how far inside is enough; so many placed best |
//! | `told` | what is told of it: figures, counts beside it, the bound |
//! | `usable` | where a part's centre may be, as a map |
//! | `asked` | the question as it follows from a station |
//! | `distances`, `evenness`, `present`, `taken` | other heights; simple remedies; the sites as they are; as sites of the fixture |
//!
//! Confidence is for the whole arrangement. Places are ordered by how many standard uncertainties they lie inside the
//! limits, at the part's worst point. The more of that is asked of every part, the fewer fit, and the surer all of them are
//! inside at once: so the least is looked for with which 95 % of joint draws have every part inside. That choice is made on
//! draws of its own; the confidence that is told comes of fresh draws.

mod anywhere;
mod arrange;
mod asked;
mod best;
mod bound;
mod cells;
mod distances;
mod evenness;
mod exact;
mod free;
mod layout;
mod light;
mod passes;
mod present;
mod puzzle;
mod ready;
mod round;
mod rows;
mod search;
mod sure;
mod taken;
#[cfg(test)]
mod tests;
mod told;
mod usable;

use std::sync::Arc;

use crate::assess::limits::{Scale, Terms};
use crate::field::Fitted;
use crate::geometry::{Footprint, Point, Shape};

pub use asked::{Asked, Wanted, asked, part_of};
pub use distances::{AtHeight, Heights, ToScan};
pub use evenness::{Remedies, Remedy, RemedyKind, ToEven};
pub use passes::Passes;
pub use present::{Present, PresentSite, ToLookAt};
pub use taken::site_groups;
pub use usable::{ToShow, Usable};

/// One-sided confidence, for all parts at once.
pub const CONFIDENCE: f64 = 0.95;

/// What is placed.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// A rectangle along the axes or a circle, mm.
    pub shape: Shape,
    /// It may be turned by 90 degrees.
    pub may_turn: bool,
    /// Between parts, and to what stands on the fixture, mm.
    pub clearance: f64,
    /// So far it may be off its place in the nest, along x and along y, mm.
    pub tolerance: f64,
}

/// Why a part can't be placed as it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unplaceable {
    /// Neither a rectangle nor a circle.
    Polygon,
    /// A size, clearance or tolerance is not a number, not above zero, or below zero.
    Numbers,
    /// It does not fit on the bed at all.
    TooLarge,
    /// So small that more would fit than can be handled.
    TooSmall,
    /// Asked to stop.
    Cancelled,
}

impl Unplaceable {
    /// As a sentence: what and what to do.
    pub fn words(self) -> &'static str {
        match self {
            Self::Polygon => "A part is a rectangle or a circle here; take the one around it",
            Self::Numbers => {
                "A part's sizes have to be above 0, its clearance and tolerance 0 or more; type others"
            }
            Self::TooLarge => {
                "The part does not fit on the fixture; take a smaller one, or less rim"
            }
            Self::TooSmall => "More than 3000 such parts would fit; take a larger one",
            Self::Cancelled => "cancelled",
        }
    }
}

impl From<Unplaceable> for crate::assess::NoAnswer {
    fn from(why: Unplaceable) -> Self {
        match why {
            Unplaceable::Cancelled => Self::Cancelled,
            other => Self::Missing(other.words().to_owned()),
        }
    }
}

impl From<crate::progress::Cancelled> for Unplaceable {
    fn from(_: crate::progress::Cancelled) -> Self {
        Self::Cancelled
    }
}

/// Where parts may lie.
#[derive(Debug, Clone, PartialEq)]
pub struct Bed {
    /// The fixture.
    pub outline: Footprint,
    /// From its outline inwards no part lies, mm.
    pub rim: f64,
    /// What stands on it and bars parts, sites that stay among them.
    pub barred: Vec<Footprint>,
    /// Of the bond line above the fixture's base, mm.
    pub height: f64,
}

/// One limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bar {
    /// mW/cm² at the bond.
    pub value: f64,
    /// Which bound of the field is held against it.
    pub scale: Scale,
}

/// What the light at the parts is held against.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bars {
    /// The least, if any.
    pub lower: Option<Bar>,
    /// The most, if any.
    pub upper: Option<Bar>,
    /// What is left of an irradiance when all allowances are used up, and what one may grow to: factors.
    pub allowed: (f64, f64),
    /// Standard uncertainty of the radiometer's calibration, relative, where it is known.
    pub calibration: Option<f64>,
    /// How much of the light over a part reaches its bond, 0 to 1.
    pub through: f64,
}

impl Bars {
    /// None at all: only room counts.
    pub fn none() -> Self {
        Self {
            lower: None,
            upper: None,
            allowed: (1.0, 1.0),
            calibration: None,
            through: 1.0,
        }
    }

    /// The limits that hold.
    pub fn of(terms: &Terms, allowed: (f64, f64), calibration: Option<f64>, through: f64) -> Self {
        let bar = |line: &crate::assess::limits::Line| Bar {
            value: line.value,
            scale: line.scale,
        };
        Self {
            lower: Some(bar(&terms.lower)),
            upper: terms.upper.as_ref().map(bar),
            allowed,
            calibration,
            through,
        }
    }

    /// Whether nothing is held.
    pub fn is_none(&self) -> bool {
        self.lower.is_none() && self.upper.is_none()
    }

    /// Whether some limit asks for a calibration that is not known: then nothing can be proven.
    pub fn lacks_calibration(&self) -> bool {
        let absolute = |bar: &Option<Bar>| bar.is_some_and(|b| b.scale == Scale::Absolute);
        self.calibration.is_none() && (absolute(&self.lower) || absolute(&self.upper))
    }
}

/// How parts are arranged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kind {
    /// A regular array: pitches and offsets free.
    Rows {
        /// Every other row may be shifted by half a pitch.
        shifted: bool,
    },
    /// Any positions.
    Free,
}

/// How many are wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Wish {
    /// As many as fit; of arrangements of as many that which lies furthest inside the limits.
    Most,
    /// So many, placed best.
    Count(usize, Best),
}

/// Which of two arrangements of as many parts is better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Best {
    /// The higher coldest part.
    Coldest,
    /// The lesser ratio of hottest to coldest.
    LeastRange,
}

/// What has to hold with 95 % confidence.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Surely {
    /// All parts lie inside the limits at once.
    #[default]
    AllAtOnce,
    /// Each part alone does.
    EachAlone,
    /// Nothing: the field is taken for the truth.
    PlainField,
}

/// All that a placement is asked of.
#[derive(Debug, Clone)]
pub struct ToPlace {
    /// The field.
    pub field: Arc<Fitted>,
    /// What is placed.
    pub part: Part,
    /// Where it may lie.
    pub bed: Bed,
    /// What it is held against.
    pub bars: Bars,
    /// How it is arranged.
    pub kind: Kind,
    /// How many.
    pub wish: Wish,
    /// How sure.
    pub surely: Surely,
    /// How many times as long as usual is searched for more parts anywhere.
    pub effort: usize,
    /// How the pallet stands during the exposure.
    pub passes: Passes,
}

impl PartialEq for ToPlace {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.field, &other.field)
            && self.part == other.part
            && self.bed == other.bed
            && self.bars == other.bars
            && self.kind == other.kind
            && self.wish == other.wish
            && self.surely == other.surely
            && self.effort == other.effort
            && self.passes == other.passes
    }
}

/// A part's place.
#[derive(Debug, Clone, PartialEq)]
pub struct Site {
    /// Of the part.
    pub centre: Point,
    /// It is turned by 90 degrees.
    pub turned: bool,
    /// Least over the part and its tolerance, before what a substrate takes, mW/cm²: the field's own value.
    pub coldest: f64,
    /// Greatest over it.
    pub hottest: f64,
    /// One-sided 95 % lower bound of its least, relative; `None` without joint draws.
    pub assured: Option<f64>,
    /// One-sided 95 % upper bound of its greatest, relative.
    pub at_most: Option<f64>,
    /// With what confidence this part alone lies inside the limits; `None` without limits or draws.
    pub alone: Option<f64>,
    /// 1 for the place that is filled first: that of the highest coldest point.
    pub rank: usize,
}

/// A regular array as it is machined.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lattice {
    /// Some column's and row's centre, the front left of those that hold a part, mm.
    pub first: Point,
    /// From column to column, mm.
    pub pitch_x: f64,
    /// From row to row, mm.
    pub pitch_y: f64,
    /// The rows (or columns) in turn are shifted by half a pitch.
    pub shifted: Shift,
    /// Parts are turned by 90 degrees.
    pub turned: bool,
}

/// Whether an array's rows are shifted in turn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Shift {
    /// No.
    None,
    /// Every other row along x.
    Rows,
    /// Every other column along y.
    Columns,
}

/// What no arrangement of the same kind can exceed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bound {
    /// Parts.
    pub count: usize,
    /// How it was found.
    pub method: Method,
}

/// How an upper bound of a count was found. All of them ask of each part that it lie inside alone with 95 % confidence,
/// which is less than all at once.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Method {
    /// All pitches and offsets on a raster of so many mm were tried.
    AllArrays {
        /// The raster's step, mm.
        step: f64,
    },
    /// Weights on a raster of so many mm that every part covers at least once: the linear relaxation.
    Weights {
        /// The raster's step, mm.
        step: f64,
    },
    /// Oler's inequality for circles.
    Oler,
    /// Branch and bound on a raster of so many mm.
    Exhausted {
        /// The raster's step, mm.
        step: f64,
    },
}

/// An arrangement and what is known of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// The places, from the front left to the back right.
    pub sites: Vec<Site>,
    /// The array, of rows.
    pub lattice: Option<Lattice>,
    /// With what confidence all parts lie inside the limits at once, by draws that the arrangement was not chosen by;
    /// `None` without limits or without joint draws.
    pub confidence: Option<f64>,
    /// It is 95 % or more, or there are no limits.
    pub proven: bool,
    /// One-sided 95 % bounds of the coldest and the hottest of all parts at once, relative, mW/cm².
    pub assured: Option<f64>,
    /// The hottest is at most this.
    pub at_most: Option<f64>,
    /// No arrangement of this kind holds more.
    pub bound: Option<Bound>,
    /// As many as that.
    pub optimal: bool,
    /// How many fit if each part alone has to lie inside with 95 % confidence.
    pub alone: Option<usize>,
    /// How many fit if the field is taken for the truth.
    pub plain: Option<usize>,
    /// It may be improved still: told while the search goes on.
    pub so_far: bool,
}

impl Placed {
    /// Coldest of all parts by the field's own values, mW/cm².
    pub fn coldest(&self) -> Option<f64> {
        self.sites.iter().map(|s| s.coldest).min_by(f64::total_cmp)
    }

    /// Hottest of all parts.
    pub fn hottest(&self) -> Option<f64> {
        self.sites.iter().map(|s| s.hottest).max_by(f64::total_cmp)
    }
}

impl Part {
    /// Whether it can be placed at all.
    ///
    /// # Errors
    /// Why not.
    pub fn sound(&self) -> Result<(), Unplaceable> {
        if matches!(self.shape, Shape::Polygon { .. }) {
            return Err(Unplaceable::Polygon);
        }
        let not_negative = |v: f64| v.is_finite() && v >= 0.0;
        if !self.shape.is_sound() || !not_negative(self.clearance) || !not_negative(self.tolerance)
        {
            return Err(Unplaceable::Numbers);
        }
        Ok(())
    }

    /// What it may cover with its tolerance, as drawn or turned, mm along x and y.
    pub(crate) fn reach(&self, turned: bool) -> (f64, f64) {
        let (w, d) = self.shape.size();
        let (w, d) = if turned { (d, w) } else { (w, d) };
        (w + 2.0 * self.tolerance, d + 2.0 * self.tolerance)
    }

    /// The poses that are looked at: as drawn, and turned where that makes a difference.
    pub(crate) fn poses(&self) -> Vec<bool> {
        let turns = match self.shape {
            Shape::Rectangle { width, depth } => self.may_turn && width != depth,
            _ => false,
        };
        if turns {
            vec![false, true]
        } else {
            vec![false]
        }
    }

    /// All that the part may cover, put somewhere.
    pub fn covers(&self, centre: Point, turned: bool) -> Footprint {
        let (width, depth) = self.reach(turned);
        let shape = match self.shape {
            Shape::Circle { .. } => Shape::Circle { diameter: width },
            _ => Shape::Rectangle { width, depth },
        };
        Footprint::new(shape, centre)
    }

    /// The part itself, put somewhere.
    pub fn at(&self, centre: Point, turned: bool) -> Footprint {
        Footprint {
            turn: if turned { 90.0 } else { 0.0 },
            ..Footprint::new(self.shape.clone(), centre)
        }
    }
}
