//! What is computed from the document, kept as long as it holds. Each is a slot of its own: moving a site asks for other
//! spots and not for another fit.

mod assessing;
mod mapped;
mod wanted;

pub use wanted::{TrialsTold, Wanted};

use std::sync::Arc;

use super::background::{Same, after, told};
use super::bench::{AtBench, Awaited};
use super::change::{Compared, Comparing, Elsewhere, Looked};
use super::placing::{self, PlacingAnswers};
use super::planning::Planning;
use super::profile::Profile;
use super::repeating::Repeating;
use super::upkeep::{self, KeepingUp};
use crate::assess::limits::{Outlook, Terms};
use crate::assess::{Answer, Request, SurveyFit, ToFit};
use crate::change::{History, ShortCheck};
use crate::field::{Fitted, Map};
use crate::probing::{Proposal, propose};
use crate::progress::Progress;
use crate::record::RepeatRecord;
use crate::sheet::against::Against;
use crate::station::limits::Least;
use crate::station::{Shared, Station, Survey, Trials};
use crate::trials;
use crate::trials::dose::DoseLaw;
use crate::units::IrradianceUnit;
use crate::upkeep::{Daily, Review, Touched};
use crate::work::{Held, Latest, Wake};
use assessing::{Assessing, Of};
use mapped::Mapped;

/// Where to measure next hangs on where detectors and parts can be, and on the rows of the survey.
#[derive(Debug, Clone, PartialEq)]
struct NextKey {
    field: Same<Fitted>,
    bench: Shared<Station>,
    survey: Shared<Survey>,
}

/// The slots.
pub struct Answers {
    assessing: Assessing,
    mapped: Mapped,
    next: Latest<NextKey, Proposal>,
    trials: Latest<(Shared<Trials>, IrradianceUnit), Arc<TrialsTold>>,
    dose: Latest<Shared<Trials>, Option<DoseLaw>>,
    planning: Planning,
    placing: PlacingAnswers,
    comparing: Comparing,
    repeating: Repeating,
    keeping_up: KeepingUp,
    at_bench: AtBench,
    /// Parts of the document that questions are asked of, and the document: made once an edit.
    parts: Option<(Same<Station>, Parts)>,
}

#[derive(Clone)]
struct Parts {
    bench: Shared<Station>,
    trials: Option<Shared<Trials>>,
}

impl Answers {
    /// Empty slots.
    pub fn new(wake: &Wake) -> Self {
        Self {
            assessing: Assessing::new(wake),
            mapped: Mapped::new(wake),
            next: Latest::long(wake.clone()),
            trials: Latest::new(wake.clone()),
            dose: Latest::long(wake.clone()),
            planning: Planning::new(wake),
            placing: PlacingAnswers::new(wake),
            comparing: Comparing::new(wake),
            repeating: Repeating::new(wake),
            keeping_up: KeepingUp::new(wake),
            at_bench: AtBench::new(wake),
            parts: None,
        }
    }

    /// Takes in what has ended and asks for what is wanted. To be called once a frame.
    pub fn update(&mut self, wanted: Wanted<'_>) {
        self.mapped.collect();
        self.next.collect();
        self.placing.collect();
        let Parts { bench, trials } = self.parts(wanted.station);
        self.planning.update(&bench, wanted.trial);
        let looked = wanted.compared.map(|surveys| Looked {
            station: wanted.station,
            bench: &bench,
            surveys,
            units: wanted.units,
            short: wanted.short_check,
        });
        let assessing = &self.assessing;
        self.comparing
            .update(looked, |asked| match assessing.fit_of(asked) {
                Some(Held::Current(fit)) => Elsewhere::There(fit.clone()),
                Some(Held::Updating(_, fraction)) => Elsewhere::OnItsWay(fraction),
                Some(Held::Nothing | Held::Failed(..)) | None => Elsewhere::No,
            });
        let looked = wanted.repeat.then_some(wanted.station);
        self.repeating
            .update(looked, |asked| assessing.fit_of(asked)?.current().cloned());
        self.ask_trials(&wanted, trials.clone());
        let told = self.trials.held().current().cloned();
        let of = self.assessing.fit().any().map(|fit| fit.survey);
        if of != wanted.survey {
            // nothing of another survey is shown as an older picture of this one
            self.forget_field();
        }
        self.assessing.update(&Of {
            station: wanted.station,
            bench: &bench,
            survey: wanted.survey,
            findings: wanted.findings,
            told: told.as_ref(),
            units: wanted.units,
            outlook: wanted.outlook,
        });
        let round = wanted.survey.filter(|_| wanted.at_bench);
        (self.at_bench).update(wanted.station, round, self.assessing.fit().any());
        if let Held::Failed(..) = self.assessing.fit() {
            self.forget_field();
        }
        self.keep_up(&wanted, &bench);
        // What follows needs the fit of this very document: rows of an older one may be gone.
        let Some(fit) = self.assessing.fit().current().cloned() else {
            return;
        };
        self.mapped.ask(&fit, &wanted, self.assessing.search());
        if let Some(placing) = wanted.placing {
            self.placing.ask(&placing::Asking {
                station: wanted.station,
                bench: &bench,
                trials,
                fit: &fit,
                units: wanted.units,
                placing,
                looked_at: wanted.arranging,
            });
        }
        if wanted.next {
            self.ask_next(&fit, wanted.station, bench);
        }
        if let Some(answer) = self.assessing.answer().current() {
            match answer.judged() {
                // the map is that of the open: it can't say of a shadow what is not shown
                Some(judged) if judged.unproven_at_bond => self.mapped.against.forget(),
                Some(judged) if wanted.outlook => {
                    let calibration = answer.calibration;
                    self.mapped.ask_against(&fit, &wanted, judged, calibration);
                }
                Some(_) => {}
                // without limits there is nothing to show, not even an older one
                None => self.mapped.against.forget(),
            }
        }
    }

    fn keep_up(&mut self, wanted: &Wanted<'_>, bench: &Shared<Station>) {
        let Some(today) = wanted.upkeep else {
            self.keeping_up.update(None);
            return;
        };
        let has_limits = wanted.station.limits.is_some() && wanted.survey.is_some();
        let held = (self.assessing.answer(), self.assessing.outlook());
        let terms = match held {
            _ if !has_limits => upkeep::Terms::Without,
            (Held::Current(answer), Held::Current(outlook)) => upkeep::Terms::Of(answer, outlook),
            (Held::Current(answer), _) if answer.judged().is_none() => upkeep::Terms::Without,
            (Held::Failed(..), _) | (_, Held::Failed(..)) => upkeep::Terms::Without,
            (Held::Updating(_, fraction), _) | (_, Held::Updating(_, fraction)) => {
                upkeep::Terms::OnTheirWay(fraction)
            }
            _ => upkeep::Terms::OnTheirWay(0.0),
        };
        self.keeping_up.update(Some(upkeep::Looked {
            station: wanted.station,
            bench,
            survey: wanted.survey,
            terms,
            today,
            touched: wanted.touched,
        }));
    }

    /// The parts of the document, those that stayed the same as they were.
    fn parts(&mut self, station: &Arc<Station>) -> Parts {
        let same = Same(station.clone());
        let old = match self.parts.take() {
            Some((of, parts)) if of == same => {
                self.parts = Some((of, parts.clone()));
                return parts;
            }
            old => old.map(|(_, parts)| parts),
        };
        let bench = station.bench();
        let bench = old
            .as_ref()
            .map(|old| &old.bench)
            .filter(|old| ***old == bench)
            .cloned()
            .unwrap_or_else(|| bench.into());
        let trials = station.trials.as_ref().map(|trials| {
            let old = old.as_ref().and_then(|old| old.trials.as_ref());
            old.filter(|old| ***old == *trials)
                .cloned()
                .unwrap_or_else(|| trials.clone().into())
        });
        let parts = Parts { bench, trials };
        self.parts = Some((same, parts.clone()));
        parts
    }

    /// Trials are asked about where they are looked at, and where a limit comes from them; they need no survey.
    fn ask_trials(&mut self, wanted: &Wanted<'_>, trials: Option<Shared<Trials>>) {
        self.trials.collect();
        self.dose.collect();
        let Some(trials) = trials else {
            self.trials.forget();
            self.dose.forget();
            return;
        };
        let limits = wanted.station.limits.as_ref();
        if wanted.outlook || limits.is_some_and(|l| l.least == Least::FromTrials) {
            let of = trials.clone();
            let unit = wanted.units.irradiance;
            self.trials.ask((trials.clone(), unit), || {
                move |_: &Progress| Some(Ok(Arc::new(trials::analyse(&of, unit))))
            });
        }
        if wanted.outlook {
            let of = trials.clone();
            self.dose
                .ask(trials, || move |_: &Progress| Some(Ok(trials::dose(&of))));
        }
    }

    fn ask_next(&mut self, fit: &SurveyFit, station: &Arc<Station>, bench: Shared<Station>) {
        /// Positions proposed at a time.
        const COUNT: usize = 3;
        let Some(survey) = station.surveys.get(fit.survey).cloned() else {
            return;
        };
        let key = NextKey {
            field: Same(fit.field.clone()),
            bench,
            survey,
        };
        let (fit, station) = (fit.clone(), station.clone());
        self.next.ask(key, || {
            move |progress: &Progress| {
                let request = Request::default();
                told(propose(&fit, &station, &request, COUNT, progress))
            }
        });
    }

    /// What was made from a field that is not that of the readings any more.
    fn forget_field(&mut self) {
        self.mapped.forget();
        self.next.forget();
        self.placing.forget();
    }

    /// The field of the survey.
    pub fn fit(&self) -> Held<'_, SurveyFit> {
        self.assessing.fit()
    }

    /// The field of a survey as the document has it, where it is the one that is looked at.
    pub fn fit_for(&self, station: &Station, survey: Option<usize>) -> Option<Held<'_, SurveyFit>> {
        let request = Request {
            survey,
            ..Request::default()
        };
        let asked = ToFit::of(station, &request).ok()?;
        self.assessing.fit_of(&asked)
    }

    /// What the readings of a round that are still to be taken will be.
    pub fn awaited(&self) -> Option<&Awaited> {
        self.at_bench.awaited()
    }

    /// What follows from a fit is asked for once the newest one is there: until then it is an older answer, whatever its
    /// own slot says.
    fn of_fit<'a, T>(&'a self, held: Held<'a, T>) -> Held<'a, T> {
        after(self.fit(), held)
    }

    /// The map.
    pub fn map(&self) -> Held<'_, Map> {
        self.of_fit(self.mapped.map.held())
    }

    /// The answer.
    pub fn answer(&self) -> Held<'_, Arc<Answer>> {
        self.assessing.answer()
    }

    /// The answer, if it is that of this very document and survey.
    pub fn answer_of(&self, station: &Arc<Station>, survey: Option<usize>) -> Option<&Arc<Answer>> {
        self.assessing.answer_of(station, survey)
    }

    /// The map against the limits.
    pub fn against(&self) -> Held<'_, Against> {
        after(self.answer(), self.mapped.against.held())
    }

    /// What hangs on the verdict.
    pub fn outlook(&self) -> Held<'_, Arc<Outlook>> {
        self.assessing.outlook()
    }

    /// Where to measure next.
    pub fn next(&self) -> Held<'_, Proposal> {
        self.of_fit(self.next.held())
    }

    /// How bright the lamp's face is inferred to be, relative to its mean.
    pub fn brightness(&self) -> Held<'_, Map> {
        self.of_fit(self.mapped.brightness.held())
    }

    /// How far off the map may be, percent (k = 2).
    pub fn uncertainty(&self) -> Held<'_, Map> {
        self.of_fit(self.mapped.uncertainty.held())
    }

    /// What the plan comes to, and the pattern that is tried out beside it.
    pub fn planning(&self) -> &Planning {
        &self.planning
    }

    /// Where parts may lie, and how many.
    pub fn placing(&self) -> &PlacingAnswers {
        &self.placing
    }

    /// One survey against another.
    pub fn change(&self) -> Held<'_, Arc<Compared>> {
        self.comparing.held()
    }

    /// All surveys against the earlier one; nothing where there are only two.
    pub fn change_history(&self) -> Held<'_, Arc<History>> {
        self.comparing.history()
    }

    /// The short check of the earlier survey.
    pub fn short_check(&self) -> Held<'_, Arc<ShortCheck>> {
        self.comparing.short()
    }

    /// The repeat study.
    pub fn repeat_study(&self) -> Held<'_, Arc<RepeatRecord>> {
        self.repeating.held()
    }

    /// The irradiance log, entry by entry.
    pub fn daily(&self) -> Held<'_, Arc<Daily>> {
        self.keeping_up.daily()
    }

    /// What the irradiance log tells.
    pub fn review(&self) -> Held<'_, Arc<Review>> {
        self.keeping_up.review()
    }

    /// What recalibrations touch.
    pub fn touched(&self) -> Held<'_, Arc<Vec<Touched>>> {
        self.keeping_up.touched()
    }

    /// What the cure trials tell.
    pub fn trials(&self) -> Held<'_, Arc<TrialsTold>> {
        self.trials.held()
    }

    /// Whether equal dose means equal cure, where the trials tell.
    pub fn dose(&self) -> Held<'_, Option<DoseLaw>> {
        after(self.trials(), self.dose.held())
    }

    /// The limits that hold.
    pub fn terms(&self) -> Held<'_, Terms> {
        self.assessing.terms()
    }

    /// The field along a line through the cross.
    pub fn profile(&self) -> Held<'_, Profile> {
        self.of_fit(self.mapped.profile.held())
    }

    /// Whether the answer that is shown is older than the document.
    pub fn is_answering(&self) -> bool {
        self.assessing.is_answering() || self.answer().is_updating()
    }

    /// Whether anything is being worked on, or an older answer is shown.
    pub fn is_updating(&self) -> bool {
        self.is_answering()
            || self.mapped.map.held().is_updating()
            || self.mapped.profile.held().is_updating()
    }

    /// Whether what hangs on the verdict, or what the cure trials tell, is being worked on.
    pub fn is_looking_further(&self) -> bool {
        self.assessing.is_looking_further()
            || self.mapped.against.held().is_updating()
            || self.mapped.brightness.held().is_updating()
            || self.mapped.uncertainty.held().is_updating()
            || self.next.held().is_updating()
            || self.trials.held().is_updating()
            || self.dose.held().is_updating()
            || self.planning.is_updating()
            || self.placing.is_updating()
            || self.comparing.is_updating()
            || self.repeating.is_updating()
            || self.keeping_up.is_updating()
    }
}
