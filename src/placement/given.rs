//! What is given: the part and why it can't be placed, the bed, the limits.

use crate::assess::limits::{Line, Scale, Terms};
use crate::geometry::{Footprint, Point, Shape};

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
        let bar = |line: &Line| Bar {
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
