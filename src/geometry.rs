//! Points and outlines over the fixture. Order is always `x y height`; x to the right, y to the back,
//! height up, all in millimetres from the fixture's datum (its front left corner). Angles turn
//! counter-clockwise seen from above, in degrees.

mod footprint;
mod hull;
mod polygon;

pub use footprint::{Footprint, Shape};
pub use hull::Hull;
pub use polygon::{Corners, Unfit};

use serde::{Deserialize, Serialize};

/// A place on the plan, in mm from the datum.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Point {
    /// To the right.
    pub x: f64,
    /// To the back.
    pub y: f64,
}

/// A place in space, in mm: a point of the plan and the height above the fixture's base.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Place {
    /// To the right.
    pub x: f64,
    /// To the back.
    pub y: f64,
    /// Above the fixture's base.
    pub height: f64,
}

/// A rectangle with sides along the axes: left, front, right, back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Front left corner.
    pub min: Point,
    /// Back right corner.
    pub max: Point,
}

impl Point {
    /// A point from its coordinates in mm.
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// The distance between two points, mm.
    pub fn distance(self, other: Self) -> f64 {
        (self.x - other.x).hypot(self.y - other.y)
    }

    /// The same point lifted to a height.
    pub fn at_height(self, height: f64) -> Place {
        Place::new(self.x, self.y, height)
    }

    fn is_finite(self) -> bool {
        self.x.is_finite() && self.y.is_finite()
    }

    /// The point seen in axes turned by `degrees` counter-clockwise about the origin.
    fn turned(self, degrees: f64) -> Self {
        let (sin, cos) = degrees.to_radians().sin_cos();
        Self::new(self.x * cos - self.y * sin, self.x * sin + self.y * cos)
    }
}

impl Place {
    /// A place from its coordinates in mm.
    pub const fn new(x: f64, y: f64, height: f64) -> Self {
        Self { x, y, height }
    }

    /// The place as seen on the plan.
    pub const fn point(self) -> Point {
        Point::new(self.x, self.y)
    }

    /// Whether all coordinates are finite numbers.
    pub fn is_finite(self) -> bool {
        self.point().is_finite() && self.height.is_finite()
    }
}

impl Bounds {
    /// The extent along x, mm.
    pub fn width(&self) -> f64 {
        self.max.x - self.min.x
    }

    /// The extent along y, mm.
    pub fn depth(&self) -> f64 {
        self.max.y - self.min.y
    }

    /// The middle.
    pub fn centre(&self) -> Point {
        Point::new(
            0.5 * (self.min.x + self.max.x),
            0.5 * (self.min.y + self.max.y),
        )
    }

    /// The smallest bounds around both.
    pub fn union(self, other: Self) -> Self {
        Self {
            min: Point::new(self.min.x.min(other.min.x), self.min.y.min(other.min.y)),
            max: Point::new(self.max.x.max(other.max.x), self.max.y.max(other.max.y)),
        }
    }

    /// The same bounds with a margin on each side, mm.
    pub fn grown(self, margin: f64) -> Self {
        Self {
            min: Point::new(self.min.x - margin, self.min.y - margin),
            max: Point::new(self.max.x + margin, self.max.y + margin),
        }
    }

    /// The smallest bounds around points; `None` without any.
    pub fn around(points: impl IntoIterator<Item = Point>) -> Option<Self> {
        points
            .into_iter()
            .map(|p| Self { min: p, max: p })
            .reduce(Self::union)
    }
}
