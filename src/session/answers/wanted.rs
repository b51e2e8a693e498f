//! What is wanted of the answers.

use std::sync::Arc;

use jiff::civil::Date;

use crate::geometry::Point;
use crate::session::looking::{Along, MapOf};
use crate::session::placing::Placing;
use crate::session::planning::Trial;
use crate::station::{Finding, Station};
use crate::trials::Analysis;
use crate::units::Units;

/// The ladder that the cure trials make and its least level, or why they are none.
pub type TrialsTold = Result<Analysis, String>;

/// What is wanted this frame.
#[derive(Debug, Clone, Copy)]
pub struct Wanted<'a> {
    /// The document.
    pub station: &'a Arc<Station>,
    /// What is odd about it.
    pub findings: &'a Arc<Vec<Finding>>,
    /// Which survey.
    pub survey: Option<usize>,
    /// Height of the map.
    pub height: f64,
    /// The height slides: a coarser map now rather than a fine one later.
    pub sliding: bool,
    /// The cross, through which the field along a line is wanted.
    pub cross: Option<Point>,
    /// Which line.
    pub along: Along,
    /// Where to measure next is wanted.
    pub next: bool,
    /// What is wanted beside the map of irradiance.
    pub map_of: MapOf,
    /// The map leaves out what stands in the light's way.
    pub in_the_open: bool,
    /// What is said in sentences is said in these units.
    pub units: Units,
    /// The surveys that are held against each other are looked at.
    pub compared: Option<(usize, usize)>,
    /// The short check of the earlier one is wanted.
    pub short_check: bool,
    /// The repeat study is looked at.
    pub repeat: bool,
    /// The survey is read at the bench.
    pub at_bench: bool,
    /// What hangs on the verdict is looked at, and the map against the limits.
    pub outlook: bool,
    /// The log is looked at, on that day.
    pub upkeep: Option<Date>,
    /// What recalibrations touch is wanted.
    pub touched: bool,
    /// The plan is looked at, with the pattern that is tried out.
    pub trial: Option<Trial>,
    /// What is asked of a placement.
    pub placing: Option<&'a Placing>,
    /// Arrangements are looked at, not only the usable part of the pallet.
    pub arranging: bool,
}
