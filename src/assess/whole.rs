//! One question after the other, for who asks them all at once: field, spots, answer, and what hangs on its verdict.

use std::sync::Arc;

use super::limits::{Outlook, ToCountAll, ToLeaveOut, ToLimit, ToLook, outlook};
use super::{Answer, NoAnswer, Request, Spots, SurveyFit, ToFit, ToJudge, ToSearch, assessed_area};
use crate::progress::Progress;
use crate::station::{Shared, Station};
use crate::trials;
use crate::units::Units;

/// A survey assessed: all that its answer was made from, and the answer.
#[derive(Debug, Clone)]
pub struct Assessment {
    /// The field.
    pub fit: SurveyFit,
    /// Its spots.
    pub spots: Spots,
    /// The answer.
    pub answer: Answer,
    to_fit: ToFit,
    search: Shared<ToSearch>,
    judge: ToJudge,
    request: Request,
}

impl Assessment {
    /// Fits the field of a survey and answers.
    ///
    /// # Errors
    /// [`NoAnswer`] with what is missing.
    pub fn of(station: &Station, request: &Request, progress: &Progress) -> Result<Self, NoAnswer> {
        let fit = ToFit::of(station, request)?.fit(progress)?;
        Self::of_fit(fit, station, request, progress)
    }

    /// The same with its sentences in other units.
    ///
    /// # Errors
    /// [`NoAnswer`] with what is missing.
    pub fn in_units(self, station: &Station, units: Units) -> Result<Self, NoAnswer> {
        let judge = ToJudge {
            units,
            limits: ToLimit::of(station, || trials::least(station, units.irradiance)),
            ..self.judge
        };
        Ok(Self {
            answer: judge.answer(&self.fit, &self.spots)?,
            judge,
            ..self
        })
    }

    /// Answers from a field that was fitted before.
    ///
    /// # Errors
    /// [`NoAnswer`] with what is missing.
    pub fn of_fit(
        fit: SurveyFit,
        station: &Station,
        request: &Request,
        progress: &Progress,
    ) -> Result<Self, NoAnswer> {
        let request = Request {
            survey: Some(fit.survey),
            ..*request
        };
        let to_fit = ToFit::of(station, &request)?;
        let survey = to_fit.survey();
        let assessed = assessed_area(station, &request)?;
        let search = Shared::from(ToSearch::of(station, survey, &assessed));
        let spots = Spots::of(&fit.field, &search, progress)?;
        let units = Units::default();
        let limits = ToLimit::of(station, || trials::least(station, units.irradiance));
        let findings = Arc::new(station.check());
        let judge = ToJudge::of(station, survey, &assessed, &search, limits, findings, units);
        Ok(Self {
            answer: judge.answer(&fit, &spots)?,
            fit,
            spots,
            to_fit,
            search,
            judge,
            request,
        })
    }

    /// What hangs on its verdict; `None` where there is none. `show` says irradiances in its sentences.
    ///
    /// # Errors
    /// [`NoAnswer`] with what is missing.
    pub fn outlook(
        &self,
        station: &Station,
        show: &dyn Fn(f64) -> String,
        progress: &Progress,
    ) -> Result<Option<Outlook>, NoAnswer> {
        let Some(judged) = self.answer.judged() else {
            return Ok(None);
        };
        let (search, survey) = (&self.search, &self.judge.survey);
        let bench = station.bench().into();
        let look = ToLook::of(station, &bench, survey, search, judged.verdict);
        let leave_out = ToLeaveOut::of(&self.to_fit, search, &self.spots, judged);
        let count_all = ToCountAll::of(station, &self.request, &self.to_fit);
        let looked = look.look(&self.fit, &self.spots, progress)?;
        let left_out = leave_out
            .map(|asked| asked.leave_out(&self.fit.field, progress))
            .transpose()?;
        let all_counted = count_all
            .map(|asked| asked.count(&self.fit.field, progress))
            .transpose()?;
        let seen = outlook::OutlookGrounds {
            fit: &self.fit,
            judge: &self.judge,
            answer: &self.answer,
            looked: &looked,
            left_out: left_out.as_deref().unwrap_or_default(),
            all_counted: all_counted.as_ref(),
        };
        Ok(Outlook::of(&seen, show))
    }
}

/// The answer from a field that was fitted before.
///
/// # Errors
/// [`NoAnswer`] with what is missing.
pub fn answer_with(
    fit: &SurveyFit,
    station: &Station,
    request: &Request,
    progress: &Progress,
) -> Result<Answer, NoAnswer> {
    Ok(Assessment::of_fit(fit.clone(), station, request, progress)?.answer)
}

/// Fits and answers.
///
/// # Errors
/// [`NoAnswer`] with what is missing.
pub fn answer(
    station: &Station,
    request: &Request,
    progress: &Progress,
) -> Result<Answer, NoAnswer> {
    Ok(Assessment::of(station, request, progress)?.answer)
}
