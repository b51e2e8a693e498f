//! What upkeep asks for: checks, calibrations, and a new survey of the whole plan after a lamp, reflector, window, height or
//! radiometer has changed, and at an interval (common practice, no source).

use jiff::civil::Date;

use super::daily::{Daily, Side};
use super::day::days_between;
use super::terms::MonitorTerms;
use super::trend::{Cause, Outlook, Trend};
use crate::station::{Happened, Station, Upkeep};

/// Older than this, days, the survey that judges is to be taken again (common practice, no source: a year).
pub const OLD: i64 = 365;
/// Days ahead in which a calibration that ends is spoken of.
pub const SOON: i64 = 30;

/// One thing that is due.
#[derive(Debug, Clone, PartialEq)]
pub struct Due {
    /// What.
    pub what: DueWhat,
    /// Since when, or by when.
    pub on: Option<Date>,
    /// It asks for a new survey of the whole plan.
    pub survey: bool,
}

/// What is due, and why.
#[derive(Debug, Clone, PartialEq)]
pub enum DueWhat {
    /// The monitor position is to be read: so many days ago it was due.
    Check(i64),
    /// The newest reading lies outside the window.
    Outside(Side),
    /// The level reaches the least of the window on that day.
    LimitNear,
    /// The lamp was changed since the survey that judges.
    Lamp(String),
    /// Height or drive were set anew: to that face height, mm.
    Adjusted(Option<f64>),
    /// Something in the light's way was cleaned or changed.
    Cleaned(String),
    /// The radiometer that judges was calibrated.
    Calibrated(String),
    /// A radiometer's calibration ends or has ended: its name and the days left.
    Calibration(String, i64),
    /// The light changed all at once by this share.
    Step(f64),
    /// The survey that judges is so many days old.
    Old(i64),
}

/// What is due on a day, the most urgent first.
pub fn due(
    station: &Station,
    upkeep: &Upkeep,
    daily: &Daily,
    trend: Option<&Trend>,
    terms: &MonitorTerms,
    today: Date,
) -> Vec<Due> {
    let mut all = Vec::new();
    let mut add = |what: DueWhat, on: Option<Date>, survey: bool| {
        all.push(Due { what, on, survey });
    };
    if let Some(latest) = &daily.latest
        && matches!(latest.side, Side::Below | Side::Above)
    {
        let on = upkeep.log.get(daily.rows[latest.row].entry);
        add(
            DueWhat::Outside(latest.side),
            on.map(|e| e.at.date()),
            false,
        );
    }
    if let Some(next) = daily.next.filter(|next| next.days < 0) {
        add(DueWhat::Check(-next.days), Some(next.on), false);
    }
    let reaches = trend.and_then(|trend| match trend.outlook {
        Some(Outlook::Reaches(passage)) => super::day::moment_of(passage.day),
        _ => None,
    });
    if let Some(on) = reaches.map(|at| at.date())
        && days_between(today, on) <= SOON
    {
        add(DueWhat::LimitNear, Some(on), false);
    }
    let begun = terms.on;
    let since = upkeep.events.iter();
    for event in since.filter(|event| begun != Date::ZERO && event.at.date() > begun) {
        let on = Some(event.at.date());
        match &event.what {
            Happened::LampChanged { serial, .. } => {
                add(DueWhat::Lamp(serial.clone()), on, true);
            }
            Happened::Adjusted { face_height, .. } => {
                let height = *face_height;
                let is_other = height.is_none_or(|h| (h - terms.face_height).abs() > 0.05);
                if is_other {
                    add(DueWhat::Adjusted(height), on, height.is_some());
                }
            }
            Happened::Cleaned { what } => add(DueWhat::Cleaned(what.clone()), on, true),
            Happened::Calibrated(of) if terms.main.as_ref() == Some(&of.radiometer) => {
                add(DueWhat::Calibrated(of.radiometer.clone()), on, false);
            }
            Happened::Calibrated(_) | Happened::Other => {}
        }
    }
    let found = trend.into_iter().flat_map(|trend| &trend.lamps);
    let steps = found.flat_map(|lamp| &lamp.offsets);
    for step in steps.filter(|offset| offset.cause == Cause::Found) {
        let on = super::day::moment_of(step.day).map(|at| at.date());
        if on.is_some_and(|on| begun != Date::ZERO && on > begun) {
            add(DueWhat::Step(step.size.value), on, true);
        }
    }
    for radiometer in &station.radiometers {
        let scale = (daily.scales.all.iter()).rfind(|s| s.radiometer == radiometer.name);
        if let Some(due) = scale.and_then(|scale| scale.due) {
            let left = days_between(today, due);
            if left <= SOON {
                add(
                    DueWhat::Calibration(radiometer.name.clone(), left),
                    Some(due),
                    false,
                );
            }
        }
    }
    let age = days_between(begun, today);
    if begun != Date::ZERO && age > OLD {
        add(DueWhat::Old(age), Some(begun), true);
    }
    all
}
