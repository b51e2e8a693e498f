//! What the recorded states of two surveys leave open.

use jiff::civil::Date;

use crate::station::{Pallet, Radiometer, Station, Survey};

/// What a common change may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cause {
    /// Ageing of the lamp, or another lamp.
    Lamp,
    /// Its drive.
    Drive,
    /// The working distance.
    Distance,
    /// Window, filter or reflector, evenly dirty or changed.
    Window,
    /// The radiometer, its calibration or its own ageing.
    Radiometer,
    /// Pallet in place or out, with parts or without.
    Pallet,
}

impl Cause {
    /// The word in records.
    pub fn word(self) -> &'static str {
        match self {
            Self::Lamp => "lamp",
            Self::Drive => "drive",
            Self::Distance => "distance",
            Self::Window => "window",
            Self::Radiometer => "radiometer",
            Self::Pallet => "pallet",
        }
    }
}

/// Something recorded that is not the same in two surveys.
#[derive(Debug, Clone, PartialEq)]
pub enum StateChange {
    /// Serial numbers before and after.
    Lamp(String, String),
    /// Drive settings.
    Drive(String, String),
    /// Heights of the face, mm; the field was compared at the same working distance.
    FaceHeight(f64, f64),
    /// What was in the way.
    InTheWay(String, String),
    /// The pallet.
    Pallet(Pallet, Pallet),
    /// Radiometer pairs, by name.
    Pair(String, String),
    /// The same pair, calibrated anew.
    Calibrated,
    /// The pair is not told for at least one of the surveys.
    PairNotSaid,
    /// The band is not told for at least one of the surveys.
    BandNotSaid,
    /// Warmed up for less than a third of the time or more than three times, minutes.
    WarmUp(f64, f64),
}

/// Two of something that may not be told; `None` where either is not told.
fn both<'a>(a: &'a str, b: &'a str) -> Option<(&'a str, &'a str)> {
    let (a, b) = (a.trim(), b.trim());
    (!a.is_empty() && !b.is_empty()).then_some((a, b))
}

fn differ(a: &str, b: &str) -> Option<(String, String)> {
    let (a, b) = (a.trim(), b.trim());
    (!a.eq_ignore_ascii_case(b)).then(|| (a.to_owned(), b.to_owned()))
}

/// Whether both were read by one pair within one calibration, so that its scale error is the same in both.
pub fn is_same_scale(a: Option<&Radiometer>, b: Option<&Radiometer>) -> bool {
    let (Some(a), Some(b)) = (a, b) else {
        return false;
    };
    is_same_pair(a, b)
        && a.calibrated_on == b.calibrated_on
        && a.calibrated_against.trim() == b.calibrated_against.trim()
}

fn is_same_pair(a: &Radiometer, b: &Radiometer) -> bool {
    let same = |x: &str, y: &str| x.trim().eq_ignore_ascii_case(y.trim());
    same(&a.name, &b.name)
        && same(&a.meter_serial, &b.meter_serial)
        && same(&a.detector_serial, &b.detector_serial)
        && same(&a.band, &b.band)
}

/// The bands of two surveys where they are told and are not the same: then there is nothing to compare by number.
pub fn other_bands(from: &Survey, to: &Survey) -> Option<(String, String)> {
    let band = |s: &Survey| {
        s.radiometer
            .as_ref()
            .map(|r| r.band.clone())
            .unwrap_or_default()
    };
    let (a, b) = (band(from), band(to));
    both(&a, &b)?;
    let plain = |s: &str| s.to_lowercase().split_whitespace().collect::<String>();
    (plain(&a) != plain(&b)).then_some((a, b))
}

/// What is recorded and not the same, what is gravest first.
pub fn state_changes(station: &Station, from: &Survey, to: &Survey) -> Vec<StateChange> {
    let (a, b) = (&from.state, &to.state);
    let mut out = Vec::new();
    if let Some((a, b)) = both(&a.lamp_serial, &b.lamp_serial)
        && let Some((a, b)) = differ(a, b)
    {
        out.push(StateChange::Lamp(a, b));
    }
    if let Some((a, b)) = both(&a.drive, &b.drive)
        && let Some((a, b)) = differ(a, b)
    {
        out.push(StateChange::Drive(a, b));
    }
    let (before, after) = (from.face_height(station), to.face_height(station));
    if (before - after).abs() > 0.05 {
        out.push(StateChange::FaceHeight(before, after));
    }
    if let Some((a, b)) = differ(&a.in_the_way, &b.in_the_way) {
        out.push(StateChange::InTheWay(a, b));
    }
    if a.pallet != b.pallet && a.pallet != Pallet::NotSaid && b.pallet != Pallet::NotSaid {
        out.push(StateChange::Pallet(a.pallet, b.pallet));
    }
    match (&from.radiometer, &to.radiometer) {
        (Some(a), Some(b)) => {
            if !is_same_pair(a, b) {
                out.push(StateChange::Pair(a.name.clone(), b.name.clone()));
            } else if !is_same_scale(Some(a), Some(b)) {
                out.push(StateChange::Calibrated);
            }
            if both(&a.band, &b.band).is_none() {
                out.push(StateChange::BandNotSaid);
            }
        }
        _ => out.push(StateChange::PairNotSaid),
    }
    if let (Some(a), Some(b)) = (a.minutes_on, b.minutes_on)
        && a.min(b) < 10.0
        && (a > 3.0 * b || b > 3.0 * a)
    {
        out.push(StateChange::WarmUp(a, b));
    }
    out
}

/// What a common change may be, as far as the records leave it open; what the records name comes first.
pub fn may_be(from: &Survey, to: &Survey, changes: &[StateChange]) -> Vec<Cause> {
    let (a, b) = (&from.state, &to.state);
    let mut named = Vec::new();
    for change in changes {
        let cause = match change {
            StateChange::Lamp(..) => Cause::Lamp,
            StateChange::Drive(..) => Cause::Drive,
            StateChange::InTheWay(..) => Cause::Window,
            StateChange::Pallet(..) => Cause::Pallet,
            StateChange::Pair(..) | StateChange::Calibrated | StateChange::PairNotSaid => {
                Cause::Radiometer
            }
            StateChange::FaceHeight(..) => Cause::Distance,
            StateChange::BandNotSaid | StateChange::WarmUp(..) => continue,
        };
        named.push(cause);
    }
    // a setting that was written down and is the same did not do it
    let drive_known = both(&a.drive, &b.drive).is_some();
    let open = [
        (Cause::Lamp, true),
        (Cause::Drive, !drive_known),
        (Cause::Window, true),
        (Cause::Distance, true),
        // a pair ages between calibrations too
        (Cause::Radiometer, ages_apart(from.date, to.date)),
    ];
    let rest = open.into_iter().filter(|(_, open)| *open).map(|(c, _)| c);
    for cause in rest {
        if !named.contains(&cause) {
            named.push(cause);
        }
    }
    named
}

/// Far enough apart for a detector to have aged: a month (common practice, no source).
fn ages_apart(a: Date, b: Date) -> bool {
    days(a, b).abs() > 30
}

/// From one day to another.
pub fn days(a: Date, b: Date) -> i32 {
    (b - a).get_days()
}
