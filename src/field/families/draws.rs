//! Joint draws of a field from its expected logarithms and their covariance.

use faer::Mat;

use crate::numeric::cholesky::Factor;
use crate::numeric::exponential::{bounded, exp_minus};
use crate::numeric::random::Normals;
use crate::numeric::triangle::lower_times;
use crate::numeric::wide::wide;
use crate::progress::{Cancelled, Progress};

/// Draws that are made at once.
const DRAWS_AT_ONCE: usize = 64;

/// Expected logarithms at places and their covariance (lower triangle).
pub(in crate::field) type Joint = (Vec<f64>, Mat<f64>);

/// Adds what is beside a family to what it says.
pub(in crate::field) fn add(joint: &mut Joint, beside: Option<&Joint>) {
    let Some((shifts, covariance)) = beside else {
        return;
    };
    joint.0.iter_mut().zip(shifts).for_each(|(m, s)| *m += s);
    for j in 0..shifts.len() {
        let more = &covariance.col_as_slice(j)[j..];
        let column = &mut joint.1.col_as_slice_mut(j)[j..];
        column.iter_mut().zip(more).for_each(|(c, m)| *c += m);
    }
}

/// Draws with these numbers from expected logarithms and their covariance (lower triangle): the same number
/// gives the same draw. `None` when the covariance can't be factored.
pub(in crate::field) fn drawn(
    (means, covariance): Joint,
    seed: u64,
    numbers: std::ops::Range<usize>,
    progress: &Progress,
) -> Result<Option<Vec<f64>>, Cancelled> {
    let m = means.len();
    let Ok(factor) = Factor::of(covariance.as_ref()) else {
        return Ok(None);
    };
    let mut values = Vec::with_capacity(m * numbers.len());
    let mut next = numbers.start;
    while next < numbers.end {
        progress.check()?;
        let from = values.len();
        let count = DRAWS_AT_ONCE.min(numbers.end - next);
        // always as many columns: how a product is summed up hangs on its size
        let mut normals = Mat::<f64>::zeros(m, DRAWS_AT_ONCE);
        for d in 0..count {
            let mut stream = Normals::new(seed, (next + d) as u64);
            let column = normals.col_as_slice_mut(d);
            column.iter_mut().for_each(|z| *z = stream.draw());
        }
        let drawn = lower_times(factor.lower(), normals.as_ref());
        for d in 0..count {
            let column = drawn.col_as_slice(d).iter().zip(&means);
            values.extend(column.map(|(z, mean)| bounded(mean + z)));
        }
        let logs = &mut values[from..];
        wide(
            #[inline(always)]
            || logs.iter_mut().for_each(|e| *e = exp_minus(-*e)),
        );
        next += count;
    }
    Ok(Some(values))
}
