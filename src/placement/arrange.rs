//! Arrangements over all places that lie so far inside the limits: regular arrays of all rasters that go with a part, or
//! parts anywhere.

use super::cells::{Cell, Grid, cells};
use super::free::{both_shelves, search};
use super::light::Light;
use super::puzzle::{At, Kernel, Puzzle};
use super::rows::{Array, Mask, Pitches, most};
use super::{Bars, Bed, Kind, Lattice, Part, Shift, Unplaceable};
use crate::geometry::{Point, Shape};
use crate::progress::{Cancelled, Progress};

/// Nodes of a raster, about.
const NODES: f64 = 24_000.0;
const NODES_OF_FREE: f64 = 12_000.0;
const NODES_OF_CIRCLES: f64 = 14_000.0;
/// A raster is no finer than this, mm.
const FINEST: f64 = 0.5;
/// More parts than this can't be handled.
const MOST_PARTS: f64 = 3000.0;

/// What has to hold of a place that is used: as far inside, at least as bright, at most as bright (ln mW/cm²).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Need {
    pub level: f32,
    pub cold: f32,
    pub hot: f32,
}

impl Need {
    /// Only so far inside the limits.
    pub fn level(level: f32) -> Self {
        Self { level, cold: f32::NEG_INFINITY, hot: f32::INFINITY }
    }

    fn met(&self, cell: &Cell) -> bool {
        cell.level > f32::NEG_INFINITY
            && cell.level >= self.level
            && cell.cold >= self.cold
            && cell.hot <= self.hot
    }
}

/// Parts arranged.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Layout {
    /// Centre of each, whether it is turned, and its cell.
    pub parts: Vec<(Point, bool, Cell)>,
    pub lattice: Option<Lattice>,
}

/// A raster on which arrays are looked for.
struct OfRows {
    grid: Grid,
    cells: Vec<Cell>,
    turned: bool,
    shift: Shift,
    least: (usize, usize),
    /// Circles, of so many steps: shifted rows lie closer.
    circles: bool,
}

/// The raster on which parts lie anywhere.
struct OfFree {
    /// Of each pose.
    grids: Vec<Grid>,
    poses: Vec<bool>,
    cells: Vec<Vec<Cell>>,
    pitch: Vec<(f64, f64)>,
    circles: bool,
}

/// All rasters of a question.
pub(super) struct Rasters {
    rows: Vec<OfRows>,
    free: Option<OfFree>,
}

/// Of two rows of circles that are shifted by half a pitch the least step, in terms of the least pitch, which is the
/// distance of their middles.
fn nested(pitch: f64, apart: f64) -> f64 {
    (apart * apart - 0.25 * pitch * pitch).max(0.25 * apart * apart).sqrt()
}

impl Rasters {
    /// Looks at every place on each raster.
    ///
    /// # Errors
    /// The part does not fit, or is so small that more would than can be handled.
    pub fn of(
        (part, bed): (&Part, &Bed),
        (light, bars): (&Light, &Bars),
        kind: Kind,
        progress: &Progress,
    ) -> Result<Self, Unplaceable> {
        let bounds = bed.outline.bounds();
        let circles = matches!(part.shape, Shape::Circle { .. });
        let mut rows = Vec::new();
        let room = |turned: bool| {
            let reach = part.reach(turned);
            let inner = (bounds.width() - 2.0 * bed.rim, bounds.depth() - 2.0 * bed.rim);
            let free = (inner.0 - reach.0, inner.1 - reach.1);
            (free.0 >= -1e-6 && free.1 >= -1e-6).then_some((reach, (free.0.max(0.0), free.1.max(0.0))))
        };
        let poses: Vec<bool> = part.poses().into_iter().filter(|p| room(*p).is_some()).collect();
        if poses.is_empty() {
            return Err(Unplaceable::TooLarge);
        }
        for &turned in &poses {
            let Some((reach, free)) = room(turned) else { continue };
            let pitch = (reach.0 + part.clearance, reach.1 + part.clearance);
            if (free.0 / pitch.0 + 1.0) * (free.1 / pitch.1 + 1.0) > MOST_PARTS {
                return Err(Unplaceable::TooSmall);
            }
            let origin = Point::new(
                bounds.min.x + bed.rim + 0.5 * reach.0,
                bounds.min.y + bed.rim + 0.5 * reach.1,
            );
            let target = (free.0 * free.1 / NODES).sqrt().max(FINEST);
            let shifts: &[Shift] = match kind {
                Kind::Rows { shifted: false } => &[Shift::None],
                _ => &[Shift::None, Shift::Rows, Shift::Columns],
            };
            let even = |length: f64| (2.0 * (0.5 * length / target).ceil()).max(2.0);
            let mut before: Option<(Grid, Vec<Cell>)> = None;
            for &shift in shifts {
                let mut steps = (pitch.0 / even(pitch.0), pitch.1 / even(pitch.1));
                let close = nested(pitch.0, pitch.0);
                if circles && shift == Shift::Rows {
                    steps.1 = close / (close / target).ceil().max(2.0);
                }
                if circles && shift == Shift::Columns {
                    steps.0 = close / (close / target).ceil().max(2.0);
                }
                let count = |free: f64, step: f64| (free / step + 1e-6).floor() as usize + 1;
                let grid = Grid {
                    origin,
                    step: steps,
                    columns: count(free.0, steps.0),
                    rows: count(free.1, steps.1),
                };
                let least = |pitch: f64, step: f64| (pitch / step - 1e-6).ceil().max(1.0) as usize;
                let known = before.as_ref().filter(|b| b.0 == grid).map(|b| b.1.clone());
                let cells = match known {
                    Some(cells) => cells,
                    None => cells((part, bed), turned, grid, (light, bars), progress)?,
                };
                before = Some((grid, cells.clone()));
                rows.push(OfRows {
                    grid,
                    cells,
                    turned,
                    shift,
                    least: (least(pitch.0, steps.0), least(pitch.1, steps.1)),
                    circles,
                });
            }
        }
        let free = match kind {
            Kind::Rows { .. } => None,
            Kind::Free => Some(OfFree::of((part, bed), (light, bars), &poses, progress)?),
        };
        Ok(Self { rows, free })
    }

    /// The finest step of the rasters of rows, mm.
    pub fn step(&self) -> f64 {
        let steps = self.rows.iter().flat_map(|r| [r.grid.step.0, r.grid.step.1]);
        steps.fold(0.0, f64::max)
    }

    /// The step of the raster on which parts lie anywhere, mm.
    pub fn step_of_free(&self) -> f64 {
        let grid = self.free.as_ref().and_then(|f| f.grids.first());
        grid.map_or(0.0, |g| g.step.0.max(g.step.1))
    }

    /// Every cell in which there is room.
    pub fn all(&self) -> impl Iterator<Item = &Cell> {
        let cells = self.rows.iter().flat_map(|r| &r.cells);
        cells.filter(|c| c.level > f32::NEG_INFINITY)
    }

    /// The array that holds the most places of which the need is met.
    pub fn rows(&self, need: Need, progress: &Progress) -> Result<Layout, Cancelled> {
        let mut best: Option<(usize, usize, Array)> = None;
        let mut free = Vec::new();
        for (i, raster) in self.rows.iter().enumerate() {
            free.clear();
            free.extend(raster.in_order().map(|cell| need.met(cell)));
            if let Some((count, array)) = most(raster.mask(&free), &raster.pitches(), progress)?
                && best.is_none_or(|b| count > b.0)
            {
                best = Some((count, i, array));
            }
        }
        let Some((_, i, array)) = best else {
            return Ok(Layout::default());
        };
        let raster = &self.rows[i];
        free.clear();
        free.extend(raster.in_order().map(|cell| need.met(cell)));
        Ok(raster.layout(array, array.on(raster.mask(&free))))
    }

    /// Parts anywhere where the need is met: shelves, and so many exchanges on from there. `start` may hold more already.
    pub fn anywhere(
        &self,
        need: Need,
        exchanges: usize,
        enough: usize,
        told: &mut dyn FnMut(Layout),
        progress: &Progress,
    ) -> Result<Layout, Cancelled> {
        let Some(free) = &self.free else {
            return self.rows(need, progress);
        };
        let puzzle = free.puzzle(need);
        let start = both_shelves(&puzzle);
        if exchanges == 0 || start.len() >= enough {
            return Ok(free.layout(&start));
        }
        let mut tell = |places: &[At]| {
            told(free.layout(places));
            places.len() >= enough
        };
        let found = search(&puzzle, &start, exchanges, 0x0f_ee, &mut tell, progress)?;
        Ok(free.layout(&found))
    }

    /// The puzzle that no arrangement anywhere can beat: every place within a step of one that is allowed, parts taken a
    /// little smaller where steps don't go into them.
    pub fn widest(&self, need: Need) -> Option<(Puzzle, Vec<Point>)> {
        self.free.as_ref().map(|free| free.widest(need))
    }
}

impl OfRows {
    /// Cells row after row, or column after column where columns are shifted.
    fn in_order(&self) -> Box<dyn Iterator<Item = &Cell> + '_> {
        let Grid { columns, rows, .. } = self.grid;
        if self.shift == Shift::Columns {
            let order = (0..columns).flat_map(move |c| (0..rows).map(move |r| r * columns + c));
            Box::new(order.map(|i| &self.cells[i]))
        } else {
            Box::new(self.cells.iter())
        }
    }

    fn mask<'a>(&self, free: &'a [bool]) -> Mask<'a> {
        let Grid { columns, rows, .. } = self.grid;
        if self.shift == Shift::Columns {
            Mask { columns: rows, rows: columns, free }
        } else {
            Mask { columns, rows, free }
        }
    }

    fn pitches(&self) -> Pitches<'_> {
        let (along, across) = match self.shift {
            Shift::Columns => ((self.least.1, self.grid.step.1), (self.least.0, self.grid.step.0)),
            _ => ((self.least.0, self.grid.step.0), (self.least.1, self.grid.step.1)),
        };
        let shifted = self.shift != Shift::None;
        // for a pitch in steps along the shift how many steps across it the next row is at the least
        let closer = move |pitch: usize| {
            let apart = along.0 as f64 * along.1;
            let least = nested(pitch as f64 * along.1, apart);
            ((least / across.1 - 1e-6).ceil() as usize).max(1)
        };
        Pitches {
            least_x: along.0,
            least_y: across.0,
            shifted,
            nested: (shifted && self.circles).then(|| Box::new(closer) as Box<dyn Fn(usize) -> usize>),
        }
    }

    fn layout(&self, array: Array, nodes: Vec<(usize, usize)>) -> Layout {
        let back = |(a, b): (usize, usize)| if self.shift == Shift::Columns { (b, a) } else { (a, b) };
        let mut nodes: Vec<(usize, usize)> = nodes.into_iter().map(back).collect();
        nodes.sort_by_key(|&(column, row)| (row, column));
        let parts: Vec<(Point, bool, Cell)> = (nodes.iter())
            .map(|&(column, row)| {
                let cell = self.cells[row * self.grid.columns + column];
                (self.grid.node(column, row), self.turned, cell)
            })
            .collect();
        let (steps_x, steps_y) = back((array.pitch_x, array.pitch_y));
        let first = parts.first().map(|p| p.0);
        Layout {
            lattice: first.map(|first| Lattice {
                first,
                pitch_x: steps_x as f64 * self.grid.step.0,
                pitch_y: steps_y as f64 * self.grid.step.1,
                shifted: self.shift,
                turned: self.turned,
            }),
            parts,
        }
    }
}

impl OfFree {
    fn of(
        (part, bed): (&Part, &Bed),
        (light, bars): (&Light, &Bars),
        poses: &[bool],
        progress: &Progress,
    ) -> Result<Self, Cancelled> {
        let bounds = bed.outline.bounds();
        let circles = matches!(part.shape, Shape::Circle { .. });
        let inner = (bounds.width() - 2.0 * bed.rim, bounds.depth() - 2.0 * bed.rim);
        let reaches: Vec<(f64, f64)> = poses.iter().map(|p| part.reach(*p)).collect();
        let pitch: Vec<(f64, f64)> =
            reaches.iter().map(|r| (r.0 + part.clearance, r.1 + part.clearance)).collect();
        let most = reaches.iter().fold((f64::INFINITY, f64::INFINITY), |m, r| (m.0.min(r.0), m.1.min(r.1)));
        let free = ((inner.0 - most.0).max(0.0), (inner.1 - most.1).max(0.0));
        let nodes = if circles { NODES_OF_CIRCLES } else { NODES_OF_FREE };
        let target = (free.0 * free.1 / nodes).sqrt().max(FINEST);
        let fitting = |length: f64| length / (length / target).ceil().max(2.0);
        let steps = if circles {
            let d = pitch[0].0;
            let close = nested(d, d);
            (d / (2.0 * (0.5 * d / target).ceil()), close / (close / target).ceil().max(2.0))
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
            let grid = Grid { origin, step: steps, columns, rows };
            all.push(cells((part, bed), turned, grid, (light, bars), progress)?);
            grids.push(grid);
        }
        Ok(Self { grids, poses: poses.to_vec(), cells: all, pitch, circles })
    }

    fn puzzle(&self, need: Need) -> Puzzle {
        let Grid { step, columns, rows, .. } = self.grids[0];
        let allowed = |cells: &Vec<Cell>| cells.iter().map(|c| need.met(c)).collect();
        if self.circles {
            return Puzzle::of_circles((columns, rows), step, self.pitch[0].0, allowed(&self.cells[0]));
        }
        let size = |pitch: &(f64, f64)| {
            let steps = |p: f64, s: f64| (p / s - 1e-6).ceil().max(1.0) as usize;
            (steps(pitch.0, step.0), steps(pitch.1, step.1))
        };
        let poses = self.pitch.iter().zip(&self.cells).map(|(p, cells)| (size(p), allowed(cells)));
        Puzzle::of_rectangles(columns, rows, poses.collect())
    }

    fn widest(&self, need: Need) -> (Puzzle, Vec<Point>) {
        let Grid { step, columns, rows, .. } = self.grids[0];
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
            puzzle.takes = vec![Kernel::disk_about((0.5, 0.5), less.max(0.75 * step.0), step)];
            return (puzzle, points);
        }
        let size = |pitch: &(f64, f64)| {
            let steps = |p: f64, s: f64| (p / s + 1e-6).floor().max(1.0) as usize;
            (steps(pitch.0, step.0), steps(pitch.1, step.1))
        };
        let poses = self.pitch.iter().map(size).zip(masks);
        (Puzzle::of_rectangles(columns, rows, poses.collect()), points)
    }

    fn layout(&self, places: &[At]) -> Layout {
        let part = |at: &At| {
            let grid = &self.grids[at.pose];
            let cell = self.cells[at.pose][at.row * grid.columns + at.column];
            (grid.node(at.column, at.row), self.poses[at.pose], cell)
        };
        Layout { parts: places.iter().map(part).collect(), lattice: None }
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
    all.min_by(|x, y| left(*x).total_cmp(&left(*y))).unwrap_or(target)
}
