//! No packing holds more: an upper bound of the count.
//!
//! Weights on cells such that every allowed place covers at least 1 of them: as no cell is taken twice, no set of places is
//! larger than all weights together (weak duality of the linear relaxation, each place a variable from 0 to 1, each cell
//! taken at most once). Any such weights bound; good ones are found by the primal-dual hybrid gradient method of Chambolle
//! and Pock (2011) with the diagonal steps of Pock and Chambolle (2011), and scaled so that they hold exactly.
//!
//! Circles: no two cells of a disk of half the distance are shared, which is the bound of areas; where the middles lie in
//! a convex outline of area A and perimeter P, Oler's inequality (1961) says at most 2/√3 A/D² + P/(2D) + 1 of them, each D
//! or more from the others.

use super::cover::{Cells, onto_cells, over_cells};
use super::puzzle::{Kernel, Puzzle};
use crate::geometry::{Hull, Point};
use crate::progress::{Cancelled, Progress};

/// Weights on cells and what they come to.
#[derive(Debug, Clone)]
pub(super) struct Weights {
    /// Of each cell; a grid of its own, see [`Cells`].
    pub of_cells: Vec<f64>,
    /// All of them together: no packing holds more.
    pub sum: f64,
}

/// Weights whose sum is as small as so many rounds make it; `enough` ends the search early.
///
/// # Errors
/// [`Cancelled`].
pub(super) fn weights(
    puzzle: &Puzzle,
    rounds: usize,
    enough: &dyn Fn(f64) -> bool,
    progress: &Progress,
) -> Result<Weights, Cancelled> {
    /// Rounds between two looks at how good the weights are.
    const LOOK: usize = 20;
    /// What so many rounds do not make smaller by this share is as good as it gets.
    const STALE: usize = 240;
    const WORTH: f64 = 2e-3;
    let grid = Cells::of(puzzle);
    let (nodes, cells) = (puzzle.columns * puzzle.rows, grid.columns * grid.rows);
    let poses = puzzle.takes.len();
    let masks: Vec<Vec<f64>> = (puzzle.allowed.iter())
        .map(|a| a.iter().map(|a| f64::from(u8::from(*a))).collect())
        .collect();
    let mut covered = vec![0.0; cells];
    for (mask, kernel) in masks.iter().zip(&puzzle.takes) {
        onto_cells(mask, grid, puzzle, kernel, &mut covered);
    }
    let nothing = Weights {
        of_cells: vec![0.0; cells],
        sum: 0.0,
    };
    if covered.iter().all(|c| *c == 0.0) {
        return Ok(nothing);
    }
    let least = puzzle.takes.iter().map(Kernel::len).min().unwrap_or(1) as f64;
    // to begin with all cells that can be taken weigh the same: the bound of areas
    let mut y: Vec<f64> = covered
        .iter()
        .map(|c| if *c > 0.5 { 1.0 / least } else { 0.0 })
        .collect();
    let mut x: Vec<Vec<f64>> = masks.iter().map(|m| vec![0.0; m.len()]).collect();
    let mut found = Weights {
        sum: y.iter().sum(),
        of_cells: y.clone(),
    };
    if let Some(points) = points(puzzle, grid, &covered)
        && points.sum < found.sum
    {
        found = points;
    }
    if enough(found.sum) {
        return Ok(found);
    }
    let mut mean = y.clone();
    let mut counted = 1.0;
    let mut sums = vec![0.0; nodes];
    let mut ahead = vec![0.0; cells];
    // how far a step goes in the weights, against one in the places
    let balance = 1.0 / least;
    let mut before = f64::INFINITY;
    for round in 0..rounds {
        progress.check()?;
        ahead.fill(0.0);
        for pose in 0..poses {
            let kernel = &puzzle.takes[pose];
            over_cells(&y, grid, puzzle, kernel, &mut sums);
            let step = 0.95 / (kernel.len() as f64 * balance);
            let mut leap = vec![0.0; nodes];
            for node in 0..nodes {
                if masks[pose][node] == 0.0 {
                    continue;
                }
                let old = x[pose][node];
                let new = (old + step * (1.0 - sums[node])).clamp(0.0, 1.0);
                x[pose][node] = new;
                leap[node] = 2.0 * new - old;
            }
            onto_cells(&leap, grid, puzzle, kernel, &mut ahead);
        }
        for cell in 0..cells {
            if covered[cell] > 0.5 {
                let step = 0.95 * balance / covered[cell];
                y[cell] = (y[cell] + step * (ahead[cell] - 1.0)).max(0.0);
                mean[cell] += y[cell];
            }
        }
        counted += 1.0;
        if round % LOOK == LOOK - 1 || round + 1 == rounds {
            for candidate in [&y, &mean] {
                if let Some(held) = holding(candidate, grid, puzzle)
                    && held.sum < found.sum
                {
                    found = held;
                }
            }
            if enough(found.sum) {
                break;
            }
            if round % STALE == STALE - 1 {
                if found.sum > (1.0 - WORTH) * before {
                    break;
                }
                before = found.sum;
            }
            // a mean over the later half forgets where it came from
            if (round + 1).is_power_of_two() || round % (16 * LOOK) == LOOK - 1 {
                mean.iter_mut().for_each(|m| *m /= counted);
                counted = 1.0;
            }
        }
    }
    Ok(found)
}

/// Of one pose of rectangles: weights of 1 a part's width and depth apart, of which each place covers exactly one; of all
/// offsets the one with the fewest. On a rectangle that is the closed form.
fn points(puzzle: &Puzzle, grid: Cells, covered: &[f64]) -> Option<Weights> {
    let [kernel] = &puzzle.takes[..] else {
        return None;
    };
    if !kernel.is_rectangle() {
        return None;
    }
    let (from, to) = kernel.columns();
    let (across, deep) = ((to - from + 1) as usize, kernel.spans.len());
    if across == 0 || deep == 0 {
        return None;
    }
    let mut counts = vec![0usize; across * deep];
    for (cell, _) in covered.iter().enumerate().filter(|(_, c)| **c > 0.5) {
        let (column, row) = (cell % grid.columns, cell / grid.columns);
        counts[(row % deep) * across + column % across] += 1;
    }
    let (offset, count) = counts.into_iter().enumerate().min_by_key(|(_, n)| *n)?;
    let (left, front) = (offset % across, offset / across);
    let of_cells = covered.iter().enumerate().map(|(cell, c)| {
        let (column, row) = (cell % grid.columns, cell / grid.columns);
        f64::from(u8::from(
            *c > 0.5 && column % across == left && row % deep == front,
        ))
    });
    Some(Weights {
        of_cells: of_cells.collect(),
        sum: count as f64,
    })
}

/// Weights scaled so that every allowed place covers at least 1; `None` where some place covers nothing.
fn holding(y: &[f64], grid: Cells, puzzle: &Puzzle) -> Option<Weights> {
    let mut sums = vec![0.0; puzzle.columns * puzzle.rows];
    let mut least = f64::INFINITY;
    for (kernel, allowed) in puzzle.takes.iter().zip(&puzzle.allowed) {
        over_cells(y, grid, puzzle, kernel, &mut sums);
        for (sum, allowed) in sums.iter().zip(allowed) {
            if *allowed {
                least = least.min(*sum);
            }
        }
    }
    if !(least > 0.0 && least.is_finite()) {
        return None;
    }
    // running sums round: a hair more than needed
    let scale = (1.0 + 1e-9) / least;
    let of_cells: Vec<f64> = y.iter().map(|v| v * scale).collect();
    Some(Weights {
        sum: of_cells.iter().sum(),
        of_cells,
    })
}

/// Oler's bound for middles `apart` mm or more from each other, wherever in the convex hull of the points.
pub(super) fn of_circles(middles: &[Point], apart: f64) -> f64 {
    if middles.is_empty() {
        return 0.0;
    }
    let hull = Hull::of(middles);
    2.0 / 3f64.sqrt() * hull.area() / (apart * apart) + hull.perimeter() / (2.0 * apart) + 1.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn oler_is_met_by_the_hexagonal_packing_of_a_triangle() {
        // side 4 D: 15 middles, and the bound is exact there
        let corners = [(0.0, 0.0), (4.0, 0.0), (2.0, 2.0 * 3f64.sqrt())];
        let corners: Vec<Point> = corners.iter().map(|c| Point::new(c.0, c.1)).collect();
        assert!((of_circles(&corners, 1.0) - 15.0).abs() < 1e-9);
    }
}
