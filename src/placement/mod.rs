//! Where parts may lie under the source, and how many: placement.
//!
//! A [`Part`] has a shape, a clearance to others and a tolerance of its place in the nest; a [`Bed`] is where it may lie: the
//! fixture within its rim, without what stands on it; [`Bars`] are the limits. [`ToPlace`] holds all that is asked and
//! [`place`](ToPlace::place) answers: [`Placed`].
//!
//! | file | what it is |
//! | --- | --- |
//! | `given`, `placed` | part, bed and limits; an arrangement and what is known of it |
//! | `puzzle` | parts on a raster: which places exclude one another |
//! | `cover`, `bound`, `free`, `exact` | sums over the cells that places take; no packing holds more; a packing found; the best one proven, where it is small |
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
mod cover;
mod distances;
mod evenness;
mod exact;
mod free;
mod given;
mod layout;
mod light;
mod passes;
mod placed;
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

use crate::field::Fitted;

pub use asked::{Asked, Wanted, asked, part_of};
pub use distances::{AtHeight, Heights, ToScan};
pub use evenness::{Remedies, Remedy, RemedyKind, ToEven};
pub use given::{Bar, Bars, Bed, Part, Unplaceable};
pub use passes::Passes;
pub use placed::{Bound, Lattice, Method, Placed, Shift, Site};
pub use present::{Moved, Present, PresentSite, There, ToLookAt, Together};
pub use taken::site_groups;
pub use usable::{ToShow, Usable};

/// One-sided confidence, for all parts at once.
pub const CONFIDENCE: f64 = 0.95;

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
