//! At the bench: what the readings that are still to be taken will be, so that a slip is asked about at once.

use std::sync::Arc;

use super::background::{Same, told};
use crate::assess::{Expected, Request, SurveyFit, ToFit, expected};
use crate::field::Fitted;
use crate::progress::Progress;
use crate::station::{Shared, Station, Survey};
use crate::work::{Latest, Wake};

/// An earlier survey tells what to expect with so many readings.
const FEW: usize = 8;

/// What is expected hangs on what was read, and on both fields.
#[derive(Debug, Clone, PartialEq)]
struct ExpectedKey {
    survey: Shared<Survey>,
    around: Option<Same<Fitted>>,
    earlier: Option<Same<Fitted>>,
}

/// For each row of a survey what is expected there.
#[derive(Debug)]
pub struct Awaited {
    /// The survey as it was then.
    survey: Shared<Survey>,
    rows: Vec<Option<Expected>>,
}

impl Awaited {
    /// What was expected at a row before it was read, as long as it is the same place.
    pub fn at(&self, survey: &Survey, row: usize) -> Option<Expected> {
        let (then, now) = (self.survey.readings.get(row)?, survey.readings.get(row)?);
        let is_same = then.place() == now.place() && then.repeat == now.repeat;
        self.rows.get(row).copied().flatten().filter(|_| is_same)
    }
}

/// The questions.
pub(super) struct AtBench {
    /// The document and its survey for which the earlier one was looked for.
    asked: Option<(Same<Station>, usize)>,
    earlier: Latest<ToFit, SurveyFit>,
    awaited: Latest<ExpectedKey, Arc<Awaited>>,
}

impl AtBench {
    pub(super) fn new(wake: &Wake) -> Self {
        Self {
            asked: None,
            earlier: Latest::long(wake.clone()),
            awaited: Latest::new(wake.clone()),
        }
    }

    /// Takes in what has ended, and asks where a round is read; `around` is the newest field of its readings.
    pub(super) fn update(
        &mut self,
        station: &Arc<Station>,
        survey: Option<usize>,
        around: Option<&SurveyFit>,
    ) {
        self.earlier.collect();
        self.awaited.collect();
        let Some((index, of)) = survey.and_then(|i| Some((i, station.surveys.get(i)?))) else {
            return;
        };
        let now = (Same(station.clone()), index);
        if self.asked.as_ref() != Some(&now) {
            match earlier(station, index)
                .and_then(|before| ToFit::of(station, &Request::of_survey(before)).ok())
            {
                Some(asked) => self.earlier.ask(asked.clone(), || {
                    move |progress: &Progress| told(asked.fit(progress))
                }),
                None => self.earlier.forget(),
            }
            self.asked = Some(now);
        }
        let before = self.earlier.held().current().cloned();
        let around = around.filter(|fit| fit.survey == index).cloned();
        let field = |fit: &SurveyFit| Same(fit.field.clone());
        let key = ExpectedKey {
            survey: of.clone(),
            around: around.as_ref().map(field),
            earlier: before.as_ref().map(field),
        };
        let survey = of.clone();
        self.awaited.ask(key, || {
            move |progress: &Progress| {
                let rows = expected(&survey, around.as_ref(), before.as_ref(), progress).ok()?;
                Some(Ok(Arc::new(Awaited { survey, rows })))
            }
        });
    }

    /// What was worked out last; it may be from before the last reading.
    pub(super) fn awaited(&self) -> Option<&Awaited> {
        self.awaited.held().any().map(|awaited| &**awaited)
    }
}

/// The newest of the surveys that are no newer than one, with enough readings and no other band.
fn earlier(station: &Station, index: usize) -> Option<usize> {
    let own = station.survey_at(index)?;
    let band = |s: &Survey| s.radiometer.as_ref().map(|r| r.band.trim().to_lowercase());
    let tells = |&i: &usize| {
        let other = &station.surveys[i];
        let read = other.readings.iter().filter(|r| r.counted().is_some());
        i != index && other.date <= own.date && band(other) == band(own) && read.count() >= FEW
    };
    let all = (0..station.surveys.len()).filter(tells);
    all.max_by_key(|&i| (station.surveys[i].date, i))
}
