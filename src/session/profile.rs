//! The field along one line through the cross.

use super::looking::Along;
use crate::field::{Estimate, Fitted};
use crate::geometry::{Footprint, Place, Point};
use crate::progress::{Cancelled, Progress};

/// Places along a height profile, and along a section over the fixture.
const UPWARDS: usize = 61;
const ACROSS: usize = 121;

/// A line through the cross, from end to end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProfileLine {
    /// Which way it runs.
    pub along: Along,
    /// The cross.
    pub through: Point,
    /// Of a line over the fixture, mm above its base.
    pub height: f64,
    /// Where it begins and ends: heights, x or y, mm.
    pub ends: [f64; 2],
}

impl ProfileLine {
    /// From side to side of an outline; of a line upwards the ends are heights.
    pub fn across(along: Along, through: Point, height: f64, outline: &Footprint) -> Self {
        let bounds = outline.bounds();
        let ends = match along {
            Along::X => [bounds.min.x, bounds.max.x],
            Along::Y => [bounds.min.y, bounds.max.y],
            Along::Height => [height; 2],
        };
        Self {
            along,
            through,
            height,
            ends,
        }
    }

    /// The place on it at a height, x or y.
    pub fn at(&self, where_: f64) -> Place {
        let (p, h) = (self.through, self.height);
        match self.along {
            Along::Height => p.at_height(where_),
            Along::X => Place::new(where_, p.y, h),
            Along::Y => Place::new(p.x, where_, h),
        }
    }

    /// How far a place is from it, mm: of a line upwards on the plan, else in space.
    pub fn distance(&self, place: Place) -> f64 {
        let (p, h) = (self.through, self.height);
        match self.along {
            Along::Height => place.point().distance(p),
            Along::X => (place.y - p.y).hypot(place.height - h),
            Along::Y => (place.x - p.x).hypot(place.height - h),
        }
    }

    /// Where on it a place lies: its height, x or y.
    pub fn of(&self, place: Place) -> f64 {
        match self.along {
            Along::Height => place.height,
            Along::X => place.x,
            Along::Y => place.y,
        }
    }
}

/// The field along a line.
#[derive(Debug, Clone)]
pub struct Profile {
    /// Which.
    pub line: ProfileLine,
    /// Height, x or y, ascending, and what the field is there; `None` outside the fixture.
    pub values: Vec<(f64, Option<Estimate>)>,
}

impl Profile {
    /// Works it out; a line over the fixture only inside `outline`.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn of(
        field: &Fitted,
        line: ProfileLine,
        outline: &Footprint,
        progress: &Progress,
    ) -> Result<Self, Cancelled> {
        let count = match line.along {
            Along::Height => UPWARDS,
            Along::X | Along::Y => ACROSS,
        };
        let [from, to] = line.ends;
        let all: Vec<f64> = (0..count)
            .map(|i| i as f64 / (count - 1) as f64)
            .map(|t| from * (1.0 - t) + to * t)
            .collect();
        let has_field = |at: f64| {
            line.along == Along::Height || outline.signed_distance(line.at(at).point()) <= 1e-6
        };
        let inside: Vec<Place> = all
            .iter()
            .filter(|&&at| has_field(at))
            .map(|&at| line.at(at))
            .collect();
        let mut there = field.at(&inside, progress)?.into_iter();
        let values = all
            .into_iter()
            .map(|at| (at, has_field(at).then(|| there.next()).flatten()))
            .collect();
        Ok(Self { line, values })
    }
}
