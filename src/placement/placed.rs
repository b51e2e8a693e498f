//! An arrangement and what is known of it.

use crate::geometry::Point;

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
