//! What `change --json` prints.

mod history;
mod short;
pub mod words;

pub use history::{
    BoundedRecord, HistoryRecord, SeenRecord, TrendRecord, history_headings, history_rows,
};
pub use short::{ShortCheckRecord, ShortPositionRecord, short_check};

use serde::Serialize;

use super::figures::{both, percent, rounded};
use crate::change::{Calibration, Change, SetUp, Zone};
use crate::station::Station;
use crate::units::LengthUnit;
use words::mode_word;

/// One survey against another.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ChangeRecord {
    /// Name of the station.
    pub station: String,
    /// Name of the earlier survey.
    pub from: String,
    /// Name of the later survey.
    pub to: String,
    /// The same change everywhere.
    pub common_change_percent: f64,
    /// With 95 % confidence, calibration in it where it does not cancel.
    pub common_change_interval_percent: [f64; 2],
    /// How the radiometers' calibration counts in it: `cancels`, `counts`, `not known`.
    pub calibration: &'static str,
    /// What it may be, as far as the records leave it open.
    pub common_change_may_be: Vec<&'static str>,
    /// `null`: too few positions to show any local change.
    pub smallest_detectable: Option<SmallestRecord>,
    /// Local losses, deepest first.
    pub cold_zones: Vec<ZoneRecord>,
    /// Local gains, strongest first.
    pub hot_zones: Vec<ZoneRecord>,
    /// How the later round was set up against the earlier one.
    pub set_up: Vec<SetUpRecord>,
    /// Place by place, in the order of the later survey.
    pub positions: Vec<PositionChangeRecord>,
    /// Fading by lamp hours; `null` where they are not known or something else changed.
    pub fading: Option<FadingRateRecord>,
    /// What most places changed by, without any model; `null`: too few places.
    pub typical_change_percent: Option<f64>,
    /// With 95 % confidence.
    pub typical_change_interval_percent: Option<[f64; 2]>,
    /// Standard deviation of a reading from one to the next, percent.
    pub reading_noise_percent: f64,
    /// How many places were read in both surveys.
    pub matched: usize,
    /// How many were compared through the earlier survey's field.
    pub through_field: usize,
    /// The share of false finds that is held, percent.
    pub false_discovery_rate_percent: f64,
    /// A local change of less is no zone, percent.
    pub practical_threshold_percent: f64,
    /// Of the earlier survey; `null` without limits or not asked.
    pub verdict_from: Option<&'static str>,
    /// Of the later one.
    pub verdict_to: Option<&'static str>,
    /// One plain sentence.
    pub judgement: String,
    /// What to do next.
    pub next_steps: Vec<String>,
    /// Plain sentences.
    pub warnings: Vec<String>,
    /// All surveys against the earlier one; `null` where there are only two, or nobody asked.
    pub history: Option<HistoryRecord>,
    /// The short check of the earlier survey; `null` where nobody asked.
    pub short_check: Option<ShortCheckRecord>,
}

/// The smallest local change that would have been shown.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SmallestRecord {
    /// Loss in the middle of a zone.
    pub local_percent: f64,
    /// Width at which half of it is lost.
    pub zone_diameter_mm: f64,
    /// Probability of showing it.
    pub power_percent: f64,
}

/// A cold or hot zone.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ZoneRecord {
    /// Middle, to the right of the datum.
    pub x_mm: f64,
    /// Middle, to the back of the datum.
    pub y_mm: f64,
    /// Inside its outline.
    pub area_mm2: f64,
    /// Largest local change, beside the common one.
    pub depth_percent: f64,
    /// With 95 % confidence, paid for having been picked.
    pub depth_interval_percent: [f64; 2],
    /// Those it touches.
    pub sites: Vec<String>,
    /// How many positions lie in it.
    pub positions: usize,
    /// Where on the lamp's face light went missing; `null` where nothing is said.
    pub face: Option<FaceRecord>,
}

/// A part of the lamp's face.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FaceRecord {
    /// To the right of the datum.
    pub x_mm: f64,
    /// To the back of the datum.
    pub y_mm: f64,
    /// Of the lamp's light.
    pub share_percent: f64,
}

/// One way in which the later round may have been set up otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SetUpRecord {
    /// `height`, `shift x`, `shift y`, `tilt x`, `tilt y`.
    pub what: &'static str,
    /// mm, or degrees for tilts.
    pub by: f64,
    /// Standard uncertainty (k = 1).
    pub uncertainty: f64,
    /// Beyond doubt.
    pub named: bool,
}

/// A place of the later survey.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PositionChangeRecord {
    /// Name of the position.
    pub position: String,
    /// To the right of the datum.
    pub x_mm: f64,
    /// To the back of the datum.
    pub y_mm: f64,
    /// Above the fixture's base.
    pub height_mm: f64,
    /// What was read against before.
    pub change_percent: f64,
    /// What of it is local.
    pub local_percent: f64,
    /// At the false discovery rate.
    pub significant: bool,
}

/// Fading by lamp hours.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FadingRateRecord {
    /// Between the surveys.
    pub hours: f64,
    /// Loss.
    pub percent_per_100_h: f64,
    /// With 95 % confidence.
    pub interval_percent_per_100_h: [f64; 2],
}

fn zone(zone: &Zone) -> ZoneRecord {
    ZoneRecord {
        x_mm: rounded(zone.centre.x),
        y_mm: rounded(zone.centre.y),
        area_mm2: rounded(zone.area),
        depth_percent: percent(zone.depth),
        depth_interval_percent: both(zone.interval),
        sites: zone.sites.clone(),
        positions: zone.positions,
        face: zone.face.map(|f| FaceRecord {
            x_mm: rounded(f.at.x),
            y_mm: rounded(f.at.y),
            share_percent: percent(f.share),
        }),
    }
}

fn set_up(s: &SetUp) -> SetUpRecord {
    SetUpRecord {
        what: mode_word(s.mode),
        by: rounded(s.by),
        uncertainty: rounded(s.uncertainty),
        named: s.named,
    }
}

impl ChangeRecord {
    /// The record of a change; verdicts of both surveys where there are limits; sentences with lengths in a unit.
    pub fn new(
        station: &Station,
        change: &Change,
        verdicts: [Option<&'static str>; 2],
        length: LengthUnit,
    ) -> Self {
        let name = |i: usize| {
            station
                .surveys
                .get(i)
                .map_or_else(String::new, |s| s.name.clone())
        };
        let said = words::Said {
            station,
            change,
            length,
        };
        Self {
            station: station.name.clone(),
            from: name(change.surveys.0),
            to: name(change.surveys.1),
            common_change_percent: percent(change.common.change),
            common_change_interval_percent: both(change.common.interval),
            calibration: match change.common.calibration {
                Calibration::Cancels => "cancels",
                Calibration::Counts(_) => "counts",
                Calibration::NotKnown => "not known",
            },
            common_change_may_be: change.may_be.iter().map(|c| c.word()).collect(),
            smallest_detectable: change.smallest.map(|s| SmallestRecord {
                local_percent: percent(s.loss),
                zone_diameter_mm: rounded(s.diameter),
                power_percent: percent(s.power),
            }),
            cold_zones: change.cold.iter().map(zone).collect(),
            hot_zones: change.hot.iter().map(zone).collect(),
            set_up: change.set_up.iter().map(set_up).collect(),
            positions: change
                .positions
                .iter()
                .map(|p| PositionChangeRecord {
                    position: p.position.clone(),
                    x_mm: rounded(p.at.x),
                    y_mm: rounded(p.at.y),
                    height_mm: rounded(p.at.height),
                    change_percent: percent(p.change),
                    local_percent: percent(p.local),
                    significant: p.significant,
                })
                .collect(),
            fading: change.fading.map(|f| FadingRateRecord {
                hours: rounded(f.hours),
                percent_per_100_h: percent(f.per_100_h),
                interval_percent_per_100_h: both(f.interval),
            }),
            typical_change_percent: change.typical.map(|t| percent(t.0)),
            typical_change_interval_percent: change.typical.map(|t| both(t.1)),
            reading_noise_percent: percent(change.noise),
            matched: change.matched,
            through_field: change.through_field,
            false_discovery_rate_percent: percent(change.bars.false_share),
            practical_threshold_percent: percent(change.bars.worth),
            verdict_from: verdicts[0],
            verdict_to: verdicts[1],
            judgement: said.judgement(),
            next_steps: said.next_steps(),
            warnings: said.warnings(),
            history: None,
            short_check: None,
        }
    }
}
