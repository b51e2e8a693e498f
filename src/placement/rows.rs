//! Regular arrays on a raster: of all pitches and offsets the one that holds the most parts.
//!
//! The count is exact on the raster. Rows and columns: a pitch of twice the least or more never holds more than half of
//! it, since the array with half the pitch holds all of the same places; so pitches from the least to twice the least are
//! all there are to look at. Rows that are shifted by half a pitch in turn are looked at over the same pitches.

use crate::progress::{Cancelled, Progress};

/// A regular array on a raster, in steps of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Array {
    /// From column to column.
    pub pitch_x: usize,
    /// From row to row.
    pub pitch_y: usize,
    /// Of the first column, less than the pitch.
    pub from_x: usize,
    /// Of the first row, less than the pitch.
    pub from_y: usize,
    /// Every other row is shifted by half a pitch.
    pub shifted: bool,
}

/// Which arrays are looked at.
pub(super) struct Pitches<'a> {
    /// The least from column to column, in steps.
    pub least_x: usize,
    /// The least from row to row.
    pub least_y: usize,
    /// Every other row is shifted by half a pitch.
    pub shifted: bool,
    /// The least from a row to the next with that shift, for a pitch, both in steps: circles lie closer so.
    pub nested: Option<Box<dyn Fn(usize) -> usize + 'a>>,
}

/// A raster of places, each free or not, row after row.
#[derive(Debug, Clone, Copy)]
pub(super) struct Mask<'a> {
    pub columns: usize,
    pub rows: usize,
    pub free: &'a [bool],
}

impl Array {
    /// Its nodes on a raster of so many columns and rows.
    pub fn nodes(self, columns: usize, rows: usize) -> Vec<(usize, usize)> {
        let mut nodes = Vec::new();
        for (i, row) in (self.from_y..rows).step_by(self.pitch_y).enumerate() {
            let shift = if self.shifted && i % 2 == 1 {
                self.pitch_x / 2
            } else {
                0
            };
            let first = (self.from_x + shift) % self.pitch_x;
            nodes.extend((first..columns).step_by(self.pitch_x).map(|c| (c, row)));
        }
        nodes
    }

    /// Those of its nodes that are free.
    pub fn on(self, mask: Mask<'_>) -> Vec<(usize, usize)> {
        let mut nodes = self.nodes(mask.columns, mask.rows);
        nodes.retain(|&(column, row)| mask.free[row * mask.columns + column]);
        nodes
    }
}

/// The array that holds the most free places, and how many; `None` where none is free. Of those that hold as many the one
/// of the least pitches.
///
/// # Errors
/// [`Cancelled`].
pub(super) fn most(
    mask: Mask<'_>,
    pitches: &Pitches<'_>,
    progress: &Progress,
) -> Result<Option<(usize, Array)>, Cancelled> {
    let Mask {
        columns,
        rows,
        free,
    } = mask;
    let Some(rows_used) = used(mask) else {
        return Ok(None);
    };
    let mut best: Option<(usize, Array)> = None;
    let mut along: Vec<u16> = Vec::new();
    let mut sums: Vec<u16> = Vec::new();
    let mut other: Vec<u16> = Vec::new();
    let step_x = if pitches.shifted { 2 } else { 1 };
    let first_x = if pitches.shifted {
        pitches.least_x.next_multiple_of(2)
    } else {
        pitches.least_x
    };
    for pitch_x in (first_x..2 * pitches.least_x.max(1)).step_by(step_x) {
        progress.check()?;
        let width = pitch_x;
        // of each row how many places are free on each of the offsets
        along.clear();
        along.resize(width * rows, 0);
        for row in rows_used.clone() {
            let of_row = &free[row * columns..(row + 1) * columns];
            let into = &mut along[row * width..(row + 1) * width];
            for part in of_row.chunks(width) {
                for (sum, free) in into.iter_mut().zip(part) {
                    *sum += u16::from(*free);
                }
            }
        }
        let nested = pitches.nested.as_ref().filter(|_| pitches.shifted);
        let least_y = nested.map_or(pitches.least_y, |least| least(pitch_x).max(1));
        for pitch_y in least_y..2 * pitches.least_y.max(least_y) {
            // rows beyond those that hold anything are no other arrays
            let last = rows_used.start + pitch_y.min(rows_used.len());
            for from in rows_used.start..last {
                sums.clear();
                sums.resize(width, 0);
                other.clear();
                other.resize(width, 0);
                for (i, row) in (from..rows_used.end).step_by(pitch_y).enumerate() {
                    let of_row = &along[row * width..(row + 1) * width];
                    let into = if pitches.shifted && i % 2 == 1 {
                        &mut other
                    } else {
                        &mut sums
                    };
                    into.iter_mut().zip(of_row).for_each(|(s, v)| *s += v);
                }
                if pitches.shifted {
                    let half = width / 2;
                    for (x, sum) in sums.iter_mut().enumerate() {
                        *sum += other[(x + half) % width];
                    }
                }
                let most = sums.iter().copied().max().unwrap_or(0);
                if usize::from(most) > best.map_or(0, |b| b.0) {
                    let from_x = sums.iter().position(|&s| s == most).unwrap_or(0);
                    // counted from the first row of the raster, the shift kept
                    let array = whole(pitches.shifted, (pitch_x, pitch_y), (from_x, from));
                    best = Some((usize::from(most), array));
                }
            }
        }
    }
    Ok(best)
}

/// An array that goes on to the front over the whole raster.
fn whole(
    shifted: bool,
    (pitch_x, pitch_y): (usize, usize),
    (from_x, row): (usize, usize),
) -> Array {
    let before = row / pitch_y;
    let shift = if shifted && before % 2 == 1 {
        pitch_x / 2
    } else {
        0
    };
    Array {
        pitch_x,
        pitch_y,
        from_x: (from_x + shift) % pitch_x,
        from_y: row % pitch_y,
        shifted,
    }
}

/// The rows that hold anything.
fn used(mask: Mask<'_>) -> Option<std::ops::Range<usize>> {
    let any = |row: &usize| {
        mask.free[row * mask.columns..(row + 1) * mask.columns]
            .iter()
            .any(|f| *f)
    };
    let first = (0..mask.rows).find(any)?;
    let last = (0..mask.rows).rev().find(any)?;
    Some(first..last + 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::random::Normals;

    /// Every array there is, pitches up to the whole raster, counted place by place.
    fn exhaustive(mask: Mask<'_>, pitches: &Pitches<'_>) -> usize {
        let mut best = 0;
        for pitch_x in pitches.least_x..=mask.columns.max(pitches.least_x) {
            for pitch_y in pitches.least_y..=mask.rows.max(pitches.least_y) {
                for from_x in 0..pitch_x {
                    for from_y in 0..pitch_y {
                        let array = Array {
                            pitch_x,
                            pitch_y,
                            from_x,
                            from_y,
                            shifted: false,
                        };
                        best = best.max(array.on(mask).len());
                    }
                }
            }
        }
        best
    }

    #[test]
    fn as_many_as_trying_every_pitch_and_offset() {
        let mut n = Normals::new(15, 3);
        let mut counts = Vec::new();
        for case in 0..120 {
            let (columns, rows) = (8 + case % 17, 7 + case % 13);
            let cut = -0.5 - 0.1 * (case % 9) as f64;
            // blots rather than dust: a free place is one whose neighbours' mean is high
            let noise: Vec<f64> = (0..columns * rows).map(|_| n.draw()).collect();
            let free: Vec<bool> = noise.iter().map(|v| *v > cut).collect();
            let mask = Mask {
                columns,
                rows,
                free: &free,
            };
            let pitches = Pitches {
                least_x: 2 + case % 4,
                least_y: 3 + case % 3,
                shifted: false,
                nested: None,
            };
            let found = most(mask, &pitches, &Progress::new()).unwrap();
            let count = found.map_or(0, |(count, array)| {
                assert_eq!(array.on(mask).len(), count);
                count
            });
            assert_eq!(count, exhaustive(mask, &pitches), "case {case}");
            counts.push(count);
        }
        assert!(
            counts.iter().any(|c| *c >= 20) && counts.iter().any(|c| *c <= 8),
            "{counts:?}"
        );
    }

    #[test]
    fn shifted_rows_are_counted_as_they_lie() {
        let mut n = Normals::new(16, 3);
        for case in 0..40 {
            let (columns, rows) = (14 + case % 9, 12 + case % 7);
            let free: Vec<bool> = (0..columns * rows).map(|_| n.draw() > -1.0).collect();
            let mask = Mask {
                columns,
                rows,
                free: &free,
            };
            let pitches = Pitches {
                least_x: 4,
                least_y: 3,
                shifted: true,
                nested: None,
            };
            let (count, array) = most(mask, &pitches, &Progress::new()).unwrap().unwrap();
            assert_eq!(array.on(mask).len(), count, "case {case}");
            let mut best = 0;
            for pitch_x in [4, 6] {
                for pitch_y in 3..6 {
                    for from_x in 0..pitch_x {
                        for from_y in 0..pitch_y {
                            let array = Array {
                                pitch_x,
                                pitch_y,
                                from_x,
                                from_y,
                                shifted: true,
                            };
                            best = best.max(array.on(mask).len());
                        }
                    }
                }
            }
            assert_eq!(count, best, "case {case}");
        }
    }
}
