//! Over each direction on the plan, between which slopes a place sees the light.
//!
//! A slope is the tangent of the angle from straight up. A prism from the base up cuts off all light that comes in flatter
//! than over its near edge; a plate over the bond all that comes in steeper than past its edge.

use super::{Block, Bond, Frame, Lies, Scene};
use crate::geometry::{Footprint, Place, Point, Shape};

/// Directions around a place.
const AROUND: usize = 256;

/// The slopes that a place sees between, direction by direction.
#[derive(Debug, Clone)]
pub(super) struct Horizon {
    flattest: Vec<f32>,
    steepest: Vec<f32>,
    /// The least of the flattest and the greatest of the steepest: between these all is seen.
    clear: (f64, f64),
    /// Beyond these nothing is.
    dark: (f64, f64),
}

/// A direction by where it crosses the square around the place: a whole turn is from 0 to 4.
fn turn_of(dx: f64, dy: f64) -> f64 {
    let along = dx.abs() + dy.abs();
    if along == 0.0 {
        return 0.0;
    }
    let part = dx / along;
    if dy >= 0.0 { 1.0 - part } else { 3.0 + part }
}

/// Unit vector of a direction.
fn direction(turn: f64) -> (f64, f64) {
    let (dx, dy) = if turn < 2.0 {
        (1.0 - turn, 1.0 - (1.0 - turn).abs())
    } else {
        (turn - 3.0, (turn - 3.0).abs() - 1.0)
    };
    let length = dx.hypot(dy);
    (dx / length, dy / length)
}

fn directions() -> &'static [(f64, f64)] {
    static ALL: std::sync::OnceLock<Vec<(f64, f64)>> = std::sync::OnceLock::new();
    ALL.get_or_init(|| {
        let turn = |k: usize| 4.0 * (k as f64 + 0.5) / AROUND as f64;
        (0..AROUND).map(|k| direction(turn(k))).collect()
    })
}

/// What part of a whole turn each direction stands for.
fn widths() -> &'static [f64] {
    static ALL: std::sync::OnceLock<Vec<f64>> = std::sync::OnceLock::new();
    ALL.get_or_init(|| {
        let at = |k: usize| {
            let (x, y) = direction(4.0 * k as f64 / AROUND as f64);
            y.atan2(x)
        };
        let turn = std::f64::consts::TAU;
        (0..AROUND)
            .map(|k| (at((k + 1) % AROUND) - at(k)).rem_euclid(turn) / turn)
            .collect()
    })
}

/// The outlines of a scene as corners, made once for many places.
#[derive(Debug, Clone)]
pub struct Walls {
    blocks: Vec<(Footprint, Vec<Point>, f64)>,
    frame: Option<(Footprint, Vec<Point>, f64)>,
}

/// Nothing that comes in flatter than this slope (83 degrees) counts: it is less than a hundredth of the light.
const FLATTEST: f64 = 8.0;
/// A place on the foot of a wall stands so far before it, mm; so near to it a place lies on it, not inside.
const BEFORE: f64 = 0.02;
const ON_IT: f64 = 1e-6;

/// Corners counter-clockwise. A circle has few, of the same area.
fn corners(outline: &Footprint) -> Vec<Point> {
    const SIDES: u32 = 48;
    let Shape::Circle { diameter } = outline.shape else {
        return outline.outline();
    };
    let turn = std::f64::consts::TAU / f64::from(SIDES);
    let radius = 0.5 * diameter * (turn / turn.sin()).sqrt();
    let at = |i: u32| {
        let (sin, cos) = (turn * f64::from(i)).sin_cos();
        Point::new(
            outline.centre.x + radius * cos,
            outline.centre.y + radius * sin,
        )
    };
    (0..SIDES).map(at).collect()
}

impl Walls {
    /// Of a scene.
    pub fn of(scene: &Scene) -> Self {
        let block = |block: &Block| {
            let outline = block.outline.clone();
            (outline, corners(&block.outline), block.top)
        };
        let frame = scene.frame.as_ref().map(|frame| {
            let inner = frame.inner();
            (inner.clone(), corners(&inner), frame.top)
        });
        Self {
            blocks: scene.blocks.iter().map(block).collect(),
            frame,
        }
    }
}

impl Horizon {
    /// Of a place of a bond; `None` where nothing stands in its light.
    pub fn of(walls: &Walls, bond: &Bond, at: Place) -> Option<Self> {
        let mut horizon = Self {
            flattest: vec![f32::INFINITY; AROUND],
            steepest: vec![0.0; AROUND],
            clear: (0.0, f64::INFINITY),
            dark: (0.0, f64::INFINITY),
        };
        let mut any = false;
        let here = at.point();
        for (i, (outline, rim, top)) in walls.blocks.iter().enumerate() {
            let above = top - at.height;
            if above <= 0.0 || bond.own == Some(i) {
                continue;
            }
            let away = outline.signed_distance(here);
            // a place inside a block is a finding of its own
            if away > -ON_IT && away < FLATTEST * above {
                let from = if away < BEFORE {
                    beside(outline, here)
                } else {
                    here
                };
                any |= horizon.cut(rim, from, above);
            }
        }
        if let Some((inner, rim, top)) = &walls.frame {
            let above = top - at.height;
            let away = -inner.signed_distance(here);
            if above > 0.0 && away >= 0.0 && away < FLATTEST * above {
                any |= horizon.cut(rim, before(inner, here), above);
            }
        }
        match &bond.lies {
            Lies::Pocket { outline, depth } if outline.contains(here) => {
                any |= horizon.cut(&corners(outline), before(outline, here), *depth);
            }
            Lies::Overhang { edge, under, gap } => {
                horizon.below_plate(here, *edge, *under, *gap);
                any = true;
            }
            _ => {}
        }
        any.then(|| horizon.closed())
    }

    /// Cuts off what comes in flatter than over a rim that rises so far above the place. Whether it does at all.
    fn cut(&mut self, rim: &[Point], from: Point, above: f64) -> bool {
        let (all, whole) = (directions(), AROUND as f64);
        let turn = |p: &Point| turn_of(p.x - from.x, p.y - from.y) * 0.25 * whole;
        let turns: Vec<f64> = rim.iter().map(turn).collect();
        let per = 1.0 / above;
        let mut any = false;
        for (i, a) in rim.iter().enumerate() {
            let next = (i + 1) % rim.len();
            let b = rim[next];
            let (ax, ay) = (a.x - from.x, a.y - from.y);
            let (ex, ey) = (b.x - a.x, b.y - a.y);
            let area = ax * ey - ay * ex;
            // a side is seen under less than half a turn, counter-clockwise where the place lies to its left
            let (start, end) = if area >= 0.0 {
                (turns[i], turns[next])
            } else {
                (turns[next], turns[i])
            };
            let end = start + (end - start).rem_euclid(whole);
            let mut k = (start - 0.5).ceil();
            while k <= end - 0.5 {
                let which = (k as usize) % AROUND;
                let (ux, uy) = all[which];
                let away = area / (ux * ey - uy * ex);
                if away >= 0.0 {
                    let flattest = (away * per) as f32;
                    if flattest < self.flattest[which] {
                        self.flattest[which] = flattest;
                        any = true;
                    }
                }
                k += 1.0;
            }
        }
        any
    }

    /// Cuts off what a plate covers.
    fn below_plate(&mut self, from: Point, edge: Point, under: Point, gap: f64) {
        let open = (edge.x - from.x) * under.x + (edge.y - from.y) * under.y;
        for (k, (ux, uy)) in directions().iter().enumerate() {
            let along = ux * under.x + uy * under.y;
            let slope = open / (gap * along);
            if along > 0.0 && open >= 0.0 {
                self.flattest[k] = self.flattest[k].min(slope as f32);
            } else if open < 0.0 {
                // under the plate: seen past its edge or, looking further in, not at all
                let past = if along < 0.0 { slope } else { f64::INFINITY };
                self.steepest[k] = self.steepest[k].max(past as f32);
            }
        }
    }

    fn closed(mut self) -> Self {
        let ends = |of: &[f32]| {
            let each = of.iter().map(|&t| f64::from(t));
            each.fold((f64::INFINITY, 0.0), |(lo, hi): (f64, f64), t| {
                (lo.min(t), hi.max(t))
            })
        };
        let (flattest, steepest) = (ends(&self.flattest), ends(&self.steepest));
        self.clear = (steepest.1, flattest.0);
        self.dark = (steepest.0, flattest.1);
        self
    }

    /// How much is seen of a small square of sky about a slope, whose own extent as a slope is `wide`; 0 to 1.
    pub fn seen(&self, (x, y): (f64, f64), wide: (f64, f64)) -> f64 {
        /// Places along a side that stand for the square.
        const ALONG: usize = 2;
        let (squared, radius) = (
            x * x + y * y,
            0.5 * wide.0.max(wide.1) * std::f64::consts::SQRT_2,
        );
        let within = |limit: f64| limit >= 0.0 && squared <= limit * limit;
        if within(self.clear.1 - radius) && !(within(self.clear.0 + radius) && self.clear.0 > 0.0) {
            return 1.0;
        }
        if !within(self.dark.1 + radius) || within(self.dark.0 - radius) {
            return 0.0;
        }
        let step = (wide.0 / ALONG as f64, wide.1 / ALONG as f64);
        let soft = 1.0 / (0.5 * (step.0 + step.1)).max(1e-9);
        let mut sum = 0.0;
        for i in 0..ALONG {
            let px = x + (i as f64 + 0.5) * step.0 - 0.5 * wide.0;
            for j in 0..ALONG {
                let py = y + (j as f64 + 0.5) * step.1 - 0.5 * wide.1;
                let slope = px.hypot(py);
                let (steepest, flattest) = self.between(px, py);
                let part = |by: f64| (0.5 + by * soft).clamp(0.0, 1.0);
                sum += part(flattest - slope) * part(slope - steepest);
            }
        }
        sum / (ALONG * ALONG) as f64
    }

    fn between(&self, dx: f64, dy: f64) -> (f64, f64) {
        let k = (turn_of(dx, dy) * 0.25 * AROUND as f64) as usize % AROUND;
        (f64::from(self.steepest[k]), f64::from(self.flattest[k]))
    }

    /// How much of what a level place sees is wall or plate, weighted by the cosine: 0 to 1.
    pub fn walls(&self) -> f64 {
        let above = |t: f32| 1.0 / (1.0 + f64::from(t) * f64::from(t));
        let each = widths().iter().zip(&self.flattest).zip(&self.steepest);
        // seen is sin² of the flattest angle less sin² of the steepest
        each.map(|((w, flat), steep)| w * (1.0 - (above(*steep) - above(*flat)).max(0.0)))
            .sum()
    }
}

/// A place on the foot of a block beside it, moved off it.
fn beside(outline: &Footprint, at: Point) -> Point {
    let off = |dx: f64, dy: f64| outline.signed_distance(Point::new(at.x + dx, at.y + dy));
    let h = BEFORE;
    let (gx, gy) = (off(h, 0.0) - off(-h, 0.0), off(0.0, h) - off(0.0, -h));
    let steep = gx.hypot(gy).max(f64::MIN_POSITIVE);
    Point::new(at.x + BEFORE * gx / steep, at.y + BEFORE * gy / steep)
}

/// A place on the foot of a wall around it, moved off it.
fn before(outline: &Footprint, at: Point) -> Point {
    if outline.signed_distance(at) < -BEFORE {
        return at;
    }
    let middle = outline.middle();
    let away = at.distance(middle);
    let by = if away > BEFORE { BEFORE / away } else { 0.0 };
    Point::new(at.x + by * (middle.x - at.x), at.y + by * (middle.y - at.y))
}

impl Frame {
    /// Its inner edge. Of a polygon each side is moved inwards and cut with its neighbours.
    fn inner(&self) -> Footprint {
        let t = self.thickness;
        let shape = match &self.outline.shape {
            Shape::Rectangle { width, depth } => Shape::Rectangle {
                width: (width - 2.0 * t).max(0.0),
                depth: (depth - 2.0 * t).max(0.0),
            },
            Shape::Circle { diameter } => Shape::Circle {
                diameter: (diameter - 2.0 * t).max(0.0),
            },
            Shape::Polygon { corners } => {
                let turned = if corners.signed_area() < 0.0 { -t } else { t };
                let n = corners.len();
                // a point of each side moved inwards, and its direction
                let sides: Vec<(Point, Point)> = (0..n)
                    .map(|i| {
                        let (a, b) = (corners[i], corners[(i + 1) % n]);
                        let (ex, ey) = (b.x - a.x, b.y - a.y);
                        let length = ex.hypot(ey);
                        let (ux, uy) = (ex / length, ey / length);
                        let moved = Point::new(a.x - turned * uy, a.y + turned * ux);
                        (moved, Point::new(ux, uy))
                    })
                    .collect();
                let inner = (0..n).map(|i| {
                    let ((p, u), (q, v)) = (sides[(i + n - 1) % n], sides[i]);
                    let cross = u.x * v.y - u.y * v.x;
                    if cross.abs() < 1e-9 {
                        return q;
                    }
                    let s = ((q.x - p.x) * v.y - (q.y - p.y) * v.x) / cross;
                    Point::new(p.x + s * u.x, p.y + s * u.y)
                });
                Shape::Polygon {
                    corners: inner.collect::<Vec<_>>().into(),
                }
            }
        };
        Footprint {
            shape,
            ..self.outline.clone()
        }
    }
}
