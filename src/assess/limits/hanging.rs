//! Whether `meets` hangs on what was read at a single position: a slip of the hand, or a detector put beside its place,
//! of a tenth is no outlier where the field is steep, and nothing but a second reading tells.

use super::settle::place_words;
use super::verdict::{Judged, Verdict};
use crate::assess::fit::SAME_POSITION;
use crate::assess::{Answer, NoAnswer, Request, SurveyFit, answer_with, fit_survey};
use crate::geometry::Place;
use crate::progress::Progress;
use crate::station::{Reading, Station, Survey};

/// Positions nearest to each governing extreme that are left out, one after the other.
const NEAREST: usize = 3;
/// More readings bear each other out.
const MOST_READINGS: usize = 400;

/// A position without whose readings the verdict would not be `meets`.
#[derive(Debug, Clone, PartialEq)]
pub struct Hanging {
    /// Its name; may be empty.
    pub position: String,
    /// Where it was read, at the height nearest to the spot.
    pub at: Place,
    /// The verdict without it.
    pub verdict: Verdict,
    /// The coldest spot without it, mW/cm², and its assured minimum.
    pub coldest: (f64, Option<f64>),
    /// What to say of it.
    pub sentence: String,
}

/// Those of the positions nearest to the coldest spot (and to the hottest, where there is an upper limit) on which `meets`
/// hangs. `show` says irradiances. A position that was read more than once at a height is not asked: its readings bear each other out.
///
/// # Errors
/// [`NoAnswer::Cancelled`].
pub(super) fn hanging(
    fit: &SurveyFit,
    station: &Station,
    request: &Request,
    answer: &Answer,
    judged: &Judged,
    show: &dyn Fn(f64) -> String,
    progress: &Progress,
) -> Result<Vec<Hanging>, NoAnswer> {
    let survey = &station.surveys[fit.survey];
    if judged.verdict != Verdict::Meets || fit.rows.len() > MOST_READINGS {
        return Ok(Vec::new());
    }
    let upper = judged.terms.upper.is_some().then_some(answer.hottest.at);
    let spots = [Some(answer.coldest.at), upper];
    let mut asked: Vec<&Reading> = Vec::new();
    for spot in spots.into_iter().flatten() {
        for reading in nearest(survey, spot) {
            if !asked.iter().any(|known| is_at(known, reading)) {
                asked.push(reading);
            }
        }
    }
    let mut found = Vec::new();
    for reading in asked {
        let mut without = station.clone();
        for other in &mut without.surveys[fit.survey].readings {
            if is_at(other, reading) {
                other.excluded.get_or_insert_default();
            }
        }
        let request = Request {
            survey: Some(fit.survey),
            ..*request
        };
        let told = fit_survey(&without, &request, progress)
            .and_then(|fit| answer_with(&fit, &without, &request, progress));
        let told = match told {
            Ok(told) => told,
            Err(NoAnswer::Cancelled) => return Err(NoAnswer::Cancelled),
            // nothing is left that could be judged
            Err(NoAnswer::Missing(_)) => continue,
        };
        let verdict = told.judged();
        if let Some(verdict) = verdict.map(|j| j.verdict)
            && verdict != Verdict::Meets
        {
            let coldest = (told.coldest.irradiance, told.coldest.at_least);
            found.push(Hanging {
                position: reading.position.clone(),
                at: reading.place(),
                verdict,
                coldest,
                // the bound that was judged, whichever that is
                sentence: sentence(
                    reading,
                    verdict,
                    (coldest.0, told.coldest.assured(told.scale())),
                    show,
                ),
            });
        }
    }
    Ok(found)
}

fn sentence(
    reading: &Reading,
    verdict: Verdict,
    (coldest, assured): (f64, Option<f64>),
    show: &dyn Fn(f64) -> String,
) -> String {
    let place = place_words(&reading.position, reading.place());
    let assured = assured.map_or_else(String::new, |bound| {
        format!(", its assured minimum {}", show(bound))
    });
    format!(
        "'Meets' hangs on what was read {place}: without that position the coldest spot would be {}{assured}, and the \
         verdict '{}'. Take the detector away, put it back there and read a second time",
        show(coldest),
        verdict.words()
    )
}

fn is_at(one: &Reading, other: &Reading) -> bool {
    one.place().point().distance(other.place().point()) <= SAME_POSITION
}

/// Of the positions nearest to a place those that were read once at the height nearest to it: each by that reading.
fn nearest(survey: &Survey, spot: Place) -> Vec<&Reading> {
    let counted = |r: &&Reading| r.counted().is_some() && r.place().is_finite();
    let mut all: Vec<&Reading> = survey.readings.iter().filter(counted).collect();
    all.sort_by(|a, b| {
        let away = |r: &Reading| r.place().point().distance(spot.point());
        let above = |r: &Reading| (r.height - spot.height).abs();
        let nearer = away(a).total_cmp(&away(b));
        nearer.then(above(a).total_cmp(&above(b)))
    });
    let mut positions: Vec<&Reading> = Vec::new();
    for reading in &all {
        if positions.len() == NEAREST {
            break;
        }
        if !positions.iter().any(|known| is_at(known, reading)) {
            positions.push(reading);
        }
    }
    let level = |a: &Reading, b: &Reading| (a.height - b.height).abs() <= SAME_POSITION;
    positions.retain(|reading| {
        let same = all
            .iter()
            .filter(|other| is_at(other, reading) && level(other, reading));
        same.count() == 1
    });
    positions
}
