//! The most parts there can be on a small raster, proven: branch and bound.
//!
//! With weights on cells as in [`super::bound`] a packing of n parts leaves `sum - n` of the weights over: on cells that no
//! part takes, and where a part covers more than 1. To hold one more than the best known, no more than `sum - best - 1` may
//! be wasted. The cell with the fewest places left is decided first: one of them, or none and its weight is wasted.

use super::bound::Weights;
use super::cover::Cells;
use super::puzzle::{At, Puzzle};
use crate::progress::{Cancelled, Progress};

/// What came of it.
#[derive(Debug, Clone)]
pub(super) struct Exact {
    /// The best packing.
    pub places: Vec<At>,
    /// There is no better one.
    pub proven: bool,
}

struct Solver<'a> {
    places: Vec<At>,
    takes: Vec<Vec<u32>>,
    clashes: Vec<Vec<u32>>,
    of_cell: Vec<Vec<u32>>,
    weights: &'a [f64],
    excess: Vec<f64>,
    total: f64,
    /// Choices that exclude a place, at the moment.
    barred: Vec<u16>,
    /// Places left for each cell that has a weight.
    left: Vec<u32>,
    taken: Vec<bool>,
    empty: Vec<bool>,
    chosen: Vec<u32>,
    best: Vec<u32>,
    best_count: usize,
    nodes: usize,
    most_nodes: usize,
}

/// Weights below this are none.
const NONE: f64 = 1e-7;
/// What all of those that are none may come to.
const ROUNDING: f64 = 1e-2;

impl Solver<'_> {
    fn bar(&mut self, place: u32) {
        self.barred[place as usize] += 1;
        if self.barred[place as usize] == 1 {
            for &cell in &self.takes[place as usize] {
                self.left[cell as usize] -= 1;
            }
        }
    }

    fn unbar(&mut self, place: u32) {
        self.barred[place as usize] -= 1;
        if self.barred[place as usize] == 0 {
            for &cell in &self.takes[place as usize] {
                self.left[cell as usize] += 1;
            }
        }
    }

    /// `false`: too many nodes.
    fn go(&mut self, wasted: f64, progress: &Progress) -> Result<bool, Cancelled> {
        self.nodes += 1;
        if self.nodes.is_multiple_of(256) {
            progress.check()?;
        }
        if self.nodes > self.most_nodes {
            return Ok(false);
        }
        // what is left over already, and the cell with the fewest places
        let mut waste = wasted;
        let mut next: Option<(u32, usize)> = None;
        for cell in 0..self.weights.len() {
            if self.weights[cell] < NONE || self.taken[cell] || self.empty[cell] {
                continue;
            }
            match self.left[cell] {
                0 => waste += self.weights[cell],
                n if next.is_none_or(|(least, at)| {
                    n < least || n == least && self.weights[cell] > self.weights[at]
                }) =>
                {
                    next = Some((n, cell));
                }
                _ => {}
            }
        }
        if self.total - waste < (self.best_count + 1) as f64 - ROUNDING {
            return Ok(true);
        }
        let Some((_, cell)) = next else {
            if self.chosen.len() > self.best_count {
                self.best_count = self.chosen.len();
                self.best = self.chosen.clone();
            }
            return Ok(true);
        };
        let here: Vec<u32> = (self.of_cell[cell].iter().copied())
            .filter(|&p| self.barred[p as usize] == 0)
            .collect();
        let mut by_waste = here.clone();
        by_waste.sort_by(|&a, &b| self.excess[a as usize].total_cmp(&self.excess[b as usize]));
        for &place in &by_waste {
            let clashes = self.clashes[place as usize].clone();
            let takes = self.takes[place as usize].clone();
            for &other in &clashes {
                self.bar(other);
            }
            for &c in &takes {
                self.taken[c as usize] = true;
            }
            self.chosen.push(place);
            let on = self.go(wasted + self.excess[place as usize], progress)?;
            self.chosen.pop();
            for &c in &takes {
                self.taken[c as usize] = false;
            }
            for &other in &clashes {
                self.unbar(other);
            }
            if !on {
                return Ok(false);
            }
        }
        self.empty[cell] = true;
        for &place in &here {
            self.bar(place);
        }
        let on = self.go(wasted + self.weights[cell], progress)?;
        for &place in &here {
            self.unbar(place);
        }
        self.empty[cell] = false;
        Ok(on)
    }
}

/// Looks for more parts than `known` holds, over at most so many nodes of the tree. `None` where there are too many places
/// for it.
///
/// # Errors
/// [`Cancelled`].
pub(super) fn exact(
    puzzle: &Puzzle,
    weights: &Weights,
    known: &[At],
    most_nodes: usize,
    progress: &Progress,
) -> Result<Option<Exact>, Cancelled> {
    /// More places are too many.
    const PLACES: usize = 2500;
    let places = puzzle.places();
    if places.len() > PLACES {
        return Ok(None);
    }
    let grid = Cells::of(puzzle);
    let takes: Vec<Vec<u32>> = (places.iter())
        .map(|at| {
            let offsets = puzzle.takes[at.pose].offsets();
            let cell = |(c, r): (i32, i32)| grid.cell(c + at.column as i32, r + at.row as i32);
            offsets
                .map(cell)
                .filter(|c| weights.of_cells[*c] >= NONE)
                .map(|c| c as u32)
                .collect()
        })
        .collect();
    // each place clashes with itself, so that it is barred once taken
    let clashes: Vec<Vec<u32>> = (places.iter())
        .map(|&a| {
            let others = places.iter().enumerate();
            others
                .filter(|(_, b)| puzzle.clashes(a, **b))
                .map(|(i, _)| i as u32)
                .collect()
        })
        .collect();
    let cells = weights.of_cells.len();
    let mut of_cell = vec![Vec::new(); cells];
    for (place, takes) in takes.iter().enumerate() {
        for &cell in takes {
            of_cell[cell as usize].push(place as u32);
        }
    }
    let small: f64 = weights.of_cells.iter().filter(|w| **w < NONE).sum();
    let total = weights.sum - small;
    let excess = (takes.iter())
        .map(|t| t.iter().map(|c| weights.of_cells[*c as usize]).sum::<f64>() - 1.0)
        .map(|e| e.max(0.0))
        .collect();
    let mut solver = Solver {
        left: of_cell.iter().map(|p| p.len() as u32).collect(),
        barred: vec![0; places.len()],
        taken: vec![false; cells],
        empty: vec![false; cells],
        chosen: Vec::new(),
        best: Vec::new(),
        best_count: known.len(),
        nodes: 0,
        most_nodes,
        weights: &weights.of_cells,
        excess,
        total,
        of_cell,
        clashes,
        takes,
        places,
    };
    let proven = solver.go(0.0, progress)?;
    let better = solver.best_count > known.len();
    let found = solver
        .best
        .iter()
        .map(|p| solver.places[*p as usize])
        .collect();
    Ok(Some(Exact {
        places: if better { found } else { known.to_vec() },
        proven,
    }))
}
