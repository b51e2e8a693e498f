//! The repeat study, in the background: its figures at once, noise and error of placement told apart once the field of its
//! first round is there.

use std::sync::Arc;

use super::background::{Same, told};
use crate::assess::{NoAnswer, Request, SurveyFit, ToFit};
use crate::field::Fitted;
use crate::progress::Progress;
use crate::record::{RepeatRecord, no_study_words};
use crate::repeat::{Study, split};
use crate::station::Station;
use crate::work::{Held, Latest, Wake};

type Key = (Same<Station>, Option<Same<Fitted>>);

/// The questions.
pub(super) struct Repeating {
    field: Latest<ToFit, SurveyFit>,
    record: Latest<Key, Arc<RepeatRecord>>,
    /// How far the field of the first round is, where an older record is kept until it is there.
    waits: Option<f64>,
}

impl Repeating {
    pub(super) fn new(wake: &Wake) -> Self {
        Self {
            field: Latest::long(wake.clone()),
            record: Latest::long(wake.clone()),
            waits: None,
        }
    }

    /// Takes in what has ended, and asks where it is looked at; `there` says of a field that is made already.
    pub(super) fn update(
        &mut self,
        looked: Option<&Arc<Station>>,
        there: impl Fn(&ToFit) -> Option<SurveyFit>,
    ) {
        self.field.collect();
        self.record.collect();
        let Some(station) = looked else { return };
        self.waits = None;
        let Some(study) = &station.repeat else {
            self.record.forget();
            return;
        };
        let first = study.rounds.first().and_then(|r| station.survey(&r.survey));
        let to_fit = first.and_then(|survey| {
            let request = Request::of_survey(survey);
            ToFit::of(station, &request).ok()
        });
        let fit = to_fit.and_then(|to_fit| {
            there(&to_fit).or_else(|| {
                let asked = to_fit.clone();
                self.field.ask(to_fit, || {
                    move |progress: &Progress| told(asked.fit(progress))
                });
                self.field.held().current().cloned()
            })
        });
        if let (None, Held::Updating(_, fraction)) = (&fit, self.field.held())
            && self.record.held().any().is_some()
        {
            self.waits = Some(fraction);
            return;
        }
        let field = fit.map(|fit| Same(fit.field));
        let key = (Same(station.clone()), field);
        let (station, field) = key.clone();
        self.record.ask(key, || {
            move |progress: &Progress| {
                told(recorded(&station.0, field.as_ref(), progress).map(Arc::new))
            }
        });
    }

    pub(super) fn held(&self) -> Held<'_, Arc<RepeatRecord>> {
        match self.waits {
            Some(fraction) => Held::Updating(self.record.held().any(), fraction),
            None => self.record.held(),
        }
    }

    pub(super) fn is_updating(&self) -> bool {
        self.field.held().is_updating() || self.record.held().is_updating()
    }
}

fn recorded(
    station: &Station,
    field: Option<&Same<Fitted>>,
    progress: &Progress,
) -> Result<RepeatRecord, NoAnswer> {
    let study = Study::of(station).map_err(|why| NoAnswer::Missing(no_study_words(&why)))?;
    let split = match field {
        Some(field) => split(&study, &field.0, progress).map_err(|_| NoAnswer::Cancelled)?,
        None => None,
    };
    Ok(RepeatRecord::new(station, &study, split.as_ref()))
}
