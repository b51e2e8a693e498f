//! Sums over the cells that places take: what a bound by weights is made of.

use super::puzzle::{Kernel, Puzzle};

/// The grid of cells that places take: that of the nodes and as many around as places reach beyond.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Cells {
    pub columns: usize,
    pub rows: usize,
    left: i32,
    front: i32,
}

impl Cells {
    pub fn of(puzzle: &Puzzle) -> Self {
        let (mut left, mut right, mut front, mut back) = (0, 0, 0, 0);
        for kernel in &puzzle.takes {
            let (a, b) = kernel.columns();
            (left, right) = (left.min(a), right.max(b));
            front = front.min(kernel.from);
            back = back.max(kernel.from + kernel.spans.len() as i32 - 1);
        }
        Self {
            columns: puzzle.columns + (right - left) as usize,
            rows: puzzle.rows + (back - front) as usize,
            left,
            front,
        }
    }

    /// The number of the cell at an offset from a node.
    pub fn cell(&self, column: i32, row: i32) -> usize {
        (row - self.front) as usize * self.columns + (column - self.left) as usize
    }
}

/// For each node of a pose the sum of the cells that a place there takes.
pub(super) fn over_cells(
    cells: &[f64],
    grid: Cells,
    puzzle: &Puzzle,
    kernel: &Kernel,
    out: &mut [f64],
) {
    let (columns, rows) = (puzzle.columns, puzzle.rows);
    out.fill(0.0);
    let mut running = vec![0.0; grid.columns + 1];
    if kernel.is_rectangle() {
        let Some(&(a, b)) = kernel.spans.first() else {
            return;
        };
        let (a, b) = ((a - grid.left) as usize, (b - grid.left + 1) as usize);
        let deep = kernel.spans.len();
        let front = (kernel.from - grid.front) as usize;
        // rows first, then a window that slides over them
        let mut of_rows = vec![0.0; columns * grid.rows];
        for row in 0..grid.rows {
            sum_up(
                &cells[row * grid.columns..(row + 1) * grid.columns],
                &mut running,
            );
            for column in 0..columns {
                of_rows[row * columns + column] = running[column + b] - running[column + a];
            }
        }
        for row in 0..rows {
            let into = row * columns;
            for k in 0..deep {
                let from = (row + front + k) * columns;
                for column in 0..columns {
                    out[into + column] += of_rows[from + column];
                }
            }
        }
        return;
    }
    for row in 0..grid.rows {
        sum_up(
            &cells[row * grid.columns..(row + 1) * grid.columns],
            &mut running,
        );
        for (k, &(a, b)) in kernel.spans.iter().enumerate() {
            let node = row as i32 + grid.front - kernel.from - k as i32;
            if node < 0 || node >= rows as i32 || a > b {
                continue;
            }
            let (a, b) = ((a - grid.left) as usize, (b - grid.left + 1) as usize);
            let into = &mut out[node as usize * columns..(node as usize + 1) * columns];
            for (column, sum) in into.iter_mut().enumerate() {
                *sum += running[column + b] - running[column + a];
            }
        }
    }
}

/// Adds to each cell the sum of the places of a pose that take it.
pub(super) fn onto_cells(
    places: &[f64],
    grid: Cells,
    puzzle: &Puzzle,
    kernel: &Kernel,
    out: &mut [f64],
) {
    let columns = puzzle.columns;
    let mut change = vec![0.0; grid.columns + 1];
    if kernel.is_rectangle() {
        let Some(&(a, b)) = kernel.spans.first() else {
            return;
        };
        let (a, b) = ((a - grid.left) as usize, (b - grid.left + 1) as usize);
        let front = (kernel.from - grid.front) as usize;
        for row in 0..puzzle.rows {
            let of_row = &places[row * columns..(row + 1) * columns];
            if of_row.iter().all(|v| *v == 0.0) {
                continue;
            }
            change.fill(0.0);
            for (column, v) in of_row.iter().enumerate() {
                change[column + a] += v;
                change[column + b] -= v;
            }
            let mut sum = 0.0;
            for v in &mut change {
                sum += *v;
                *v = sum;
            }
            for k in 0..kernel.spans.len() {
                let from = (row + front + k) * grid.columns;
                let into = &mut out[from..from + grid.columns];
                into.iter_mut().zip(&change).for_each(|(o, v)| *o += v);
            }
        }
        return;
    }
    for row in 0..puzzle.rows {
        let of_row = &places[row * columns..(row + 1) * columns];
        if of_row.iter().all(|v| *v == 0.0) {
            continue;
        }
        for (k, &(a, b)) in kernel.spans.iter().enumerate() {
            if a > b {
                continue;
            }
            let (a, b) = ((a - grid.left) as usize, (b - grid.left + 1) as usize);
            change.fill(0.0);
            for (column, v) in of_row.iter().enumerate() {
                change[column + a] += v;
                change[column + b] -= v;
            }
            let from = (row as i32 + kernel.from + k as i32 - grid.front) as usize * grid.columns;
            let mut sum = 0.0;
            for (o, v) in out[from..from + grid.columns].iter_mut().zip(&change) {
                sum += v;
                *o += sum;
            }
        }
    }
}

fn sum_up(row: &[f64], running: &mut [f64]) {
    let mut sum = 0.0;
    running[0] = 0.0;
    for (value, into) in row.iter().zip(&mut running[1..]) {
        sum += value;
        *into = sum;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::random::Normals;

    #[test]
    fn sums_are_those_of_offset_by_offset() {
        let mut n = Normals::new(1, 1);
        let rectangles = Puzzle::of_rectangles(
            7,
            6,
            vec![((3, 2), vec![true; 42]), ((2, 3), vec![true; 42])],
        );
        let circles = Puzzle::of_circles((7, 6), (1.0, 1.0), 5.0, vec![true; 42]);
        for puzzle in [rectangles, circles] {
            let grid = Cells::of(&puzzle);
            let cells: Vec<f64> = (0..grid.columns * grid.rows).map(|_| n.draw()).collect();
            for kernel in &puzzle.takes {
                let places: Vec<f64> = (0..42).map(|_| n.draw()).collect();
                let mut sums = vec![0.0; 42];
                over_cells(&cells, grid, &puzzle, kernel, &mut sums);
                let mut onto = vec![0.0; cells.len()];
                onto_cells(&places, grid, &puzzle, kernel, &mut onto);
                let mut plain = vec![0.0; cells.len()];
                for row in 0..6 {
                    for column in 0..7 {
                        let taken = |(c, r): (i32, i32)| grid.cell(c + column, r + row);
                        let here = kernel.offsets().map(taken);
                        let node = (row * 7 + column) as usize;
                        let sum: f64 = here
                            .map(|cell| {
                                plain[cell] += places[node];
                                cells[cell]
                            })
                            .sum();
                        assert!((sum - sums[node]).abs() < 1e-9);
                    }
                }
                assert!(plain.iter().zip(&onto).all(|(a, b)| (a - b).abs() < 1e-9));
            }
        }
    }
}
