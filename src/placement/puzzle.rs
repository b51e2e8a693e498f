//! Parts on a raster: where a corner of each pose may be, which places exclude one another, and which cells a place takes.
//!
//! A pose is a part as it lies: as drawn, or turned. Its place is the raster node of its front left corner (of a circle: of
//! its middle). Two places that take a cell in common exclude each other, so that no cell is taken twice: what bounds and
//! exact searches are made of.

/// Offsets on a raster, row by row: for row `from + i` all columns from `spans[i].0` to `spans[i].1`, both included.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Kernel {
    /// The first row.
    pub from: i32,
    /// Columns of each row; empty where the second is below the first.
    pub spans: Vec<(i32, i32)>,
}

impl Kernel {
    /// All of a rectangle.
    pub fn rectangle(columns: (i32, i32), rows: (i32, i32)) -> Self {
        Self {
            from: rows.0,
            spans: vec![columns; (rows.1 - rows.0 + 1).max(0) as usize],
        }
    }

    /// All offsets nearer than `radius` mm, on a raster with these steps.
    pub fn disk(radius: f64, steps: (f64, f64)) -> Self {
        Self::disk_about((0.0, 0.0), radius, steps)
    }

    /// All offsets nearer than `radius` mm to a point that is so many steps off the node.
    pub fn disk_about(middle: (f64, f64), radius: f64, steps: (f64, f64)) -> Self {
        let radius = (radius - SLACK).max(0.0);
        let first = (middle.1 - radius / steps.1).ceil() as i32;
        let last = (middle.1 + radius / steps.1).floor() as i32;
        let span = |row: i32| {
            let dy = (f64::from(row) - middle.1) * steps.1;
            let room = (radius * radius - dy * dy).max(0.0).sqrt() / steps.0;
            (
                (middle.0 - room).ceil() as i32,
                (middle.0 + room).floor() as i32,
            )
        };
        Self {
            from: first,
            spans: (first..=last).map(span).collect(),
        }
    }

    /// Every offset: column and row.
    pub fn offsets(&self) -> impl Iterator<Item = (i32, i32)> + '_ {
        let rows = self.spans.iter().zip(self.from..);
        rows.flat_map(|(&(a, b), row)| (a..=b).map(move |column| (column, row)))
    }

    /// How many offsets.
    pub fn len(&self) -> usize {
        self.spans
            .iter()
            .map(|(a, b)| (b - a + 1).max(0) as usize)
            .sum()
    }

    /// Whether all rows have the same columns.
    pub fn is_rectangle(&self) -> bool {
        self.spans.windows(2).all(|w| w[0] == w[1])
    }

    /// Least and greatest column.
    pub fn columns(&self) -> (i32, i32) {
        let full = || self.spans.iter().filter(|s| s.0 <= s.1);
        let least = full().map(|s| s.0).min().unwrap_or(0);
        (least, full().map(|s| s.1).max().unwrap_or(0))
    }
}

/// What rounding makes of a touch, mm.
const SLACK: f64 = 1e-6;

/// Parts on a raster.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Puzzle {
    /// Nodes along x.
    pub columns: usize,
    /// Nodes along y.
    pub rows: usize,
    /// For each pose whether a part's corner may be at a node, row after row.
    pub allowed: Vec<Vec<bool>>,
    /// `clash[a][b]`: where a part of pose b can't be beside one of pose a, as offsets from that.
    pub clash: Vec<Vec<Kernel>>,
    /// The cells that a part of a pose takes, as offsets from its node.
    pub takes: Vec<Kernel>,
}

/// A place: pose and node.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) struct At {
    pub pose: usize,
    pub column: usize,
    pub row: usize,
}

impl Puzzle {
    /// Rectangles of so many cells, gaps included, that take whole cells.
    pub fn of_rectangles(
        columns: usize,
        rows: usize,
        poses: Vec<((usize, usize), Vec<bool>)>,
    ) -> Self {
        let sizes: Vec<(i32, i32)> = poses
            .iter()
            .map(|(s, _)| (s.0 as i32, s.1 as i32))
            .collect();
        let beside = |a: &(i32, i32), b: &(i32, i32)| {
            Kernel::rectangle((1 - b.0, a.0 - 1), (1 - b.1, a.1 - 1))
        };
        Self {
            columns,
            rows,
            clash: sizes
                .iter()
                .map(|a| sizes.iter().map(|b| beside(a, b)).collect())
                .collect(),
            takes: sizes
                .iter()
                .map(|s| Kernel::rectangle((0, s.0 - 1), (0, s.1 - 1)))
                .collect(),
            allowed: poses.into_iter().map(|(_, allowed)| allowed).collect(),
        }
    }

    /// Circles whose middles are `apart` mm from each other or more.
    pub fn of_circles(
        (columns, rows): (usize, usize),
        steps: (f64, f64),
        apart: f64,
        allowed: Vec<bool>,
    ) -> Self {
        Self {
            columns,
            rows,
            clash: vec![vec![Kernel::disk(apart, steps)]],
            takes: vec![Kernel::disk(0.5 * apart, steps)],
            allowed: vec![allowed],
        }
    }

    /// Number of a node.
    pub fn node(&self, column: usize, row: usize) -> usize {
        row * self.columns + column
    }

    /// Whether a part may be there.
    pub fn may(&self, at: At) -> bool {
        at.column < self.columns
            && at.row < self.rows
            && self.allowed[at.pose][self.node(at.column, at.row)]
    }

    /// Whether two places exclude each other.
    pub fn clashes(&self, a: At, b: At) -> bool {
        let kernel = &self.clash[a.pose][b.pose];
        let row = b.row as i32 - a.row as i32 - kernel.from;
        let column = b.column as i32 - a.column as i32;
        (usize::try_from(row).ok())
            .and_then(|row| kernel.spans.get(row))
            .is_some_and(|&(from, to)| (from..=to).contains(&column))
    }

    /// All places where a part may be.
    pub fn places(&self) -> Vec<At> {
        let mut all = Vec::new();
        for (pose, allowed) in self.allowed.iter().enumerate() {
            for row in 0..self.rows {
                for column in 0..self.columns {
                    if allowed[self.node(column, row)] {
                        all.push(At { pose, column, row });
                    }
                }
            }
        }
        all
    }

    /// Whether all are allowed and none excludes another.
    #[cfg(test)]
    pub fn holds(&self, places: &[At]) -> bool {
        places
            .iter()
            .enumerate()
            .all(|(i, &a)| self.may(a) && places[..i].iter().all(|&b| !self.clashes(a, b)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rectangles_clash_when_they_share_a_cell() {
        let puzzle = Puzzle::of_rectangles(
            9,
            9,
            vec![((3, 2), vec![true; 81]), ((2, 3), vec![true; 81])],
        );
        let cells = |at: At| -> Vec<(i32, i32)> {
            let moved = |(c, r): (i32, i32)| (c + at.column as i32, r + at.row as i32);
            puzzle.takes[at.pose].offsets().map(moved).collect()
        };
        for a in puzzle.places().into_iter().step_by(7) {
            for b in puzzle.places() {
                let shared = cells(a).iter().any(|cell| cells(b).contains(cell));
                assert_eq!(puzzle.clashes(a, b), shared, "{a:?} {b:?}");
            }
        }
    }

    #[test]
    fn circles_clash_when_they_are_nearer_than_they_may() {
        let puzzle = Puzzle::of_circles((11, 11), (1.0, 0.8), 3.0, vec![true; 121]);
        let middle = At {
            pose: 0,
            column: 5,
            row: 5,
        };
        for b in puzzle.places() {
            let dx = b.column as f64 - 5.0;
            let dy = 0.8 * (b.row as f64 - 5.0);
            assert_eq!(
                puzzle.clashes(middle, b),
                dx.hypot(dy) < 3.0 - 1e-6,
                "{b:?}"
            );
        }
    }
}
