//! From readings to a verdict and what hangs on it: fit, spots, answer, outlook. Each is a question of its own, asked again
//! only where what it is asked of is another thing.

use std::sync::Arc;

use super::wanted::TrialsTold;
use crate::assess::limits::{
    AllCounted, LeftOut, Looked, Outlook, Terms, ToCountAll, ToLeaveOut, ToLimit, ToLook, outlook,
};
use crate::assess::{Answer, Assessed, Request, Spots, SurveyFit, ToFit, ToJudge, ToSearch};
use crate::field::Fitted;
use crate::progress::Progress;
use crate::session::background::{Same, after, told};
use crate::station::limits::Least;
use crate::station::{Finding, Shared, Station, Survey};
use crate::trials;
use crate::units::Units;
use crate::work::{Held, Latest, Wake};

#[derive(Debug, Clone, PartialEq)]
struct SpotsKey {
    field: Same<Fitted>,
    search: Shared<ToSearch>,
}

#[derive(Debug, Clone, PartialEq)]
struct AnswerKey {
    field: Same<Fitted>,
    spots: Same<Spots>,
    judge: Shared<ToJudge>,
}

#[derive(Debug, Clone, PartialEq)]
struct LookedKey {
    field: Same<Fitted>,
    spots: Same<Spots>,
    look: ToLook,
}

#[derive(Debug, Clone, PartialEq)]
struct OutlookKey {
    answer: Same<Answer>,
    looked: Same<Looked>,
    left_out: Option<Same<Vec<LeftOut>>>,
    all_counted: Option<Same<AllCounted>>,
}

#[derive(Debug, Clone, PartialEq)]
struct TermsKey {
    limits: ToLimit,
    units: Units,
    /// The survey that is judged, without its readings.
    details: Option<Shared<Survey>>,
}

/// What is assessed this frame.
#[derive(Debug, Clone, Copy)]
pub(super) struct Of<'a> {
    pub station: &'a Arc<Station>,
    pub bench: &'a Shared<Station>,
    pub survey: Option<usize>,
    pub findings: &'a Arc<Vec<Finding>>,
    /// What the cure trials tell, once they do.
    pub told: Option<&'a Arc<TrialsTold>>,
    /// In which sentences are said.
    pub units: Units,
    /// What hangs on the verdict is looked at.
    pub outlook: bool,
}

/// What questions are asked of, made once for each document and survey.
struct Asked {
    of: (Same<Station>, usize, Option<Same<TrialsTold>>, Units),
    fit: ToFit,
    search: Shared<ToSearch>,
    /// `None` until the cure trials have told.
    judge: Option<Shared<ToJudge>>,
    all_counted: Option<Shared<ToCountAll>>,
}

/// What questions about what hangs on an answer are asked of, made once for each answer and document.
struct Further {
    of: (Same<Answer>, Same<Station>),
    look: ToLook,
    leave_out: Option<ToLeaveOut>,
}

/// The slots.
pub(super) struct Assessing {
    fit: Latest<ToFit, SurveyFit>,
    spots: Latest<SpotsKey, Arc<Spots>>,
    answer: Latest<AnswerKey, Arc<Answer>>,
    looked: Latest<LookedKey, Arc<Looked>>,
    left_out: Latest<ToLeaveOut, Arc<Vec<LeftOut>>>,
    all_counted: Latest<(Same<Fitted>, Shared<ToCountAll>), Arc<AllCounted>>,
    outlook: Latest<OutlookKey, Arc<Outlook>>,
    terms: Latest<TermsKey, Terms>,
    asked: Option<Asked>,
    further: Option<Further>,
    /// The answer, and the outlook, were asked for with all that they are made from as it is now.
    is_answer_asked: bool,
    is_outlook_asked: bool,
    is_terms_asked: bool,
}

impl Assessing {
    pub(super) fn new(wake: &Wake) -> Self {
        Self {
            fit: Latest::new(wake.clone()),
            spots: Latest::new(wake.clone()),
            answer: Latest::new(wake.clone()),
            looked: Latest::long(wake.clone()),
            left_out: Latest::long(wake.clone()),
            all_counted: Latest::long(wake.clone()),
            outlook: Latest::new(wake.clone()),
            terms: Latest::new(wake.clone()),
            asked: None,
            further: None,
            is_answer_asked: false,
            is_outlook_asked: false,
            is_terms_asked: false,
        }
    }

    /// What spots are looked for in.
    pub(super) fn search(&self) -> Option<&Shared<ToSearch>> {
        self.asked.as_ref().map(|asked| &asked.search)
    }

    /// Takes in what has ended and asks for what is wanted.
    pub(super) fn update(&mut self, of: &Of<'_>) {
        self.collect();
        self.is_answer_asked = false;
        self.is_outlook_asked = false;
        self.ask_terms(of);
        let Some(survey) = of.survey else {
            self.forget();
            return;
        };
        if self
            .asked
            .as_ref()
            .is_some_and(|asked| asked.of.1 != survey)
        {
            // nothing of another survey is shown as an older picture of this one
            self.forget();
        }
        let Some(asked) = Asked::renewed(self.asked.take(), of, survey) else {
            self.forget();
            return;
        };
        self.ask(&asked, of);
        self.asked = Some(asked);
    }

    fn ask(&mut self, asked: &Asked, of: &Of<'_>) {
        let to_fit = asked.fit.clone();
        self.fit.ask(asked.fit.clone(), || {
            move |progress: &Progress| told(to_fit.fit(progress))
        });
        if let Held::Failed(..) = self.fit.held() {
            // an older picture would be one of other readings
            self.forget_what_follows();
        }
        let Some(fit) = self.fit.held().current().cloned() else {
            return;
        };
        let field = Same(fit.field.clone());
        let key = SpotsKey {
            field: field.clone(),
            search: asked.search.clone(),
        };
        let (to_search, of_field) = (asked.search.clone(), fit.field.clone());
        // what stands in the light may be dragged: each answer that was begun is shown
        let kept = |running: &SpotsKey| {
            let shaded = |of: &ToSearch| of.standing.is_some();
            running.field == key.field && shaded(&running.search) && shaded(&key.search)
        };
        self.spots.ask_after(kept, key.clone(), || {
            move |progress: &Progress| {
                told(Spots::of(&of_field, &to_search, progress).map(Arc::new))
            }
        });
        // while something is dragged an older answer follows from older spots, and the newest is still awaited
        let held = self.spots.held();
        let is_current = held.current().is_some();
        let dragged = asked.search.standing.is_some();
        let Some(spots) = held.any().filter(|_| is_current || dragged).cloned() else {
            return;
        };
        let Some(judge) = asked.judge.clone() else {
            return;
        };
        let key = AnswerKey {
            field,
            spots: Same(spots.clone()),
            judge: judge.clone(),
        };
        let (fitted, found, to_judge) = (fit.clone(), spots.clone(), judge.clone());
        self.answer.ask(key, || {
            move |_: &Progress| told(to_judge.answer(&fitted, &found).map(Arc::new))
        });
        if !is_current {
            return;
        }
        self.is_answer_asked = true;
        let Some(answer) = self.answer.held().current().cloned() else {
            return;
        };
        if answer.judged().is_none() {
            // without limits there is nothing to show, not even an older one
            self.outlook.forget();
        } else if of.outlook {
            self.ask_outlook(asked, of, (fit, spots, judge), answer);
        }
    }

    fn ask_outlook(
        &mut self,
        asked: &Asked,
        of: &Of<'_>,
        (fit, spots, judge): (SurveyFit, Arc<Spots>, Shared<ToJudge>),
        answer: Arc<Answer>,
    ) {
        let Some(judged) = answer.judged() else {
            return;
        };
        let now = (Same(answer.clone()), Same(of.station.clone()));
        let further = match self.further.take() {
            Some(further) if further.of == now => further,
            _ => Further {
                of: now,
                look: ToLook::of(
                    of.station,
                    of.bench,
                    &judge.survey,
                    &asked.search,
                    judged.verdict,
                ),
                leave_out: ToLeaveOut::of(&asked.fit, &asked.search, &spots, judged),
            },
        };
        let (look, leave_out) = (further.look.clone(), further.leave_out.clone());
        self.further = Some(further);
        let key = LookedKey {
            field: Same(fit.field.clone()),
            spots: Same(spots.clone()),
            look: look.clone(),
        };
        let (fitted, found) = (fit.clone(), spots);
        self.looked.ask(key, || {
            move |progress: &Progress| told(look.look(&fitted, &found, progress).map(Arc::new))
        });
        let is_left_out = leave_out.is_some();
        if let Some(leave_out) = leave_out {
            let with = fit.field.clone();
            self.left_out.ask(leave_out.clone(), || {
                move |progress: &Progress| told(leave_out.leave_out(&with, progress).map(Arc::new))
            });
        }
        if let Some(all) = &asked.all_counted {
            let (all, without) = (all.clone(), fit.field.clone());
            self.all_counted
                .ask((Same(without.clone()), all.clone()), || {
                    move |progress: &Progress| told(all.count(&without, progress).map(Arc::new))
                });
        }
        let Some(looked) = self.looked.held().current().cloned() else {
            return;
        };
        let Some(left_out) = part(is_left_out, &self.left_out) else {
            return;
        };
        let Some(all_counted) = part(asked.all_counted.is_some(), &self.all_counted) else {
            return;
        };
        let key = OutlookKey {
            answer: Same(answer.clone()),
            looked: Same(looked.clone()),
            left_out: left_out.clone().map(Same),
            all_counted: all_counted.clone().map(Same),
        };
        let unit = of.units.irradiance;
        self.outlook.ask(key, || {
            move |_: &Progress| {
                let seen = outlook::OutlookGrounds {
                    fit: &fit,
                    judge: &judge,
                    answer: &answer,
                    looked: &looked,
                    left_out: left_out.as_deref().map_or(&[][..], Vec::as_slice),
                    all_counted: all_counted.as_deref(),
                };
                let made = Outlook::of(&seen, &|e| unit.show_with_unit(e, None))?;
                Some(Ok(Arc::new(made)))
            }
        });
        self.is_outlook_asked = true;
    }

    /// Limits hold without any reading.
    fn ask_terms(&mut self, of: &Of<'_>) {
        self.is_terms_asked = false;
        if of.station.limits.is_none() {
            self.terms.forget();
            return;
        }
        if !of.outlook {
            return;
        }
        let Some(Some(limits)) = limits(of.station, of.told) else {
            return;
        };
        let survey = of.survey.and_then(|i| of.station.survey_at(i));
        let key = TermsKey {
            limits,
            units: of.units,
            details: survey.map(|survey| survey.details().into()),
        };
        let TermsKey {
            limits,
            units,
            details,
        } = key.clone();
        self.terms.ask(key, || {
            move |_: &Progress| Some(limits.terms(details.as_deref(), units))
        });
        self.is_terms_asked = true;
    }

    fn collect(&mut self) {
        self.fit.collect();
        self.spots.collect();
        self.answer.collect();
        self.looked.collect();
        self.left_out.collect();
        self.all_counted.collect();
        self.outlook.collect();
        self.terms.collect();
    }

    fn forget(&mut self) {
        self.fit.forget();
        self.forget_what_follows();
        self.asked = None;
    }

    fn forget_what_follows(&mut self) {
        self.spots.forget();
        self.answer.forget();
        self.looked.forget();
        self.left_out.forget();
        self.all_counted.forget();
        self.outlook.forget();
        self.further = None;
    }

    pub(super) fn fit(&self) -> Held<'_, SurveyFit> {
        self.fit.held()
    }

    /// The field of just this question where it is the one that is looked at.
    pub(super) fn fit_of(&self, asked: &ToFit) -> Option<Held<'_, SurveyFit>> {
        let own = self.asked.as_ref()?;
        (own.fit == *asked).then(|| self.fit.held())
    }

    /// What follows from the spots waits for them, and these for the fit.
    fn spots(&self) -> Held<'_, Arc<Spots>> {
        after(self.fit(), self.spots.held())
    }

    pub(super) fn answer(&self) -> Held<'_, Arc<Answer>> {
        after(
            self.spots(),
            asked(self.is_answer_asked, self.answer.held()),
        )
    }

    pub(super) fn outlook(&self) -> Held<'_, Arc<Outlook>> {
        let outlook = asked(self.is_outlook_asked, self.outlook.held());
        after(self.answer(), after(self.looked.held(), outlook))
    }

    pub(super) fn terms(&self) -> Held<'_, Terms> {
        asked(self.is_terms_asked, self.terms.held())
    }

    /// The answer, if it is that of this very document and survey.
    pub(super) fn answer_of(
        &self,
        station: &Arc<Station>,
        survey: Option<usize>,
    ) -> Option<&Arc<Answer>> {
        let (of, index, ..) = &self.asked.as_ref()?.of;
        let is_of = Arc::ptr_eq(&of.0, station) && Some(*index) == survey;
        self.answer().current().filter(|_| is_of)
    }

    /// Whether the answer is on its way.
    pub(super) fn is_answering(&self) -> bool {
        self.fit.held().is_updating()
            || self.spots.held().is_updating()
            || self.answer.held().is_updating()
    }

    /// Whether what hangs on it is.
    pub(super) fn is_looking_further(&self) -> bool {
        self.looked.held().is_updating()
            || self.left_out.held().is_updating()
            || self.all_counted.held().is_updating()
            || self.outlook.held().is_updating()
            || self.terms.held().is_updating()
    }
}

/// A part of an outlook: `None` while it is on its way, `Some(None)` where there is none.
fn part<K: PartialEq + Clone, T: Clone + Send + 'static>(
    is_asked: bool,
    slot: &Latest<K, T>,
) -> Option<Option<T>> {
    if !is_asked {
        return Some(None);
    }
    match slot.held() {
        Held::Current(made) => Some(Some(made.clone())),
        // readings from which no field can be made add nothing
        Held::Failed(..) => Some(None),
        Held::Nothing | Held::Updating(..) => None,
    }
}

/// What a slot holds, which is older where it could not be asked yet.
fn asked<T>(is_asked: bool, held: Held<'_, T>) -> Held<'_, T> {
    match held {
        Held::Current(old) if !is_asked => Held::Updating(Some(old), 0.0),
        held => held,
    }
}

/// What the limits of a station follow from; `None` while the cure trials are being looked at, `Some(None)` without limits.
fn limits(station: &Station, told: Option<&Arc<TrialsTold>>) -> Option<Option<ToLimit>> {
    let counts = (station.limits.as_ref()).is_some_and(|l| l.least == Least::FromTrials);
    match (&station.trials, told) {
        (Some(_), None) if counts => None,
        (Some(_), Some(told)) => Some(ToLimit::of(station, || match &**told {
            Ok(analysis) => analysis.least.clone(),
            Err(why) => Err(why.clone()),
        })),
        _ => Some(ToLimit::of(station, || {
            trials::least(station, Default::default())
        })),
    }
}

impl Asked {
    /// Made anew where the document or what its trials tell is another one, with the parts that stayed the same as they
    /// were; `None` where there is no such survey.
    fn renewed(old: Option<Self>, of: &Of<'_>, survey: usize) -> Option<Self> {
        let told = of.told.cloned().map(Same);
        let now = (Same(of.station.clone()), survey, told, of.units);
        let old = match old {
            Some(old) if old.of == now => return Some(old),
            old => old,
        };
        let station = &**of.station;
        let request = Request::of_survey(survey);
        let fit = ToFit::of(station, &request).ok()?;
        let of_survey = fit.survey().clone();
        let assessed = Assessed::of(station, &of_survey, &request);
        let search = ToSearch::of(station, &of_survey, &assessed);
        let judge = limits(station, of.told).map(|limits| {
            let findings = of.findings.clone();
            ToJudge::of(
                station, &of_survey, &assessed, &search, limits, findings, of.units,
            )
        });
        let all_counted = ToCountAll::of(station, &request, &fit);
        let old = old.as_ref();
        Some(Self {
            of: now,
            search: kept(search, old.map(|old| &old.search)),
            judge: judge.map(|judge| kept(judge, old.and_then(|old| old.judge.as_ref()))),
            all_counted: all_counted
                .map(|all| kept(all, old.and_then(|old| old.all_counted.as_ref()))),
            fit,
        })
    }
}

/// The old one where the new one says the same: then it is known at a glance that nothing changed.
fn kept<T: PartialEq>(new: T, old: Option<&Shared<T>>) -> Shared<T> {
    match old {
        Some(old) if **old == new => old.clone(),
        _ => new.into(),
    }
}

#[cfg(test)]
mod tests;
