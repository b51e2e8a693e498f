//! Points and outlines over the fixture. Order is always `x y height`; x to the right, y to the back,
//! height up, all in millimetres from the fixture's datum (its front left corner). Angles turn
//! counter-clockwise seen from above, in degrees.

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

/// What an outline looks like, without saying where it is.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
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
}

/// A shape put somewhere: its centre and its turn.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Footprint {
    /// What it looks like.
    pub shape: Shape,
    /// Where its centre is.
    pub centre: Point,
    /// Counter-clockwise, degrees.
    #[serde(default)]
    pub turn: f64,
}

/// Points with which a circle is drawn or compared as a polygon; its sagitta is 0.02 % of the radius.
const CIRCLE_SIDES: usize = 144;

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

impl Shape {
    /// Width and depth of the smallest rectangle around the shape before turning, mm.
    pub fn size(&self) -> (f64, f64) {
        match *self {
            Self::Rectangle { width, depth } => (width, depth),
            Self::Circle { diameter } => (diameter, diameter),
        }
    }

    /// Area in mm².
    pub fn area(&self) -> f64 {
        match *self {
            Self::Rectangle { width, depth } => width * depth,
            Self::Circle { diameter } => std::f64::consts::FRAC_PI_4 * diameter * diameter,
        }
    }

    /// Whether all sizes are finite and above zero.
    pub fn is_sound(&self) -> bool {
        let (w, d) = self.size();
        w.is_finite() && d.is_finite() && w > 0.0 && d > 0.0
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

    /// Distance of a point from the outline in mm: negative inside, positive outside, exact on both
    /// sides for both shapes.
    pub fn signed_distance(&self, p: Point) -> f64 {
        let q = self.own(p);
        match self.shape {
            Shape::Rectangle { width, depth } => {
                let dx = q.x.abs() - 0.5 * width;
                let dy = q.y.abs() - 0.5 * depth;
                dx.max(0.0).hypot(dy.max(0.0)) + dx.max(dy).min(0.0)
            }
            Shape::Circle { diameter } => q.x.hypot(q.y) - 0.5 * diameter,
        }
    }

    /// Whether the point lies inside or on the outline, to a billionth of a millimetre.
    pub fn contains(&self, p: Point) -> bool {
        self.signed_distance(p) <= 1e-9
    }

    /// The nearest point that lies inside or on the outline: the point itself when it does.
    pub fn nearest_inside(&self, p: Point) -> Point {
        let q = self.own(p);
        let kept = match self.shape {
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
        };
        if kept == q { p } else { self.from_own(kept) }
    }

    /// The outline as a closed polygon, counter-clockwise, first point not repeated. A circle becomes a
    /// polygon of 144 sides whose corners lie on it.
    pub fn outline(&self) -> Vec<Point> {
        match self.shape {
            Shape::Rectangle { width, depth } => {
                let (w, d) = (0.5 * width, 0.5 * depth);
                [(-w, -d), (w, -d), (w, d), (-w, d)]
                    .map(|(x, y)| self.from_own(Point::new(x, y)))
                    .to_vec()
            }
            Shape::Circle { diameter } => (0..CIRCLE_SIDES)
                .map(|i| {
                    let angle = std::f64::consts::TAU * i as f64 / CIRCLE_SIDES as f64;
                    let r = 0.5 * diameter;
                    self.from_own(Point::new(r * angle.cos(), r * angle.sin()))
                })
                .collect(),
        }
    }

    /// The smallest bounds around the footprint; exact for both shapes.
    pub fn bounds(&self) -> Bounds {
        let (half_w, half_d) = match self.shape {
            Shape::Rectangle { width, depth } => {
                let (sin, cos) = self.turn.to_radians().sin_cos();
                (
                    0.5 * (width * cos.abs() + depth * sin.abs()),
                    0.5 * (width * sin.abs() + depth * cos.abs()),
                )
            }
            Shape::Circle { diameter } => (0.5 * diameter, 0.5 * diameter),
        };
        Bounds {
            min: Point::new(self.centre.x - half_w, self.centre.y - half_d),
            max: Point::new(self.centre.x + half_w, self.centre.y + half_d),
        }
    }

    /// Whether `inner` lies wholly inside or on this outline. Both shapes are convex, so the corners
    /// (for a circle: its centre and radius) decide.
    pub fn covers(&self, inner: &Self) -> bool {
        match inner.shape {
            Shape::Circle { diameter } => {
                self.signed_distance(inner.centre) + 0.5 * diameter <= 1e-9
            }
            Shape::Rectangle { .. } => inner.outline().into_iter().all(|p| self.contains(p)),
        }
    }

    /// Whether the two share more than a touching line; overlaps below a thousandth of a millimetre
    /// do not count, so parts laid edge to edge are fine.
    pub fn overlaps(&self, other: &Self) -> bool {
        const SLACK: f64 = 1e-3;
        match (self.shape, other.shape) {
            (Shape::Circle { diameter: a }, Shape::Circle { diameter: b }) => {
                self.centre.distance(other.centre) < 0.5 * (a + b) - SLACK
            }
            (Shape::Circle { diameter }, Shape::Rectangle { .. }) => {
                other.signed_distance(self.centre) < 0.5 * diameter - SLACK
            }
            (Shape::Rectangle { .. }, Shape::Circle { .. }) => other.overlaps(self),
            (Shape::Rectangle { .. }, Shape::Rectangle { .. }) => {
                // Separating axes: two convex polygons are apart if one of their sides has all
                // corners of the other beyond it.
                let (a, b) = (self.outline(), other.outline());
                !separated(&a, &b, SLACK) && !separated(&b, &a, SLACK)
            }
        }
    }

    /// A lattice of points inside the footprint, at most `step` mm apart, its rim included: what has
    /// to be looked at when the whole footprint counts.
    pub fn lattice(&self, step: f64) -> Vec<Point> {
        let (w, d) = self.shape.size();
        let along = |extent: f64| -> Vec<f64> {
            let n = (extent / step).ceil().clamp(1.0, 2000.0) as usize;
            (0..=n)
                .map(|i| extent * (i as f64 / n as f64 - 0.5))
                .collect()
        };
        let (xs, ys) = (along(w), along(d));
        let mut points: Vec<Point> = ys
            .iter()
            .flat_map(|&y| xs.iter().map(move |&x| Point::new(x, y)))
            .map(|p| self.from_own(p))
            .filter(|&p| self.contains(p))
            .collect();
        if let Shape::Circle { diameter } = self.shape {
            let n = (std::f64::consts::PI * diameter / step)
                .ceil()
                .clamp(8.0, 4000.0) as usize;
            points.extend((0..n).map(|i| {
                let angle = std::f64::consts::TAU * i as f64 / n as f64;
                let r = 0.5 * diameter;
                self.from_own(Point::new(r * angle.cos(), r * angle.sin()))
            }));
        }
        points
    }
}

impl Footprint {
    /// Centres of equal cells inside the footprint, at most `step` mm apart: their mean is the mean
    /// over the footprint.
    pub fn cells(&self, step: f64) -> Vec<Point> {
        let (w, d) = self.shape.size();
        let along = |extent: f64| -> Vec<f64> {
            let n = (extent / step).ceil().clamp(1.0, 2000.0) as usize;
            (0..n)
                .map(|i| extent * ((i as f64 + 0.5) / n as f64 - 0.5))
                .collect()
        };
        let (xs, ys) = (along(w), along(d));
        ys.iter()
            .flat_map(|&y| xs.iter().map(move |&x| self.from_own(Point::new(x, y))))
            .filter(|&p| self.contains(p))
            .collect()
    }
}

/// Whether some side of the counter-clockwise polygon `a` has all of `b` beyond it.
fn separated(a: &[Point], b: &[Point], slack: f64) -> bool {
    (0..a.len()).any(|i| {
        let (p, q) = (a[i], a[(i + 1) % a.len()]);
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

    fn rectangle(w: f64, d: f64, x: f64, y: f64, turn: f64) -> Footprint {
        Footprint {
            shape: Shape::Rectangle { width: w, depth: d },
            centre: Point::new(x, y),
            turn,
        }
    }

    fn circle(d: f64, x: f64, y: f64) -> Footprint {
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
            circle(10.0, 0.0, 0.0).signed_distance(Point::new(3.0, 4.0)),
            0.0
        );
    }

    #[test]
    fn a_body_over_the_rim_is_not_covered() {
        let fixture = rectangle(180.0, 120.0, 90.0, 60.0, 0.0);
        assert!(fixture.covers(&circle(12.0, 6.0, 6.0)));
        assert!(!fixture.covers(&circle(12.0, 5.9, 6.0)));
        assert!(!fixture.covers(&rectangle(12.0, 12.0, 6.0, 6.0, 45.0)));
    }

    #[test]
    fn parts_edge_to_edge_do_not_overlap() {
        let a = rectangle(10.0, 10.0, 0.0, 0.0, 0.0);
        assert!(!a.overlaps(&rectangle(10.0, 10.0, 10.0, 0.0, 0.0)));
        assert!(a.overlaps(&rectangle(10.0, 10.0, 9.9, 0.0, 0.0)));
        assert!(!a.overlaps(&rectangle(10.0, 10.0, 12.1, 0.0, 45.0)));
        assert!(a.overlaps(&rectangle(10.0, 10.0, 11.9, 0.0, 45.0)));
        assert!(!a.overlaps(&circle(10.0, 10.0, 0.0)));
        assert!(a.overlaps(&circle(10.0, 8.4, 8.4)));
        assert!(!a.overlaps(&circle(10.0, 8.7, 8.7)));
    }

    #[test]
    fn a_lattice_reaches_the_rim() {
        let r = rectangle(180.0, 120.0, 90.0, 60.0, 0.0);
        let lattice = r.lattice(7.0);
        let around = Bounds::around(lattice.iter().copied()).expect("points");
        assert_eq!(around, r.bounds());
        let c = circle(50.0, 25.0, 25.0);
        assert!(c.lattice(5.0).iter().all(|&p| c.contains(p)));
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
