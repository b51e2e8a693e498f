//! The picture of a station: a list of items in true millimetres from the datum, y up. Painters turn
//! roles into colours, pens and fonts; sizes of marks and text are theirs.

use std::sync::Arc;

use super::colour::ColourScale;
use crate::field::Raster;
use crate::geometry::{Bounds, Point};

/// What an item means. Each painter has one table from role to look.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Role {
    /// The fixture's outline.
    Fixture,
    /// The source's face, seen from above.
    Face,
    /// The plate on which positions are read with the pallet out.
    Plate,
    /// A part's footprint.
    Site,
    /// A place that bars something; painters hatch it.
    KeepOut,
    /// A planned position.
    Position,
    /// A stop of the route on the plan's page: nothing runs through it.
    Stop,
    /// The way from stop to stop; only on the screen.
    Way,
    /// What lies beneath the stops there, in grey.
    Beneath,
    /// What is cut out of a plate.
    Cut,
    /// What is engraved on one.
    Engraved,
    /// The detector's body at a position.
    Body,
    /// A position that is tried out, with the detector's body; only on the screen.
    Preview,
    /// The largest gap between positions; only on the screen.
    Gap,
    /// A reading that counts.
    Reading,
    /// A reading that does not count.
    ReadingLeftOut,
    /// A line of equal irradiance.
    Contour,
    /// The boundary of what is extrapolated.
    Extrapolated,
    /// Below the lower limit.
    Below,
    /// Neither inside nor outside the limits with confidence.
    NotProven,
    /// Inside the limits.
    Inside,
    /// Above the upper limit.
    Above,
    /// Where one of these four ends and another begins.
    Border,
    /// The coldest spot.
    Coldest,
    /// The hottest spot.
    Hottest,
    /// The datum corner and its axes.
    Datum,
    /// What is chosen on the screen.
    Selected,
}

/// The form of a [`Item::Mark`]; painters draw it at a size of their own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MarkForm {
    /// A filled dot.
    Dot,
    /// An empty ring.
    Ring,
    /// An upright cross.
    Plus,
    /// A diagonal cross.
    Cross,
    /// A triangle that points down: coldest.
    TriangleDown,
    /// A triangle that points up: hottest.
    TriangleUp,
    /// A square.
    Square,
}

/// Where a text stands from its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// Centred on it.
    Centre,
    /// Its left edge there, centred in height.
    Left,
    /// Its right edge there, centred in height.
    Right,
    /// Centred above it.
    Above,
    /// Centred below it.
    Below,
}

/// One thing in a drawing.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// The map.
    Field {
        /// Values on nodes.
        raster: Arc<Raster>,
        /// Their colours.
        scale: ColourScale,
    },
    /// A line, or an area when closed.
    Path {
        /// mm.
        points: Vec<Point>,
        /// Whether the last point joins the first.
        closed: bool,
        /// What it is.
        role: Role,
    },
    /// A point with a form, its size left to the painter.
    Mark {
        /// mm.
        at: Point,
        /// Its form.
        form: MarkForm,
        /// What it is.
        role: Role,
    },
    /// A text.
    Label {
        /// mm.
        at: Point,
        /// What it says.
        text: String,
        /// Where it stands from there.
        anchor: Anchor,
        /// What it belongs to.
        role: Role,
    },
}

/// A picture in true millimetres.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// What has to be in view.
    pub bounds: Bounds,
    /// In the order in which they are painted.
    pub items: Vec<Item>,
}
