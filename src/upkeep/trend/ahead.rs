//! A lamp's level ahead: paths drawn of what is believed of it.

use faer::Mat;

use super::belief::{Belief, Cell, End};
use super::design::{Design, Role};
use super::series::Series;
use super::told::TooLittle;
use crate::numeric::cholesky::Factor;
use crate::numeric::quantile::quantile;
use crate::numeric::random::Normals;
use crate::progress::{Cancelled, Progress};
use crate::upkeep::figure::Figure;

/// How many times the length of the present lamp's data is looked ahead at most: the greatest multiple that IES TM-21-11 allows
/// (with 20 units on test). One lamp read daily is less than that; the interval says so by its width.
pub const AHEAD: f64 = 6.0;
/// Below so many days of readings nothing is said of fading.
pub const LEAST_DAYS: f64 = 5.0;
/// Below so many readings that count nothing is said of fading.
pub const LEAST_READINGS: usize = 5;

const DRAWS: usize = 4000;
/// Steps of a path to the end of what is looked at, and at how many of them the level is told.
const STEPS: usize = 160;
const TOLD: usize = 20;

/// Whether there is enough for a slope.
///
/// # Errors
/// [`TooLittle`].
pub fn enough(series: &Series, design: &Design) -> Result<(), TooLittle> {
    let counted: f64 = (design.times.iter().filter(|t| t.counts).map(|t| t.together)).sum();
    if (counted as usize) < LEAST_READINGS {
        return Err(TooLittle::Readings {
            have: counted as usize,
            need: LEAST_READINGS,
        });
    }
    if series.days() < LEAST_DAYS || series.length() <= 0.0 {
        return Err(TooLittle::Short);
    }
    Ok(())
}

/// What was drawn.
#[derive(Debug, Clone)]
pub struct Paths {
    /// How many.
    pub drawn: usize,
    /// Of those whose level falls to the limit: when, along the clock from the last time on, and a standard normal number.
    pub passed: Vec<(f64, f64)>,
    /// Along the clock from the last time on: the level's logarithm, median and what holds 95 %.
    pub levels: Vec<(f64, Figure)>,
}

/// A chi-square variable over its degrees of freedom (Wilson & Hilferty 1931).
fn chi_square_ratio(dof: f64, normal: f64) -> f64 {
    let c = 2.0 / (9.0 * dof);
    (1.0 - c + normal * c.sqrt()).powi(3).max(1e-6)
}

/// A lamp's level from now on: fading and what is left of settling, on the logarithm.
struct Path<'a> {
    level: f64,
    /// Over the whole of what is looked at.
    slope: f64,
    /// What is left of each settling, and how often it falls to 1/e in what is looked at.
    settling: Vec<(f64, f64)>,
    /// Standard deviation of the slope's logarithm over the whole: fading slows down or speeds up, a lamp does not brighten again.
    bend: f64,
    normals: &'a mut Normals,
}

impl Path<'_> {
    /// When the level is at the limit first, in parts of what is looked at: `None` not in it. The level is added to `told`.
    fn passage(self, limit: f64, told: &mut [Vec<f64>]) -> Option<f64> {
        let mut fading = self.level - self.settling.iter().map(|s| s.0).sum::<f64>();
        let mut slope = self.slope.min(0.0);
        let spread = self.bend * (1.0 / STEPS as f64).sqrt();
        let (mut before, mut level) = (0.0, self.level);
        let mut passed = (level <= limit).then_some(0.0);
        for step in 1..=STEPS {
            let at = step as f64 / STEPS as f64;
            let later = if spread > 0.0 {
                slope * (spread * self.normals.draw()).exp()
            } else {
                slope
            };
            fading += 0.5 * (at - before) * (slope + later);
            let left = (self.settling.iter()).map(|(left, times)| left * (-times * at).exp());
            let next = fading + left.sum::<f64>();
            if passed.is_none() && next <= limit {
                passed = Some(before + (at - before) * (level - limit) / (level - next));
            }
            if step % (STEPS / TOLD) == 0 {
                told[step / (STEPS / TOLD) - 1].push(next);
            }
            (before, level, slope) = (at, next, later);
        }
        passed
    }
}

/// One draw of where a lamp stands now.
fn state(cell: &Cell, end: &End, lower: &Mat<f64>, normals: &mut Normals) -> Vec<f64> {
    let ratio = chi_square_ratio(2.0 * cell.shape, normals.draw());
    let deviation = (cell.scale / cell.shape / ratio).sqrt();
    let m = end.mean.len();
    let own: Vec<f64> = (0..m).map(|_| normals.draw()).collect();
    (0..m)
        .map(|i| end.mean[i] + deviation * (0..=i).map(|j| lower[(i, j)] * own[j]).sum::<f64>())
        .collect()
}

/// Draws paths as far as [`AHEAD`] lets look. `limit` is a logarithm; endless below where there is none.
///
/// # Errors
/// [`Cancelled`].
pub fn paths(
    design: &Design,
    belief: &Belief,
    (limit, seed): (f64, u64),
    progress: &Progress,
) -> Result<Paths, Cancelled> {
    let ahead = AHEAD * design.lengths.0;
    let settles = design.roles.iter().filter_map(|role| match role {
        Role::Settling(to) => Some(AHEAD / to),
        _ => None,
    });
    let times: Vec<f64> = settles.collect();
    let mut levels = vec![Vec::new(); TOLD];
    let mut passed = Vec::new();
    let (mut cumulated, mut drawn) = (0.0, 0);
    for (index, cell) in belief.cells.iter().enumerate() {
        progress.check()?;
        cumulated += cell.weight;
        let until = ((cumulated * DRAWS as f64).round() as usize).min(DRAWS);
        let mut normals = Normals::new(seed, index as u64);
        let end = cell.end(design);
        let lower = match Factor::of(end.covariance.as_ref()) {
            Ok(factor) => factor.lower().to_owned(),
            Err(_) => Mat::zeros(end.mean.len(), end.mean.len()),
        };
        while drawn < until {
            drawn += 1;
            let now = state(cell, &end, &lower, &mut normals);
            let path = Path {
                level: now[0] + design.middle,
                slope: now[1] * AHEAD,
                settling: now[2..]
                    .iter()
                    .copied()
                    .zip(times.iter().copied())
                    .collect(),
                bend: cell.bend * AHEAD.sqrt(),
                normals: &mut normals,
            };
            let found = path.passage(limit, &mut levels);
            let normal = normals.draw();
            passed.extend(found.map(|part| (part * ahead, normal)));
        }
    }
    let told = |(i, levels): (usize, &Vec<f64>)| {
        let of = |p| quantile(levels, p);
        let figure = Figure {
            value: of(0.5)?,
            low: of(0.025)?,
            high: of(0.975)?,
        };
        Some((ahead * (i + 1) as f64 / TOLD as f64, figure))
    };
    Ok(Paths {
        drawn,
        passed,
        levels: levels.iter().enumerate().filter_map(told).collect(),
    })
}
