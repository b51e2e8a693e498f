//! Parts anywhere on a raster: shelves first, then a search that exchanges one part for another until there is room for
//! one more.
//!
//! The search keeps for each place how many parts stand in its way. A place with none is taken; else one with a single part
//! in its way takes that one's turn, that which was changed longest ago of some that are drawn; now and then one with two.
//! (The scheme of iterated (1, 2)-swaps for independent sets, Andrade, Resende and Werneck 2012.)

use super::puzzle::{At, Puzzle};
use crate::numeric::random::Normals;
use crate::progress::{Cancelled, Progress};

/// Places without a part in their way are looked at by so many draws, those with one by so many.
const DRAWN: usize = 24;

/// The best arrangement on shelves along x: rows of one pose, each row filled from the left, rows where they hold most.
pub(super) fn shelves(puzzle: &Puzzle) -> Vec<At> {
    let mut best: Vec<(usize, Option<(usize, usize)>)> = vec![(0, None)];
    // shelves end where the rows do, or beyond: what lies on the last row of nodes reaches further
    let deep: Vec<usize> = (0..puzzle.takes.len())
        .map(|pose| {
            let kernels = puzzle.clash.iter().zip(&puzzle.clash[pose]);
            let rows = |k: &super::puzzle::Kernel| k.from + k.spans.len() as i32;
            kernels.map(|(_, k)| rows(k)).max().unwrap_or(1).max(1) as usize
        })
        .collect();
    let reach = deep.iter().copied().max().unwrap_or(1);
    let shelf = |pose: usize, row: usize| -> Vec<At> {
        let mut out: Vec<At> = Vec::new();
        for column in 0..puzzle.columns {
            let at = At { pose, column, row };
            if puzzle.may(at) && out.last().is_none_or(|last| !puzzle.clashes(*last, at)) {
                out.push(at);
            }
        }
        out
    };
    for end in 1..puzzle.rows + reach {
        let mut here = (best[end - 1].0, None);
        for (pose, &deep) in deep.iter().enumerate() {
            let Some(row) = end.checked_sub(deep).filter(|row| *row < puzzle.rows) else {
                continue;
            };
            let count = best[row].0 + shelf(pose, row).len();
            if count > here.0 {
                here = (count, Some((pose, row)));
            }
        }
        best.push(here);
    }
    let mut out = Vec::new();
    let mut end = best.len() - 1;
    while end > 0 {
        match best[end].1 {
            None => end -= 1,
            Some((pose, row)) => {
                out.extend(shelf(pose, row));
                end = row;
            }
        }
    }
    // what shelves of other poses reach into is left out
    let mut kept: Vec<At> = Vec::new();
    for at in out {
        if kept.iter().all(|k| !puzzle.clashes(*k, at)) {
            kept.push(at);
        }
    }
    kept
}

/// Columns for rows.
pub(super) fn across(puzzle: &Puzzle) -> Puzzle {
    let turned = |kernel: &super::puzzle::Kernel| {
        let (from, to) = kernel.columns();
        let mut spans = vec![(1, 0); (to - from + 1).max(0) as usize];
        for (column, row) in kernel.offsets() {
            let span = &mut spans[(column - from) as usize];
            *span = if span.0 > span.1 {
                (row, row)
            } else {
                (span.0.min(row), span.1.max(row))
            };
        }
        super::puzzle::Kernel { from, spans }
    };
    let masks = puzzle.allowed.iter().map(|allowed| {
        (0..puzzle.columns)
            .flat_map(|c| (0..puzzle.rows).map(move |r| (c, r)))
            .map(|(column, row)| allowed[puzzle.node(column, row)])
            .collect()
    });
    Puzzle {
        columns: puzzle.rows,
        rows: puzzle.columns,
        allowed: masks.collect(),
        clash: puzzle
            .clash
            .iter()
            .map(|of| of.iter().map(turned).collect())
            .collect(),
        takes: puzzle.takes.iter().map(turned).collect(),
    }
}

/// Shelves along x or along y, whichever hold more.
pub(super) fn both_shelves(puzzle: &Puzzle) -> Vec<At> {
    let along = shelves(puzzle);
    let back = |at: At| At {
        column: at.row,
        row: at.column,
        ..at
    };
    let deep: Vec<At> = shelves(&across(puzzle)).into_iter().map(back).collect();
    if deep.len() > along.len() {
        deep
    } else {
        along
    }
}

/// What the search knows.
struct Search<'a> {
    puzzle: &'a Puzzle,
    /// Parts in the way of each place, by pose and node.
    in_way: Vec<Vec<u16>>,
    /// Places with none and with one in their way, and where each of them stands in the list.
    lists: [Vec<u32>; 2],
    stands: Vec<u32>,
    parts: Vec<At>,
    /// When a place was last taken or left.
    since: Vec<u32>,
    normals: Normals,
}

const NOWHERE: u32 = u32::MAX;

impl<'a> Search<'a> {
    fn new(puzzle: &'a Puzzle, seed: u64) -> Self {
        let nodes = puzzle.columns * puzzle.rows;
        let poses = puzzle.allowed.len();
        let mut search = Self {
            puzzle,
            in_way: vec![vec![0; nodes]; poses],
            lists: [Vec::new(), Vec::new()],
            stands: vec![NOWHERE; nodes * poses],
            parts: Vec::new(),
            since: vec![0; nodes * poses],
            normals: Normals::new(seed, 0x9_1ace),
        };
        for at in puzzle.places() {
            let id = search.id(at);
            search.put(0, id);
        }
        search
    }

    fn id(&self, at: At) -> u32 {
        ((at.pose * self.puzzle.rows + at.row) * self.puzzle.columns + at.column) as u32
    }

    fn at(&self, id: u32) -> At {
        let id = id as usize;
        let nodes = self.puzzle.columns * self.puzzle.rows;
        let (pose, node) = (id / nodes, id % nodes);
        At {
            pose,
            column: node % self.puzzle.columns,
            row: node / self.puzzle.columns,
        }
    }

    fn put(&mut self, list: usize, id: u32) {
        self.stands[id as usize] = self.lists[list].len() as u32;
        self.lists[list].push(id);
    }

    fn take_out(&mut self, list: usize, id: u32) {
        let place = self.stands[id as usize] as usize;
        self.stands[id as usize] = NOWHERE;
        self.lists[list].swap_remove(place);
        if let Some(&moved) = self.lists[list].get(place) {
            self.stands[moved as usize] = place as u32;
        }
    }

    /// A part more or less in the way of all that it excludes.
    fn change(&mut self, at: At, more: bool) {
        let puzzle = self.puzzle;
        for pose in 0..puzzle.allowed.len() {
            let kernel = &puzzle.clash[at.pose][pose];
            for (row, &(from, to)) in (kernel.from + at.row as i32..).zip(&kernel.spans) {
                if row < 0 || row >= puzzle.rows as i32 {
                    continue;
                }
                let from = (at.column as i32 + from).max(0);
                let to = (at.column as i32 + to).min(puzzle.columns as i32 - 1);
                for column in from..=to {
                    let (column, row) = (column as usize, row as usize);
                    let node = puzzle.node(column, row);
                    if !puzzle.allowed[pose][node] {
                        continue;
                    }
                    let was = self.in_way[pose][node];
                    let now = if more { was + 1 } else { was - 1 };
                    self.in_way[pose][node] = now;
                    let id = self.id(At { pose, column, row });
                    if was < 2 {
                        self.take_out(usize::from(was), id);
                    }
                    if now < 2 {
                        self.put(usize::from(now), id);
                    }
                }
            }
        }
    }

    fn add(&mut self, at: At, now: u32) {
        self.parts.push(at);
        let id = self.id(at) as usize;
        self.since[id] = now;
        self.change(at, true);
    }

    fn remove(&mut self, index: usize, now: u32) {
        let at = self.parts.swap_remove(index);
        let id = self.id(at) as usize;
        self.since[id] = now;
        self.change(at, false);
    }

    /// Takes a place and whatever stands in its way out.
    fn force(&mut self, at: At, now: u32) {
        let mut index = 0;
        while index < self.parts.len() {
            if self.puzzle.clashes(self.parts[index], at) {
                self.remove(index, now);
            } else {
                index += 1;
            }
        }
        self.add(at, now);
    }

    /// Of some places of a list that are drawn the one that was changed longest ago.
    fn oldest(&mut self, list: usize, draws: usize) -> Option<At> {
        let n = self.lists[list].len();
        if n == 0 {
            return None;
        }
        let mut best: Option<u32> = None;
        for _ in 0..draws {
            let id = self.lists[list][below(n, &mut self.normals)];
            // a part itself stands in its own way only
            if list == 1 && self.parts.contains(&self.at(id)) {
                continue;
            }
            if best.is_none_or(|b| self.since[id as usize] < self.since[b as usize]) {
                best = Some(id);
            }
        }
        best.map(|id| self.at(id))
    }
}

/// A whole number from 0 to below `n`, the same for the same stream.
fn below(n: usize, normals: &mut Normals) -> usize {
    // the fraction of a normal number, blown up, is even for all that matters here
    let z = normals.draw() * 1e4;
    ((z - z.floor()) * n as f64) as usize % n.max(1)
}

/// Searches on from parts that hold, for so many exchanges. `told` is given every better arrangement and says whether that
/// is enough.
///
/// # Errors
/// [`Cancelled`].
pub(super) fn search(
    puzzle: &Puzzle,
    start: &[At],
    exchanges: usize,
    seed: u64,
    told: &mut dyn FnMut(&[At]) -> bool,
    progress: &Progress,
) -> Result<Vec<At>, Cancelled> {
    let mut search = Search::new(puzzle, seed);
    for &at in start {
        search.add(at, 0);
    }
    let mut best = start.to_vec();
    let mut stale = 0usize;
    for round in 1..=exchanges as u32 {
        if round % 64 == 0 {
            progress.check()?;
        }
        while let Some(at) = search.oldest(0, 6) {
            search.add(at, round);
        }
        if search.parts.len() > best.len() {
            best = search.parts.clone();
            stale = 0;
            if told(&best) {
                break;
            }
        }
        stale += 1;
        let upset = stale % 400 == 399;
        let next = if upset { None } else { search.oldest(1, DRAWN) };
        match next {
            Some(at) => search.force(at, round),
            None => {
                // nothing to exchange one for one, or it has been long enough: a place that costs more
                let all = puzzle.columns * puzzle.rows * puzzle.allowed.len();
                for _ in 0..200 {
                    let id = below(all, &mut search.normals) as u32;
                    let at = search.at(id);
                    if puzzle.may(at) && !search.parts.contains(&at) {
                        search.force(at, round);
                        break;
                    }
                }
            }
        }
        if stale > 4000 && search.parts.len() + 2 < best.len() {
            // back to the best, and on from there another way
            while !search.parts.is_empty() {
                search.remove(search.parts.len() - 1, round);
            }
            for &at in &best {
                search.add(at, round);
            }
            stale = 0;
        }
    }
    Ok(best)
}
