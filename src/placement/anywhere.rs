//! The raster on which parts lie anywhere.

use super::cells::{Cell, Grid, cells};
use super::layout::{Layout, Need, nested};
use super::light::Light;
use super::puzzle::{At, Kernel, Puzzle};
use super::{Bars, Bed, Part};
use crate::geometry::{Point, Shape};
use crate::progress::{Cancelled, Progress};

/// Nodes of the raster, about.
const NODES: f64 = 12_000.0;
const NODES_OF_CIRCLES: f64 = 14_000.0;
/// It is no finer than this, mm.
const FINEST: f64 = 0.5;

/// The raster on which parts lie anywhere.
pub(super) struct OfFree {
    /// Of each pose.
    pub grids: Vec<Grid>,
    poses: Vec<bool>,
    cells: Vec<Vec<Cell>>,
    pitch: Vec<(f64, f64)>,
    circles: bool,
}

impl OfFree {
    pub fn of(
        (part, bed): (&Part, &Bed),
        (light, bars): (&Light, &Bars),
        poses: &[bool],
        progress: &Progress,
    ) -> Result<Self, Cancelled> {
        let bounds = bed.outline.bounds();
        let circles = matches!(part.shape, Shape::Circle { .. });
        let inner = (
            bounds.width() - 2.0 * bed.rim,
            bounds.depth() - 2.0 * bed.rim,
        );
        let reaches: Vec<(f64, f64)> = poses.iter().map(|p| part.reach(*p)).collect();
        let pitch: Vec<(f64, f64)> = reaches
            .iter()
            .map(|r| (r.0 + part.clearance, r.1 + part.clearance))
            .collect();
        let most = reaches.iter().fold((f64::INFINITY, f64::INFINITY), |m, r| {
            (m.0.min(r.0), m.1.min(r.1))
        });
        let free = ((inner.0 - most.0).max(0.0), (inner.1 - most.1).max(0.0));
        let nodes = if circles { NODES_OF_CIRCLES } else { NODES };
        let target = (free.0 * free.1 / nodes).sqrt().max(FINEST);
        let fitting = |length: f64| length / (length / target).ceil().max(2.0);
        let steps = if circles {
            let d = pitch[0].0;
            let close = nested(d, d);
            (
                d / (2.0 * (0.5 * d / target).ceil()),
                close / (close / target).ceil().max(2.0),
            )
        } else if poses.len() == 1 {
            (fitting(pitch[0].0), fitting(pitch[0].1))
        } else {
            let step = common_step(pitch[0], target);
            (step, step)
        };
        let count = |free: f64, step: f64| (free / step + 1e-6).floor() as usize + 1;
        let (columns, rows) = (count(free.0, steps.0), count(free.1, steps.1));
        let mut grids = Vec::new();
        let mut all = Vec::new();
        for (&turned, reach) in poses.iter().zip(&reaches) {
            let origin = Point::new(
                bounds.min.x + bed.rim + 0.5 * reach.0,
                bounds.min.y + bed.rim + 0.5 * reach.1,
            );
            let grid = Grid {
                origin,
                step: steps,
                columns,
                rows,
            };
            all.push(cells((part, bed), turned, grid, (light, bars), progress)?);
            grids.push(grid);
        }
        Ok(Self {
            grids,
            poses: poses.to_vec(),
            cells: all,
            pitch,
            circles,
        })
    }

    pub fn puzzle(&self, need: Need) -> Puzzle {
        let Grid {
            step,
            columns,
            rows,
            ..
        } = self.grids[0];
        let allowed = |cells: &Vec<Cell>| cells.iter().map(|c| need.met(c)).collect();
        if self.circles {
            return Puzzle::of_circles(
                (columns, rows),
                step,
                self.pitch[0].0,
                allowed(&self.cells[0]),
            );
        }
        let size = |pitch: &(f64, f64)| {
            let steps = |p: f64, s: f64| (p / s - 1e-6).ceil().max(1.0) as usize;
            (steps(pitch.0, step.0), steps(pitch.1, step.1))
        };
        let poses = self
            .pitch
            .iter()
            .zip(&self.cells)
            .map(|(p, cells)| (size(p), allowed(cells)));
        Puzzle::of_rectangles(columns, rows, poses.collect())
    }

    pub fn widest(&self, need: Need) -> (Puzzle, Vec<Point>) {
        let Grid {
            step,
            columns,
            rows,
            ..
        } = self.grids[0];
        // a place belongs to the node to its front left, and none lies before the first; it is allowed if a node around
        // it is
        let wide = |cells: &Vec<Cell>| -> Vec<bool> {
            let met = |column: usize, row: usize| {
                column < columns && row < rows && need.met(&cells[row * columns + column])
            };
            let mut out = Vec::with_capacity(columns * rows);
            for row in 0..rows {
                for column in 0..columns {
                    let (right, back) = (column + 1, row + 1);
                    let around = [(column, row), (right, row), (column, back), (right, back)];
                    out.push(around.into_iter().any(|(c, r)| met(c, r)));
                }
            }
            out
        };
        let mut points = Vec::new();
        for (grid, cells) in self.grids.iter().zip(&self.cells) {
            for row in 0..rows {
                for column in 0..columns {
                    if need.met(&cells[row * columns + column]) {
                        points.push(grid.node(column, row));
                    }
                }
            }
        }
        let masks: Vec<Vec<bool>> = self.cells.iter().map(wide).collect();
        if self.circles {
            let d = self.pitch[0].0;
            let mut masks = masks.into_iter();
            let mut puzzle =
                Puzzle::of_circles((columns, rows), step, d, masks.next().unwrap_or_default());
            // a middle is off that of its cell by up to half the diagonal
            let less = 0.5 * d - 0.5 * step.0.hypot(step.1);
            puzzle.takes = vec![Kernel::disk_about(
                (0.5, 0.5),
                less.max(0.75 * step.0),
                step,
            )];
            return (puzzle, points);
        }
        let size = |pitch: &(f64, f64)| {
            let steps = |p: f64, s: f64| (p / s + 1e-6).floor().max(1.0) as usize;
            (steps(pitch.0, step.0), steps(pitch.1, step.1))
        };
        let poses = self.pitch.iter().map(size).zip(masks);
        (
            Puzzle::of_rectangles(columns, rows, poses.collect()),
            points,
        )
    }

    pub fn layout(&self, places: &[At]) -> Layout {
        let part = |at: &At| {
            let grid = &self.grids[at.pose];
            let cell = self.cells[at.pose][at.row * grid.columns + at.column];
            (grid.node(at.column, at.row), self.poses[at.pose], cell)
        };
        Layout {
            parts: places.iter().map(part).collect(),
            lattice: None,
        }
    }
}

/// A step near the target that goes into both lengths with the least left over.
fn common_step((a, b): (f64, f64), target: f64) -> f64 {
    let left = |step: f64| {
        let one = |length: f64| (length / step - 1e-6).ceil() * step / length - 1.0;
        one(a) + one(b)
    };
    let tries = |length: f64| {
        let around = (length / target).round().max(2.0) as usize;
        let most = around + around / 3 + 1;
        ((around * 3 / 4).max(1)..=most).map(move |n| length / n as f64)
    };
    let all = tries(a).chain(tries(b));
    all.min_by(|x, y| left(*x).total_cmp(&left(*y)))
        .unwrap_or(target)
}
