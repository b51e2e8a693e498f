//! What the readings span: beyond it an answer is marked as extrapolated.

use crate::field::{Sample, Shortcoming};
use crate::geometry::{Place, Point};
use crate::numeric::neighbours::{Nearest, distinct, longest_link};

/// What places may be off by and still count as within, mm.
const ROUNDING: f64 = 1e-6;

/// Where readings are.
#[derive(Debug)]
pub(in crate::field) struct Reach {
    nearest: Nearest,
    /// Distinct places on the plan.
    pub positions: Vec<Point>,
    /// Distinct heights, ascending, mm.
    pub heights: Vec<f64>,
    /// The longest step of the shortest paths that join all positions, mm: what readings are apart.
    apart: f64,
}

impl Reach {
    pub fn of(samples: &[Sample]) -> Self {
        let points: Vec<Point> = samples.iter().map(|s| s.at.point()).collect();
        let positions = distinct(&points);
        let mut heights: Vec<f64> = samples.iter().map(|s| s.at.height).collect();
        heights.sort_unstable_by(f64::total_cmp);
        heights.dedup_by(|a, b| (*a - *b).abs() < ROUNDING);
        Self {
            nearest: Nearest::new(&positions),
            apart: longest_link(&positions),
            positions,
            heights,
        }
    }

    /// Which of the heights a reading is at.
    pub fn height_block(&self, height: f64) -> usize {
        let above = self.heights.partition_point(|h| *h < height - ROUNDING);
        above.min(self.heights.len().saturating_sub(1))
    }

    /// From the lowest to the highest reading, mm.
    pub fn span(&self) -> f64 {
        match (self.heights.first(), self.heights.last()) {
            (Some(low), Some(high)) => high - low,
            _ => 0.0,
        }
    }

    /// Whether a height is outside those read by more than half their span.
    pub fn is_beyond_height(&self, height: f64) -> bool {
        let margin = 0.5 * self.span() + ROUNDING;
        match (self.heights.first(), self.heights.last()) {
            (Some(low), Some(high)) => height < low - margin || height > high + margin,
            _ => true,
        }
    }

    /// Whether a point is further from any position than positions are from each other.
    pub fn is_beyond_plan(&self, point: Point) -> bool {
        self.nearest.distance(point) > self.apart + ROUNDING
    }

    /// Whether a place is beyond either.
    pub fn is_beyond(&self, place: Place) -> bool {
        self.is_beyond_height(place.height) || self.is_beyond_plan(place.point())
    }

    /// [`is_beyond`](Self::is_beyond) for `count` places from `start` on, `step` mm apart along x. The distance
    /// to the nearest position changes by no more than a step from one to the next, so most need not be
    /// looked at.
    pub fn beyond_along(&self, start: Place, step: f64, count: usize) -> Vec<bool> {
        if self.is_beyond_height(start.height) {
            return vec![true; count];
        }
        let mut out = Vec::with_capacity(count);
        while out.len() < count {
            let at = Point::new(start.x + out.len() as f64 * step, start.y);
            let margin = self.nearest.distance(at) - (self.apart + ROUNDING);
            let alike = 1 + (0.999 * margin.abs() / step) as usize;
            let end = count.min(out.len().saturating_add(alike));
            out.resize(end, margin > 0.0);
        }
        out
    }

    /// Fewer than three positions, or all within a thousandth of their extent of one line.
    fn is_on_one_line(&self) -> bool {
        let Some(&first) = self.positions.first() else {
            return true;
        };
        let far = self
            .positions
            .iter()
            .copied()
            .max_by(|a, b| a.distance(first).total_cmp(&b.distance(first)))
            .unwrap_or(first);
        let length = far.distance(first);
        self.positions.iter().all(|p| {
            let across = (far.x - first.x) * (p.y - first.y) - (far.y - first.y) * (p.x - first.x);
            across.abs() <= 1e-3 * length * length
        })
    }

    /// What the places of the readings leave open.
    pub fn shortcomings(&self, readings: usize) -> Vec<Shortcoming> {
        let mut found = Vec::new();
        if readings < 8 {
            found.push(Shortcoming::FewReadings(readings));
        }
        if self.is_on_one_line() {
            found.push(Shortcoming::OnOneLine);
        }
        if let [height] = self.heights[..] {
            found.push(Shortcoming::OneHeight(height));
        }
        let nearest = self.heights.windows(2).map(|w| w[1] - w[0]);
        if let Some(step) = nearest.reduce(f64::min).filter(|&step| step < 5.0) {
            found.push(Shortcoming::HeightsTooNear(step));
        }
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn samples(points: &[(f64, f64, f64)]) -> Vec<Sample> {
        points
            .iter()
            .enumerate()
            .map(|(i, &(x, y, h))| Sample {
                at: Place::new(x, y, h),
                irradiance: 10.0,
                position: i,
                minute: None,
            })
            .collect()
    }

    #[test]
    fn between_and_a_little_beyond_is_within_reach() {
        let r = Reach::of(&samples(&[
            (0.0, 0.0, 10.0),
            (40.0, 0.0, 10.0),
            (0.0, 10.0, 30.0),
            (40.0, 10.0, 30.0),
        ]));
        assert!(!r.is_beyond(Place::new(20.0, 5.0, 20.0)));
        assert!(!r.is_beyond(Place::new(0.0, 0.0, 40.0)));
        assert!(r.is_beyond(Place::new(0.0, 0.0, 40.1)));
        assert!(!r.is_beyond(Place::new(-39.0, 0.0, 20.0)));
        assert!(r.is_beyond(Place::new(-41.0, 0.0, 20.0)));
    }

    #[test]
    fn a_row_is_marked_as_its_places_are() {
        let r = Reach::of(&samples(&[
            (0.0, 0.0, 10.0),
            (17.0, 3.0, 10.0),
            (60.0, 5.0, 20.0),
        ]));
        for (y, height) in [(0.0, 12.0), (40.0, 12.0), (41.0, 25.0), (0.0, 26.0)] {
            let start = Place::new(-90.0, y, height);
            for (i, beyond) in r.beyond_along(start, 0.7, 400).into_iter().enumerate() {
                let place = Place::new(-90.0 + i as f64 * 0.7, y, height);
                assert_eq!(beyond, r.is_beyond(place), "{place:?}");
            }
        }
    }

    #[test]
    fn says_what_is_missing() {
        let line = samples(&[(0.0, 0.0, 5.0), (1.0, 1.0, 5.0), (3.0, 3.0, 5.0)]);
        let found = Reach::of(&line).shortcomings(3);
        assert_eq!(
            found,
            [
                Shortcoming::FewReadings(3),
                Shortcoming::OnOneLine,
                Shortcoming::OneHeight(5.0)
            ]
        );
        let near: Vec<(f64, f64, f64)> = (0..9)
            .map(|i| {
                (
                    f64::from(i % 3),
                    f64::from(i / 3),
                    f64::from(i % 2) * 3.0 + 7.0,
                )
            })
            .collect();
        let found = Reach::of(&samples(&near)).shortcomings(9);
        assert_eq!(found, [Shortcoming::HeightsTooNear(3.0)]);
    }
}
