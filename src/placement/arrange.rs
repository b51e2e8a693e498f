//! Arrangements over all places that lie so far inside the limits: regular arrays of all rasters that go with a part, or
//! parts anywhere.

use super::anywhere::OfFree;
use super::cells::{Cell, Grid, cells};
use super::free::{both_shelves, search};
use super::layout::{Layout, Need, nested};
use super::light::Light;
use super::puzzle::{At, Puzzle};
use super::rows::{Array, Mask, Pitches, most};
use super::{Bars, Bed, Kind, Lattice, Part, Shift, Unplaceable};
use crate::geometry::{Point, Shape};
use crate::progress::{Cancelled, Progress};

/// Nodes of a raster, about.
const NODES: f64 = 24_000.0;
/// A raster is no finer than this, mm.
const FINEST: f64 = 0.5;
/// More parts than this can't be handled.
const MOST_PARTS: f64 = 3000.0;

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

/// All rasters of a question.
pub(super) struct Rasters {
    rows: Vec<OfRows>,
    free: Option<OfFree>,
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
            let inner = (
                bounds.width() - 2.0 * bed.rim,
                bounds.depth() - 2.0 * bed.rim,
            );
            let free = (inner.0 - reach.0, inner.1 - reach.1);
            (free.0 >= -1e-6 && free.1 >= -1e-6)
                .then_some((reach, (free.0.max(0.0), free.1.max(0.0))))
        };
        let poses: Vec<bool> = part
            .poses()
            .into_iter()
            .filter(|p| room(*p).is_some())
            .collect();
        if poses.is_empty() {
            return Err(Unplaceable::TooLarge);
        }
        for &turned in &poses {
            let Some((reach, free)) = room(turned) else {
                continue;
            };
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
        let steps = self
            .rows
            .iter()
            .flat_map(|r| [r.grid.step.0, r.grid.step.1]);
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
            Mask {
                columns: rows,
                rows: columns,
                free,
            }
        } else {
            Mask {
                columns,
                rows,
                free,
            }
        }
    }

    fn pitches(&self) -> Pitches<'_> {
        let (along, across) = match self.shift {
            Shift::Columns => (
                (self.least.1, self.grid.step.1),
                (self.least.0, self.grid.step.0),
            ),
            _ => (
                (self.least.0, self.grid.step.0),
                (self.least.1, self.grid.step.1),
            ),
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
            nested: (shifted && self.circles)
                .then(|| Box::new(closer) as Box<dyn Fn(usize) -> usize>),
        }
    }

    fn layout(&self, array: Array, nodes: Vec<(usize, usize)>) -> Layout {
        let back = |(a, b): (usize, usize)| {
            if self.shift == Shift::Columns {
                (b, a)
            } else {
                (a, b)
            }
        };
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
