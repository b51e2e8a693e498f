//! What is computed from the document, kept as long as it holds: fit, map, answer, height profile.
//! Each is a slot of its own: moving a site asks for a new answer and not for a new fit.

use std::sync::Arc;

use super::looking::{Along, MapOf};
use super::planning::{Planning, Trial};
use super::profile::{Profile, ProfileLine};
use crate::assess::limits::{Line, Outlook, Terms, outlook, terms};
use crate::assess::{self, Answer, NoAnswer, Request, SurveyFit};
use crate::field::{FitSettings, Fitted, Map, Raster};
use crate::geometry::{Point, Shape};
use crate::probing::{Proposal, propose};
use crate::progress::Progress;
use crate::sheet::against::Against;
use crate::station::{Shared, Station, Survey, Trials};
use crate::trials::dose::DoseLaw;
use crate::trials::{self, Analysis};
use crate::units::IrradianceUnit;
use crate::work::{Held, Latest, Wake};

/// A shared value by identity: two are the same when they are the same value in memory.
#[derive(Debug)]
pub struct Same<T>(pub Arc<T>);

impl<T> Clone for Same<T> {
    fn clone(&self) -> Self {
        Self(self.0.clone())
    }
}

impl<T> PartialEq for Same<T> {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
    }
}

/// A survey of which only the readings count. The same one in memory is equal without a look at each, which is what
/// a frame without an edit of it asks.
#[derive(Debug, Clone)]
struct Readings(Shared<Survey>);

impl PartialEq for Readings {
    fn eq(&self, other: &Self) -> bool {
        self.0.is(&other.0) || self.0.readings == other.0.readings
    }
}

/// All that a fit depends on.
#[derive(Debug, Clone, PartialEq)]
struct FitKey {
    survey: usize,
    readings: Readings,
    settings: FitSettings,
}

#[derive(Debug, Clone, PartialEq)]
struct MapKey {
    field: Same<Fitted>,
    outline: Shape,
    height: f64,
    nodes: usize,
}

impl MapKey {
    /// Of the height that is wanted, with `fine` nodes along the longer side when it is at rest.
    fn of(fit: &SurveyFit, wanted: &Wanted<'_>, fine: usize) -> Self {
        Self {
            field: Same(fit.field.clone()),
            outline: wanted.station.fixture.shape.clone(),
            height: wanted.height,
            nodes: if wanted.sliding { COARSE } else { fine },
        }
    }

    /// A coarse map is soon there: while the height slides each is shown, and the next one asked for.
    fn is_let_end_for(&self, next: &Self) -> bool {
        self.nodes == COARSE && next.nodes == COARSE && self.field == next.field
    }
}

#[derive(Debug, Clone, PartialEq)]
struct AnswerKey {
    field: Same<Fitted>,
    station: Same<Station>,
}

#[derive(Debug, Clone, PartialEq)]
struct TermsKey {
    station: Same<Station>,
    survey: Option<usize>,
}

#[derive(Debug, Clone, PartialEq)]
struct ProfileKey {
    field: Same<Fitted>,
    line: ProfileLine,
    outline: Shape,
}

#[derive(Debug, Clone, PartialEq)]
struct AgainstKey {
    map: MapKey,
    lower: Line,
    upper: Option<Line>,
    calibration: Option<f64>,
}

/// What the cure trials tell.
#[derive(Debug, Clone)]
pub struct TrialsTold {
    /// The ladder and its least level, or why it is none.
    pub analysis: Result<Analysis, String>,
    /// Whether equal dose means equal cure, where they tell.
    pub dose: Option<DoseLaw>,
}

/// The cure trials. The same ones in memory are equal without a look at each part.
#[derive(Debug, Clone)]
struct TrialsKey(Arc<Trials>);

impl PartialEq for TrialsKey {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0) || self.0 == other.0
    }
}

/// Nodes along the longer side of a map against the limits: uncertainties take their time.
const AGAINST: usize = 110;
/// Nodes along the longer side of a map while the height slides.
const COARSE: usize = 48;

/// The slots.
pub struct Answers {
    fit: Latest<FitKey, SurveyFit>,
    map: Latest<MapKey, Map>,
    answer: Latest<AnswerKey, Arc<Answer>>,
    profile: Latest<ProfileKey, Profile>,
    against: Latest<AgainstKey, Against>,
    outlook: Latest<AnswerKey, Arc<Outlook>>,
    next: Latest<AnswerKey, Proposal>,
    brightness: Latest<Same<Fitted>, Map>,
    uncertainty: Latest<MapKey, Map>,
    trials: Latest<TrialsKey, Arc<TrialsTold>>,
    terms: Latest<TermsKey, Terms>,
    planning: Planning,
    /// The trials' key and the document it was made for, so that it is made once an edit.
    keyed_trials: Option<(Same<Station>, TrialsKey)>,
    /// The fit's key and the document and survey it was made for, so that it is made once an edit.
    keyed: Option<(Same<Station>, usize, FitKey)>,
}

/// What is wanted this frame.
#[derive(Debug, Clone, Copy)]
pub struct Wanted<'a> {
    /// The document.
    pub station: &'a Arc<Station>,
    /// Which survey.
    pub survey: Option<usize>,
    /// Height of the map.
    pub height: f64,
    /// The height slides: a coarser map now rather than a fine one later.
    pub sliding: bool,
    /// The cross, through which the field along a line is wanted.
    pub cross: Option<Point>,
    /// Which line.
    pub along: Along,
    /// Where to measure next is wanted.
    pub next: bool,
    /// What is wanted beside the map of irradiance.
    pub map_of: MapOf,
    /// What is said in sentences is said in this unit.
    pub unit: IrradianceUnit,
    /// What hangs on the verdict is looked at, and the map against the limits.
    pub outlook: bool,
    /// The plan is looked at, with the pattern that is tried out.
    pub trial: Option<Trial>,
}

impl Answers {
    /// Empty slots.
    pub fn new(wake: &Wake) -> Self {
        Self {
            fit: Latest::new(wake.clone()),
            map: Latest::new(wake.clone()),
            answer: Latest::new(wake.clone()),
            profile: Latest::new(wake.clone()),
            against: Latest::new(wake.clone()),
            outlook: Latest::new(wake.clone()),
            next: Latest::new(wake.clone()),
            brightness: Latest::new(wake.clone()),
            uncertainty: Latest::new(wake.clone()),
            trials: Latest::new(wake.clone()),
            terms: Latest::new(wake.clone()),
            planning: Planning::new(wake),
            keyed_trials: None,
            keyed: None,
        }
    }

    /// Takes in what has ended and asks for what is wanted. To be called once a frame.
    pub fn update(&mut self, wanted: Wanted<'_>) {
        self.fit.collect();
        self.map.collect();
        self.answer.collect();
        self.profile.collect();
        self.against.collect();
        self.outlook.collect();
        self.next.collect();
        self.brightness.collect();
        self.uncertainty.collect();
        self.trials.collect();
        self.terms.collect();
        self.planning.update(wanted.station, wanted.trial);
        self.ask_trials(&wanted);
        self.ask_terms(&wanted);
        let Some(survey) = wanted.survey else {
            self.fit.forget();
            self.map.forget();
            self.answer.forget();
            self.profile.forget();
            self.against.forget();
            self.outlook.forget();
            self.next.forget();
            self.brightness.forget();
            self.uncertainty.forget();
            self.keyed = None;
            return;
        };
        self.ask_fit(wanted.station, survey);
        // What follows needs the fit of this very document: rows of an older one may be gone.
        let Some(fit) = self.fit.held().current().cloned() else {
            return;
        };
        self.ask_map(&fit, &wanted);
        self.ask_answer(&fit, wanted.station);
        if let Some(cross) = wanted.cross {
            self.ask_profile(&fit, &wanted, cross);
        }
        if wanted.next {
            self.ask_next(&fit, wanted.station);
        }
        match wanted.map_of {
            MapOf::Irradiance => {}
            MapOf::Uncertainty => self.ask_uncertainty(&fit, &wanted),
            MapOf::Brightness => self.ask_brightness(&fit),
        }
        let answer = self.answer.held().current().cloned();
        match answer.filter(|a| matches!(a.judged, Some(Ok(_)))) {
            Some(answer) if wanted.outlook => {
                self.ask_against(&fit, &wanted, &answer);
                self.ask_outlook(&fit, &wanted, answer);
            }
            Some(_) => {}
            None => {
                // without limits there is nothing to show, not even an older one
                if self.answer.held().current().is_some() {
                    self.against.forget();
                    self.outlook.forget();
                }
            }
        }
    }

    /// Trials are asked about where they are looked at; they need no survey.
    fn ask_trials(&mut self, wanted: &Wanted<'_>) {
        let Some(trials) = &wanted.station.trials else {
            self.trials.forget();
            self.keyed_trials = None;
            return;
        };
        if !wanted.outlook {
            return;
        }
        let same = Same(wanted.station.clone());
        let key = match &self.keyed_trials {
            Some((of, key)) if *of == same => key.clone(),
            _ => {
                let key = TrialsKey(Arc::new(trials.clone()));
                self.keyed_trials = Some((same, key.clone()));
                key
            }
        };
        let trials = key.0.clone();
        self.trials.ask(key, || {
            move |progress: &Progress| {
                let analysis = trials::analyse(&trials);
                progress.check().ok()?;
                let dose = trials::dose(&trials);
                Some(Ok(Arc::new(TrialsTold { analysis, dose })))
            }
        });
    }

    /// Limits hold without any reading. Where they come from cure trials they take their time.
    fn ask_terms(&mut self, wanted: &Wanted<'_>) {
        if wanted.station.limits.is_none() {
            self.terms.forget();
            return;
        }
        if !wanted.outlook {
            return;
        }
        let key = TermsKey {
            station: Same(wanted.station.clone()),
            survey: wanted.survey,
        };
        let (station, survey) = (wanted.station.clone(), wanted.survey);
        self.terms.ask(key, || {
            move |_: &Progress| Some(terms(&station, survey.and_then(|i| station.survey_at(i))))
        });
    }

    fn ask_fit(&mut self, station: &Arc<Station>, survey: usize) {
        let same = Same(station.clone());
        let key = match &self.keyed {
            Some((for_station, for_survey, key))
                if *for_station == same && *for_survey == survey =>
            {
                key.clone()
            }
            _ => {
                let key = FitKey {
                    survey,
                    readings: Readings(station.surveys[survey].clone()),
                    settings: assess::fit_settings(station, &station.surveys[survey], None),
                };
                self.keyed = Some((same, survey, key.clone()));
                key
            }
        };
        let station = station.clone();
        self.fit.ask(key, || {
            move |progress: &Progress| {
                let request = Request {
                    survey: Some(survey),
                    ..Request::default()
                };
                told(assess::fit_survey(&station, &request, progress))
            }
        });
    }

    fn ask_map(&mut self, fit: &SurveyFit, wanted: &Wanted<'_>) {
        let key = MapKey::of(fit, wanted, Map::FINE);
        let outline = wanted.station.fixture.footprint();
        let MapKey {
            field,
            height,
            nodes,
            ..
        } = key.clone();
        let kept = |running: &MapKey| running.is_let_end_for(&key);
        self.map.ask_after(kept, key.clone(), || {
            move |progress: &Progress| {
                // None: cancelled
                Map::of(&field.0, &outline, height, nodes, progress)
                    .ok()
                    .map(Ok)
            }
        });
    }

    fn ask_answer(&mut self, fit: &SurveyFit, station: &Arc<Station>) {
        let key = AnswerKey {
            field: Same(fit.field.clone()),
            station: Same(station.clone()),
        };
        let (fit, station) = (fit.clone(), station.clone());
        self.answer.ask(key, || {
            move |progress: &Progress| {
                let request = Request::default();
                told(assess::answer_with(&fit, &station, &request, progress).map(Arc::new))
            }
        });
    }

    fn ask_next(&mut self, fit: &SurveyFit, station: &Arc<Station>) {
        /// Positions proposed at a time.
        const COUNT: usize = 3;
        let key = AnswerKey {
            field: Same(fit.field.clone()),
            station: Same(station.clone()),
        };
        let (fit, station) = (fit.clone(), station.clone());
        self.next.ask(key, || {
            move |progress: &Progress| {
                let request = Request::default();
                told(propose(&fit, &station, &request, COUNT, progress))
            }
        });
    }

    fn ask_brightness(&mut self, fit: &SurveyFit) {
        let field = fit.field.clone();
        self.brightness.ask(Same(fit.field.clone()), || {
            move |_: &Progress| {
                let none = "This model knows nothing of the lamp; choose the source-aware one";
                Some(
                    field
                        .brightness()
                        .map(Map::without_contours)
                        .ok_or(none.into()),
                )
            }
        });
    }

    fn ask_uncertainty(&mut self, fit: &SurveyFit, wanted: &Wanted<'_>) {
        let key = MapKey::of(fit, wanted, AGAINST);
        let outline = wanted.station.fixture.footprint();
        let MapKey {
            field,
            height,
            nodes,
            ..
        } = key.clone();
        let kept = |running: &MapKey| running.is_let_end_for(&key);
        self.uncertainty.ask_after(kept, key.clone(), || {
            move |progress: &Progress| {
                let none = "This model does not say how far off it may be; \
                            choose source-aware or a kriging, which do";
                let map = Map::of_uncertainty(&field.0, &outline, height, nodes, progress).ok()?;
                Some(map.ok_or(none.into()))
            }
        });
    }

    fn ask_against(&mut self, fit: &SurveyFit, wanted: &Wanted<'_>, answer: &Arc<Answer>) {
        let Some(Ok(judged)) = &answer.judged else {
            return;
        };
        let terms = judged.terms.clone();
        let key = AgainstKey {
            map: MapKey::of(fit, wanted, AGAINST),
            lower: terms.lower.clone(),
            upper: terms.upper.clone(),
            calibration: answer.calibration,
        };
        let outline = wanted.station.fixture.footprint();
        let MapKey {
            field,
            height,
            nodes,
            ..
        } = key.map.clone();
        let calibration = answer.calibration;
        let kept = |running: &AgainstKey| running.map.is_let_end_for(&key.map);
        self.against.ask_after(kept, key.clone(), || {
            move |progress: &Progress| {
                let bounds = outline.bounds();
                let step = bounds.width().max(bounds.depth()) / nodes as f64;
                let raster = Raster::of(&field.0, &outline, height, step, progress).ok()?;
                Some(Ok(Against::new(&raster, &terms, calibration)))
            }
        });
    }

    fn ask_outlook(&mut self, fit: &SurveyFit, wanted: &Wanted<'_>, answer: Arc<Answer>) {
        let key = AnswerKey {
            field: Same(fit.field.clone()),
            station: Same(wanted.station.clone()),
        };
        let (fit, station, unit) = (fit.clone(), wanted.station.clone(), wanted.unit);
        self.outlook.ask(key, || {
            move |progress: &Progress| {
                let request = Request::default();
                let judged = answer.judged.as_ref()?.as_ref().ok()?;
                let show = |e: f64| unit.show_with_unit(e, None);
                let made = outlook(&fit, &station, &request, &answer, judged, &show, progress);
                told(made.map(Arc::new))
            }
        });
    }

    fn ask_profile(&mut self, fit: &SurveyFit, wanted: &Wanted<'_>, cross: Point) {
        let station = wanted.station;
        let outline = station.fixture.footprint();
        let mut line = ProfileLine::across(wanted.along, cross, wanted.height, &outline);
        if wanted.along == Along::Height {
            let Some(ends) = heights_shown(fit, station) else {
                return;
            };
            // the same at every height of the map
            (line.ends, line.height) = (ends, 0.0);
        }
        let key = ProfileKey {
            field: Same(fit.field.clone()),
            line,
            outline: station.fixture.shape.clone(),
        };
        let field = fit.field.clone();
        // soon there: a cross or a height that moves shows each that was begun
        let kept = |running: &ProfileKey| running.field == key.field;
        self.profile.ask_after(kept, key.clone(), || {
            move |progress: &Progress| Profile::of(&field, line, &outline, progress).ok().map(Ok)
        });
    }

    /// The field of the survey.
    pub fn fit(&self) -> Held<'_, SurveyFit> {
        self.fit.held()
    }

    /// What follows from a fit is asked for once the newest one is there: until then it is an older answer, whatever its
    /// own slot says.
    fn of_fit<'a, T>(&'a self, held: Held<'a, T>) -> Held<'a, T> {
        match (self.fit.held(), held) {
            (Held::Updating(_, fraction), Held::Current(old)) => {
                Held::Updating(Some(old), fraction)
            }
            (Held::Failed(why, _), Held::Current(old)) => Held::Failed(why, Some(old)),
            _ => held,
        }
    }

    /// The map.
    pub fn map(&self) -> Held<'_, Map> {
        self.of_fit(self.map.held())
    }

    /// The answer.
    pub fn answer(&self) -> Held<'_, Arc<Answer>> {
        self.of_fit(self.answer.held())
    }

    /// The answer, if it is that of this very document and survey.
    pub fn answer_of(&self, station: &Arc<Station>, survey: Option<usize>) -> Option<&Arc<Answer>> {
        let fit = self.fit.held().current()?;
        let asked = self.answer.answered()?;
        let is_of = Arc::ptr_eq(&asked.station.0, station)
            && Arc::ptr_eq(&asked.field.0, &fit.field)
            && survey == Some(fit.survey);
        self.answer.held().current().filter(|_| is_of)
    }

    /// The map against the limits.
    pub fn against(&self) -> Held<'_, Against> {
        self.of_fit(self.against.held())
    }

    /// What hangs on the verdict.
    pub fn outlook(&self) -> Held<'_, Arc<Outlook>> {
        self.of_fit(self.outlook.held())
    }

    /// Where to measure next.
    pub fn next(&self) -> Held<'_, Proposal> {
        self.of_fit(self.next.held())
    }

    /// How bright the lamp's face is inferred to be, relative to its mean.
    pub fn brightness(&self) -> Held<'_, Map> {
        self.of_fit(self.brightness.held())
    }

    /// How far off the map may be, percent (k = 2).
    pub fn uncertainty(&self) -> Held<'_, Map> {
        self.of_fit(self.uncertainty.held())
    }

    /// What the plan comes to, and the pattern that is tried out beside it.
    pub fn planning(&self) -> &Planning {
        &self.planning
    }

    /// What the cure trials tell.
    pub fn trials(&self) -> Held<'_, Arc<TrialsTold>> {
        self.trials.held()
    }

    /// The limits that hold.
    pub fn terms(&self) -> Held<'_, Terms> {
        self.terms.held()
    }

    /// The field along a line through the cross.
    pub fn profile(&self) -> Held<'_, Profile> {
        self.of_fit(self.profile.held())
    }

    /// Whether the answer that is shown is older than the document.
    pub fn is_answering(&self) -> bool {
        self.fit.held().is_updating() || self.answer.held().is_updating()
    }

    /// Whether anything is being worked on, or an older answer is shown.
    pub fn is_updating(&self) -> bool {
        self.is_answering() || self.map.held().is_updating() || self.profile.held().is_updating()
    }

    /// Whether what hangs on the verdict, or what the cure trials tell, is being worked on.
    pub fn is_looking_further(&self) -> bool {
        self.against.held().is_updating()
            || self.outlook.held().is_updating()
            || self.next.held().is_updating()
            || self.brightness.held().is_updating()
            || self.uncertainty.held().is_updating()
            || self.trials.held().is_updating()
            || self.terms.held().is_updating()
            || self.planning.is_updating()
    }
}

/// The heights of a height profile: a little beyond the measured ones, never up to the face, where the law of
/// distance ends.
fn heights_shown(fit: &SurveyFit, station: &Station) -> Option<[f64; 2]> {
    let (&low, &high) = (fit.heights.first()?, fit.heights.last()?);
    let face = station.surveys[fit.survey].face_height(station);
    let span = (high - low).max(10.0);
    let top = (high + 0.75 * span).min(face - 1.0).max(high);
    let bottom = (low - 0.75 * span).max(0.0).min(low);
    Some([bottom, top])
}

/// A computation's end as background work says it.
pub(super) fn told<T>(result: Result<T, NoAnswer>) -> Option<Result<T, String>> {
    match result {
        Ok(value) => Some(Ok(value)),
        Err(NoAnswer::Cancelled) => None,
        Err(NoAnswer::Missing(what)) => Some(Err(what)),
    }
}
