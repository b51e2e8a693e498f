//! Where parts may lie: what is asked in the background, what was found so far, and arrangements that are kept side by side.
//! None of it is part of the document until an arrangement is taken into the fixture.

use std::sync::{Arc, Mutex};

use super::background::{Same, told};
use crate::assess::SurveyFit;
use crate::assess::limits::ToLimit;
use crate::export::Arranged;
use crate::field::Fitted;
use crate::placement::{
    Asked, Heights, Present, Remedies, ToEven, ToLookAt, ToScan, ToShow, Wanted, asked, part_of,
};
use crate::progress::Progress;
use crate::sheet::against::Against;
use crate::sheet::placement::usable;
use crate::station::limits::Limits;
use crate::station::{Exposure, Shared, Station, Trials};
use crate::trials;
use crate::units::Units;
use crate::work::{Held, Latest, Wake};

/// What the person asks of a placement; never saved.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Placing {
    /// The question; its part is always said.
    pub wanted: Wanted,
    /// It is being asked.
    pub go: bool,
    /// Other working distances, too.
    pub distances: bool,
    /// Simple remedies, too.
    pub remedies: bool,
    /// The sites as they are, too.
    pub present: bool,
    /// The usable part of the pallet is drawn.
    pub usable: bool,
}

impl Placing {
    /// What a station begins with.
    pub fn begin(station: &Station) -> Self {
        Self {
            wanted: Wanted {
                part: Some(part_of(station)),
                ..Wanted::default()
            },
            usable: true,
            ..Self::default()
        }
    }
}

/// What an arrangement hangs on.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Of {
    field: Same<Fitted>,
    bench: Shared<Station>,
    limits: Option<Box<Limits>>,
    trials: Option<Shared<Trials>>,
    exposure: Option<Exposure>,
    units: Units,
    wanted: Wanted,
}

type SoFar = Arc<Mutex<Option<Arc<Arranged>>>>;
/// An arrangement and what is asked beside it.
type Beside = Same<Arranged>;

/// The slots.
pub struct PlacingAnswers {
    wake: Wake,
    placed: Latest<Of, Arc<Arranged>>,
    so_far: SoFar,
    usable: Latest<Of, Arc<Against>>,
    heights: Latest<Beside, Arc<Heights>>,
    remedies: Latest<Beside, Arc<Remedies>>,
    present: Latest<Of, Arc<Present>>,
}

/// What is wanted.
pub(super) struct Asking<'a> {
    pub station: &'a Arc<Station>,
    pub bench: &'a Shared<Station>,
    pub trials: Option<Shared<Trials>>,
    pub fit: &'a SurveyFit,
    pub units: Units,
    pub placing: &'a Placing,
    /// Arrangements are looked at, not only the usable part of the pallet.
    pub looked_at: bool,
}

impl Asking<'_> {
    fn question(&self, wanted: &Wanted) -> Question {
        Question {
            station: self.station.clone(),
            fit: self.fit.clone(),
            wanted: wanted.clone(),
            units: self.units,
        }
    }
}

/// What is taken along into the background: there the question is made ready.
struct Question {
    station: Arc<Station>,
    fit: SurveyFit,
    wanted: Wanted,
    units: Units,
}

impl Question {
    fn asked(&self) -> Asked {
        let station = &self.station;
        let limits = ToLimit::of(station, || trials::least(station, self.units.irradiance));
        asked(
            station,
            &self.fit,
            limits.as_ref(),
            &self.wanted,
            self.units,
        )
    }
}

impl PlacingAnswers {
    pub(super) fn new(wake: &Wake) -> Self {
        Self {
            placed: Latest::long(wake.clone()),
            so_far: SoFar::default(),
            usable: Latest::new(wake.clone()),
            heights: Latest::long(wake.clone()),
            remedies: Latest::long(wake.clone()),
            present: Latest::long(wake.clone()),
            wake: wake.clone(),
        }
    }

    /// Takes in what has ended.
    pub(super) fn collect(&mut self) {
        self.placed.collect();
        self.usable.collect();
        self.heights.collect();
        self.remedies.collect();
        self.present.collect();
    }

    /// Asks for what is wanted.
    pub(super) fn ask(&mut self, asking: &Asking<'_>) {
        let placing = asking.placing;
        let of = Of {
            field: Same(asking.fit.field.clone()),
            bench: asking.bench.clone(),
            limits: asking.station.limits.clone(),
            trials: asking.trials.clone(),
            exposure: asking.station.exposure.clone(),
            units: asking.units,
            wanted: placing.wanted.clone(),
        };
        // neither the map nor the sites as they are hang on how many and how
        let here = Of {
            wanted: Wanted {
                kind: Wanted::default().kind,
                wish: Wanted::default().wish,
                ..of.wanted.clone()
            },
            ..of.clone()
        };
        if placing.usable {
            self.usable.ask(here.clone(), || {
                let question = asking.question(&here.wanted);
                move |progress: &Progress| {
                    let ask = question.asked().ask;
                    let outline = ask.bed.outline.clone();
                    let show = ToShow {
                        field: ask.field,
                        part: ask.part,
                        bed: ask.bed,
                        bars: ask.bars,
                    };
                    let found = show.usable(progress).map_err(Into::into);
                    told(found.map(|u| Arc::new(usable(&u, &outline))))
                }
            });
        } else {
            self.usable.forget();
        }
        if !asking.looked_at {
            return;
        }
        if placing.present {
            self.present.ask(here.clone(), || {
                let question = asking.question(&here.wanted);
                move |progress: &Progress| {
                    let locked = &question.wanted.locked;
                    let look = ToLookAt::of(&question.station, &question.asked().ask, locked);
                    told(look.look(progress).map(Arc::new).map_err(Into::into))
                }
            });
        } else {
            self.present.forget();
        }
        if !placing.go {
            self.placed.forget();
            self.forget_beside();
            return;
        }
        let question = asking.question(&of.wanted);
        let (shared, wake) = (self.so_far.clone(), self.wake.clone());
        let so_far = &self.so_far;
        self.placed.ask(of, || {
            // nothing that an older question found is shown as this one's
            put(so_far, None);
            move |progress: &Progress| {
                let asked = question.asked();
                let survey = question.fit.survey;
                let mut tell = |placed| {
                    let asked = asked.clone();
                    put(
                        &shared,
                        Some(Arc::new(Arranged {
                            survey,
                            asked,
                            placed,
                        })),
                    );
                    wake();
                };
                let found = asked.ask.place(&mut tell, progress).map_err(Into::into);
                told(found.map(|placed| {
                    Arc::new(Arranged {
                        survey,
                        asked,
                        placed,
                    })
                }))
            }
        });
        let Some(arranged) = self.placed.held().current().cloned() else {
            return;
        };
        self.ask_beside(asking, &arranged);
    }

    fn ask_beside(&mut self, asking: &Asking<'_>, arranged: &Arc<Arranged>) {
        let key = Same(arranged.clone());
        let placing = asking.placing;
        if placing.distances {
            let scan = ToScan {
                ask: arranged.asked.ask.clone(),
                heights: asking.fit.heights.clone(),
                face_height: arranged.asked.face_height,
            };
            self.heights.ask(key.clone(), || {
                move |progress: &Progress| {
                    told(scan.scan(progress).map(Arc::new).map_err(Into::into))
                }
            });
        } else {
            self.heights.forget();
        }
        if placing.remedies {
            let even = ToEven {
                ask: arranged.asked.ask.clone(),
                before: arranged.placed.clone(),
                leds: asking.station.source.array.map(|a| (a.pitch_x, a.pitch_y)),
            };
            self.remedies.ask(key, || {
                move |progress: &Progress| {
                    told(even.even(progress).map(Arc::new).map_err(Into::into))
                }
            });
        } else {
            self.remedies.forget();
        }
    }

    fn forget_beside(&mut self) {
        self.heights.forget();
        self.remedies.forget();
    }

    /// Nothing of it is that of the readings any more.
    pub(super) fn forget(&mut self) {
        self.placed.forget();
        self.usable.forget();
        self.present.forget();
        self.forget_beside();
        put(&self.so_far, None);
    }

    /// The arrangement.
    pub fn placed(&self) -> Held<'_, Arc<Arranged>> {
        self.placed.held()
    }

    /// The best that the question that is being worked on has found so far.
    pub fn so_far(&self) -> Option<Arc<Arranged>> {
        let held = self
            .so_far
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner);
        held.clone().filter(|_| self.placed.held().is_updating())
    }

    /// What is to be seen: the arrangement, else the best so far.
    pub fn seen(&self) -> Option<Arc<Arranged>> {
        let held = self.placed.held();
        held.current()
            .cloned()
            .or_else(|| self.so_far())
            .or_else(|| match held {
                Held::Failed(..) => None,
                held => held.any().cloned(),
            })
    }

    /// The usable part of the pallet.
    pub fn usable(&self) -> Held<'_, Arc<Against>> {
        self.usable.held()
    }

    /// The same at other heights.
    pub fn heights(&self) -> Held<'_, Arc<Heights>> {
        self.heights.held()
    }

    /// Simple remedies.
    pub fn remedies(&self) -> Held<'_, Arc<Remedies>> {
        self.remedies.held()
    }

    /// The sites as they are.
    pub fn present(&self) -> Held<'_, Arc<Present>> {
        self.present.held()
    }

    /// Whether any of it is being worked on.
    pub fn is_updating(&self) -> bool {
        self.placed.held().is_updating()
            || self.usable.held().is_updating()
            || self.heights.held().is_updating()
            || self.remedies.held().is_updating()
            || self.present.held().is_updating()
    }
}

fn put(so_far: &SoFar, what: Option<Arc<Arranged>>) {
    *so_far
        .lock()
        .unwrap_or_else(std::sync::PoisonError::into_inner) = what;
}
