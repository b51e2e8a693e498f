//! The plate on which positions are read while the pallet is out.

use super::{Plate, Station};
use crate::geometry::{Bounds, Footprint, Point, Shape};

/// How far positions on a plate may lie beyond the fixture to begin with, mm.
const BEYOND: f64 = 10.0;
/// A detector's body whose size is not known, mm (common practice, no source).
const BODY: f64 = 30.0;

impl Plate {
    /// Its outline where it is.
    pub fn footprint(&self) -> Footprint {
        let shape = Shape::Rectangle {
            width: self.width,
            depth: self.depth,
        };
        let (x, y) = (self.corner.x, self.corner.y);
        Footprint::new(
            shape,
            Point::new(x + 0.5 * self.width, y + 0.5 * self.depth),
        )
    }

    /// Over these bounds.
    fn over(bounds: Bounds) -> Self {
        Self {
            corner: bounds.min,
            width: bounds.width(),
            depth: bounds.depth(),
        }
    }
}

impl Station {
    /// The same station with a plan that begins around the parts: on a plate, the pallet out.
    #[must_use]
    pub fn read_around(mut self) -> Self {
        self.plan.plate = Some(self.plate_to_begin_with());
        self.plan.layout = self.layout_to_begin_with();
        self
    }

    /// The plate that a plan begins with: it holds the plan's detector, body and all, at positions up to 10 mm beyond
    /// the fixture's rim.
    pub fn plate_to_begin_with(&self) -> Plate {
        let beyond = (BEYOND + 0.5 * self.body()).ceil();
        Plate::over(self.fixture.footprint().bounds().grown(beyond))
    }

    /// The smallest plate that holds the fixture, and the plan's detector at these points.
    pub fn plate_under(&self, points: &[Point]) -> Plate {
        let fixture = self.fixture.footprint().bounds();
        let around = Bounds::around(points.iter().copied());
        let around = around.map_or(fixture, |b| b.grown((0.5 * self.body()).ceil()));
        Plate::over(around.union(fixture))
    }

    /// The larger side of the body of the plan's detector, mm.
    fn body(&self) -> f64 {
        self.plan_radiometer().map_or(BODY, |radiometer| {
            let (width, depth) = radiometer.body.size();
            width.max(depth)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plate_begins_so_large_that_a_detector_stands_beyond_the_rim() {
        let fixture = Shape::Rectangle {
            width: 180.0,
            depth: 120.0,
        };
        let station = Station::new("s", fixture, 90.0);
        let plate = station.plate_to_begin_with();
        assert_eq!(plate.corner, Point::new(-25.0, -25.0));
        assert_eq!((plate.width, plate.depth), (230.0, 170.0));
        assert_eq!(plate.footprint().bounds().max, Point::new(205.0, 145.0));
    }
}
