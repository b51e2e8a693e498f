//! A drawn station: fixture, lamp, positions, readings with their errors, and the truth.

use evenfield::field::{Face, Sample};
use evenfield::geometry::{Footprint, Place, Point, Shape};
use evenfield::lamps::{AnyLamp, Errors, Reader};

use crate::chance::Chance;
use crate::kinds::{Kind, Lit};

/// How carefully is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Condition {
    /// 5x5 to 7x7 positions at three heights, 1.2 % noise, 0.7 mm placement error.
    Main,
    /// Anything from good to poor: see [`errors`].
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

pub struct Station {
    pub seed: u64,
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
    /// Whether it is told that light comes by way of mirrors.
    pub mirrors: bool,
    /// Where the field counts.
    pub assessed: f64,
    /// Places at which maps are compared, and the truth there.
    pub map: Vec<(Place, f64)>,
    /// The truth's coldest spot.
    pub coldest: f64,
    /// The coldest spot over the mean, percent.
    pub rim_percent: f64,
    lamp: AnyLamp,
    errors: Errors,
}

/// Outer positions from the rim, mm.
const INSIDE: f64 = 6.0;
/// Draws after which a seed is given up.
const TRIES: usize = 2000;
const MAP_STEP: f64 = 4.0;
/// Coldest spot over mean.
const RIM: std::ops::RangeInclusive<f64> = 0.40..=0.93;

impl Seeds {
    pub fn seed(self, index: usize) -> u64 {
        let base = match self {
            Self::Tune => 1_000_000,
            Self::Report => 2_000_000,
        };
        base + index as u64
    }
}

/// What is drawn again until it is a station worth having.
struct Draft {
    fixture: Footprint,
    heights: Vec<f64>,
    assessed: f64,
    lit: Lit,
    face_height: f64,
}

impl Station {
    /// The same station for the same seed, kind and condition.
    ///
    /// # Errors
    /// No draw had its rim within the limits.
    pub fn draw(kind: Kind, condition: Condition, seed: u64) -> Result<Self, String> {
        let mut chance = Chance::new(
            seed,
            match condition {
                Condition::Main => 2 * kind as u64,
                Condition::Wide => 2 * kind as u64 + 1,
                Condition::Scan => 100 + kind as u64,
            },
        );
        let (draft, truth) = (0..TRIES)
            .find_map(|_| {
                let draft = Draft::draw(kind, condition, &mut chance)?;
                let truth = draft.truth();
                RIM.contains(&truth.rim()).then_some((draft, truth))
            })
            .ok_or("no lamp drawn gives a rim of 40 to 93 %")?;
        let (columns, rows) = match condition {
            Condition::Main => (chance.whole(5, 7), chance.whole(5, 7)),
            Condition::Wide => (chance.whole(4, 9), chance.whole(4, 9)),
            Condition::Scan => (chance.whole(50, 90), chance.whole(35, 60)),
        };
        let (columns, rows) = (columns as usize, rows as usize);
        let errors = errors(condition, &mut chance);
        let repeats = match condition {
            Condition::Main | Condition::Scan => 1,
            Condition::Wide => chance.whole(1, 2),
        };
        let minutes_each = chance.between(0.05, 0.2);
        let mut samples = read(
            &draft,
            (columns, rows),
            errors,
            repeats,
            (minutes_each, condition == Condition::Wide),
            chance.seed(),
        );
        if condition == Condition::Wide && chance.happens(0.15) {
            let which = chance.whole(0, samples.len() as u32 - 1) as usize;
            samples[which].irradiance *= if chance.happens(0.7) {
                chance.between(0.6, 0.9)
            } else {
                chance.between(1.1, 1.3)
            };
        }
        let told = Point::new(
            draft.lit.face.centre.x + chance.between(-2.0, 2.0),
            draft.lit.face.centre.y + chance.between(-2.0, 2.0),
        );
        let face = Face {
            height: draft.face_height + chance.between(-1.0, 1.0),
            outline: Some(Footprint {
                centre: told,
                turn: 0.0,
                ..draft.lit.face
            }),
        };
        Ok(Self {
            seed,
            fixture: draft.fixture,
            columns,
            rows,
            heights: draft.heights,
            samples,
            face,
            aperture: errors.aperture,
            assessed: draft.assessed,
            rim_percent: 100.0 * truth.rim(),
            map: truth.map,
            coldest: truth.coldest,
            mirrors: draft.lit.mirrors,
            lamp: draft.lit.lamp,
            errors,
        })
    }

    /// The samples with further positions read at all heights, in a second round.
    pub fn with_read(&self, further: &[Point]) -> Vec<Sample> {
        let mut reader = Reader::new(self.errors, !self.seed);
        let mut samples = self.samples.clone();
        for &height in &self.heights {
            for (i, point) in further.iter().enumerate() {
                let at = point.at_height(height);
                let placed = reader.set_down(at);
                samples.push(Sample {
                    at,
                    irradiance: reader.read(self.lamp.as_ref(), placed, 0.0),
                    position: self.columns * self.rows + i,
                    minute: None,
                });
            }
        }
        samples
    }

    /// Where a detector can sit that keeps from the rim what the outer positions keep, and is not where one sat.
    pub fn free_positions(&self, step: f64) -> Vec<Point> {
        let (width, depth) = self.fixture.shape.size();
        let room = Footprint::new(
            Shape::Rectangle {
                width: width - 2.0 * INSIDE,
                depth: depth - 2.0 * INSIDE,
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
        let (width, depth) = self.fixture.shape.size();
        (spread(width, self.columns), spread(depth, self.rows))
    }
}

impl Draft {
    fn draw(kind: Kind, condition: Condition, chance: &mut Chance) -> Option<Self> {
        let (width, depth) = (chance.between(120.0, 220.0), chance.between(80.0, 150.0));
        let fixture = Footprint::new(
            Shape::Rectangle { width, depth },
            Point::new(0.5 * width, 0.5 * depth),
        );
        let lowest = chance.between(3.0, 15.0);
        let count = match condition {
            Condition::Main | Condition::Scan => 3,
            Condition::Wide => chance.whole(1, 3),
        };
        let mut heights = vec![lowest];
        for i in 1..count as usize {
            heights.push(heights[i - 1] + chance.between(10.0, 25.0));
        }
        let highest = heights[heights.len() - 1];
        let distance = chance.between(40.0, 120.0);
        let face_height = lowest + distance;
        // a body of a detector fits under the face
        if face_height - highest < 20.0 {
            return None;
        }
        let assessed = chance.between(lowest, highest);
        let lit = kind.draw(chance, &fixture, face_height)?;
        let draft = Self {
            fixture,
            heights,
            assessed,
            lit,
            face_height,
        };
        draft.is_worth_having().then_some(draft)
    }

    fn irradiance(&self, at: Point) -> f64 {
        self.lit.lamp.irradiance(at.at_height(self.assessed))
    }

    fn mean(&self, step: f64) -> f64 {
        let cells = self.fixture.cells(step);
        cells.iter().map(|&p| self.irradiance(p)).sum::<f64>() / cells.len() as f64
    }

    /// Whether the coldest place lies within the limits, by a coarse look that is cheap.
    fn is_worth_having(&self) -> bool {
        let rim = self.fixture.lattice(15.0).into_iter();
        let coldest = rim
            .map(|p| self.irradiance(p))
            .fold(f64::INFINITY, f64::min);
        RIM.contains(&(coldest / self.mean(15.0)))
    }

    fn truth(&self) -> Truth {
        let points = self.fixture.lattice(MAP_STEP);
        let nodes: Vec<(Point, f64)> = points
            .into_iter()
            .map(|p| (p, self.irradiance(p)))
            .collect();
        let lifted = nodes.iter().map(|&(p, e)| (p.at_height(self.assessed), e));
        Truth {
            map: lifted.collect(),
            coldest: least(&self.fixture, MAP_STEP, nodes, |p| self.irradiance(p)),
            mean: self.mean(10.0),
        }
    }
}

/// The field at the assessed height.
struct Truth {
    map: Vec<(Place, f64)>,
    coldest: f64,
    mean: f64,
}

impl Truth {
    fn rim(&self) -> f64 {
        self.coldest / self.mean
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

/// A round a height, row by row; repeats leave the detector where it is. Minutes are told where `noted`.
fn read(
    draft: &Draft,
    (columns, rows): (usize, usize),
    errors: Errors,
    repeats: u32,
    (minutes_each, noted): (f64, bool),
    seed: u64,
) -> Vec<Sample> {
    let (width, depth) = draft.fixture.shape.size();
    let (xs, ys) = (spread(width, columns), spread(depth, rows));
    let lamp = &draft.lit.lamp;
    let mut reader = Reader::new(errors, seed);
    let mut samples = Vec::new();
    for &height in &draft.heights {
        for position in 0..columns * rows {
            let at = Place::new(xs[position % columns], ys[position / columns], height);
            let placed = reader.set_down(at);
            for _ in 0..repeats {
                let minute = minutes_each * samples.len() as f64;
                samples.push(Sample {
                    at,
                    irradiance: reader.read(lamp.as_ref(), placed, minute),
                    position,
                    minute: noted.then_some(minute),
                });
            }
        }
    }
    samples
}

fn spread(extent: f64, count: usize) -> Vec<f64> {
    let between = (extent - 2.0 * INSIDE) / (count - 1) as f64;
    (0..count).map(|i| INSIDE + between * i as f64).collect()
}

/// The least value over an outline: from the three least nodes of a lattice that includes the rim, closer
/// and closer.
pub fn least(
    outline: &Footprint,
    step: f64,
    mut nodes: Vec<(Point, f64)>,
    value: impl Fn(Point) -> f64,
) -> f64 {
    nodes.sort_by(|a, b| a.1.total_cmp(&b.1));
    nodes.truncate(3);
    let refined = nodes.into_iter().map(|mut best| {
        let mut reach = step;
        while reach > 0.05 {
            let middle = best.0;
            for i in 0..8 {
                let angle = std::f64::consts::TAU * f64::from(i) / 8.0;
                let at = outline.nearest_inside(Point::new(
                    middle.x + reach * angle.cos(),
                    middle.y + reach * angle.sin(),
                ));
                let there = value(at);
                if there < best.1 {
                    best = (at, there);
                }
            }
            if best.0 == middle {
                reach *= 0.5;
            }
        }
        best.1
    });
    refined.fold(f64::INFINITY, f64::min)
}
