//! The irradiance log as a picture: what window and page both draw.

use crate::record::upkeep_words::{event_letter, event_words};
use crate::station::Upkeep;
use crate::units::Units;
use crate::upkeep::trend::{Cause, Outlook};
use crate::upkeep::{Daily, MonitorWindow, Review, Side, Standing, day_of};

/// What is drawn of a log. Days are those from the beginning of 1970, irradiance is on the limits' scale, mW/cm².
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LogPicture {
    /// The readings, in the order of the log.
    pub points: Vec<LogPoint>,
    /// The level of each lamp with its 95 % interval; a lamp is a line of its own.
    pub levels: Vec<Vec<LevelPoint>>,
    /// The present lamp's level ahead, from the newest one on.
    pub ahead: Vec<LevelPoint>,
    /// Least, most and what to set.
    pub window: Option<MonitorWindow>,
    /// What happened, in the order of time.
    pub events: Vec<EventLine>,
    /// Days on which the light changed all at once without an event.
    pub steps: Vec<f64>,
    /// When the level reaches the least: median, earliest, latest where it has an end.
    pub reaches: Option<(f64, f64, Option<f64>)>,
    /// First and last day of all that is drawn but the outlook; `None`: nothing is.
    pub days: Option<(f64, f64)>,
    /// Least and greatest irradiance of all that is drawn.
    pub range: Option<(f64, f64)>,
}

/// A reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LogPoint {
    /// When.
    pub day: f64,
    /// On the limits' scale; of a note as it was read.
    pub irradiance: f64,
    /// How it is drawn.
    pub kind: PointKind,
}

/// How a reading is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PointKind {
    /// A dot.
    Inside,
    /// A dot in a ring.
    Outside,
    /// A cross: it does not count.
    Note,
}

/// The level at one time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LevelPoint {
    /// When.
    pub day: f64,
    /// The level.
    pub level: f64,
    /// Its 95 % interval.
    pub between: (f64, f64),
}

/// An event.
#[derive(Debug, Clone, PartialEq)]
pub struct EventLine {
    /// When.
    pub day: f64,
    /// What stands beside its line.
    pub letter: &'static str,
    /// In words.
    pub words: String,
}

impl LogPicture {
    /// Of a log; with its trend once that is there.
    pub fn of(upkeep: &Upkeep, daily: &Daily, review: Option<&Review>, units: Units) -> Self {
        let rows = daily.rows.iter().filter_map(|row| {
            let entry = upkeep.log.get(row.entry)?;
            let (irradiance, kind) = match row.standing {
                Standing::Counts {
                    irradiance, side, ..
                } => (
                    irradiance,
                    match side {
                        Side::Inside | Side::NoWindow => PointKind::Inside,
                        Side::Below | Side::Above => PointKind::Outside,
                    },
                ),
                Standing::Note(_) => (entry.irradiance, PointKind::Note),
            };
            Some(LogPoint {
                day: row.day,
                irradiance,
                kind,
            })
        });
        let mut picture = Self {
            points: rows.collect(),
            window: review.and_then(|review| review.terms.window),
            events: (upkeep.events.iter())
                .map(|event| EventLine {
                    day: day_of(event.at),
                    letter: event_letter(event),
                    words: event_words(event, units),
                })
                .collect(),
            ..Self::default()
        };
        let trend = review.and_then(|review| review.fading.trend.as_ref().ok());
        if let Some(trend) = trend {
            for lamp in &trend.lamps {
                let levels = lamp.levels.iter().map(|level| {
                    let half = 1.96 * level.uncertainty;
                    LevelPoint {
                        day: level.day,
                        level: level.station,
                        between: (level.station * (-half).exp(), level.station * half.exp()),
                    }
                });
                picture.levels.push(levels.collect());
                let found = lamp.offsets.iter().filter(|o| o.cause == Cause::Found);
                picture.steps.extend(found.map(|offset| offset.day));
            }
            let newest = picture.levels.last().and_then(|lamp| lamp.last()).copied();
            let ahead = trend.ahead.iter().map(|at| LevelPoint {
                day: at.day,
                level: at.level.value,
                between: (at.level.low, at.level.high),
            });
            picture.ahead = newest.into_iter().chain(ahead).collect();
            if let Some(Outlook::Reaches(passage)) = trend.outlook {
                picture.reaches = Some((passage.day, passage.earliest, passage.latest));
            }
        }
        picture.frame();
        picture
    }

    fn frame(&mut self) {
        let days = self.points.iter().map(|p| p.day);
        let days = days.chain(self.events.iter().map(|e| e.day));
        self.days = ends(days);
        let levels = self.levels.iter().flatten();
        let between = levels.flat_map(|level| [level.between.0, level.between.1]);
        let window = self.window.iter();
        let window = window.flat_map(|w| [Some(w.least), w.most, w.set].into_iter().flatten());
        let points = self.points.iter();
        let points = points.filter(|p| p.kind != PointKind::Note);
        self.range = ends(points.map(|p| p.irradiance).chain(between).chain(window));
    }

    /// Only what lies in a period of days.
    pub fn within(mut self, from: f64, to: f64) -> Self {
        let is_in = |day: f64| (from..=to).contains(&day);
        self.points.retain(|point| is_in(point.day));
        self.events.retain(|event| is_in(event.day));
        self.steps.retain(|day| is_in(*day));
        self.ahead.retain(|point| is_in(point.day));
        for level in &mut self.levels {
            level.retain(|point| is_in(point.day));
        }
        self.frame();
        self
    }

    /// The picture in words, for who can't see it.
    pub fn words(&self) -> String {
        let outside = self.points.iter();
        let outside = outside.filter(|p| p.kind == PointKind::Outside).count();
        let notes = self.points.iter();
        let notes = notes.filter(|p| p.kind == PointKind::Note).count();
        format!(
            "Irradiance log: {} readings, {outside} outside the limits, {notes} kept as notes; {} lamps, {} events",
            self.points.len(),
            self.levels.len(),
            self.events.len()
        )
    }
}

fn ends(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    values
        .filter(|value| value.is_finite())
        .fold(None, |ends, value| match ends {
            None => Some((value, value)),
            Some((low, high)) => Some((value.min(low), value.max(high))),
        })
}
