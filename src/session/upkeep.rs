//! The step Upkeep: the irradiance log and what it tells, in the background. Each question hangs on the log, on what readings
//! are held against, and on the radiometers: a further entry wakes nothing else of the program.

use std::sync::Arc;

use jiff::civil::Date;

use super::background::told;
use crate::assess::limits::Outlook;
use crate::assess::{Answer, NoAnswer, Request};
use crate::progress::Progress;
use crate::station::{Shared, Station, Upkeep};
use crate::upkeep::{Daily, MonitorTerms, Review, Touched, touched};
use crate::work::{Held, Latest, Wake};

/// All that a review is asked of.
#[derive(Debug, Clone, PartialEq)]
struct ReviewKey {
    upkeep: Shared<Upkeep>,
    bench: Shared<Station>,
    terms: Shared<MonitorTerms>,
    today: Date,
}

/// What readings are held against, as far as that is known.
pub(super) enum Terms<'a> {
    /// A verdict and what hangs on it.
    Of(&'a Answer, &'a Outlook),
    /// They are on their way.
    OnTheirWay(f64),
    /// There are no limits, or nothing was read.
    Without,
}

/// What is looked at.
pub(super) struct Looked<'a> {
    pub station: &'a Arc<Station>,
    pub bench: &'a Shared<Station>,
    pub survey: Option<usize>,
    pub terms: Terms<'a>,
    pub today: Date,
    /// What recalibrations touch is wanted.
    pub touched: bool,
}

/// The questions.
pub(super) struct KeepingUp {
    terms: Option<Shared<MonitorTerms>>,
    daily: Latest<ReviewKey, Arc<Daily>>,
    review: Latest<ReviewKey, Arc<Review>>,
    touched: Latest<Shared<Station>, Arc<Vec<Touched>>>,
    waits: Option<f64>,
}

impl KeepingUp {
    pub(super) fn new(wake: &Wake) -> Self {
        Self {
            terms: None,
            daily: Latest::new(wake.clone()),
            review: Latest::long(wake.clone()),
            touched: Latest::long(wake.clone()),
            waits: None,
        }
    }

    /// Takes in what has ended, and asks where it is looked at.
    pub(super) fn update(&mut self, looked: Option<Looked<'_>>) {
        self.daily.collect();
        self.review.collect();
        self.touched.collect();
        let Some(looked) = looked else { return };
        self.waits = None;
        let terms = match looked.terms {
            Terms::Of(answer, outlook) => {
                let request = Request {
                    survey: looked.survey,
                    ..Request::default()
                };
                MonitorTerms::of(looked.station, &request, answer, outlook)
            }
            Terms::Without => MonitorTerms::without(looked.station),
            Terms::OnTheirWay(fraction) => {
                self.waits = Some(fraction);
                return;
            }
        };
        let terms = match self.terms.take() {
            Some(old) if *old == terms => old,
            _ => terms.into(),
        };
        self.terms = Some(terms.clone());
        let key = ReviewKey {
            upkeep: looked.station.upkeep(),
            bench: looked.bench.clone(),
            terms,
            today: looked.today,
        };
        let of = key.clone();
        self.daily.ask(key.clone(), || {
            move |_: &Progress| {
                let daily = Daily::of(&of.bench, &of.upkeep, &of.terms, of.today);
                Some(Ok(Arc::new(daily)))
            }
        });
        let of = key.clone();
        self.review.ask(key, || {
            move |progress: &Progress| {
                let terms = MonitorTerms::clone(&of.terms);
                let made = Review::of(&of.bench, &of.upkeep, terms, of.today, progress);
                told(made.map(Arc::new).map_err(|_| NoAnswer::Cancelled))
            }
        });
        if looked.touched {
            self.ask_touched(looked.station);
        }
    }

    /// Verdicts do not hang on the log.
    fn ask_touched(&mut self, station: &Arc<Station>) {
        let mut of = Station::clone(station);
        if let Some(upkeep) = &mut of.upkeep {
            *upkeep = upkeep.without_log().into();
        }
        let key: Shared<Station> = of.into();
        let of = key.clone();
        self.touched.ask(key, || {
            move |progress: &Progress| {
                let found = touched(&of, &of.upkeep(), progress);
                told(found.map(Arc::new).map_err(|_| NoAnswer::Cancelled))
            }
        });
    }

    /// The log, entry by entry.
    pub(super) fn daily(&self) -> Held<'_, Arc<Daily>> {
        self.or_waiting(self.daily.held())
    }

    /// What it tells.
    pub(super) fn review(&self) -> Held<'_, Arc<Review>> {
        self.or_waiting(self.review.held())
    }

    /// What recalibrations touch.
    pub(super) fn touched(&self) -> Held<'_, Arc<Vec<Touched>>> {
        self.touched.held()
    }

    fn or_waiting<'a, T>(&self, held: Held<'a, T>) -> Held<'a, T> {
        match self.waits {
            Some(fraction) => Held::Updating(held.any(), fraction),
            None => held,
        }
    }

    pub(super) fn is_updating(&self) -> bool {
        self.daily.held().is_updating()
            || self.review.held().is_updating()
            || self.touched.held().is_updating()
    }
}
