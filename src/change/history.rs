//! More than two surveys: what each has changed by against the baseline, how cold and how even it was, and where that goes.

use jiff::civil::Date;

use super::compare::ToCompare;
use super::states::{Cause, StateChange};
use super::told::{Bars, Change, Common};
use crate::assess::{Answer, Assessed, Assessment, NoAnswer, Request, SurveyFit};
use crate::geometry::Place;
use crate::numeric::distributions::student_quantile;
use crate::numeric::line::Line;
use crate::numeric::quantile::quantile;
use crate::progress::Progress;
use crate::station::Station;

/// Surveys that a trend needs: a line through fewer has an interval that says nothing (Student's t with less than 2 degrees of
/// freedom is beyond 12 standard uncertainties).
pub const LEAST_FOR_TREND: usize = 4;
/// More surveys than this are not looked at: the baseline and the newest are.
const MOST: usize = 24;
/// Places that evenness is drawn at, and draws.
const PLACES: usize = 120;
const DRAWS: usize = 400;
const SEED: u64 = 0x0041_5703;

/// A value with its two bounds, each of which holds with 95 % confidence; `None` for a family without joint draws.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounded {
    /// The estimate.
    pub value: f64,
    /// Lower and upper bound.
    pub bounds: Option<(f64, f64)>,
}

/// One survey of many.
#[derive(Debug, Clone, PartialEq)]
pub struct SurveyOfHistory {
    /// Which of the station.
    pub survey: usize,
    /// Its day.
    pub date: Date,
    /// Hours on the lamp, where noted.
    pub hours: Option<f64>,
    /// Against the baseline; `None` for itself.
    pub common: Option<Common>,
    /// How many cold zones it has against the baseline.
    pub cold: usize,
    /// Something recorded, or seen in the readings, beside the lamp's age may have made the common change.
    pub otherwise: bool,
    /// Coldest spot, mW/cm².
    pub coldest: Bounded,
    /// (max - min) / (max + min) over the assessed area, percent.
    pub nonuniformity: Bounded,
}

/// What a trend runs along.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Along {
    /// Hours on the lamp: slopes per 100 h.
    Hours,
    /// Days since the baseline: slopes per 30 days.
    Days,
}

/// A straight line through the logarithm of the common changes, the baseline's none among them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trend {
    /// Along what.
    pub along: Along,
    /// Share of change per 100 h or per 30 days, below 0: fading.
    pub rate: f64,
    /// With 95 % confidence, from how the surveys scatter about the line.
    pub interval: (f64, f64),
    /// Surveys in it.
    pub surveys: usize,
}

/// Surveys of a station in the order of their days, the baseline first.
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    /// Each that could be compared.
    pub seen: Vec<SurveyOfHistory>,
    /// Those that could not, and why.
    pub left_out: Vec<(usize, String)>,
    /// `None`: fewer than [`LEAST_FOR_TREND`] that only age tells apart.
    pub trend: Option<Trend>,
}

impl History {
    /// Of all surveys against one; `fitted` has the fields that are there already.
    ///
    /// # Errors
    /// [`NoAnswer`] where the baseline has no field, or when cancelled.
    pub fn of(
        station: &Station,
        baseline: usize,
        bars: Bars,
        fitted: &[SurveyFit],
        progress: &Progress,
    ) -> Result<Self, NoAnswer> {
        let mut others: Vec<usize> = (0..station.surveys.len())
            .filter(|&i| i != baseline)
            .collect();
        others.sort_by_key(|&i| (station.surveys[i].date, i));
        let others = others.split_off(others.len().saturating_sub(MOST));
        let assess = |survey: usize| {
            let progress = &progress.part();
            let request = Request::of_survey(survey);
            match fitted.iter().find(|fit| fit.survey == survey) {
                Some(fit) => Assessment::of_fit(fit.clone(), station, &request, progress),
                None => Assessment::of(station, &request, progress),
            }
        };
        let first = assess(baseline)?;
        let mut seen = vec![SurveyOfHistory::of(
            station,
            &first.fit,
            &first.answer,
            None,
            progress,
        )?];
        let mut left_out = Vec::new();
        for (done, &survey) in others.iter().enumerate() {
            progress.set((done + 1) as f64 / (others.len() + 1) as f64);
            let compared = ToCompare::of(station, baseline, survey, bars)
                .and_then(|asked| asked.compare(&first.fit, &progress.part()))
                .and_then(|change| Ok((change, assess(survey)?)));
            match compared {
                Ok((change, it)) => {
                    seen.push(SurveyOfHistory::of(
                        station,
                        &it.fit,
                        &it.answer,
                        Some(&change),
                        progress,
                    )?);
                }
                Err(NoAnswer::Cancelled) => return Err(NoAnswer::Cancelled),
                Err(NoAnswer::Missing(why)) => left_out.push((survey, why)),
            }
        }
        Ok(Self {
            trend: trend(&seen),
            seen,
            left_out,
        })
    }
}

impl SurveyOfHistory {
    fn of(
        station: &Station,
        fit: &SurveyFit,
        answer: &Answer,
        change: Option<&Change>,
        progress: &Progress,
    ) -> Result<Self, NoAnswer> {
        let survey = &station.surveys[fit.survey];
        let coldest = &answer.coldest;
        let uneven = answer.uniformity.nonuniformity_percent;
        let only_age =
            |s: &StateChange| matches!(s, StateChange::BandNotSaid | StateChange::PairNotSaid);
        Ok(Self {
            survey: fit.survey,
            date: survey.date,
            hours: survey.state.lamp_hours,
            common: change.map(|c| c.common),
            cold: change.map_or(0, |c| c.cold.len()),
            otherwise: change.is_some_and(|c| {
                !c.states.iter().all(only_age) || c.may_be.first() == Some(&Cause::Distance)
            }),
            coldest: Bounded {
                value: coldest.irradiance,
                bounds: coldest.at_least.zip(coldest.at_most),
            },
            nonuniformity: Bounded {
                value: uneven,
                // drawn fields dip elsewhere, too: the field's own figure can lie just below all but a few of them
                bounds: evenness(station, fit, progress)?
                    .map(|(least, most)| (least.min(uneven), most.max(uneven))),
            },
        })
    }
}

/// Bounds of the nonuniformity over the assessed area from joint draws of the field.
fn evenness(
    station: &Station,
    fit: &SurveyFit,
    progress: &Progress,
) -> Result<Option<(f64, f64)>, NoAnswer> {
    let request = Request::of_survey(fit.survey);
    let areas = Assessed::of(station, &station.surveys[fit.survey], &request).areas;
    let all: f64 = areas.iter().map(|a| a.outline.area()).sum();
    let step = (all / PLACES as f64).sqrt().max(1.0);
    let places: Vec<Place> = areas
        .iter()
        .flat_map(|area| {
            let rim = area.outline.outline().into_iter();
            let points = area.outline.lattice(step).into_iter().chain(rim);
            points.map(|p| p.at_height(area.height)).collect::<Vec<_>>()
        })
        .take(4 * PLACES)
        .collect();
    let Some(draws) = fit.field.joint(&places, SEED, DRAWS, progress)? else {
        return Ok(None);
    };
    let each = draws.values.chunks(draws.places).map(|draw| {
        let low = draw.iter().copied().fold(f64::INFINITY, f64::min);
        let high = draw.iter().copied().fold(0.0, f64::max);
        100.0 * (high - low) / (high + low)
    });
    let each: Vec<f64> = each.collect();
    Ok(quantile(&each, 0.05).zip(quantile(&each, 0.95)))
}

/// The line, where enough surveys differ by nothing but age.
fn trend(seen: &[SurveyOfHistory]) -> Option<Trend> {
    let begin = seen.first()?;
    let alike: Vec<&SurveyOfHistory> = seen.iter().filter(|s| !s.otherwise).collect();
    if alike.len() < LEAST_FOR_TREND {
        return None;
    }
    let hours: Option<Vec<f64>> = alike.iter().map(|s| s.hours).collect();
    let (along, x, unit) = match hours {
        Some(hours) => (Along::Hours, hours, 100.0),
        None => {
            let days = |s: &&SurveyOfHistory| f64::from((s.date - begin.date).get_days());
            (Along::Days, alike.iter().map(days).collect(), 30.0)
        }
    };
    let log = |s: &&SurveyOfHistory| s.common.map_or(0.0, |c| c.change.ln_1p());
    let points: Vec<(f64, f64)> = x.into_iter().zip(alike.iter().map(log)).collect();
    let line = Line::through(&points)?;
    let spread = student_quantile(0.975, line.dof) * line.slope_uncertainty;
    let rate = |slope: f64| (unit * slope).exp_m1();
    Some(Trend {
        along,
        rate: rate(line.slope),
        interval: (rate(line.slope - spread), rate(line.slope + spread)),
        surveys: points.len(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::change::Calibration;

    fn seen(hours: Option<f64>, day: i8, change: Option<f64>, otherwise: bool) -> SurveyOfHistory {
        let bounded = Bounded {
            value: 50.0,
            bounds: None,
        };
        SurveyOfHistory {
            survey: 0,
            date: jiff::civil::date(2026, 3, day),
            hours,
            common: change.map(|change| Common {
                change,
                interval: (change, change),
                relative: (change, change),
                calibration: Calibration::Cancels,
            }),
            cold: 0,
            otherwise,
            coldest: bounded,
            nonuniformity: bounded,
        }
    }

    #[test]
    fn a_trend_takes_four_surveys_that_only_age_tells_apart() {
        // 2 % per 100 h, exactly
        let faded = |h: f64| Some((h / 100.0 * 0.98f64.ln()).exp_m1());
        let mut all = vec![seen(Some(100.0), 1, None, false)];
        for (i, h) in [150.0, 260.0].into_iter().enumerate() {
            all.push(seen(Some(100.0 + h), 2 + i as i8, faded(h), false));
        }
        assert_eq!(trend(&all), None, "three are too few");
        all.push(seen(Some(500.0), 9, Some(0.3), true));
        assert_eq!(trend(&all), None, "another lamp is no age");
        all.push(seen(Some(700.0), 12, faded(600.0), false));
        let line = trend(&all).expect("four");
        assert_eq!((line.along, line.surveys), (Along::Hours, 4));
        assert!((line.rate + 0.02).abs() < 1e-9, "{line:?}");
        all[1].hours = None;
        let days = trend(&all).expect("four");
        assert_eq!(days.along, Along::Days);
        assert!(days.interval.0 < days.rate && days.rate < days.interval.1);
    }
}
