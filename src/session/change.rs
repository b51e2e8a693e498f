//! The step Change: one survey against another, in the background. Each question hangs on just what it is asked of: the fields on
//! their readings, the change on the two surveys and where they count, only verdicts and pictures on the whole document.

use std::sync::Arc;

use super::background::{Same, after, told};
use crate::assess::{Assessment, NoAnswer, Request, SurveyFit, ToFit};
use crate::change::{Bars, Change, Harm, History, ShortCheck, ToCompare, ToShorten};
use crate::export::change::maps;
use crate::field::Fitted;
use crate::progress::Progress;
use crate::record::ChangeRecord;
use crate::sheet::change::{Pictures, pictures};
use crate::station::{Shared, Station, Survey};
use crate::units::Units;
use crate::work::{Held, Latest, Wake};

/// What was found, as the window shows it.
#[derive(Debug)]
pub struct Compared {
    /// The change.
    pub change: Arc<Change>,
    /// What is said of it.
    pub record: ChangeRecord,
    /// Both fields on one scale, and the local change.
    pub pictures: Pictures,
}

/// What is looked at.
#[derive(Debug, Clone, Copy)]
pub(super) struct Looked<'a> {
    pub station: &'a Arc<Station>,
    pub bench: &'a Shared<Station>,
    /// Earlier and later survey.
    pub surveys: (usize, usize),
    pub units: Units,
    /// The short check is wanted.
    pub short: bool,
}

/// A field that is made for another question, too.
pub(super) enum Elsewhere {
    /// It is not.
    No,
    /// It is on its way, this far.
    OnItsWay(f64),
    /// It is there.
    There(SurveyFit),
}

/// What is asked.
struct Asked {
    compare: ToCompare,
    fits: [ToFit; 2],
    short: ToShorten,
}

impl Asked {
    fn of(station: &Arc<Station>, surveys: (usize, usize)) -> Result<Self, NoAnswer> {
        let fit = |survey: usize| {
            let request = Request::of_survey(survey);
            ToFit::of(station, &request)
        };
        let bars = Bars::default();
        Ok(Self {
            compare: ToCompare::of(station, surveys.0, surveys.1, bars)?,
            fits: [fit(surveys.0)?, fit(surveys.1)?],
            short: ToShorten::of(station, surveys.0, Harm::default(), bars)?,
        })
    }
}

/// A document and two of its surveys.
type Of = (Same<Station>, (usize, usize));

/// How far the fields of both surveys are.
enum Fields {
    Made([SurveyFit; 2]),
    OnTheirWay(f64),
    Failed(String),
}

#[derive(Debug, Clone, PartialEq)]
struct ToldKey {
    change: Same<Change>,
    later: Same<Fitted>,
    station: Same<Station>,
    units: Units,
}

#[derive(Debug, Clone, PartialEq)]
struct HistoryKey {
    bench: Shared<Station>,
    surveys: Vec<Shared<Survey>>,
    baseline: Same<Fitted>,
}

/// The questions.
pub(super) struct Comparing {
    /// Made once for each document and pair of surveys; or why nothing can be asked.
    asked: Option<(Of, Result<Asked, String>)>,
    own: [Latest<ToFit, SurveyFit>; 2],
    fields: Fields,
    change: Latest<(ToCompare, Same<Fitted>), Arc<Change>>,
    told: Latest<ToldKey, Arc<Compared>>,
    history: Latest<HistoryKey, Arc<History>>,
    short: Latest<(ToShorten, Same<Fitted>), Arc<ShortCheck>>,
}

impl Comparing {
    pub(super) fn new(wake: &Wake) -> Self {
        Self {
            asked: None,
            own: [(); 2].map(|()| Latest::long(wake.clone())),
            fields: Fields::OnTheirWay(0.0),
            change: Latest::long(wake.clone()),
            told: Latest::long(wake.clone()),
            history: Latest::long(wake.clone()),
            short: Latest::long(wake.clone()),
        }
    }

    /// Takes in what has ended, and asks where it is looked at; `elsewhere` says of a field whether it is made already.
    pub(super) fn update(
        &mut self,
        looked: Option<Looked<'_>>,
        elsewhere: impl Fn(&ToFit) -> Elsewhere,
    ) {
        self.own.iter_mut().for_each(Latest::collect);
        self.change.collect();
        self.told.collect();
        self.history.collect();
        self.short.collect();
        let Some(looked) = looked else { return };
        let of = (Same(looked.station.clone()), looked.surveys);
        if self.asked.as_ref().is_none_or(|asked| asked.0 != of) {
            let asked = Asked::of(looked.station, looked.surveys);
            self.asked = Some((of, asked.map_err(|why| why.to_string())));
        }
        let asked = match &self.asked {
            Some((_, Ok(asked))) => asked,
            Some((_, Err(why))) => {
                self.fields = Fields::Failed(why.clone());
                return;
            }
            None => return,
        };
        self.fields = fields(&mut self.own, &asked.fits, elsewhere);
        let Fields::Made([earlier, later]) = &self.fields else {
            return;
        };
        let field = Same(earlier.field.clone());
        let (compare, fit) = (asked.compare.clone(), earlier.clone());
        self.change.ask((compare.clone(), field.clone()), || {
            move |progress: &Progress| told(compare.compare(&fit, progress).map(Arc::new))
        });
        if let Held::Current(change) = self.change.held() {
            let key = ToldKey {
                change: Same(change.clone()),
                later: Same(later.field.clone()),
                station: Same(looked.station.clone()),
                units: looked.units,
            };
            let (of, fits) = (key.clone(), [earlier.clone(), later.clone()]);
            self.told.ask(key, || {
                move |progress: &Progress| told(said(&of, fits, progress).map(Arc::new))
            });
        }
        if looked.station.surveys.len() > 2 {
            let key = HistoryKey {
                bench: looked.bench.clone(),
                surveys: looked.station.surveys.clone(),
                baseline: field.clone(),
            };
            let (station, from) = (looked.station.clone(), looked.surveys.0);
            let fits = [earlier.clone(), later.clone()];
            self.history.ask(key, || {
                move |progress: &Progress| {
                    let made = History::of(&station, from, Bars::default(), &fits, progress);
                    told(made.map(Arc::new))
                }
            });
        } else {
            self.history.forget();
        }
        if looked.short {
            let (short, fit) = (asked.short.clone(), earlier.clone());
            self.short.ask((short.clone(), field), || {
                move |progress: &Progress| told(short.shorten(&fit, progress).map(Arc::new))
            });
        }
    }

    /// What hangs on both fields: older until they are there.
    fn of_fields<'a, T>(&'a self, held: Held<'a, T>) -> Held<'a, T> {
        match &self.fields {
            Fields::Made(_) => held,
            Fields::OnTheirWay(fraction) => Held::Updating(held.any(), *fraction),
            Fields::Failed(why) => Held::Failed(why, None),
        }
    }

    pub(super) fn held(&self) -> Held<'_, Arc<Compared>> {
        self.of_fields(after(self.change.held(), self.told.held()))
    }

    pub(super) fn history(&self) -> Held<'_, Arc<History>> {
        self.of_fields(self.history.held())
    }

    pub(super) fn short(&self) -> Held<'_, Arc<ShortCheck>> {
        self.of_fields(self.short.held())
    }

    pub(super) fn is_updating(&self) -> bool {
        let own = self.own.iter().any(|fit| fit.held().is_updating());
        own || self.change.held().is_updating()
            || self.told.held().is_updating()
            || self.history.held().is_updating()
            || self.short.held().is_updating()
    }
}

/// The fields of both surveys, asked for where nobody else makes them.
fn fields(
    own: &mut [Latest<ToFit, SurveyFit>; 2],
    asked: &[ToFit; 2],
    elsewhere: impl Fn(&ToFit) -> Elsewhere,
) -> Fields {
    let mut made = Vec::with_capacity(2);
    let mut least: f64 = 1.0;
    for (slot, asked) in own.iter_mut().zip(asked) {
        match elsewhere(asked) {
            Elsewhere::There(fit) => {
                made.push(fit);
                continue;
            }
            Elsewhere::OnItsWay(fraction) => {
                least = least.min(fraction);
                continue;
            }
            Elsewhere::No => {}
        }
        let to_fit = asked.clone();
        slot.ask(asked.clone(), || {
            move |progress: &Progress| told(to_fit.fit(progress))
        });
        match slot.held() {
            Held::Current(fit) => made.push(fit.clone()),
            Held::Failed(why, _) => return Fields::Failed(why.to_owned()),
            Held::Updating(_, fraction) => least = least.min(fraction),
            Held::Nothing => least = 0.0,
        }
    }
    match <[SurveyFit; 2]>::try_from(made) {
        Ok(both) => Fields::Made(both),
        Err(_) => Fields::OnTheirWay(least),
    }
}

/// Verdicts, words and pictures.
fn said(of: &ToldKey, fits: [SurveyFit; 2], progress: &Progress) -> Result<Compared, NoAnswer> {
    let (station, change) = (&of.station.0, of.change.0.clone());
    let maps = maps(station, &change, [&fits[0].field, &fits[1].field], progress)?;
    let mut verdicts = [None, None];
    if station.limits.is_some() {
        for (fit, verdict) in fits.into_iter().zip(&mut verdicts) {
            let request = Request::default();
            let assessed = Assessment::of_fit(fit, station, &request, &progress.part())?;
            *verdict = assessed.answer.judged().map(|j| j.verdict.words());
        }
    }
    Ok(Compared {
        record: ChangeRecord::new(station, &change, verdicts, of.units.length),
        pictures: pictures(station, &change, [&maps[0], &maps[1]], of.units.irradiance),
        change,
    })
}
