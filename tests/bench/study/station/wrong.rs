//! What people tell or read wrong.

use evenfield::geometry::{Footprint, Place, Point, Shape};
use evenfield::lamps::Errors;
use evenfield::station::SourceKind;

use super::Station;
use super::read::towards;
use crate::chance::Chance;

/// One thing that is wrong with what is told or how it is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wrong {
    Nothing,
    /// The face's outline is told 20 mm too large along both sides.
    OutlineLarger,
    /// The kind of source is told wrong.
    Kind,
    /// The face is told 10 mm too high.
    FaceHigher,
    /// The detector stands 3 mm nearer to the middle than its position says.
    TowardsMiddle,
    /// The detector reads slanting light high: its response is the cosine to the power 0.88.
    Slanting,
    /// Lamp and detector drift by 4 % over the round, and no minutes are noted.
    Drift,
    /// An error of 1.5 % that readings taken one after the other share.
    Correlated,
    /// Only 9 positions at one height.
    Nine,
    /// Only 16 positions at one height.
    Sixteen,
    /// One position is read 10 % high at all heights.
    OneHigh,
    /// Nothing is wrong and the detector is a good one: 0.2 % noise, no placement error.
    Clean,
}

/// Readings over which a shared error changes.
const SHARED_OVER: f64 = 10.0;

impl Wrong {
    pub const ALL: [Self; 12] = [
        Self::Nothing,
        Self::OutlineLarger,
        Self::Kind,
        Self::FaceHigher,
        Self::TowardsMiddle,
        Self::Slanting,
        Self::Drift,
        Self::Correlated,
        Self::Nine,
        Self::Sixteen,
        Self::OneHigh,
        Self::Clean,
    ];

    pub fn name(self) -> &'static str {
        match self {
            Self::Nothing => "nothing",
            Self::OutlineLarger => "outline",
            Self::Kind => "kind",
            Self::FaceHigher => "face",
            Self::TowardsMiddle => "inwards",
            Self::Slanting => "slanting",
            Self::Drift => "drift",
            Self::Correlated => "correlated",
            Self::Nine => "nine",
            Self::Sixteen => "sixteen",
            Self::OneHigh => "one_high",
            Self::Clean => "clean",
        }
    }

    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|wrong| wrong.name() == name)
    }

    /// Whether it can be done to readings that were taken before.
    pub fn is_afterwards(self) -> bool {
        !matches!(self, Self::TowardsMiddle | Self::Slanting | Self::Clean)
    }

    /// The errors of the round.
    pub fn errors(self, errors: Errors) -> Errors {
        match self {
            Self::Slanting => Errors {
                slant: -0.12,
                ..errors
            },
            Self::Clean => Errors {
                noise: 0.002,
                placement: 0.0,
                block: 0.0,
                ..errors
            },
            _ => errors,
        }
    }

    /// Where the detector is set down that is meant to be at a place.
    pub fn really(self, meant: Place, middle: Point) -> Place {
        match self {
            Self::TowardsMiddle => towards(meant.point(), middle, 3.0).at_height(meant.height),
            _ => meant,
        }
    }

    /// What is told and read of a station, made wrong.
    pub fn spoil(self, station: &mut Station) {
        let mut chance = Chance::new(station.seed, 0x3107);
        match self {
            Self::Nothing | Self::TowardsMiddle | Self::Slanting | Self::Clean => {}
            Self::OutlineLarger => {
                if let Some(outline) = &mut station.face.outline {
                    *outline = larger(outline, 20.0);
                }
            }
            Self::Kind => {
                station.told = match station.told {
                    SourceKind::LedPanel => SourceKind::ReflectorArc,
                    SourceKind::ReflectorArc | SourceKind::LinearArc | SourceKind::Other => {
                        SourceKind::LedPanel
                    }
                }
            }
            Self::FaceHigher => station.face.height += 10.0,
            Self::Drift => {
                let sign = if chance.happens(0.5) { 1.0 } else { -1.0 };
                let last = (station.samples.len() - 1) as f64;
                for (i, sample) in station.samples.iter_mut().enumerate() {
                    sample.irradiance *= 1.0 + sign * 0.04 * (i as f64 / last - 0.5);
                    sample.minute = None;
                }
            }
            Self::Correlated => {
                let keep = (-1.0 / SHARED_OVER).exp();
                let mut shared = chance.normal();
                for sample in &mut station.samples {
                    sample.irradiance *= 1.0 + 0.015 * shared;
                    shared = keep * shared + (1.0 - keep * keep).sqrt() * chance.normal();
                }
            }
            Self::Nine => thin_out(station, 3),
            Self::Sixteen => thin_out(station, 4),
            Self::OneHigh => {
                let count = (station.columns * station.rows) as u32;
                let which = chance.whole(0, count - 1) as usize;
                for sample in &mut station.samples {
                    if sample.position == which {
                        sample.irradiance *= 1.1;
                    }
                }
            }
        }
    }
}

fn larger(outline: &Footprint, by: f64) -> Footprint {
    let shape = match &outline.shape {
        Shape::Circle { diameter } => Shape::Circle {
            diameter: diameter + by,
        },
        other => {
            let (width, depth) = other.size();
            Shape::Rectangle {
                width: width + by,
                depth: depth + by,
            }
        }
    };
    Footprint {
        shape,
        ..outline.clone()
    }
}

/// So many positions along each side, as evenly as the positions allow, at the height nearest to the one that counts.
fn thin_out(station: &mut Station, side: usize) {
    let pick = |count: usize| -> Vec<usize> {
        (0..side)
            .map(|k| ((count - 1) as f64 * k as f64 / (side - 1) as f64).round() as usize)
            .collect()
    };
    let (columns, rows) = (pick(station.columns), pick(station.rows));
    let nearest = (station.heights.iter().copied())
        .min_by(|a, b| {
            let away = |h: f64| (h - station.assessed).abs();
            away(*a).total_cmp(&away(*b))
        })
        .expect("a height is read");
    let old_columns = station.columns;
    let place = |position: usize| {
        let column = columns.iter().position(|c| *c == position % old_columns)?;
        let row = rows.iter().position(|r| *r == position / old_columns)?;
        Some(row * side + column)
    };
    station.samples.retain_mut(|sample| {
        let kept = place(sample.position).filter(|_| sample.at.height == nearest);
        sample.position = kept.unwrap_or(sample.position);
        kept.is_some()
    });
    (station.columns, station.rows) = (side, side);
    station.heights = vec![nearest];
}
