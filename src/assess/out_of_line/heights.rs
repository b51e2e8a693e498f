//! Positions whose readings at two heights do not fit each other as those of the other positions do. A field bends itself
//! through a reading that is a tenth off; how much the irradiance changes with the height varies little over the plan, and
//! no field has to be believed to see that at one position it does not.

use faer::Mat;

use super::reading::OutOfLine;
use crate::assess::same::SAME_POSITION;
use crate::geometry::{Place, Point};
use crate::numeric::cholesky::Factor;
use crate::numeric::quantile::quantile;

/// Terms of how the change varies over the plan: constant, x, y, the square of the distance from the middle.
const TERMS: usize = 4;
/// Positions read at both heights from which all terms are found; with fewer it is one constant.
const FOR_TERMS: usize = 9;
const FEWEST: usize = 5;
/// Robust standard deviations, and logarithm, beyond which a change is odd (common practice, no source).
const FAR: f64 = 5.0;
const LARGE: f64 = 0.06;
/// With one constant, which the plan's own variation adds to.
const LARGE_FOR_FEW: f64 = 0.10;
/// What changes are at least taken to scatter by.
const LEAST_SCATTER: f64 = 0.015;

/// What is read at one position and height.
struct Cell {
    rows: Vec<usize>,
    /// Mean logarithm.
    log: f64,
}

/// A change from one height to the next at one position.
struct Change {
    low: usize,
    /// The logarithm of the change that the other positions have there.
    usual: f64,
    /// By how much this one exceeds it.
    off: f64,
    scatter: f64,
    is_odd: bool,
}

/// Of readings (row, place, mW/cm²) those at odds with another height of their position: of three heights the one that
/// fits its neighbours least, of two both.
pub(super) fn at_odds(read: &[(usize, Place, f64)]) -> Vec<OutOfLine> {
    let heights = heights(read);
    if heights.len() < 2 {
        return Vec::new();
    }
    let positions = positions(read, &heights);
    let mut changes: Vec<Vec<Change>> = positions.iter().map(|_| Vec::new()).collect();
    for low in 0..heights.len() - 1 {
        for (position, change) in changes_above(&positions, low) {
            changes[position].push(change);
        }
    }
    let mut all = Vec::new();
    for ((_, cells), changes) in positions.iter().zip(&changes) {
        if !changes.iter().any(|change| change.is_odd) {
            continue;
        }
        for height in blamed(cells.len(), changes) {
            let touches = changes.iter().filter(|c| touches(c, height));
            let most = touches.max_by(|a, b| a.off.abs().total_cmp(&b.off.abs()));
            let (Some(cell), Some(change)) = (&cells[height], most) else {
                continue;
            };
            let (other, usual, off) = if change.low == height {
                (height + 1, -change.usual, -change.off)
            } else {
                (height - 1, change.usual, change.off)
            };
            let Some(beside) = &cells[other] else {
                continue;
            };
            for &row in &cell.rows {
                let read = read.iter().find(|r| r.0 == row).map_or(f64::NAN, |r| r.2);
                all.push(OutOfLine {
                    row,
                    read,
                    predicted: (beside.log + usual).exp(),
                    deviations: off / change.scatter,
                });
            }
        }
    }
    all
}

fn touches(change: &Change, height: usize) -> bool {
    change.low == height || change.low + 1 == height
}

fn heights(read: &[(usize, Place, f64)]) -> Vec<f64> {
    let mut heights: Vec<f64> = read.iter().map(|r| r.1.height).collect();
    heights.sort_by(f64::total_cmp);
    heights.dedup_by(|b, a| *b - *a <= SAME_POSITION);
    heights
}

/// Each position with what was read there, height by height.
fn positions(read: &[(usize, Place, f64)], heights: &[f64]) -> Vec<(Point, Vec<Option<Cell>>)> {
    let mut all: Vec<(Point, Vec<Option<Cell>>)> = Vec::new();
    for &(row, at, irradiance) in read {
        let here = at.point();
        let known = all.iter().position(|p| p.0.distance(here) <= SAME_POSITION);
        let n = known.unwrap_or_else(|| {
            all.push((here, heights.iter().map(|_| None).collect()));
            all.len() - 1
        });
        let height = heights.partition_point(|h| *h < at.height - SAME_POSITION);
        let Some(cell) = all[n].1.get_mut(height) else {
            continue;
        };
        let cell = cell.get_or_insert_with(|| Cell {
            rows: Vec::new(),
            log: 0.0,
        });
        let before = cell.rows.len() as f64;
        cell.log = (cell.log * before + irradiance.ln()) / (before + 1.0);
        cell.rows.push(row);
    }
    all
}

/// What changes from a height to the next, at each position that was read at both.
fn changes_above(positions: &[(Point, Vec<Option<Cell>>)], low: usize) -> Vec<(usize, Change)> {
    /// Up to so many each is held against a fit to all others; of more, one takes little part in the fit to all.
    const ONE_BY_ONE: usize = 150;
    let both: Vec<(usize, Point, f64)> = positions
        .iter()
        .enumerate()
        .filter_map(|(n, (at, cells))| {
            let (below, above) = (cells[low].as_ref()?, cells[low + 1].as_ref()?);
            Some((n, *at, above.log - below.log))
        })
        .collect();
    if both.len() < FEWEST {
        return Vec::new();
    }
    let places: Vec<Point> = both.iter().map(|b| b.1).collect();
    let changes: Vec<f64> = both.iter().map(|b| b.2).collect();
    let (usual, terms, large) = if both.len() < FOR_TERMS {
        let middle = quantile(&changes, 0.5).unwrap_or(0.0);
        (vec![middle; changes.len()], 1, LARGE_FOR_FEW)
    } else if both.len() <= ONE_BY_ONE {
        let without = |i| robust(&places, &changes, Some(i))[i];
        let usual = (0..changes.len()).map(without).collect();
        // it took no part in what it is held against
        (usual, 0, LARGE)
    } else {
        (robust(&places, &changes, None), TERMS, LARGE)
    };
    let off: Vec<f64> = changes.iter().zip(&usual).map(|(c, u)| c - u).collect();
    let scatter = scatter(&off, terms);
    let each = both.iter().zip(usual).zip(off);
    each.map(|(((n, ..), usual), off)| {
        let change = Change {
            low,
            usual,
            off,
            scatter,
            is_odd: off.abs() > large && off.abs() > FAR * scatter,
        };
        (*n, change)
    })
    .collect()
}

/// 1.4826: from the median absolute deviation of a normal distribution to its standard deviation.
fn scatter(off: &[f64], terms: usize) -> f64 {
    let away: Vec<f64> = off.iter().map(|o| o.abs()).collect();
    let n = off.len() as f64;
    let freedom = (n / (n - terms as f64)).sqrt();
    (1.4826 * freedom * quantile(&away, 0.5).unwrap_or(0.0)).max(LEAST_SCATTER)
}

/// Values of the terms that fit the changes with the least sum of absolute differences, by weighted least squares over and
/// over (Holland & Welsch 1977, from memory): one that is far off hardly draws them. One can be left out.
fn robust(places: &[Point], changes: &[f64], without: Option<usize>) -> Vec<f64> {
    const ROUNDS: usize = 30;
    const LEAST: f64 = 1e-4;
    let n = places.len() as f64;
    let (x, y) = (
        places.iter().map(|p| p.x).sum::<f64>() / n,
        places.iter().map(|p| p.y).sum::<f64>() / n,
    );
    let middle = Point::new(x, y);
    let scale = places
        .iter()
        .map(|p| p.distance(middle))
        .fold(f64::MIN_POSITIVE, f64::max);
    let terms: Vec<[f64; TERMS]> = places
        .iter()
        .map(|p| {
            let (u, v) = ((p.x - x) / scale, (p.y - y) / scale);
            [1.0, u, v, u * u + v * v]
        })
        .collect();
    let mut fitted = vec![quantile(changes, 0.5).unwrap_or(0.0); changes.len()];
    for _ in 0..ROUNDS {
        let weights: Vec<f64> = changes
            .iter()
            .zip(&fitted)
            .enumerate()
            .map(|(i, (c, f))| match Some(i) == without {
                true => 0.0,
                false => 1.0 / (c - f).abs().max(LEAST),
            })
            .collect();
        let sum = |of: &dyn Fn(usize) -> f64| (0..changes.len()).map(|i| weights[i] * of(i)).sum();
        let normal = Mat::from_fn(TERMS, TERMS, |a, b| {
            let ridge = if a == b {
                1e-9 * weights.iter().sum::<f64>()
            } else {
                0.0
            };
            sum(&|i| terms[i][a] * terms[i][b]) + ridge
        });
        let mut found = Mat::from_fn(TERMS, 1, |a, _| sum(&|i| terms[i][a] * changes[i]));
        let Ok(factor) = Factor::of(normal.as_ref()) else {
            break;
        };
        factor.whiten(found.as_mut());
        factor.unwhiten(found.as_mut());
        for (fitted, terms) in fitted.iter_mut().zip(&terms) {
            *fitted = (0..TERMS).map(|a| found[(a, 0)] * terms[a]).sum();
        }
    }
    fitted
}

/// The heights that a position's changes speak against: those which, put right, leave the others least off.
fn blamed(heights: usize, changes: &[Change]) -> Vec<usize> {
    const ALIKE: f64 = 1e-9;
    let left = |height: usize| {
        // that it is too high shows in the change to it, and with the other sign in the change from it
        let (own, others): (Vec<&Change>, Vec<&Change>) =
            changes.iter().partition(|c| touches(c, height));
        let own = match own.as_slice() {
            [one, other] => (one.off + other.off).abs(),
            _ => 0.0,
        };
        own + others.iter().map(|c| c.off.abs()).sum::<f64>()
    };
    let read = (0..heights).filter(|&height| changes.iter().any(|c| touches(c, height)));
    let all: Vec<(usize, f64)> = read.map(|height| (height, left(height))).collect();
    let least = all
        .iter()
        .map(|(_, left)| *left)
        .fold(f64::INFINITY, f64::min);
    all.into_iter()
        .filter(|(_, left)| *left <= least + ALIKE)
        .map(|(height, _)| height)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Four by three positions; how much more irradiance is higher up varies over the plan, and a little by itself.
    fn survey(heights: &[f64]) -> Vec<(usize, Place, f64)> {
        let mut read = Vec::new();
        for i in 0..12_u32 {
            let (x, y) = (f64::from(i % 4) * 40.0, f64::from(i / 4) * 45.0);
            let r = ((x - 60.0) / 80.0).powi(2) + ((y - 45.0) / 80.0).powi(2);
            for &h in heights {
                let noise = 0.004 * (f64::from(i) * 2.4 + h).sin();
                let log = 4.7 - 0.5 * r + h * (0.003 - 0.0025 * r) + noise;
                read.push((read.len(), Place::new(x, y, h), log.exp()));
            }
        }
        read
    }

    #[test]
    fn of_two_heights_both_are_named_and_of_three_the_one_that_fits_neither() {
        assert!(at_odds(&survey(&[15.0, 35.0])).is_empty());
        assert!(at_odds(&survey(&[15.0, 25.0, 35.0])).is_empty());
        for position in 0..12 {
            let mut two = survey(&[15.0, 35.0]);
            two[2 * position].2 *= 1.12;
            let found = at_odds(&two);
            let rows: Vec<usize> = found.iter().map(|o| o.row).collect();
            assert_eq!(rows, [2 * position, 2 * position + 1]);
            assert!((found[0].read / found[0].predicted - 1.12).abs() < 0.04);
            assert!(found[0].deviations > 5.0 && found[1].deviations < -5.0);
            for height in 0..3 {
                let mut three = survey(&[15.0, 25.0, 35.0]);
                three[3 * position + height].2 *= 0.88;
                let rows: Vec<usize> = at_odds(&three).iter().map(|o| o.row).collect();
                assert_eq!(rows, [3 * position + height], "{position} {height}");
            }
        }
    }

    #[test]
    fn with_few_positions_nothing_or_little_is_said() {
        let few: Vec<_> = survey(&[15.0, 35.0]).into_iter().take(8).collect();
        assert!(at_odds(&few).is_empty());
        assert!(at_odds(&[]).is_empty());
        assert!(at_odds(&survey(&[15.0])).is_empty());
        let mut some: Vec<_> = survey(&[15.0, 35.0]).into_iter().take(14).collect();
        some[4].2 *= 1.3;
        assert!(at_odds(&some).iter().any(|o| o.row == 4));
    }
}
