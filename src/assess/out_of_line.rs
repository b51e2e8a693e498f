//! Readings that the others do not bear out.
//!
//! Those are readings that the field says so of, slipped decimal points, and heights of a position that do not fit each
//! other: the last two ask no field, for a field bends itself through a reading that is a tenth off.

mod heights;
mod reading;

pub use reading::OutOfLine;

use super::same::SAME_POSITION;
use crate::field::Fitted;
use crate::geometry::Place;
use crate::numeric::quantile::quantile;
use crate::progress::{Cancelled, Progress};
use crate::station::{Reading, Survey};

/// Leave-one-out residuals beyond this many predictive standard deviations are pointed out (common practice, no
/// source).
const FAR: f64 = 4.0;

/// Above so many readings a few slips no longer spoil a field.
pub(super) const MOST: usize = 1500;

/// The readings of a survey that are out of line, in the order of its rows: those that the field says so of (none for a
/// family that does not say how far off its predictions may be), and those that spoil the field which should tell: large slips,
/// and positions whose heights do not fit each other. `rows` are those of the field's samples.
pub(super) fn out_of_line(survey: &Survey, field: &Fitted, rows: &[usize]) -> Vec<OutOfLine> {
    let told = rows.iter().zip(field.leave_one_out());
    let mut all: Vec<OutOfLine> = told
        .filter_map(|(&row, told)| {
            let deviations = told.standardised.filter(|z| z.abs() > FAR)?;
            let read = survey.readings.get(row)?.counted()?;
            Some(OutOfLine {
                row,
                read,
                predicted: told.predicted,
                deviations,
            })
        })
        .collect();
    let read: Vec<(usize, Place, f64)> = rows
        .iter()
        .filter_map(|&row| {
            let reading = survey.readings.get(row)?;
            Some((row, reading.place(), reading.counted()?))
        })
        .collect();
    let beside_the_field = if read.len() > MOST {
        Vec::new()
    } else {
        [slips(&read), heights::at_odds(&read)].concat()
    };
    for slip in beside_the_field {
        if !all.iter().any(|known| known.row == slip.row) {
            all.push(slip);
        }
    }
    all.sort_by_key(|out| out.row);
    all
}

/// Those of several readings out of line that are so in a field without any of them, too: a slip bends the field around
/// it, so that its right neighbours look wrong as well. The worst always stays. All of them for a family that does not say
/// how far off its predictions may be. `drifted` says by which factor a row was read above the mean of the round.
pub(super) fn borne_out(
    suspects: Vec<OutOfLine>,
    survey: &Survey,
    without: &Fitted,
    drifted: impl Fn(usize) -> f64,
    progress: &Progress,
) -> Result<Vec<OutOfLine>, Cancelled> {
    let places: Vec<Place> = suspects
        .iter()
        .filter_map(|out| survey.readings.get(out.row).map(Reading::place))
        .collect();
    let predicted = without.at(&places, progress)?;
    let again = suspects.iter().zip(predicted).map(|(out, there)| {
        let spread = (there.uncertainty? / there.irradiance).hypot(without.noise()?);
        let predicted = there.irradiance * drifted(out.row);
        let deviations = (out.read / predicted).ln() / spread;
        deviations.is_finite().then_some(OutOfLine {
            predicted,
            deviations,
            ..*out
        })
    });
    let Some(again) = again.collect::<Option<Vec<_>>>() else {
        return Ok(suspects);
    };
    let size = |out: &OutOfLine| out.deviations.abs();
    let worst = again.iter().map(size).fold(0.0, f64::max);
    let stays = |out: &OutOfLine| size(out) > FAR || size(out) == worst;
    Ok(again.into_iter().filter(stays).collect())
}

/// Readings (row, place, mW/cm²) that differ from the median of those beside them at the same height by a factor that is
/// far beyond what is usual among these readings, as a slipped decimal point does: no model is asked, which such a
/// reading bends.
fn slips(read: &[(usize, Place, f64)]) -> Vec<OutOfLine> {
    const BESIDE: usize = 6;
    const FEWEST: usize = 4;
    /// Robust standard deviations, and logarithm, beyond which it is one (common practice, no source).
    const FAR_OFF: f64 = 6.0;
    const LARGE: f64 = 0.4;
    /// What steps from one position to the next are at least taken to scatter by.
    const LEAST_SCATTER: f64 = 0.03;
    let steps: Vec<(OutOfLine, f64)> = read
        .iter()
        .filter_map(|&(row, at, irradiance)| {
            let mut beside: Vec<(f64, f64)> = read
                .iter()
                .filter(|(_, other, _)| (other.height - at.height).abs() < SAME_POSITION)
                .map(|(_, other, e)| (other.point().distance(at.point()), *e))
                .filter(|(away, _)| *away > SAME_POSITION)
                .collect();
            if beside.len() < FEWEST {
                return None;
            }
            beside.sort_by(|a, b| a.0.total_cmp(&b.0));
            let near: Vec<f64> = beside.iter().take(BESIDE).map(|b| b.1).collect();
            let predicted = quantile(&near, 0.5)?;
            let out = OutOfLine {
                row,
                read: irradiance,
                predicted,
                deviations: 0.0,
            };
            Some((out, (irradiance / predicted).ln()))
        })
        .collect();
    let logs: Vec<f64> = steps.iter().map(|s| s.1).collect();
    let Some(middle) = quantile(&logs, 0.5) else {
        return Vec::new();
    };
    let away: Vec<f64> = logs.iter().map(|l| (l - middle).abs()).collect();
    // 1.4826: from the median absolute deviation of a normal distribution to its standard deviation
    let scatter = 1.4826
        * quantile(&away, 0.5)
            .unwrap_or(0.0)
            .max(LEAST_SCATTER / 1.4826);
    steps
        .into_iter()
        .map(|(out, log)| OutOfLine {
            deviations: log / scatter,
            ..out
        })
        .filter(|out| {
            out.deviations.abs() > FAR_OFF && (out.read / out.predicted).ln().abs() > LARGE
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Five by three positions at one height under a lamp that is brightest in the middle: no field is asked, so a slip
    /// that bends every field is still seen, and an even fall to 60 % at the corners is none.
    #[test]
    fn a_slipped_decimal_point_is_seen_without_a_field() {
        let at = |i: usize| {
            let (x, y) = (50.0 * (i % 5) as f64 - 100.0, 60.0 * (i / 5) as f64 - 60.0);
            let fall = (x / 100.0_f64).powi(2) + (y / 60.0_f64).powi(2);
            (i, Place::new(x, y, 12.0), 130.0 * (-0.255 * fall).exp())
        };
        let clean: Vec<(usize, Place, f64)> = (0..15).map(at).collect();
        assert_eq!(slips(&clean), []);
        for (row, factor) in [(2, 10.0), (6, 0.1), (0, 10.0), (14, 0.1)] {
            let mut slipped = clean.clone();
            slipped[row].2 *= factor;
            let found: Vec<usize> = slips(&slipped).iter().map(|s| s.row).collect();
            assert_eq!(found, [row], "{factor}");
        }
        assert_eq!(slips(&clean[..4]), [], "too few to tell");
    }

    #[test]
    fn the_difference_is_said_in_percent_and_of_the_predictions_own_spread() {
        let out = OutOfLine {
            row: 0,
            read: 110.0,
            predicted: 100.0,
            deviations: 5.0,
        };
        assert!((out.percent() - 10.0).abs() < 1e-9);
        // ln 1.1 over five deviations
        assert!((out.uncertainty() - 1.906_2).abs() < 1e-3);
    }
}
