//! What a plan comes to, and a pattern of positions that is tried out beside it: worked out in the background.

use std::sync::Arc;

use super::background::told;
use crate::geometry::Point;
use crate::numeric::neighbours::{largest_gap, median_spacing};
use crate::probing::plate::{NoPlate, Plates};
use crate::probing::{Expectation, Fewest, Made, Pattern, Prospect, Route};
use crate::progress::Progress;
use crate::station::{Position, Shared, Station};
use crate::work::{Held, Latest, Wake};

/// Of the raster until another one is typed, mm.
const RASTER: f64 = 0.5;

/// The pattern that is tried out, and the raster; never saved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trial {
    /// Which pattern; `None`: none.
    pub pattern: Option<Pattern>,
    /// As it was typed, mm; 0 for none.
    pub raster: f64,
    /// Whether it is worked out how wide the bound will be: it takes some seconds.
    pub expect: bool,
    /// As few positions are looked for as are expected to bring the bound no further below the coldest spot than this,
    /// percent.
    pub within: Option<f64>,
}

impl Default for Trial {
    fn default() -> Self {
        Self {
            pattern: None,
            raster: RASTER,
            expect: false,
            within: None,
        }
    }
}

impl Trial {
    /// On whole multiples of it positions come to lie, mm; `None`: anywhere.
    pub fn raster(&self) -> Option<f64> {
        Some(self.raster).filter(|mesh| *mesh > 0.0)
    }
}

/// Middle and radius of the largest disk without a position whose middle is on the fixture, mm.
pub type Gap = (Point, f64);

/// What a pattern comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Tried {
    /// Its positions.
    pub made: Made,
    /// What they leave open.
    pub gap: Option<Gap>,
}

/// What a plan comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanFigures {
    /// How many positions.
    pub positions: usize,
    /// From each to the nearest other, the median, mm.
    pub spacing: Option<f64>,
    /// What they leave open.
    pub gap: Option<Gap>,
    /// What they can show and what they can't.
    pub prospect: Option<Prospect>,
    /// In which order, how long, how far.
    pub route: Route,
    /// The plates of the round, or why there are none; `None`: it is made without.
    pub plates: Option<Result<Plates, NoPlate>>,
}

/// A pattern is made for a bench and a raster.
#[derive(Debug, Clone, PartialEq)]
struct TrialKey {
    station: Shared<Station>,
    pattern: Pattern,
    raster: Option<f64>,
}

/// The fewest positions are looked for, for a bench, a width and a raster.
#[derive(Debug, Clone, PartialEq)]
struct FewestKey {
    station: Shared<Station>,
    within: f64,
    raster: Option<f64>,
}

/// The slots.
pub struct Planning {
    tried: Latest<TrialKey, Arc<Tried>>,
    figures: Latest<Shared<Station>, Arc<PlanFigures>>,
    expected: Latest<Shared<Station>, Expectation>,
    fewest: Latest<FewestKey, Fewest>,
}

impl Planning {
    pub(super) fn new(wake: &Wake) -> Self {
        Self {
            tried: Latest::new(wake.clone()),
            figures: Latest::new(wake.clone()),
            expected: Latest::new(wake.clone()),
            fewest: Latest::new(wake.clone()),
        }
    }

    /// Takes in what has ended and, where the plan is looked at, asks for what is shown of it: it hangs on the station's
    /// bench.
    pub(super) fn update(&mut self, station: &Shared<Station>, trial: Option<Trial>) {
        self.tried.collect();
        self.figures.collect();
        self.expected.collect();
        self.fewest.collect();
        let Some(trial) = trial else {
            return;
        };
        let of = station.clone();
        self.figures.ask(station.clone(), || {
            move |_: &Progress| {
                let positions = of.positions();
                let points = places(&positions);
                let plates = of.plan.bores.map(|_| Plates::of(&of));
                let used = plates.as_ref().and_then(|plates| plates.as_ref().ok());
                Some(Ok(Arc::new(PlanFigures {
                    route: Route::on(&of, used),
                    plates,
                    positions: positions.len(),
                    spacing: median_spacing(&points),
                    gap: largest_gap(&of.fixture.footprint(), &points),
                    prospect: Prospect::of(&of),
                })))
            }
        });
        if trial.expect {
            let of = station.clone();
            self.expected.ask(station.clone(), || {
                move |progress: &Progress| told(Expectation::of(&of, progress))
            });
        } else {
            self.expected.forget();
        }
        if let Some(within) = trial.within.filter(|_| trial.expect) {
            let key = FewestKey {
                station: station.clone(),
                within,
                raster: trial.raster(),
            };
            let (of, raster) = (station.clone(), trial.raster());
            self.fewest.ask(key, || {
                move |progress: &Progress| told(Fewest::of(&of, within, raster, progress))
            });
        } else {
            self.fewest.forget();
        }
        let Some(pattern) = trial.pattern else {
            self.tried.forget();
            return;
        };
        let key = TrialKey {
            station: station.clone(),
            pattern,
            raster: trial.raster(),
        };
        let (of, raster) = (station.clone(), trial.raster());
        self.tried.ask(key, || {
            move |progress: &Progress| {
                told(pattern.make(&of, raster, progress).map(|made| {
                    let points = places(&made.positions);
                    let gap = largest_gap(&of.fixture.footprint(), &points);
                    Arc::new(Tried { made, gap })
                }))
            }
        });
    }

    /// What the pattern that is tried out comes to.
    pub fn tried(&self) -> Held<'_, Arc<Tried>> {
        self.tried.held()
    }

    /// What the plan comes to.
    pub fn figures(&self) -> Held<'_, Arc<PlanFigures>> {
        self.figures.held()
    }

    /// How wide the bound will be, where that was asked for.
    pub fn expected(&self) -> Held<'_, Expectation> {
        self.expected.held()
    }

    /// The fewest positions that are expected to do, where they are looked for.
    pub fn fewest(&self) -> Held<'_, Fewest> {
        self.fewest.held()
    }

    /// Whether any is being worked on.
    pub fn is_updating(&self) -> bool {
        self.tried.held().is_updating()
            || self.figures.held().is_updating()
            || self.expected.held().is_updating()
            || self.fewest.held().is_updating()
    }

    /// What is to be seen of the pattern beside the plan: nothing where it yields nothing.
    pub fn seen(&self) -> Option<&Arc<Tried>> {
        match self.tried.held() {
            Held::Failed(..) => None,
            held => held.any(),
        }
    }

    /// The largest gap of what is tried out, else of the plan.
    pub fn gap(&self) -> Option<Gap> {
        match self.seen() {
            Some(tried) => tried.gap,
            None => self.figures.held().any()?.gap,
        }
    }
}

fn places(positions: &[Position]) -> Vec<Point> {
    positions.iter().map(|p| p.at).collect()
}
