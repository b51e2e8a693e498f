//! Whether `meets` hangs on what was read at a single position: a slip of the hand, or a detector put beside its place,
//! of a tenth is no outlier where the field is steep, and nothing but a second reading tells.

use super::settle::place_words;
use super::verdict::{Judged, Verdict};
use crate::assess::same::SAME_POSITION;
use crate::assess::{NoAnswer, Spots, SurveyFit, ToFit, ToJudge, ToSearch};
use crate::field::Fitted;
use crate::geometry::Place;
use crate::progress::Progress;
use crate::station::{Reading, Shared, Survey};
use crate::units::LengthUnit;

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

/// Positions that are left out, and what the field is made from and looked at with. A position that was read more than
/// once at a height is not asked: its readings bear each other out.
#[derive(Debug, Clone, PartialEq)]
pub struct ToLeaveOut {
    fit: ToFit,
    search: Shared<ToSearch>,
    /// Of each position the row that was read nearest to the spot.
    rows: Vec<usize>,
}

/// The field without a position; `None` where nothing is left that could be judged.
#[derive(Debug)]
pub struct LeftOut {
    row: usize,
    without: Option<(SurveyFit, Spots)>,
}

impl ToLeaveOut {
    /// The positions nearest to the coldest spot (and to the hottest, where there is an upper limit), where the verdict is
    /// `meets`; `None` where none is asked.
    pub fn of(
        fit: &ToFit,
        search: &Shared<ToSearch>,
        spots: &Spots,
        judged: &Judged,
    ) -> Option<Self> {
        let survey = &**fit.survey();
        let counted = survey.readings.iter().filter(|r| r.counted().is_some());
        if judged.verdict != Verdict::Meets || counted.count() > MOST_READINGS {
            return None;
        }
        let upper = judged.terms.upper.is_some().then_some(spots.hottest.1.at);
        let spots = [Some(spots.coldest.1.at), upper];
        let mut rows: Vec<usize> = Vec::new();
        for spot in spots.into_iter().flatten() {
            for row in nearest(survey, spot) {
                let reading = &survey.readings[row];
                if !rows
                    .iter()
                    .any(|known| is_at(&survey.readings[*known], reading))
                {
                    rows.push(row);
                }
            }
        }
        (!rows.is_empty()).then(|| Self {
            fit: fit.clone(),
            search: search.clone(),
            rows,
        })
    }

    /// Leaves out one after the other; `with` is the field with all of them.
    ///
    /// # Errors
    /// [`NoAnswer::Cancelled`].
    pub fn leave_out(&self, with: &Fitted, progress: &Progress) -> Result<Vec<LeftOut>, NoAnswer> {
        let mut all = Vec::with_capacity(self.rows.len());
        for &row in &self.rows {
            let mut survey = Survey::clone(self.fit.survey());
            let left = survey.readings[row].clone();
            for other in survey.readings.iter_mut().filter(|r| is_at(r, &left)) {
                other.excluded.get_or_insert_default();
            }
            let fit = self.fit.with(survey).fit_near(with, progress);
            let with_spots = fit.and_then(|fit| {
                let spots = Spots::of(&fit.field, &self.search, progress)?;
                Ok((fit, spots))
            });
            let without = match with_spots {
                Ok(made) => Some(made),
                Err(NoAnswer::Cancelled) => return Err(NoAnswer::Cancelled),
                Err(NoAnswer::Missing(_)) => None,
            };
            all.push(LeftOut { row, without });
        }
        Ok(all)
    }
}

/// Those of the left out positions without which it would not be `meets`. `show` says irradiances.
pub(super) fn hanging(
    left_out: &[LeftOut],
    judge: &ToJudge,
    show: &dyn Fn(f64) -> String,
) -> Vec<Hanging> {
    let length = judge.units.length;
    let each = left_out.iter().filter_map(|left| {
        let reading = judge.survey.readings.get(left.row)?;
        let (fit, spots) = left.without.as_ref()?;
        let told = judge.answer(fit, spots).ok()?;
        let verdict = told.judged()?.verdict;
        let coldest = (told.coldest.irradiance, told.coldest.at_least);
        // the bound that was judged, whichever that is
        let assured = told.coldest.assured(told.scale());
        (verdict != Verdict::Meets).then(|| Hanging {
            position: reading.position.clone(),
            at: reading.place(),
            verdict,
            coldest,
            sentence: sentence(reading, verdict, (coldest.0, assured), show, length),
        })
    });
    each.collect()
}

fn sentence(
    reading: &Reading,
    verdict: Verdict,
    (coldest, assured): (f64, Option<f64>),
    show: &dyn Fn(f64) -> String,
    length: LengthUnit,
) -> String {
    let place = place_words(&reading.position, reading.place(), length);
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

/// Of the positions nearest to a place those that were read once at the height nearest to it: each by the row of that
/// reading.
fn nearest(survey: &Survey, spot: Place) -> Vec<usize> {
    let counted = |(_, r): &(usize, &Reading)| r.counted().is_some() && r.place().is_finite();
    let mut all: Vec<(usize, &Reading)> =
        survey.readings.iter().enumerate().filter(counted).collect();
    all.sort_by(|(_, a), (_, b)| {
        let away = |r: &Reading| r.place().point().distance(spot.point());
        let above = |r: &Reading| (r.height - spot.height).abs();
        let nearer = away(a).total_cmp(&away(b));
        nearer.then(above(a).total_cmp(&above(b)))
    });
    let mut positions: Vec<(usize, &Reading)> = Vec::new();
    for &(row, reading) in &all {
        if positions.len() == NEAREST {
            break;
        }
        if !positions.iter().any(|(_, known)| is_at(known, reading)) {
            positions.push((row, reading));
        }
    }
    let level = |a: &Reading, b: &Reading| (a.height - b.height).abs() <= SAME_POSITION;
    positions.retain(|(_, reading)| {
        let same = all
            .iter()
            .filter(|(_, other)| is_at(other, reading) && level(other, reading));
        same.count() == 1
    });
    positions.into_iter().map(|(row, _)| row).collect()
}
