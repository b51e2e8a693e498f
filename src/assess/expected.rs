//! What a reading will be, before it is taken: by an earlier survey and what was read since, and by the readings around it.

use std::collections::HashSet;

use super::SurveyFit;
use crate::geometry::Place;
use crate::numeric::quantile::median;
use crate::progress::{Cancelled, Progress};
use crate::station::{Reading, Survey};

/// Readings that tell how much has changed since the earlier survey.
const FEW: usize = 3;
/// How much may have changed since, relative standard deviation, as long as no readings tell (common practice, no source).
const SINCE: f64 = 0.25;
/// By how much a place may have changed otherwise than the others without a slip, relative standard deviation (common
/// practice, no source).
const LOCALLY: f64 = 0.04;
/// Standard deviation of a careful reading at one place, relative (common practice, no source).
const READING: f64 = 0.015;
/// A reading is asked about beyond so many standard uncertainties, and beyond this share.
const FAR: (f64, f64) = (4.0, 0.08);

/// What a reading is expected from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ExpectedFrom {
    /// An earlier survey, and how what was read so far compares with it.
    Earlier,
    /// The field of what was read so far.
    Around,
}

/// What a reading will be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expected {
    /// mW/cm².
    pub irradiance: f64,
    /// Relative standard uncertainty (k = 1) of a reading about that.
    pub uncertainty: f64,
    /// From what.
    pub from: ExpectedFrom,
}

impl Expected {
    /// How far a reading is above that, a share, where it is worth a question.
    pub fn is_far(&self, irradiance: f64) -> Option<f64> {
        let ratio = irradiance / self.irradiance;
        let far = ratio.ln().abs();
        (ratio.is_nan() || ratio <= 0.0 || far > (FAR.0 * self.uncertainty).max(FAR.1))
            .then_some(ratio - 1.0)
    }
}

/// For each row of a survey what is expected there; `None` where it is done, or nothing tells. `around` is the field of the
/// survey's own readings, which says nothing of a place that is read again; `earlier` that of another one.
///
/// # Errors
/// [`Cancelled`].
pub fn expected(
    survey: &Survey,
    around: Option<&SurveyFit>,
    earlier: Option<&SurveyFit>,
    progress: &Progress,
) -> Result<Vec<Option<Expected>>, Cancelled> {
    let open = |row: &usize| !survey.readings[*row].is_done();
    let rows: Vec<usize> = (0..survey.readings.len()).filter(open).collect();
    let places: Vec<Place> = rows.iter().map(|&i| survey.readings[i].place()).collect();
    let mut out = vec![None; survey.readings.len()];
    let mut take = |row: usize, found: Expected| {
        let slot: &mut Option<Expected> = &mut out[row];
        let is_better = slot.is_none_or(|known| found.uncertainty < known.uncertainty);
        if is_better && found.irradiance > 0.0 && found.uncertainty.is_finite() {
            *slot = Some(found);
        }
    };
    if let Some(earlier) = earlier {
        let (change, spread) = since(survey, earlier, progress)?;
        for (&row, there) in rows.iter().zip(earlier.field.at(&places, progress)?) {
            let own = there.uncertainty.unwrap_or(0.0) / there.irradiance;
            let all = own.hypot(READING).hypot(spread).hypot(LOCALLY);
            let found = Expected {
                irradiance: there.irradiance * change,
                uncertainty: all,
                from: ExpectedFrom::Earlier,
            };
            take(row, found);
        }
    }
    if let Some(around) = around {
        // where a place is read again the field goes through what is to be checked: a slip would accuse the right reading
        let key = |at: Place| [at.x, at.y, at.height].map(f64::to_bits);
        let read = survey.readings.iter().filter(|r| r.counted().is_some());
        let read: HashSet<[u64; 3]> = read.map(|r| key(r.place())).collect();
        for (&row, there) in rows.iter().zip(around.field.at(&places, progress)?) {
            let Some(uncertainty) = there.uncertainty else {
                continue;
            };
            if read.contains(&key(survey.readings[row].place())) {
                continue;
            }
            let found = Expected {
                irradiance: there.irradiance,
                uncertainty: (uncertainty / there.irradiance).hypot(READING),
                from: ExpectedFrom::Around,
            };
            take(row, found);
        }
    }
    Ok(out)
}

/// By which factor what was read so far is above an earlier field, in the median, and its relative standard uncertainty.
fn since(
    survey: &Survey,
    earlier: &SurveyFit,
    progress: &Progress,
) -> Result<(f64, f64), Cancelled> {
    let read = |r: &&Reading| r.counted().is_some();
    let read: Vec<&Reading> = survey.readings.iter().filter(read).collect();
    let places: Vec<Place> = read.iter().map(|r| r.place()).collect();
    let then = earlier.field.irradiance(&places, progress)?;
    let ratios: Vec<f64> = (read.iter().zip(then))
        .filter_map(|(r, then)| Some((r.counted()? / then).ln()))
        .filter(|log| log.is_finite())
        .collect();
    if ratios.len() < FEW {
        return Ok((1.0, SINCE));
    }
    let middle = median(&ratios).unwrap_or(0.0);
    let aside: Vec<f64> = ratios.iter().map(|log| (log - middle).abs()).collect();
    // a normal distribution's median absolute deviation is 0.6745 of its standard deviation
    let spread = median(&aside).unwrap_or(0.0) / 0.6745;
    Ok((middle.exp(), spread / (ratios.len() as f64).sqrt()))
}
