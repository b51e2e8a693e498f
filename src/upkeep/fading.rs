//! The log as the trend asks for it.

use super::daily::{Daily, Standing};
use super::day::day_of;
use super::life::{Curve, Life, life};
use super::terms::MonitorTerms;
use super::trend::{Asked, Clock, LampTrend, Mark, Marked, Reading, Refused, Trend, trend};
use crate::progress::{Cancelled, Progress};
use crate::station::{Happened, Station, Upkeep};

/// Draws have this seed: the same log gives the same answer.
const SEED: u64 = 0x10_6f_ad_e5;

/// The trend of a log, and what its parts belong to.
#[derive(Debug, Clone, PartialEq)]
pub struct Fading {
    /// The trend; why there is none otherwise.
    pub trend: Result<Trend, Refused>,
    /// For each reading that the trend was asked of, the row of the log.
    pub rows: Vec<usize>,
    /// For each mark, the index of its event.
    pub events: Vec<usize>,
    /// The lamps over one another.
    pub curves: Vec<Curve>,
    /// Whether these run along the lamps' hours; else along days.
    pub by_hours: bool,
    /// How long the next one lasts, until the level is at the share of its beginning that
    /// the least of the window is of what is set; `None` without a window.
    pub life: Option<Life>,
    /// That share.
    pub share: Option<f64>,
}

/// Works out the trend.
///
/// # Errors
/// [`Cancelled`].
pub fn fading(
    station: &Station,
    upkeep: &Upkeep,
    daily: &Daily,
    terms: &MonitorTerms,
    progress: &Progress,
) -> Result<Fading, Cancelled> {
    let (mut readings, mut rows) = (Vec::new(), Vec::new());
    // one conversion a scale: all readings on it share what carrying them adds
    let mut conversions = vec![0.0; daily.scales.all.len()];
    for (i, row) in daily.rows.iter().enumerate() {
        let (
            Standing::Counts {
                irradiance, added, ..
            },
            Some(entry),
        ) = (&row.standing, upkeep.log.get(row.entry))
        else {
            continue;
        };
        let conversion = row.scale.filter(|_| *added > 0.0);
        if let Some(scale) = conversion {
            conversions[scale] = *added;
        }
        readings.push(Reading {
            day: row.day,
            hours: entry.lamp_hours,
            irradiance: *irradiance,
            conversion,
        });
        rows.push(i);
    }
    let (mut marks, mut events) = (Vec::new(), Vec::new());
    for (i, event) in upkeep.events.iter().enumerate() {
        let mark = match &event.what {
            Happened::LampChanged { .. } => Mark::NewLamp,
            Happened::Adjusted { .. } | Happened::Cleaned { .. } => Mark::Readjusted,
            // the readings are carried to one scale already, where it is known how the radiometer was found
            Happened::Calibrated(calibration) => {
                let is_main = terms.main.as_deref() == Some(calibration.radiometer.as_str());
                if !is_main || calibration.found_percent.is_some() {
                    continue;
                }
                Mark::Recalibrated(None)
            }
            Happened::Other => continue,
        };
        marks.push(Marked {
            day: day_of(event.at),
            mark,
        });
        events.push(i);
    }
    let main = (terms.main.as_deref())
        .and_then(|main| station.radiometers.iter().find(|r| r.name == main));
    let trend = trend(
        &Asked {
            readings: &readings,
            marks: &marks,
            conversions: &conversions,
            limit: terms.window.map(|window| window.least),
            resolution: main.and_then(|r| r.resolution).unwrap_or(0.0),
            seed: SEED,
        },
        progress,
    )?;
    let share = terms.window.and_then(|window| {
        let set = window.set.or(window.most)?;
        Some(window.least / set).filter(|share| (0.05..1.0).contains(share))
    });
    let lamps = trend.as_ref().map_or(&[][..], |trend| &trend.lamps);
    let by_hours = lamps.iter().all(|lamp| lamp.clock == Clock::Hours);
    let curves = curves(lamps, by_hours);
    let life = share
        .filter(|_| !curves.is_empty())
        .map(|share| life(&curves, share));
    Ok(Fading {
        trend,
        rows,
        events,
        curves,
        by_hours,
        life,
        share,
    })
}

/// Each lamp's level over its first one, along the lamps' hours or along days.
fn curves(lamps: &[LampTrend], by_hours: bool) -> Vec<Curve> {
    let last = lamps.len().saturating_sub(1);
    let lamps = lamps.iter().enumerate();
    lamps
        .map(|(i, lamp)| {
            let begun = lamp.levels.first();
            let at = |level: &super::trend::Level| {
                let first = begun?;
                Some(match by_hours {
                    true => level.hours? - first.hours?,
                    false => level.day - first.day,
                })
            };
            let points = lamp.levels.iter().filter_map(|level| {
                let share = level.lamp / begun?.lamp;
                Some((at(level)?, share))
            });
            Curve {
                points: points.collect(),
                changed: i < last,
            }
        })
        .collect()
}
