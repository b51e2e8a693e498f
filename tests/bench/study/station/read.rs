//! Where and how carefully is read.

use evenfield::field::Sample;
use evenfield::geometry::{Footprint, Place, Point};
use evenfield::lamps::{AnyLamp, Errors, Reader};

use super::Condition;
use super::wrong::Wrong;
use crate::chance::Chance;

/// Where the outermost positions are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Plan {
    /// 6 mm inside the rim, the pallet in place.
    Inside,
    /// On the rim and its corners, the pallet out.
    Rim,
    /// 10 mm beyond it, the pallet out.
    Around,
}

impl Plan {
    pub const ALL: [Self; 3] = [Self::Inside, Self::Rim, Self::Around];

    pub fn name(self) -> &'static str {
        match self {
            Self::Inside => "inside",
            Self::Rim => "rim",
            Self::Around => "around",
        }
    }

    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|plan| plan.name() == name)
    }

    /// From the rim inwards to the outermost positions, mm.
    pub fn inset(self) -> f64 {
        match self {
            Self::Inside => 6.0,
            Self::Rim => 0.0,
            Self::Around => -10.0,
        }
    }
}

/// What a round takes, whatever the plan.
#[derive(Clone)]
pub struct Round {
    pub columns: usize,
    pub rows: usize,
    pub heights: Vec<f64>,
    pub errors: Errors,
    pub repeats: u32,
    pub minutes_each: f64,
    /// Whether minutes are told.
    pub noted: bool,
    /// A reading that is wrong by a factor.
    pub outlier: Option<(usize, f64)>,
    pub seed: u64,
}

impl Round {
    pub fn draw(condition: Condition, heights: &[f64], chance: &mut Chance) -> Self {
        let (columns, rows) = match condition {
            Condition::Main => (chance.whole(5, 7), chance.whole(5, 7)),
            Condition::Wide => (chance.whole(4, 9), chance.whole(4, 9)),
            Condition::Scan => (chance.whole(50, 90), chance.whole(35, 60)),
        };
        let (columns, rows) = (columns as usize, rows as usize);
        let errors = errors(condition, chance);
        let repeats = match condition {
            Condition::Main | Condition::Scan => 1,
            Condition::Wide => chance.whole(1, 2),
        };
        let minutes_each = chance.between(0.05, 0.2);
        let seed = chance.seed();
        let count = columns * rows * heights.len() * repeats as usize;
        let outlier = (condition == Condition::Wide && chance.happens(0.15)).then(|| {
            let which = chance.whole(0, count as u32 - 1) as usize;
            let factor = if chance.happens(0.7) {
                chance.between(0.6, 0.9)
            } else {
                chance.between(1.1, 1.3)
            };
            (which, factor)
        });
        Self {
            columns,
            rows,
            heights: heights.to_vec(),
            errors,
            repeats,
            minutes_each,
            noted: condition == Condition::Wide,
            outlier,
            seed,
        }
    }

    /// A round a height, row by row; repeats leave the detector where it is.
    pub fn read(
        &self,
        lamp: &AnyLamp,
        fixture: &Footprint,
        plan: Plan,
        wrong: Wrong,
    ) -> Vec<Sample> {
        let (width, depth) = fixture.shape.size();
        let xs = spread(width, self.columns, plan.inset());
        let ys = spread(depth, self.rows, plan.inset());
        let mut reader = Reader::new(wrong.errors(self.errors), self.seed);
        let mut samples = Vec::new();
        for &height in &self.heights {
            for position in 0..self.columns * self.rows {
                let at = Place::new(
                    xs[position % self.columns],
                    ys[position / self.columns],
                    height,
                );
                let placed = reader.set_down(wrong.really(at, fixture.centre));
                for _ in 0..self.repeats {
                    let minute = self.minutes_each * samples.len() as f64;
                    samples.push(Sample {
                        at,
                        irradiance: reader.read(lamp.as_ref(), placed, minute),
                        position,
                        minute: self.noted.then_some(minute),
                    });
                }
            }
        }
        if let Some((which, factor)) = self.outlier {
            samples[which].irradiance *= factor;
        }
        samples
    }
}

fn errors(condition: Condition, chance: &mut Chance) -> Errors {
    match condition {
        Condition::Main => Errors {
            noise: 0.012,
            placement: 0.7,
            resolution: 0.01,
            ..Errors::default()
        },
        Condition::Scan => Errors {
            noise: 0.01,
            placement: 0.2,
            resolution: 0.01,
            ..Errors::default()
        },
        Condition::Wide => Errors {
            noise: chance.between(0.005, 0.03),
            placement: chance.between(0.3, 1.2),
            block: chance.between(0.0, 0.3),
            aperture: chance.between(2.0, 10.0),
            drift: chance.between(-0.003, 0.003),
            resolution: 0.01,
            ..Errors::default()
        },
    }
}

/// Even along a side of the fixture.
pub fn spread(extent: f64, count: usize, inset: f64) -> Vec<f64> {
    let between = (extent - 2.0 * inset) / (count - 1) as f64;
    (0..count).map(|i| inset + between * i as f64).collect()
}

/// Moved by so much towards a point, or onto it.
pub fn towards(p: Point, middle: Point, by: f64) -> Point {
    let away = p.distance(middle);
    let part = if away > by { by / away } else { 1.0 };
    Point::new(p.x + part * (middle.x - p.x), p.y + part * (middle.y - p.y))
}
