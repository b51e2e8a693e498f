//! How the pallet stands during the exposure.

use crate::geometry::Point;

/// How the pallet stands during the exposure: once, or equally long in several ways.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Passes {
    /// Of each pass where a point of the pallet is: turned by 180 degrees about a point, and moved.
    ways: Vec<(Option<Point>, Point)>,
}

impl Passes {
    /// Once, as it is.
    pub fn once() -> Self {
        Self::default()
    }

    /// Turned by 180 degrees about its middle at half time.
    pub fn turned(middle: Point) -> Self {
        let still = Point::new(0.0, 0.0);
        Self {
            ways: vec![(None, still), (Some(middle), still)],
        }
    }

    /// Two passes, moved against one another by so much, each half of that off the usual place.
    pub fn moved(by: Point) -> Self {
        let half = Point::new(0.5 * by.x, 0.5 * by.y);
        Self {
            ways: vec![(None, half), (None, Point::new(-half.x, -half.y))],
        }
    }

    /// Whether it stands as it is all the time.
    pub fn is_plain(&self) -> bool {
        self.ways.is_empty()
    }

    /// How many.
    pub(super) fn len(&self) -> usize {
        self.ways.len().max(1)
    }

    /// Where a point of the pallet is in a pass.
    pub(super) fn image(&self, pass: usize, p: Point) -> Point {
        let Some((about, by)) = self.ways.get(pass) else {
            return p;
        };
        let p = match about {
            Some(c) => Point::new(2.0 * c.x - p.x, 2.0 * c.y - p.y),
            None => p,
        };
        Point::new(p.x + by.x, p.y + by.y)
    }
}
