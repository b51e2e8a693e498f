//! A drawn station: fixture, lamp, positions, readings with their errors, and the truth.

mod draft;
mod read;
mod wrong;

use std::sync::Arc;

use evenfield::field::{Face, Sample};
use evenfield::geometry::{Footprint, Place, Point, Shape};
use evenfield::lamps::{AnyLamp, Reader};
use evenfield::station::{
    AssessedArea, Radiometer, Reading, SourceKind, Station as Document, Survey,
};
use jiff::civil::date;

use crate::chance::Chance;
use crate::kinds::Kind;

#[allow(unused_imports)] // not every bench that shares this looks for the least itself
pub use draft::least;
pub use read::Plan;
pub use wrong::Wrong;

use draft::{Draft, Truth, worth_having};
use read::Round;

/// How carefully is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Condition {
    /// 5x5 to 7x7 positions at three heights, 1.2 % noise, 0.7 mm placement error.
    Main,
    /// Anything from good to poor: 4x4 to 9x9 positions, one to three heights.
    Wide,
    /// A machine's scan: thousands of positions at three heights, 1 % noise, 0.2 mm placement error.
    Scan,
}

/// Which seeds: a method may be tuned on the one set and is reported on the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Seeds {
    Tune,
    Report,
}

/// A station as it is read by one plan.
#[derive(Clone)]
pub struct Station {
    pub seed: u64,
    pub plan: Plan,
    pub fixture: Footprint,
    pub columns: usize,
    pub rows: usize,
    /// Of the readings, ascending, mm.
    pub heights: Vec<f64>,
    pub samples: Vec<Sample>,
    /// What the fit is told of the face.
    pub face: Face,
    /// What the fit is told of the detector, mm.
    pub aperture: f64,
    /// What kind of source it is told.
    pub told: SourceKind,
    /// Where the field counts.
    pub assessed: f64,
    /// Places at which maps are compared, and the truth there.
    pub map: Vec<(Place, f64)>,
    /// The truth's coldest spot.
    pub coldest: f64,
    pub coldest_at: Point,
    /// The coldest spot over the mean, percent.
    pub rim_percent: f64,
    /// What is read further positions with; `None` for readings that were taken before.
    pub further: Option<Further>,
}

/// Somebody who could read on.
#[derive(Clone)]
pub struct Further {
    lamp: Arc<AnyLamp>,
    errors: evenfield::lamps::Errors,
}

/// What all plans of a seed share.
pub struct Drawn {
    seed: u64,
    draft: Draft,
    truth: Truth,
    round: Round,
    lamp: Arc<AnyLamp>,
    pallet_out: Option<Arc<AnyLamp>>,
    face: Face,
}

impl Seeds {
    pub fn seed(self, index: usize) -> u64 {
        let base = match self {
            Self::Tune => 1_000_000,
            Self::Report => 2_000_000,
        };
        base + index as u64
    }
}

impl Drawn {
    /// The same for the same seed, kind and condition.
    ///
    /// # Errors
    /// No draw had its rim within the limits.
    pub fn new(kind: Kind, condition: Condition, seed: u64) -> Result<Self, String> {
        let stream = match condition {
            Condition::Main => 2 * kind as u64,
            Condition::Wide => 2 * kind as u64 + 1,
            Condition::Scan => 100 + kind as u64,
        };
        let mut chance = Chance::new(seed, stream);
        let (mut draft, truth) = worth_having(kind, condition, &mut chance)?;
        let round = Round::draw(condition, &draft.heights, &mut chance);
        let told = Point::new(
            draft.lit.face.centre.x + chance.between(-2.0, 2.0),
            draft.lit.face.centre.y + chance.between(-2.0, 2.0),
        );
        let face = Face {
            height: draft.face_height + chance.between(-1.0, 1.0),
            outline: Some(Footprint {
                centre: told,
                turn: 0.0,
                ..draft.lit.face.clone()
            }),
        };
        let none: AnyLamp = Box::new(evenfield::lamps::Lamps(vec![]));
        let lamp = std::mem::replace(&mut draft.lit.lamp, none);
        let pallet_out = draft.lit.pallet_out.take();
        Ok(Self {
            seed,
            lamp: Arc::new(lamp),
            pallet_out: pallet_out.map(Arc::new),
            draft,
            truth,
            round,
            face,
        })
    }

    /// The truth at a place, mW/cm².
    #[allow(dead_code)] // for benches that look closer than the map
    pub fn irradiance(&self, at: Place) -> f64 {
        self.lamp.irradiance(at)
    }

    /// What shines on the pallet, and how carefully is read.
    #[allow(dead_code)] // of the benches that share this only one reads by itself
    pub fn read_by(&self) -> (&AnyLamp, evenfield::lamps::Errors) {
        (&self.lamp, self.round.errors)
    }

    /// The station as read by a plan, with one thing wrong.
    pub fn station(&self, plan: Plan, wrong: Wrong) -> Station {
        let lamp = match (plan, &self.pallet_out) {
            (Plan::Rim | Plan::Around, Some(bare)) => bare,
            _ => &self.lamp,
        };
        let (draft, round) = (&self.draft, &self.round);
        let mut station = Station {
            seed: self.seed,
            plan,
            fixture: draft.fixture.clone(),
            columns: round.columns,
            rows: round.rows,
            heights: draft.heights.clone(),
            samples: round.read(lamp, &draft.fixture, plan, wrong),
            face: self.face.clone(),
            aperture: round.errors.aperture,
            told: draft.lit.told,
            assessed: draft.assessed,
            map: self.truth.map.clone(),
            coldest: self.truth.coldest,
            coldest_at: self.truth.coldest_at,
            rim_percent: 100.0 * self.truth.rim(),
            further: Some(Further {
                lamp: Arc::clone(lamp),
                errors: wrong.errors(round.errors),
            }),
        };
        wrong.spoil(&mut station);
        station
    }
}

impl Station {
    /// The samples with further positions read at all heights, in a second round; `None` where nobody can read on.
    pub fn with_read(&self, points: &[Point]) -> Option<Vec<Sample>> {
        let further = self.further.as_ref()?;
        let mut reader = Reader::new(further.errors, !self.seed);
        let mut samples = self.samples.clone();
        for &height in &self.heights {
            for (i, point) in points.iter().enumerate() {
                let at = point.at_height(height);
                let placed = reader.set_down(at);
                samples.push(Sample {
                    at,
                    irradiance: reader.read(further.lamp.as_ref().as_ref(), placed, 0.0),
                    position: self.columns * self.rows + i,
                    minute: None,
                });
            }
        }
        Some(samples)
    }

    /// Where a detector can sit within the outermost positions, and is not where one sat.
    pub fn free_positions(&self, step: f64) -> Vec<Point> {
        let (width, depth) = self.fixture.shape.size();
        let inset = self.plan.inset();
        let room = Footprint::new(
            Shape::Rectangle {
                width: width - 2.0 * inset,
                depth: depth - 2.0 * inset,
            },
            self.fixture.centre,
        );
        let free = |p: &Point| {
            self.samples
                .iter()
                .all(|s| s.at.point().distance(*p) > 0.5 * step)
        };
        room.lattice(step).into_iter().filter(free).collect()
    }

    /// Mean of the readings of a position (row by row) at one of the heights.
    pub fn mean_reading(&self, position: usize, height: f64) -> f64 {
        let here = |s: &&Sample| s.position == position && s.at.height == height;
        let (sum, n) = self
            .samples
            .iter()
            .filter(here)
            .fold((0.0, 0), |(sum, n), s| (sum + s.irradiance, n + 1));
        sum / f64::from(n)
    }

    /// Those of all positions at a height, row after row.
    pub fn layer(&self, height: f64) -> Vec<f64> {
        (0..self.columns * self.rows)
            .map(|position| self.mean_reading(position, height))
            .collect()
    }

    /// Where the positions of a column or a row stand, mm.
    pub fn along(&self) -> (Vec<f64>, Vec<f64>) {
        let at = |position: usize| {
            let found = self.samples.iter().find(|s| s.position == position);
            found.expect("each position is read").at
        };
        let xs = (0..self.columns).map(|column| at(column).x).collect();
        let ys = (0..self.rows).map(|row| at(row * self.columns).y);
        (xs, ys.collect())
    }

    /// As a document, with one survey.
    pub fn document(&self) -> Document {
        let mut document = Document::new("Study", self.fixture.shape.clone(), self.face.height);
        document.source.face = self.face.outline.clone();
        document.source.kind = self.told;
        document.settings.area = AssessedArea::Fixture;
        let mut survey: Survey = document.new_survey("Round", date(2026, 3, 9));
        survey.radiometer = Some(Radiometer {
            aperture_diameter: (self.aperture > 0.0).then_some(self.aperture),
            resolution: Some(0.01),
            ..Radiometer::new("Pair", Shape::Circle { diameter: 12.0 })
        });
        survey.readings = (self.samples.iter())
            .map(|s| Reading::new(s.at, Some(s.irradiance)))
            .collect();
        document.surveys.push(survey.into());
        document
    }
}
