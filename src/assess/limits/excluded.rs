//! What would be said with the excluded readings counted.

use super::verdict::Verdict;
use crate::assess::{Assessed, NoAnswer, Request, Spots, SurveyFit, ToFit, ToJudge, ToSearch};
use crate::field::Fitted;
use crate::progress::Progress;
use crate::station::{Reading, Shared, Station, Survey};

/// Figures with the excluded readings.
#[derive(Debug, Clone, PartialEq)]
pub struct Both {
    /// How many readings are excluded.
    pub excluded: usize,
    /// Coldest spot with them, mW/cm², and its assured minimum, relative.
    pub coldest: (f64, Option<f64>),
    /// Hottest spot with them, and its assured maximum, relative.
    pub hottest: (f64, Option<f64>),
    /// The assured minimum and maximum that are judged.
    pub judged: (Option<f64>, Option<f64>),
    /// The verdict with them; `None` without a lower limit.
    pub verdict: Option<Verdict>,
}

/// The survey with its excluded readings counted, and where it is assessed then.
#[derive(Debug, Clone, PartialEq)]
pub struct ToCountAll {
    fit: ToFit,
    assessed: Assessed,
    search: ToSearch,
    excluded: usize,
}

/// The field with all of them.
#[derive(Debug)]
pub struct AllCounted {
    survey: Shared<Survey>,
    assessed: Assessed,
    fit: SurveyFit,
    spots: Spots,
    excluded: usize,
}

impl ToCountAll {
    /// Of the survey that a fit is made from; `None` where no reading is excluded that could count.
    pub fn of(station: &Station, request: &Request, fit: &ToFit) -> Option<Self> {
        let could = |r: &&Reading| {
            r.excluded.is_some()
                && !r.saturated
                && r.irradiance.is_some_and(|e| e.is_finite() && e > 0.0)
        };
        let excluded = fit.survey().readings.iter().filter(could).count();
        if excluded == 0 {
            return None;
        }
        let mut survey = Survey::clone(fit.survey());
        for reading in &mut survey.readings {
            reading.excluded = None;
        }
        let fit = fit.with(survey);
        // without sites the fixture is assessed at the lowest height that counts
        let assessed = Assessed::of(station, fit.survey(), request);
        Some(Self {
            search: ToSearch::of(station, fit.survey(), &assessed),
            assessed,
            fit,
            excluded,
        })
    }

    /// Counts them; `without` is the field without them.
    ///
    /// # Errors
    /// [`NoAnswer`] with what is missing.
    pub fn count(&self, without: &Fitted, progress: &Progress) -> Result<AllCounted, NoAnswer> {
        let fit = self.fit.fit_near(without, progress)?;
        Ok(AllCounted {
            survey: self.fit.survey().clone(),
            assessed: self.assessed.clone(),
            spots: Spots::of(&fit.field, &self.search, progress)?,
            fit,
            excluded: self.excluded,
        })
    }
}

/// What would be said.
pub(super) fn both(all: &AllCounted, judge: &ToJudge) -> Option<Both> {
    let judge = ToJudge {
        survey: all.survey.clone(),
        assessed: all.assessed.clone(),
        ..judge.clone()
    };
    let answer = judge.answer(&all.fit, &all.spots).ok()?;
    Some(Both {
        excluded: all.excluded,
        coldest: (answer.coldest.irradiance, answer.coldest.at_least),
        hottest: (answer.hottest.irradiance, answer.hottest.at_most),
        judged: (
            answer.coldest.assured(answer.scale()),
            answer.hottest.assured_most(answer.scale_of_hottest()),
        ),
        verdict: answer.judged().map(|j| j.verdict),
    })
}
