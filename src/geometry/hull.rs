//! What points enclose on the plan.

use super::Point;

/// The convex hull of points: its corners, counter-clockwise.
#[derive(Debug, Clone)]
pub struct Hull(Vec<Point>);

impl Hull {
    /// Of points in any order.
    pub fn of(points: &[Point]) -> Self {
        Self(corners(points))
    }

    /// mm².
    pub fn area(&self) -> f64 {
        let twice: f64 = self.sides().map(|(a, b)| a.x * b.y - b.x * a.y).sum();
        0.5 * twice
    }

    /// mm; of two points there and back.
    pub fn perimeter(&self) -> f64 {
        self.sides().map(|(a, b)| a.distance(*b)).sum()
    }

    fn sides(&self) -> impl Iterator<Item = (&Point, &Point)> {
        self.0.iter().zip(self.0.iter().cycle().skip(1))
    }

    /// Distance of a point outside the hull, mm; 0 inside.
    pub fn outside(&self, p: Point) -> f64 {
        let (mut inside, mut nearest) = (self.0.len() > 2, f64::INFINITY);
        for (a, b) in self.sides() {
            let (ex, ey) = (b.x - a.x, b.y - a.y);
            let (dx, dy) = (p.x - a.x, p.y - a.y);
            inside &= ex * dy - ey * dx >= 0.0;
            let square = ex * ex + ey * ey;
            let along = if square > 0.0 {
                ((dx * ex + dy * ey) / square).clamp(0.0, 1.0)
            } else {
                0.0
            };
            nearest = nearest.min((dx - along * ex).hypot(dy - along * ey));
        }
        if inside || !nearest.is_finite() {
            0.0
        } else {
            nearest
        }
    }
}

/// The corners of the convex hull, counter-clockwise (Andrew 1979, Information Processing Letters 9, 216).
fn corners(points: &[Point]) -> Vec<Point> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    sorted.dedup();
    if sorted.len() < 3 {
        return sorted;
    }
    let half = |points: &mut dyn Iterator<Item = Point>| {
        let mut corners: Vec<Point> = Vec::new();
        for p in points {
            while let [.., a, b] = corners[..]
                && (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x) <= 0.0
            {
                corners.pop();
            }
            corners.push(p);
        }
        corners.pop();
        corners
    };
    let mut hull = half(&mut sorted.iter().copied());
    hull.extend(half(&mut sorted.iter().rev().copied()));
    hull
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outside_is_the_distance_from_the_hull() {
        let of = |corners: &[(f64, f64)]| {
            Hull::of(
                &corners
                    .iter()
                    .map(|&(x, y)| Point::new(x, y))
                    .collect::<Vec<_>>(),
            )
        };
        let square = of(&[
            (0.0, 0.0),
            (40.0, 0.0),
            (20.0, 5.0),
            (40.0, 30.0),
            (0.0, 30.0),
        ]);
        for (x, y, distance) in [
            (20.0, 15.0, 0.0),
            (0.0, 10.0, 0.0),
            (-3.0, 10.0, 3.0),
            (43.0, 34.0, 5.0),
            (10.0, -2.0, 2.0),
        ] {
            assert!((square.outside(Point::new(x, y)) - distance).abs() < 1e-12);
        }
        assert_eq!((square.area(), square.perimeter()), (1200.0, 140.0));
        let line = of(&[(0.0, 0.0), (40.0, 0.0)]);
        assert_eq!(line.outside(Point::new(20.0, 7.0)), 7.0);
        assert_eq!((line.area(), line.perimeter()), (0.0, 80.0));
        let one = of(&[(0.0, 0.0)]);
        assert_eq!(one.outside(Point::new(3.0, 4.0)), 5.0);
    }
}
