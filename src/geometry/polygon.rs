//! Simple polygons: outlines of corner points that do not cross themselves. They may have dents.

use serde::{Deserialize, Serialize};

use super::{Bounds, Point};

/// Points nearer to a line than this count as on it, mm.
pub(super) const ROUNDING: f64 = 1e-9;

/// The corners of a polygon in their order, the first not repeated; either way round.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(from = "Vec<Point>", into = "Vec<Point>")]
pub struct Corners(std::sync::Arc<[Point]>);

/// Why corners make no outline.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unfit {
    /// Fewer than three.
    TooFew,
    /// More than [`Corners::MOST`].
    TooMany,
    /// A coordinate is not a finite number; the corner's index.
    NotFinite(usize),
    /// Two corners in the same place, by index.
    Twice(usize, usize),
    /// Two sides cross or touch, each by the index of the corner that it begins at.
    Crossing(usize, usize),
    /// They enclose nothing.
    NoArea,
}

impl From<Vec<Point>> for Corners {
    fn from(points: Vec<Point>) -> Self {
        Self(points.into())
    }
}

impl From<Corners> for Vec<Point> {
    fn from(corners: Corners) -> Self {
        corners.0.to_vec()
    }
}

impl std::ops::Deref for Corners {
    type Target = [Point];

    fn deref(&self) -> &[Point] {
        &self.0
    }
}

impl Corners {
    /// More corners than this are refused: what a person or a drawing gives for a pallet is far below.
    pub const MOST: usize = 200;

    /// Each side with the corner it begins at and the one it ends at.
    pub fn sides(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        sides(self)
    }

    /// Length of the rim, mm.
    pub(super) fn around(&self) -> f64 {
        self.sides().map(|(a, b)| a.distance(b)).sum()
    }

    /// `n` places along the rim, as far from each other.
    pub(super) fn along(&self, n: usize) -> Vec<Point> {
        let step = self.around() / n as f64;
        let (mut places, mut passed) = (Vec::with_capacity(n), 0.0);
        for (a, b) in self.sides() {
            let length = a.distance(b);
            while places.len() < n && step * places.len() as f64 <= passed + length {
                let t = (step * places.len() as f64 - passed) / length;
                places.push(Point::new(a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)));
            }
            passed += length;
        }
        places
    }

    /// The smallest bounds around all corners; those of one point at the origin without any.
    pub fn bounds(&self) -> Bounds {
        let origin = Point::default();
        Bounds::around(self.iter().copied()).unwrap_or(Bounds {
            min: origin,
            max: origin,
        })
    }

    /// Area in mm², above zero when the corners run counter-clockwise (shoelace formula).
    pub fn signed_area(&self) -> f64 {
        let Some(&first) = self.first() else {
            return 0.0;
        };
        // from the first corner, so that a polygon far from the origin loses no digits
        let sum: f64 = self.sides().map(|(a, b)| cross(first, a, b)).sum();
        0.5 * sum
    }

    /// Distance of a point from the rim in mm: negative inside, positive outside.
    pub fn signed_distance(&self, p: Point) -> f64 {
        let distance = self
            .sides()
            .map(|(a, b)| p.distance(nearest_on(a, b, p)))
            .fold(f64::INFINITY, f64::min);
        if self.encloses(p) {
            -distance
        } else {
            distance
        }
    }

    /// The point of the rim nearest to a point.
    pub fn nearest_on_rim(&self, p: Point) -> Point {
        self.sides()
            .map(|(a, b)| nearest_on(a, b, p))
            .min_by(|a, b| p.distance(*a).total_cmp(&p.distance(*b)))
            .unwrap_or(p)
    }

    /// Whether a ray to the right leaves the polygon one time more than it enters it.
    fn encloses(&self, p: Point) -> bool {
        let crossings = self
            .sides()
            .filter(|(a, b)| (a.y > p.y) != (b.y > p.y))
            .filter(|(a, b)| p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x));
        crossings.count() % 2 == 1
    }

    /// Whether the corners make an outline.
    ///
    /// # Errors
    /// [`Unfit`]: the first thing that is wrong with them.
    pub fn fit(&self) -> Result<(), Unfit> {
        let n = self.len();
        if n < 3 {
            return Err(Unfit::TooFew);
        }
        if n > Self::MOST {
            return Err(Unfit::TooMany);
        }
        if let Some(i) = self.iter().position(|p| !p.is_finite()) {
            return Err(Unfit::NotFinite(i));
        }
        for i in 0..n {
            if let Some(j) = (i + 1..n).find(|&j| self[i].distance(self[j]) < 1e-6) {
                return Err(Unfit::Twice(i, j));
            }
        }
        let bounds = self.bounds();
        let thin = 1e-6 * bounds.width().hypot(bounds.depth());
        if self.signed_area().abs() < thin {
            return Err(Unfit::NoArea);
        }
        let side = |i: usize| (self[i], self[(i + 1) % n]);
        for i in 0..n {
            for j in i + 1..n {
                let (a, b) = (side(i), side(j));
                let neighbours = j == i + 1 || (i == 0 && j == n - 1);
                let meets = if neighbours {
                    // they share a corner; they may not run back over each other
                    let (from, shared, to) = if j == i + 1 {
                        (a.0, a.1, b.1)
                    } else {
                        (b.0, b.1, a.1)
                    };
                    runs_back(from, shared, to)
                } else {
                    apart(a, b) < 1e-6
                };
                if meets {
                    return Err(Unfit::Crossing(i, j));
                }
            }
        }
        Ok(())
    }

    /// Whether each step along the rim turns the same way.
    pub fn is_convex(&self) -> bool {
        let n = self.len();
        let turns = (0..n).map(|i| cross(self[i], self[(i + 1) % n], self[(i + 2) % n]));
        let (left, right) = turns.fold((false, false), |(l, r), t| {
            (l || t > ROUNDING, r || t < -ROUNDING)
        });
        left != right
    }

    /// Triangles that cover the polygon once, counter-clockwise: ears are cut off one by one (Meisters
    /// 1975, American Mathematical Monthly 82, 648). Of a polygon that crosses itself there may be fewer.
    pub fn triangles(&self) -> Vec<[Point; 3]> {
        let mut left: Vec<Point> = self.to_vec();
        if self.signed_area() < 0.0 {
            left.reverse();
        }
        let mut triangles = Vec::with_capacity(left.len().saturating_sub(2));
        while left.len() > 2 {
            let n = left.len();
            let corner = |i: usize| [left[(i + n - 1) % n], left[i], left[(i + 1) % n]];
            let area = |i: usize| cross(corner(i)[0], corner(i)[1], corner(i)[2]);
            let is_ear = |i: usize| {
                let [a, b, c] = corner(i);
                let inside = |p: &Point| {
                    *p != a
                        && *p != b
                        && *p != c
                        && [(a, b), (b, c), (c, a)]
                            .iter()
                            .all(|&(s, e)| cross(s, e, *p) >= 0.0)
                };
                area(i) > 0.0 && !left.iter().any(inside)
            };
            // a corner on a straight side covers nothing and only stands in the way
            if let Some(flat) = (0..n).find(|&i| area(i).abs() < ROUNDING) {
                left.remove(flat);
                continue;
            }
            let Some(ear) = (0..n).find(|&i| is_ear(i)) else {
                break;
            };
            triangles.push(corner(ear));
            left.remove(ear);
        }
        triangles
    }

    /// Whether a line from `a` to `b` lies wholly inside or on the rim.
    pub fn holds_line(&self, a: Point, b: Point) -> bool {
        // where the line may pass from inside to outside: at the sides it meets
        let mut cuts = vec![0.0, 1.0];
        for (p, q) in self.sides() {
            let along = cross(Point::default(), sub(b, a), sub(q, p));
            if along != 0.0 {
                cuts.push(cross(Point::default(), sub(p, a), sub(q, p)) / along);
            }
            let length = sub(b, a);
            let square = length.x * length.x + length.y * length.y;
            if square > 0.0 {
                let to = sub(p, a);
                cuts.push((to.x * length.x + to.y * length.y) / square);
            }
        }
        cuts.retain(|t| (0.0..=1.0).contains(t));
        cuts.sort_unstable_by(f64::total_cmp);
        let at = |t: f64| Point::new(a.x + t * (b.x - a.x), a.y + t * (b.y - a.y));
        let is_in = |t: f64| self.signed_distance(at(t)) <= ROUNDING;
        cuts.iter().all(|&t| is_in(t)) && cuts.windows(2).all(|w| is_in(0.5 * (w[0] + w[1])))
    }
}

/// Each side of a closed polygon: the corner it begins at and the one it ends at.
pub(super) fn sides(corners: &[Point]) -> impl Iterator<Item = (Point, Point)> + '_ {
    let ends = corners.iter().cycle().skip(1);
    corners.iter().copied().zip(ends.copied())
}

fn sub(a: Point, b: Point) -> Point {
    Point::new(a.x - b.x, a.y - b.y)
}

/// Twice the area of a triangle, above zero when its corners run counter-clockwise.
fn cross(a: Point, b: Point, c: Point) -> f64 {
    (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)
}

/// The point of a line between two points nearest to a third.
fn nearest_on(a: Point, b: Point, p: Point) -> Point {
    let (along, to) = (sub(b, a), sub(p, a));
    let square = along.x * along.x + along.y * along.y;
    if square <= 0.0 {
        return a;
    }
    let t = ((to.x * along.x + to.y * along.y) / square).clamp(0.0, 1.0);
    Point::new(a.x + t * along.x, a.y + t * along.y)
}

/// How far two lines are apart; 0 when they cross.
fn apart((a, b): (Point, Point), (c, d): (Point, Point)) -> f64 {
    let (abc, abd) = (cross(a, b, c), cross(a, b, d));
    let (cda, cdb) = (cross(c, d, a), cross(c, d, b));
    if (abc > 0.0) != (abd > 0.0) && (cda > 0.0) != (cdb > 0.0) {
        return 0.0;
    }
    [(a, b, c), (a, b, d), (c, d, a), (c, d, b)]
        .map(|(from, to, p)| p.distance(nearest_on(from, to, p)))
        .into_iter()
        .fold(f64::INFINITY, f64::min)
}

/// Whether the way on from a corner lies over the way to it.
fn runs_back(from: Point, shared: Point, to: Point) -> bool {
    let (there, on) = (sub(from, shared), sub(to, shared));
    let ahead = there.x * on.x + there.y * on.y;
    let shorter = from.distance(shared).min(to.distance(shared));
    ahead > 0.0 && {
        let off = cross(shared, from, to).abs() / from.distance(shared).max(to.distance(shared));
        off < 1e-6 * shorter.max(1.0)
    }
}

/// Whether some side of the counter-clockwise, convex polygon `a` has all of `b` beyond it.
pub(super) fn separated(a: &[Point], b: &[Point], slack: f64) -> bool {
    sides(a).any(|(p, q)| {
        let length = p.distance(q);
        // outward normal of a counter-clockwise side
        let (nx, ny) = ((q.y - p.y) / length, (p.x - q.x) / length);
        b.iter()
            .all(|v| (v.x - p.x) * nx + (v.y - p.y) * ny >= -slack)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn corners(points: &[(f64, f64)]) -> Corners {
        let points: Vec<Point> = points.iter().map(|&(x, y)| Point::new(x, y)).collect();
        points.into()
    }

    /// An L: 100 by 60 without the part right of 40 and behind 20.
    fn an_l() -> Corners {
        corners(&[
            (0.0, 0.0),
            (100.0, 0.0),
            (100.0, 20.0),
            (40.0, 20.0),
            (40.0, 60.0),
            (0.0, 60.0),
        ])
    }

    #[test]
    fn what_makes_no_outline_is_refused() {
        for (points, wrong) in [
            (&[][..], Unfit::TooFew),
            (&[(0.0, 0.0), (1.0, 0.0)], Unfit::TooFew),
            (
                &[(0.0, 0.0), (1.0, 0.0), (f64::NAN, 1.0)],
                Unfit::NotFinite(2),
            ),
            (&[(0.0, 0.0), (1.0, 0.0), (2.0, 0.0)], Unfit::NoArea),
            (
                &[(0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 0.0)],
                Unfit::Twice(0, 3),
            ),
            // a bow tie with one larger wing, a spike, a side through a corner
            (
                &[(0.0, 0.0), (9.0, 5.0), (9.0, 0.0), (0.0, 9.0)],
                Unfit::Crossing(0, 2),
            ),
            (
                &[(0.0, 0.0), (9.0, 0.0), (5.0, 0.0), (5.0, 9.0)],
                Unfit::Crossing(0, 1),
            ),
            (
                &[(0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (5.0, 0.0), (0.0, 9.0)],
                Unfit::Crossing(0, 2),
            ),
        ] {
            assert_eq!(corners(points).fit(), Err(wrong), "{points:?}");
        }
        let many: Vec<Point> = (0..=Corners::MOST)
            .map(|i| Point::new(i as f64, (i * i) as f64))
            .collect();
        assert_eq!(Corners::from(many).fit(), Err(Unfit::TooMany));
        assert_eq!(an_l().fit(), Ok(()));
    }

    #[test]
    fn distances_of_an_l_are_those_of_its_sides() {
        let l = an_l();
        for (x, y, distance) in [
            (20.0, 40.0, -20.0),
            (70.0, 10.0, -10.0),
            // nearest to the inner corner
            (38.0, 18.0, -(2f64.hypot(2.0))),
            (43.0, 24.0, 3.0),
            (103.0, -4.0, 5.0),
            (40.0, 30.0, 0.0),
        ] {
            let found = l.signed_distance(Point::new(x, y));
            assert!((found - distance).abs() < 1e-12, "{x}, {y}: {found}");
        }
    }

    #[test]
    fn triangles_cover_the_polygon_once() {
        let l = an_l();
        let mut turned = l.to_vec();
        turned.reverse();
        for l in [l, Corners::from(turned)] {
            let triangles = l.triangles();
            assert_eq!(triangles.len(), 4);
            let area: f64 = triangles
                .iter()
                .map(|t| Corners::from(t.to_vec()).signed_area())
                .sum();
            assert!((area - 3600.0).abs() < 1e-9);
        }
    }

    #[test]
    fn a_line_over_a_dent_is_not_inside() {
        let l = an_l();
        let line =
            |a: (f64, f64), b: (f64, f64)| l.holds_line(Point::new(a.0, a.1), Point::new(b.0, b.1));
        assert!(!line((0.0, 60.0), (100.0, 0.0)));
        assert!(line((0.0, 0.0), (100.0, 20.0)));
        assert!(line((40.0, 20.0), (40.0, 60.0)), "along the rim");
        assert!(
            !line((40.0, 60.0), (100.0, 20.0)),
            "over the dent, from corner to corner"
        );
    }
}
