//! Outlines and where they lie: rectangles, circles and polygons.
//!
//! They answer with exact distances to their rim, inside and out, whatever their shape: clearance of a round body, rasters
//! and nearest places inside follow from that. Polygons with dents are held against others triangle by triangle (ears), and
//! hold a body when each of its sides lies inside. Shapes are cloned, not copied: the corners of a polygon are shared.

use serde::{Deserialize, Serialize};

use super::polygon::{ROUNDING, separated, sides};
use super::{Bounds, Corners, Point};

/// What an outline looks like, without saying where it is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Shape {
    /// Width along x, depth along y before turning.
    Rectangle {
        /// Along x, mm.
        width: f64,
        /// Along y, mm.
        depth: f64,
    },
    /// A disk.
    Circle {
        /// mm.
        diameter: f64,
    },
    /// Straight sides from corner to corner; it may have dents, but doesn't cross itself.
    Polygon {
        /// mm from a point that each footprint puts somewhere.
        corners: Corners,
    },
}

/// A shape put somewhere: its centre and its turn.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Footprint {
    /// What it looks like.
    pub shape: Shape,
    /// Where its centre is; of a polygon where the point is that its corners are measured from.
    pub centre: Point,
    /// Counter-clockwise, degrees.
    #[serde(default)]
    pub turn: f64,
}

/// Corners of a polygon that always stand for its rim: however wide the step is, a lattice has no more than nine
/// places, the corners of the bounds among them.
const FEW: usize = 5;

/// Points with which a circle is drawn or compared as a polygon; its sagitta is 0.02 % of the radius.
const CIRCLE_SIDES: usize = 144;

impl Shape {
    /// Width and depth of the smallest rectangle around the shape before turning, mm.
    pub fn size(&self) -> (f64, f64) {
        let bounds = self.bounds();
        (bounds.width(), bounds.depth())
    }

    /// The smallest bounds around the shape before turning, in its own axes.
    pub fn bounds(&self) -> Bounds {
        let around = |width: f64, depth: f64| Bounds {
            min: Point::new(-0.5 * width, -0.5 * depth),
            max: Point::new(0.5 * width, 0.5 * depth),
        };
        match self {
            Self::Rectangle { width, depth } => around(*width, *depth),
            Self::Circle { diameter } => around(*diameter, *diameter),
            Self::Polygon { corners } => corners.bounds(),
        }
    }

    /// Area in mm².
    pub fn area(&self) -> f64 {
        match self {
            Self::Rectangle { width, depth } => width * depth,
            Self::Circle { diameter } => std::f64::consts::FRAC_PI_4 * diameter * diameter,
            Self::Polygon { corners } => corners.signed_area().abs(),
        }
    }

    /// Whether all sizes are finite and above zero, and corners make an outline.
    pub fn is_sound(&self) -> bool {
        if let Self::Polygon { corners } = self {
            return corners.fit().is_ok();
        }
        let (w, d) = self.size();
        w.is_finite() && d.is_finite() && w > 0.0 && d > 0.0
    }

    /// The rim at places at most `step` mm apart, corners included, in the shape's own axes; of a polygon whose
    /// corners are closer than that only as many as the step asks for.
    fn rim(&self, step: f64) -> Vec<Point> {
        let parts = |length: f64, least: f64| (length / step).ceil().clamp(least, 4000.0) as usize;
        match self {
            // a lattice over a rectangle has its rim already
            Self::Rectangle { .. } => Vec::new(),
            Self::Circle { diameter } => {
                let n = parts(std::f64::consts::PI * diameter, 8.0);
                circle(0.5 * diameter, n).collect()
            }
            Self::Polygon { corners } if corners.len() > FEW.max(parts(corners.around(), 1.0)) => {
                corners.along(FEW.max(parts(corners.around(), 1.0)))
            }
            Self::Polygon { corners } => corners
                .sides()
                .flat_map(|(a, b)| {
                    let n = parts(a.distance(b), 1.0);
                    (0..n).map(move |i| {
                        let t = i as f64 / n as f64;
                        Point::new(a.x + t * (b.x - a.x), a.y + t * (b.y - a.y))
                    })
                })
                .collect(),
        }
    }
}

impl Footprint {
    /// A shape without turn around a centre.
    pub fn new(shape: Shape, centre: Point) -> Self {
        Self {
            shape,
            centre,
            turn: 0.0,
        }
    }

    /// Area in mm².
    pub fn area(&self) -> f64 {
        self.shape.area()
    }

    /// The point in the footprint's own axes: its centre is the origin, its turn is taken out.
    fn own(&self, p: Point) -> Point {
        Point::new(p.x - self.centre.x, p.y - self.centre.y).turned(-self.turn)
    }

    /// A point of the footprint's own axes, seen on the plan.
    pub fn from_own(&self, p: Point) -> Point {
        let q = p.turned(self.turn);
        Point::new(q.x + self.centre.x, q.y + self.centre.y)
    }

    /// The middle of its bounds: where something is put that has to be somewhere.
    pub fn middle(&self) -> Point {
        self.from_own(self.shape.bounds().centre())
    }

    /// Distance of a point from the outline in mm: negative inside, positive outside, exact on both
    /// sides for all shapes.
    pub fn signed_distance(&self, p: Point) -> f64 {
        let q = self.own(p);
        match &self.shape {
            Shape::Rectangle { width, depth } => {
                let dx = q.x.abs() - 0.5 * width;
                let dy = q.y.abs() - 0.5 * depth;
                dx.max(0.0).hypot(dy.max(0.0)) + dx.max(dy).min(0.0)
            }
            Shape::Circle { diameter } => q.x.hypot(q.y) - 0.5 * diameter,
            Shape::Polygon { corners } => corners.signed_distance(q),
        }
    }

    /// Whether the point lies inside or on the outline, to a billionth of a millimetre.
    pub fn contains(&self, p: Point) -> bool {
        self.signed_distance(p) <= 1e-9
    }

    /// The nearest point that lies inside or on the outline: the point itself when it does.
    pub fn nearest_inside(&self, p: Point) -> Point {
        let q = self.own(p);
        let kept = match &self.shape {
            Shape::Rectangle { width, depth } => Point::new(
                q.x.clamp(-0.5 * width, 0.5 * width),
                q.y.clamp(-0.5 * depth, 0.5 * depth),
            ),
            Shape::Circle { diameter } => {
                let r = q.x.hypot(q.y);
                let scale = if r > 0.5 * diameter {
                    0.5 * diameter / r
                } else {
                    1.0
                };
                Point::new(q.x * scale, q.y * scale)
            }
            Shape::Polygon { corners } if corners.signed_distance(q) > 0.0 => {
                corners.nearest_on_rim(q)
            }
            Shape::Polygon { .. } => q,
        };
        if kept == q { p } else { self.from_own(kept) }
    }

    /// The corners of a polygon on the plan, in their own order; none of another shape.
    pub fn corners(&self) -> Vec<Point> {
        match &self.shape {
            Shape::Polygon { corners } => corners.iter().map(|&p| self.from_own(p)).collect(),
            Shape::Rectangle { .. } | Shape::Circle { .. } => Vec::new(),
        }
    }

    /// The polygon with one corner at another point of the plan; `None` without such a corner.
    pub fn with_corner(&self, index: usize, at: Point) -> Option<Shape> {
        let Shape::Polygon { corners } = &self.shape else {
            return None;
        };
        let mut changed = corners.to_vec();
        *changed.get_mut(index)? = self.own(at);
        Some(Shape::Polygon {
            corners: changed.into(),
        })
    }

    /// The outline as a closed polygon, counter-clockwise, first point not repeated. A circle becomes a
    /// polygon of 144 sides whose corners lie on it.
    pub fn outline(&self) -> Vec<Point> {
        self.own_outline()
            .into_iter()
            .map(|p| self.from_own(p))
            .collect()
    }

    fn own_outline(&self) -> Vec<Point> {
        match &self.shape {
            Shape::Rectangle { width, depth } => {
                let (w, d) = (0.5 * width, 0.5 * depth);
                [(-w, -d), (w, -d), (w, d), (-w, d)]
                    .map(|(x, y)| Point::new(x, y))
                    .to_vec()
            }
            Shape::Circle { diameter } => circle(0.5 * diameter, CIRCLE_SIDES).collect(),
            Shape::Polygon { corners } => {
                let mut corners = corners.to_vec();
                if Corners::from(corners.clone()).signed_area() < 0.0 {
                    corners.reverse();
                }
                corners
            }
        }
    }

    /// Convex polygons, counter-clockwise, that cover a shape with straight sides once.
    fn convex_parts(&self) -> Vec<Vec<Point>> {
        match &self.shape {
            Shape::Polygon { corners } if !corners.is_convex() => corners
                .triangles()
                .into_iter()
                .map(|t| t.map(|p| self.from_own(p)).to_vec())
                .collect(),
            _ => vec![self.outline()],
        }
    }

    /// The smallest bounds around the footprint; exact for all shapes.
    pub fn bounds(&self) -> Bounds {
        let (half_w, half_d) = match &self.shape {
            Shape::Rectangle { width, depth } => {
                let (sin, cos) = self.turn.to_radians().sin_cos();
                (
                    0.5 * (width * cos.abs() + depth * sin.abs()),
                    0.5 * (width * sin.abs() + depth * cos.abs()),
                )
            }
            Shape::Circle { diameter } => (0.5 * diameter, 0.5 * diameter),
            Shape::Polygon { corners } => {
                return Bounds::around(corners.iter().map(|&p| self.from_own(p))).unwrap_or(
                    Bounds {
                        min: self.centre,
                        max: self.centre,
                    },
                );
            }
        };
        Bounds {
            min: Point::new(self.centre.x - half_w, self.centre.y - half_d),
            max: Point::new(self.centre.x + half_w, self.centre.y + half_d),
        }
    }

    /// Whether `inner` lies wholly inside or on this outline. The distance to the rim is exact, so it
    /// decides for a circle; where this outline has no dents, the corners do; else each whole side.
    pub fn covers(&self, inner: &Self) -> bool {
        if let Shape::Circle { diameter } = inner.shape {
            return self.signed_distance(inner.centre) + 0.5 * diameter <= ROUNDING;
        }
        let corners = inner.outline();
        match &self.shape {
            Shape::Polygon { corners: rim } if !rim.is_convex() => {
                sides(&corners).all(|(a, b)| rim.holds_line(self.own(a), self.own(b)))
            }
            _ => corners.into_iter().all(|p| self.contains(p)),
        }
    }

    /// Whether the two share more than a touching line; overlaps below a thousandth of a millimetre
    /// do not count, so parts laid edge to edge are fine.
    pub fn overlaps(&self, other: &Self) -> bool {
        const SLACK: f64 = 1e-3;
        match (&self.shape, &other.shape) {
            (Shape::Circle { diameter: a }, Shape::Circle { diameter: b }) => {
                self.centre.distance(other.centre) < 0.5 * (a + b) - SLACK
            }
            (Shape::Circle { diameter }, _) => {
                other.signed_distance(self.centre) < 0.5 * diameter - SLACK
            }
            (_, Shape::Circle { .. }) => other.overlaps(self),
            _ => {
                // Separating axes: two convex polygons are apart if one of their sides has all
                // corners of the other beyond it.
                let theirs = other.convex_parts();
                self.convex_parts().iter().any(|a| {
                    theirs
                        .iter()
                        .any(|b| !separated(a, b, SLACK) && !separated(b, a, SLACK))
                })
            }
        }
    }

    /// A lattice of points inside the footprint, at most `step` mm apart, its rim included: what has
    /// to be looked at when the whole footprint counts.
    pub fn lattice(&self, step: f64) -> Vec<Point> {
        let bounds = self.shape.bounds();
        let along = |from: f64, extent: f64| -> Vec<f64> {
            let n = (extent / step).ceil().clamp(1.0, 2000.0) as usize;
            (0..=n)
                .map(|i| from + extent * (i as f64 / n as f64))
                .collect()
        };
        let xs = along(bounds.min.x, bounds.width());
        let ys = along(bounds.min.y, bounds.depth());
        let mut points: Vec<Point> = ys
            .iter()
            .flat_map(|&y| xs.iter().map(move |&x| Point::new(x, y)))
            .map(|p| self.from_own(p))
            .filter(|&p| self.contains(p))
            .collect();
        points.extend(self.shape.rim(step).into_iter().map(|p| self.from_own(p)));
        points
    }

    /// Centres of equal cells inside the footprint, at most `step` mm apart: their mean is the mean
    /// over the footprint. Of a sliver between all cells one place; never none.
    pub fn cells(&self, step: f64) -> Vec<Point> {
        let bounds = self.shape.bounds();
        let along = |from: f64, extent: f64| -> Vec<f64> {
            let n = (extent / step).ceil().clamp(1.0, 2000.0) as usize;
            (0..n)
                .map(|i| from + extent * ((i as f64 + 0.5) / n as f64))
                .collect()
        };
        let xs = along(bounds.min.x, bounds.width());
        let ys = along(bounds.min.y, bounds.depth());
        let cells: Vec<Point> = ys
            .iter()
            .flat_map(|&y| xs.iter().map(move |&x| self.from_own(Point::new(x, y))))
            .filter(|&p| self.contains(p))
            .collect();
        if cells.is_empty() {
            return vec![self.nearest_inside(self.middle())];
        }
        cells
    }
}

/// `n` points on a circle around the origin, counter-clockwise.
fn circle(radius: f64, n: usize) -> impl Iterator<Item = Point> {
    (0..n).map(move |i| {
        let angle = std::f64::consts::TAU * i as f64 / n as f64;
        Point::new(radius * angle.cos(), radius * angle.sin())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rectangle(w: f64, d: f64, x: f64, y: f64, turn: f64) -> Footprint {
        Footprint {
            shape: Shape::Rectangle { width: w, depth: d },
            centre: Point::new(x, y),
            turn,
        }
    }

    fn disk(d: f64, x: f64, y: f64) -> Footprint {
        Footprint::new(Shape::Circle { diameter: d }, Point::new(x, y))
    }

    #[test]
    fn distances_are_exact_inside_and_out() {
        let r = rectangle(20.0, 10.0, 0.0, 0.0, 0.0);
        assert_eq!(r.signed_distance(Point::new(0.0, 0.0)), -5.0);
        assert_eq!(r.signed_distance(Point::new(13.0, 9.0)), 5.0);
        let turned = rectangle(20.0, 10.0, 3.0, 4.0, 90.0);
        assert!((turned.signed_distance(Point::new(3.0, 4.0)) + 5.0).abs() < 1e-12);
        assert!(turned.contains(Point::new(8.0, 14.0)));
        assert_eq!(
            disk(10.0, 0.0, 0.0).signed_distance(Point::new(3.0, 4.0)),
            0.0
        );
    }

    #[test]
    fn a_body_over_the_rim_is_not_covered() {
        let fixture = rectangle(180.0, 120.0, 90.0, 60.0, 0.0);
        assert!(fixture.covers(&disk(12.0, 6.0, 6.0)));
        assert!(!fixture.covers(&disk(12.0, 5.9, 6.0)));
        assert!(!fixture.covers(&rectangle(12.0, 12.0, 6.0, 6.0, 45.0)));
    }

    #[test]
    fn parts_edge_to_edge_do_not_overlap() {
        let a = rectangle(10.0, 10.0, 0.0, 0.0, 0.0);
        assert!(!a.overlaps(&rectangle(10.0, 10.0, 10.0, 0.0, 0.0)));
        assert!(a.overlaps(&rectangle(10.0, 10.0, 9.9, 0.0, 0.0)));
        assert!(!a.overlaps(&rectangle(10.0, 10.0, 12.1, 0.0, 45.0)));
        assert!(a.overlaps(&rectangle(10.0, 10.0, 11.9, 0.0, 45.0)));
        assert!(!a.overlaps(&disk(10.0, 10.0, 0.0)));
        assert!(a.overlaps(&disk(10.0, 8.4, 8.4)));
        assert!(!a.overlaps(&disk(10.0, 8.7, 8.7)));
    }

    #[test]
    fn a_lattice_reaches_the_rim() {
        let r = rectangle(180.0, 120.0, 90.0, 60.0, 0.0);
        let lattice = r.lattice(7.0);
        let around = Bounds::around(lattice.iter().copied()).expect("points");
        assert_eq!(around, r.bounds());
        let c = disk(50.0, 25.0, 25.0);
        assert!(c.lattice(5.0).iter().all(|&p| c.contains(p)));
    }

    #[test]
    fn a_coarse_lattice_is_small_whatever_the_shape() {
        let corners: Vec<Point> = circle(30.0, 200).collect();
        let polygon = Footprint::new(
            Shape::Polygon {
                corners: corners.into(),
            },
            Point::default(),
        );
        for shape in [
            &polygon,
            &disk(60.0, 0.0, 0.0),
            &rectangle(60.0, 40.0, 0.0, 0.0, 0.0),
        ] {
            let coarse = shape.lattice(1e9);
            assert!((1..=9).contains(&coarse.len()), "{}", coarse.len());
            assert!(shape.lattice(1.0).len() > 1000);
            assert!(coarse.iter().all(|&p| shape.signed_distance(p) < 1e-6));
        }
        // of 200 corners 0.94 mm apart each counts when the step is as fine
        assert!(polygon.shape.rim(0.9).len() >= 200);
        assert_eq!(polygon.shape.rim(10.0).len(), 19);
    }

    #[test]
    fn the_nearest_point_inside_is_inside() {
        let r = rectangle(20.0, 10.0, 3.0, 4.0, 30.0);
        for p in [
            Point::new(40.0, 4.0),
            Point::new(3.0, 4.0),
            Point::new(-9.0, -9.0),
        ] {
            let q = r.nearest_inside(p);
            assert!(r.contains(q));
            assert!((p.distance(q) - r.signed_distance(p).max(0.0)).abs() < 1e-9);
        }
    }
}
