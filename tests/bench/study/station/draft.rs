//! A fixture, a lamp and the truth.

use evenfield::geometry::{Footprint, Place, Point, Shape};

use super::Condition;
use crate::chance::Chance;
use crate::kinds::{Kind, Lit, Over};

const MAP_STEP: f64 = 4.0;
/// Coldest spot over mean.
const RIM: std::ops::RangeInclusive<f64> = 0.40..=0.93;
/// Draws after which a seed is given up.
const TRIES: usize = 4000;

/// What is drawn again until it is a station worth having.
pub struct Draft {
    pub fixture: Footprint,
    pub heights: Vec<f64>,
    pub assessed: f64,
    pub lit: Lit,
    pub face_height: f64,
}

/// The field at the assessed height.
pub struct Truth {
    pub map: Vec<(Place, f64)>,
    pub coldest_at: Point,
    pub coldest: f64,
    pub mean: f64,
}

/// The first draw whose coldest spot lies within the limits.
///
/// # Errors
/// No draw did.
pub fn worth_having(
    kind: Kind,
    condition: Condition,
    chance: &mut Chance,
) -> Result<(Draft, Truth), String> {
    (0..TRIES)
        .find_map(|_| {
            let draft = Draft::draw(kind, condition, chance)?;
            let truth = draft.truth();
            RIM.contains(&truth.rim()).then_some((draft, truth))
        })
        .ok_or("no lamp drawn gives a rim of 40 to 93 %".into())
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
        let lit = kind.draw(
            chance,
            Over {
                fixture: &fixture,
                face_height,
                assessed,
            },
        )?;
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
        let map = lifted.collect();
        let (coldest_at, coldest) = least(&self.fixture, MAP_STEP, nodes, |p| self.irradiance(p));
        Truth {
            map,
            coldest_at,
            coldest,
            mean: self.mean(10.0),
        }
    }
}

impl Truth {
    pub fn rim(&self) -> f64 {
        self.coldest / self.mean
    }
}

/// Where the least value lies over an outline: from the three least nodes of a lattice that includes the rim, closer
/// and closer; and that value.
pub fn least(
    outline: &Footprint,
    step: f64,
    mut nodes: Vec<(Point, f64)>,
    value: impl Fn(Point) -> f64,
) -> (Point, f64) {
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
        best
    });
    refined
        .reduce(|a, b| if b.1 < a.1 { b } else { a })
        .expect("a lattice has nodes")
}
