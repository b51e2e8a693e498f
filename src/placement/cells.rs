//! For each place of a part on a raster whether there is room, and how far inside the limits it lies.

use super::light::Light;
use super::{Bars, Bed, Part};
use crate::assess::limits::Scale;
use crate::geometry::{Footprint, Point, Shape};
use crate::progress::{Cancelled, Progress};

/// A raster of centres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Grid {
    /// Node (0, 0).
    pub origin: Point,
    /// mm from node to node.
    pub step: (f64, f64),
    /// Nodes along x.
    pub columns: usize,
    /// Nodes along y.
    pub rows: usize,
}

impl Grid {
    /// The place of a node.
    pub fn node(&self, column: usize, row: usize) -> Point {
        Point::new(
            self.origin.x + column as f64 * self.step.0,
            self.origin.y + row as f64 * self.step.1,
        )
    }

    /// Nodes.
    pub fn len(&self) -> usize {
        self.columns * self.rows
    }
}

/// What is known of a part's place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Cell {
    /// How many standard uncertainties it lies inside the limits at its worst point; infinite without limits, below every
    /// number where there is no room. Where the field has no uncertainty, the logarithm of the irradiance instead.
    pub level: f32,
    /// ln of the least over the part, mW/cm².
    pub cold: f32,
    /// ln of the greatest.
    pub hot: f32,
}

/// There is no room.
pub(super) const NO_ROOM: Cell = Cell {
    level: f32::NEG_INFINITY,
    cold: f32::NEG_INFINITY,
    hot: f32::INFINITY,
};

/// Holds the light at one place against the limits.
#[derive(Debug, Clone, Copy)]
pub(super) struct Level {
    lower: Option<(f32, f32)>,
    upper: Option<(f32, f32)>,
}

impl Level {
    pub fn of(bars: &Bars) -> Self {
        let more = |scale: Scale| match scale {
            Scale::Relative => 0.0,
            Scale::Absolute => bars.calibration.unwrap_or(0.0) as f32,
        };
        let ln = |value: f64, factor: f64| (value / (factor * bars.through)).ln() as f32;
        Self {
            lower: bars
                .lower
                .map(|b| (ln(b.value, bars.allowed.0), more(b.scale))),
            upper: bars
                .upper
                .map(|b| (ln(b.value, bars.allowed.1), more(b.scale))),
        }
    }

    /// Standard uncertainties inside; without one the plain distance.
    pub fn at(&self, (ln, u): (f32, f32)) -> f32 {
        let over = |room: f32, more: f32| if u > 0.0 { room / u.hypot(more) } else { room };
        let low = self
            .lower
            .map_or(f32::INFINITY, |(bar, more)| over(ln - bar, more));
        let high = self
            .upper
            .map_or(f32::INFINITY, |(bar, more)| over(bar - ln, more));
        low.min(high)
    }
}

/// Whether there is room for a part on a bed.
pub(super) struct Room<'a> {
    part: &'a Part,
    bed: &'a Bed,
}

impl<'a> Room<'a> {
    pub fn new(part: &'a Part, bed: &'a Bed) -> Self {
        Self { part, bed }
    }

    /// Whether the part with its tolerance lies on the bed, clear of everything.
    pub fn has(&self, centre: Point, turned: bool) -> bool {
        let covers = self.part.covers(centre, turned);
        self.inside(&covers) && self.clear(&covers)
    }

    fn inside(&self, covers: &Footprint) -> bool {
        /// What rounding makes of a touch, mm.
        const TOUCH: f64 = 1e-6;
        let (outline, rim) = (&self.bed.outline, self.bed.rim);
        let there = outline.signed_distance(covers.centre);
        let (w, d) = covers.shape.size();
        if there + rim > TOUCH - 0.5 * w.min(d) {
            return false;
        }
        if let Shape::Circle { diameter } = covers.shape {
            return there + 0.5 * diameter + rim <= TOUCH;
        }
        if there + 0.5 * w.hypot(d) + rim <= TOUCH {
            return true;
        }
        let far = |p: &Point| outline.signed_distance(*p) + rim <= TOUCH;
        covers.outline().iter().all(far)
            && match outline.shape {
                // a dent can reach in between two corners
                Shape::Polygon { .. } => {
                    outline.covers(covers) && covers.lattice(3.0).iter().all(far)
                }
                _ => true,
            }
    }

    fn clear(&self, covers: &Footprint) -> bool {
        if self.bed.barred.is_empty() {
            return true;
        }
        let more = 2.0 * self.part.clearance;
        let grown = match covers.shape {
            Shape::Circle { diameter } => Shape::Circle {
                diameter: diameter + more,
            },
            _ => {
                let (width, depth) = covers.shape.size();
                Shape::Rectangle {
                    width: width + more,
                    depth: depth + more,
                }
            }
        };
        let grown = Footprint::new(grown, covers.centre);
        self.bed.barred.iter().all(|b| !grown.overlaps(b))
    }
}

/// Points that stand for all of a part with its tolerance, as offsets from its centre, mm: at most so far apart, its rim
/// included.
pub(super) fn offsets(part: &Part, turned: bool, most: usize) -> Vec<Point> {
    /// The field is smooth over less, mm.
    const FINE: f64 = 2.5;
    let covers = part.covers(Point::new(0.0, 0.0), turned);
    let mut step = FINE;
    let mut points = covers.lattice(step);
    while points.len() > most && points.len() > 9 {
        step *= 1.2;
        points = covers.lattice(step);
    }
    points
}

/// Every place of a pose on a raster.
pub(super) fn cells(
    (part, bed): (&Part, &Bed),
    turned: bool,
    grid: Grid,
    (light, bars): (&Light, &Bars),
    progress: &Progress,
) -> Result<Vec<Cell>, Cancelled> {
    /// Points of a part that are looked at.
    const POINTS: usize = 100;
    let room = Room::new(part, bed);
    let level = Level::of(bars);
    let offsets = offsets(part, turned, POINTS);
    let mut out = vec![NO_ROOM; grid.len()];
    for row in 0..grid.rows {
        progress.check()?;
        for column in 0..grid.columns {
            let centre = grid.node(column, row);
            if room.has(centre, turned) {
                out[row * grid.columns + column] = cell(centre, &offsets, light, level);
            }
        }
    }
    Ok(out)
}

/// One place.
pub(super) fn cell(centre: Point, offsets: &[Point], light: &Light, level: Level) -> Cell {
    let mut cell = Cell {
        level: f32::INFINITY,
        cold: f32::INFINITY,
        hot: f32::NEG_INFINITY,
    };
    for offset in offsets {
        let there = light.at(Point::new(centre.x + offset.x, centre.y + offset.y));
        cell.level = cell.level.min(level.at(there));
        cell.cold = cell.cold.min(there.0);
        cell.hot = cell.hot.max(there.0);
    }
    cell
}
