//! Readings taken together: neighbours in a machine's scan say the same, and their mean says it better. Kriging of the
//! means is what exact kriging of all readings would be, as long as cells are small beside the length over which the
//! field changes.
//!
//! Of more than [`MOST_READINGS`](crate::field::MOST_READINGS) there are 400 cells, or as many as are taken one by one where
//! cells are wider than 0.12 of the length over which the field changes. A mean is geometric, at the mean place; its variance
//! is the scatter of readings about the plane of their cell over their number. All families then see cells; those that start
//! from the lamp are left out unless asked for.

use std::collections::HashMap;

use faer::Mat;

use super::Reach;
use crate::field::{LeaveOneOut, Sample};
use crate::geometry::{Bounds, Place};
use crate::numeric::cholesky::Factor;
use crate::progress::{Cancelled, Progress};

/// Heights that are kept apart; more are put into layers.
const HEIGHTS: usize = 12;
/// That many layers.
const LAYERS: usize = 8;
/// Readings of a cell from which their scatter about a plane is taken.
const FOR_SCATTER: usize = 6;
/// A scatter nobody knows: as a careful reading has it (from memory).
const TYPICAL_SCATTER: f64 = 0.012;
/// None is as exact as this.
const LEAST_SCATTER: f64 = 1e-4;
/// Places worked on at once.
const BLOCK: usize = 256;

/// Readings in cells.
#[derive(Debug)]
pub(in crate::field) struct Pooled {
    /// One a cell: the mean place, what irradiance is there by the geometric mean; cells over each other are one position.
    pub samples: Vec<Sample>,
    /// For each cell the readings in it.
    members: Vec<Vec<usize>>,
    /// Relative standard deviation of a reading about the plane through its cell.
    pub scatter: f64,
    /// The longer side of a cell, mm.
    pub side: f64,
}

impl Pooled {
    /// In at most `most` cells of one size, as square as the plan allows.
    pub fn of(samples: &[Sample], reach: &Reach, most: usize) -> Self {
        let layer = layers(reach);
        let layers = match reach.heights.len() {
            few @ ..=HEIGHTS => few,
            _ => LAYERS,
        };
        let bounds = Bounds::around(reach.positions.iter().copied());
        let (width, depth) = bounds.map_or((0.0, 0.0), |b| (b.width(), b.depth()));
        let corner = bounds.map_or_else(Default::default, |b| b.min);
        let mut side = (width * depth * layers as f64 / most as f64)
            .sqrt()
            .max((width + depth) * 1e-3);
        let along = |length: f64, side: f64| (length / side).ceil().max(1.0);
        while side > 0.0 && along(width, side) * along(depth, side) * layers as f64 > most as f64 {
            side *= 1.02;
        }
        let count = |length| if side > 0.0 { along(length, side) } else { 1.0 };
        let (columns, rows) = (count(width), count(depth));
        let cell = |v: f64, from: f64, length: f64, n: f64| {
            let part = if length > 0.0 {
                (v - from) / length
            } else {
                0.0
            };
            (part * n).min(n - 1.0) as usize
        };
        let mut number: HashMap<Cell, usize> = HashMap::new();
        let mut members: Vec<Vec<usize>> = Vec::new();
        let mut cells: Vec<Cell> = Vec::new();
        for (i, sample) in samples.iter().enumerate() {
            let at = sample.at;
            let column = cell(at.x, corner.x, width, columns);
            let row = cell(at.y, corner.y, depth, rows);
            let cell = Cell {
                column,
                row,
                layer: layer(at.height),
            };
            let n = *number.entry(cell).or_insert(members.len());
            if n == members.len() {
                members.push(Vec::new());
                cells.push(cell);
            }
            members[n].push(i);
        }
        let pooled = members.iter().zip(&cells).map(|(members, cell)| {
            let n = members.len() as f64;
            let mean = |get: &dyn Fn(&Sample) -> f64| {
                members.iter().map(|&i| get(&samples[i])).sum::<f64>() / n
            };
            // A mean of equal heights is that height, not one beside it.
            let height = samples[members[0]].at.height;
            let level = members.iter().all(|&i| samples[i].at.height == height);
            Sample {
                at: Place::new(
                    mean(&|s| s.at.x),
                    mean(&|s| s.at.y),
                    if level {
                        height
                    } else {
                        mean(&|s| s.at.height)
                    },
                ),
                irradiance: mean(&|s| s.irradiance.ln()).exp(),
                position: cell.row * columns as usize + cell.column,
                minute: None,
            }
        });
        let mut pooled: Vec<Sample> = pooled.collect();
        let table = Table {
            number: &number,
            means: &pooled,
            columns: columns as usize,
            rows: rows as usize,
        };
        let bulges: Vec<f64> = cells
            .iter()
            .zip(&members)
            .map(|(&cell, members)| table.bulge(cell, members.iter().map(|&i| samples[i].at)))
            .collect();
        for (mean, bulge) in pooled.iter_mut().zip(bulges) {
            mean.irradiance *= (-bulge).exp();
        }
        Self {
            scatter: scatter(samples, &members),
            samples: pooled,
            members,
            side: (width / columns).max(depth / rows),
        }
    }

    /// For each cell the readings in it.
    pub fn members(&self) -> &[Vec<usize>] {
        &self.members
    }

    /// Relative variance of each mean that its readings' scatter and rounding make.
    pub fn variances(&self, resolution: f64) -> Vec<f64> {
        let each = self.samples.iter().zip(&self.members);
        each.map(|(mean, members)| {
            let rounding = (resolution / mean.irradiance).powi(2) / 12.0;
            (self.scatter * self.scatter + rounding) / members.len() as f64
        })
        .collect()
    }

    /// Each reading against the field, whose `medians` these are; standardised where it has a distribution (`told`).
    /// Its own part in that is small: that of one reading in its cell, or less.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn against(
        &self,
        medians: impl Fn(&[Place], &mut [f64]),
        told: bool,
        samples: &[Sample],
        progress: &Progress,
    ) -> Result<Vec<LeaveOneOut>, Cancelled> {
        let mut out = Vec::with_capacity(samples.len());
        let mut said = [0.0; BLOCK];
        for block in samples.chunks(BLOCK) {
            progress.check()?;
            let places: Vec<Place> = block.iter().map(|s| s.at).collect();
            let said = &mut said[..block.len()];
            medians(&places, said);
            out.extend(block.iter().zip(said).map(|(s, predicted)| LeaveOneOut {
                predicted: *predicted,
                standardised: told.then(|| (s.irradiance / *predicted).ln() / self.scatter),
            }));
        }
        Ok(out)
    }
}

/// A cell by its place among all.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
struct Cell {
    column: usize,
    row: usize,
    layer: usize,
}

/// The means by their cells.
struct Table<'a> {
    number: &'a HashMap<Cell, usize>,
    means: &'a [Sample],
    columns: usize,
    rows: usize,
}

impl Table<'_> {
    /// By how much the mean over the places in a cell exceeds the logarithm at their mean place, where the field is
    /// curved: half the curvature times the second moments of the places. The curvature is that of the quadric through
    /// the means of the cell and its eight neighbours (at the rim, of the nearest cell that has eight); 0 without them.
    fn bulge(&self, cell: Cell, places: impl Iterator<Item = Place>) -> f64 {
        const TERMS: usize = 6;
        if self.columns < 3 || self.rows < 3 {
            return 0.0;
        }
        let middle = |at: usize, n: usize| at.clamp(1, n - 2);
        let (column, row) = (
            middle(cell.column, self.columns),
            middle(cell.row, self.rows),
        );
        let around = (row - 1..=row + 1).flat_map(|row| {
            (column - 1..=column + 1).map(move |column| Cell {
                column,
                row,
                ..cell
            })
        });
        let around: Option<Vec<&Sample>> = around
            .map(|cell| self.number.get(&cell).map(|&n| &self.means[n]))
            .collect();
        let (Some(around), Some(&own)) = (around, self.number.get(&cell)) else {
            return 0.0;
        };
        let centre = self.means[own].at;
        let scale = around
            .iter()
            .map(|s| s.at.point().distance(centre.point()))
            .fold(0.0, f64::max);
        let terms = |p: Place| {
            let (u, v) = ((p.x - centre.x) / scale, (p.y - centre.y) / scale);
            [1.0, u, v, u * u, u * v, v * v]
        };
        let rows: Vec<[f64; TERMS]> = around.iter().map(|s| terms(s.at)).collect();
        let normal = Mat::from_fn(TERMS, TERMS, |i, j| {
            rows.iter().map(|r| r[i] * r[j]).sum::<f64>()
        });
        let mut quadric = Mat::from_fn(TERMS, 1, |i, _| {
            let values = rows.iter().zip(&around);
            values.map(|(r, s)| r[i] * s.irradiance.ln()).sum::<f64>()
        });
        let Ok(factor) = Factor::of(normal.as_ref()) else {
            return 0.0;
        };
        factor.whiten(quadric.as_mut());
        factor.unwhiten(quadric.as_mut());
        let (mut moments, mut n) = ([0.0; 3], 0.0);
        for place in places {
            let [.., uu, uv, vv] = terms(place);
            moments = [moments[0] + uu, moments[1] + uv, moments[2] + vv];
            n += 1.0;
        }
        let bulge: f64 = (0..3)
            .map(|k| quadric[(3 + k, 0)] * moments[k])
            .sum::<f64>()
            / n;
        if bulge.is_finite() { bulge } else { 0.0 }
    }
}

/// Which layer a height is in.
fn layers(reach: &Reach) -> impl Fn(f64) -> usize {
    let few = reach.heights.len() <= HEIGHTS;
    let low = reach.heights.first().copied().unwrap_or(0.0);
    let span = reach.span().max(f64::MIN_POSITIVE);
    move |height| {
        if few {
            reach.height_block(height)
        } else {
            let part = (height - low) / span * LAYERS as f64;
            (part as usize).min(LAYERS - 1)
        }
    }
}

/// Relative standard deviation of readings about the plane through their cell, over all cells that have enough.
fn scatter(samples: &[Sample], members: &[Vec<usize>]) -> f64 {
    let (mut squares, mut freedom) = (0.0, 0.0);
    for members in members.iter().filter(|m| m.len() >= FOR_SCATTER) {
        let column = |get: &dyn Fn(&Sample) -> f64| {
            let values: Vec<f64> = members.iter().map(|&i| get(&samples[i])).collect();
            let mean = values.iter().sum::<f64>() / values.len() as f64;
            values.into_iter().map(|v| v - mean).collect::<Vec<f64>>()
        };
        let mut rest = column(&|s| s.irradiance.ln());
        let mut taken: Vec<Vec<f64>> = Vec::new();
        let coordinates: [&dyn Fn(&Sample) -> f64; 3] =
            [&|s| s.at.x, &|s| s.at.y, &|s| s.at.height];
        for get in coordinates {
            let mut along = column(get);
            let before = dot(&along, &along);
            for t in &taken {
                subtract(&mut along, t);
            }
            if dot(&along, &along) > 1e-6 * before {
                subtract(&mut rest, &along);
                taken.push(along);
            }
        }
        squares += dot(&rest, &rest);
        freedom += (members.len() - 1 - taken.len()) as f64;
    }
    let found = (squares / freedom).sqrt();
    if found.is_finite() {
        found.max(LEAST_SCATTER)
    } else {
        TYPICAL_SCATTER
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// Takes out of `from` what lies along `along`.
fn subtract(from: &mut [f64], along: &[f64]) {
    let part = dot(from, along) / dot(along, along);
    from.iter_mut().zip(along).for_each(|(f, a)| *f -= part * a);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::random::Normals;

    fn scan(heights: &[f64], noise: f64) -> Vec<Sample> {
        let mut normals = Normals::new(3, 1);
        let mut out = Vec::new();
        for &height in heights {
            for i in 0..3000_u16 {
                let (x, y) = (f64::from(i % 60) * 3.0, f64::from(i / 60) * 2.0);
                let log = 4.0 - 0.002 * x + 0.001 * y + 0.005 * height;
                out.push(Sample {
                    at: Place::new(x, y, height),
                    irradiance: (log + noise * normals.draw()).exp(),
                    position: usize::from(i),
                    minute: None,
                });
            }
        }
        out
    }

    #[test]
    fn means_of_a_plane_are_on_it_and_the_scatter_is_that_of_readings() {
        let exact = scan(&[10.0, 30.0], 0.0);
        let pooled = Pooled::of(&exact, &Reach::of(&exact), 400);
        assert!((200..=400).contains(&pooled.samples.len()));
        for s in &pooled.samples {
            let log = 4.0 - 0.002 * s.at.x + 0.001 * s.at.y + 0.005 * s.at.height;
            assert!((s.irradiance.ln() - log).abs() < 1e-12);
        }
        let counted: usize = pooled.members.iter().map(Vec::len).sum();
        assert_eq!(counted, exact.len());
        let noisy = scan(&[10.0, 30.0], 0.02);
        let pooled = Pooled::of(&noisy, &Reach::of(&noisy), 400);
        assert!((pooled.scatter - 0.02).abs() < 0.001, "{}", pooled.scatter);
        let positions: std::collections::HashSet<usize> =
            pooled.samples.iter().map(|s| s.position).collect();
        assert_eq!(2 * positions.len(), pooled.samples.len());
    }

    #[test]
    fn what_is_curved_is_not_flattened() {
        let field = |p: Place| 4.0 - ((p.x - 90.0) / 40.0).powi(2) - ((p.y - 50.0) / 30.0).powi(2);
        let mut samples = scan(&[10.0, 30.0], 0.0);
        samples
            .iter_mut()
            .for_each(|s| s.irradiance = field(s.at).exp());
        let pooled = Pooled::of(&samples, &Reach::of(&samples), 300);
        for s in &pooled.samples {
            // The mean alone is off by 0.014: cells are about 10 mm wide.
            assert!((s.irradiance.ln() - field(s.at)).abs() < 1e-3, "{s:?}");
        }
    }

    #[test]
    fn a_line_one_place_and_many_heights() {
        let line: Vec<Sample> = scan(&[10.0], 0.01)
            .into_iter()
            .filter(|s| s.at.y == 0.0)
            .collect();
        let pooled = Pooled::of(&line, &Reach::of(&line), 30);
        assert!(pooled.samples.len() <= 30 && pooled.samples.len() > 10);
        let once = vec![line[0]; 2000];
        let pooled = Pooled::of(&once, &Reach::of(&once), 400);
        assert_eq!(pooled.samples.len(), 1);
        assert_eq!(pooled.scatter, LEAST_SCATTER);
        let mut sloping = scan(&[10.0], 0.01);
        sloping.iter_mut().for_each(|s| s.at.height += 0.1 * s.at.x);
        let pooled = Pooled::of(&sloping, &Reach::of(&sloping), 400);
        assert!(pooled.samples.len() <= 400 && pooled.samples.len() > 30);
    }
}
