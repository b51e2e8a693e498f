//! Looks for zones: at every cell, in some widths, how much of a zone there is; the most certain one is taken into the model, and
//! the rest is looked at again beside it, until nothing is left that is both significant and worth a zone.

use faer::Mat;

use super::model::{Amplitude, Data, Sizes, Solved};
use super::power::bump;
use super::told::Bars;
use super::zones::{Cells, Found, significant};
use crate::geometry::{Place, Point};
use crate::progress::{Cancelled, Progress};

/// Widths of zones that are looked for, in pitches.
pub const WIDTHS: [f64; 3] = [1.5, 2.5, 4.0];
/// More zones than this are no zones but another pattern.
const MOST: usize = 6;
/// A local change as rough as this is no zone but wear like any, relative standard deviation.
const ROUGH: f64 = 0.008;

/// What was found.
pub struct Searched {
    /// One by one.
    pub found: Vec<Found>,
    /// For each cell whether a zone there is significant in any width.
    pub marks: Vec<bool>,
    /// How many tests were significant, of how many.
    pub picked: (usize, usize),
    /// What a zone of the least width is estimated with at each cell, before any was taken into the model.
    pub narrowest: Vec<Amplitude>,
    /// The data with the zones among the modes, after the modes proper.
    pub data: Data,
}

/// Sizes with which zones are tested: what is rough may well be noise of the place, but no zone.
pub fn tested(sizes: Sizes) -> Sizes {
    sizes.with_local(sizes.local.min(ROUGH))
}

/// A pattern a column: zones of one width at some points.
pub fn patterns(at: &[Place], middles: &[Point], width: f64) -> Mat<f64> {
    Mat::from_fn(at.len(), middles.len(), |i, s| {
        bump(at[i].point(), middles[s], width)
    })
}

/// Looks for zones in data. `Ok(None)` where the equations can't be solved.
///
/// # Errors
/// [`Cancelled`].
pub fn search(
    mut data: Data,
    sizes: Sizes,
    cells: &Cells,
    pitch: f64,
    bars: &Bars,
    progress: &Progress,
) -> Result<Option<Searched>, Cancelled> {
    let middles: Vec<Point> = cells.places().iter().map(|p| p.point()).collect();
    let all: Vec<Mat<f64>> = WIDTHS
        .iter()
        .map(|w| patterns(&data.at, &middles, w * pitch))
        .collect();
    let (mut found, mut first) = (Vec::<Found>::new(), None);
    loop {
        progress.check()?;
        let Some(solved) = Solved::of(&data, tested(sizes)) else {
            return Ok(None);
        };
        let freedom = solved.freedom();
        let amplitudes: Vec<Amplitude> = all.iter().flat_map(|p| solved.amplitudes(p)).collect();
        let picks = significant(&amplitudes, freedom, bars.false_share);
        let n = middles.len();
        first.get_or_insert_with(|| {
            let marks = (0..n).map(|s| (0..WIDTHS.len()).any(|w| picks[w * n + s]));
            let count = picks.iter().filter(|p| **p).count();
            (
                marks.collect(),
                (count, picks.len()),
                amplitudes[..n].to_vec(),
            )
        });
        let worth = |a: f64| a <= (-bars.worth).ln_1p() || a >= bars.worth.ln_1p();
        let best = (0..amplitudes.len())
            .filter(|&k| picks[k] && worth(amplitudes[k].value))
            .max_by(|&a, &b| {
                let of = |k: usize| amplitudes[k].score().abs();
                of(a).total_cmp(&of(b))
            });
        let Some(best) = best.filter(|_| found.len() < MOST) else {
            break;
        };
        let (width, s) = (best / n, best % n);
        found.push(Found {
            at: middles[s],
            diameter: WIDTHS[width] * pitch,
        });
        let (old, rows) = (data.modes.ncols(), data.at.len());
        data.modes = Mat::from_fn(rows, old + 1, |i, k| {
            if k < old {
                data.modes[(i, k)]
            } else {
                all[width][(i, s)]
            }
        });
    }
    let (marks, picked, narrowest) = first.unwrap_or_default();
    Ok(Some(Searched {
        found,
        marks,
        picked,
        narrowest,
        data,
    }))
}
