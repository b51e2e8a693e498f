//! Events, and the log entry by entry.

use crate::station::{Event, Happened, Upkeep, named};
use crate::units::{Units, fixed};
use crate::upkeep::{Carried, MonitorWindow, Remedy, Review, Scale, Side, Standing, Why};

use super::figures::signed_percent;

/// What stands for an event in lists and beside its line in the picture.
pub fn event_words(event: &Event, units: Units) -> String {
    let with = |what: &str, detail: &str| match detail.trim() {
        "" => what.to_owned(),
        detail => format!("{what}: {detail}"),
    };
    match &event.what {
        Happened::LampChanged { serial, hours } => {
            let hours = if *hours > 0.0 {
                format!("{serial} with {} h on it", fixed(*hours, 0))
            } else {
                serial.clone()
            };
            with("Lamp changed", &hours)
        }
        Happened::Adjusted { face_height, drive } => {
            let height = face_height.map(|h| format!("face at {}", units.length.show_with_unit(h)));
            let drive = Some(drive.trim()).filter(|d| !d.is_empty());
            let drive = drive.map(|drive| format!("drive {drive}"));
            let both: Vec<String> = height.into_iter().chain(drive).collect();
            with("Set anew", &both.join(", "))
        }
        Happened::Calibrated(of) => with("Calibrated", &of.radiometer),
        Happened::Cleaned { what } => with("Cleaned or changed", what),
        Happened::Other => with("Noted", &event.note),
    }
}

/// One letter for an event beside its line in the picture.
pub fn event_letter(event: &Event) -> &'static str {
    match event.what {
        Happened::LampChanged { .. } => "L",
        Happened::Adjusted { .. } => "A",
        Happened::Calibrated(_) => "C",
        Happened::Cleaned { .. } => "W",
        Happened::Other => "N",
    }
}

/// What the letters mean.
pub const EVENT_LETTERS: &str =
    "L lamp changed, A set anew, C radiometer calibrated, W cleaned or changed, N noted";

/// Where a reading lies.
pub fn side_words(side: Side) -> &'static str {
    match side {
        Side::NoWindow => "no limits",
        Side::Inside => "inside",
        Side::Below => "too low",
        Side::Above => "too high",
    }
}

/// Why an entry does not count.
pub fn why_words(why: &Why, set_aside: Option<&str>) -> String {
    match why {
        Why::SetAside => match set_aside {
            Some(reason) => format!("set aside: {reason}"),
            None => "set aside".to_owned(),
        },
        Why::OverRange => "over range".to_owned(),
        Why::NotRegistered => "radiometer not in the register".to_owned(),
        Why::PastDue(due) => format!("calibration ended on {due}"),
        Why::OtherBand => "other band".to_owned(),
        Why::NotCompared => "not read side by side".to_owned(),
        Why::Zero => "zero".to_owned(),
    }
}

/// How an entry stands.
pub fn standing_words(standing: &Standing, set_aside: Option<&str>) -> String {
    match standing {
        Standing::Counts { side, outside, .. } => {
            let side = side_words(*side);
            match outside {
                true => format!("{side}, beyond the levels compared"),
                false => side.to_owned(),
            }
        }
        Standing::Note(why) => why_words(why, set_aside),
    }
}

/// How readings on a scale come to that of the limits.
pub fn carried_words(scale: &Scale, upkeep: &Upkeep) -> String {
    let share = |added: f64| format!("adds {} % (k = 1)", fixed(100.0 * added, 2));
    match &scale.carried {
        Carried::Own => "the limits' own scale".to_owned(),
        Carried::ByCalibrations {
            factor,
            added,
            unknown,
        } => {
            let unknown = if *unknown {
                "; how it was found is not known for one of them"
            } else {
                ""
            };
            format!(
                "by calibrations times {}, {}{unknown}",
                fixed(*factor, 4),
                share(*added)
            )
        }
        Carried::ByComparison { beside, .. } => {
            let on = upkeep.beside.get(*beside).map(|b| b.on.to_string());
            format!("by the comparison of {}", on.unwrap_or_default())
        }
        Carried::NotCompared => "kept as notes: not read side by side with the main one".to_owned(),
    }
}

/// What must be read at the monitor position, as it is written elsewhere.
pub fn window_words(window: MonitorWindow, units: Units) -> String {
    let exact = |e: f64| units.irradiance.exact(e);
    let with_unit = |e: f64| units.irradiance.exact_with_unit(e);
    match window.most {
        Some(most) => format!("{} to {}", exact(window.least), with_unit(most)),
        None => format!("at least {}", with_unit(window.least)),
    }
}

/// What the newest reading means, and what to do.
pub fn latest_words(review: &Review, upkeep: &Upkeep, units: Units) -> Vec<String> {
    let Some(latest) = &review.daily.latest else {
        return vec![match upkeep.log.is_empty() {
            true => "Nothing was read at the monitor position yet".to_owned(),
            false => "No entry of the log counts; the table says why".to_owned(),
        }];
    };
    let show = |e: f64| units.irradiance.show_with_unit(e, None);
    let row = &review.daily.rows[latest.row];
    let on = upkeep.log.get(row.entry).map(|entry| entry.at.date());
    let on = on.map_or_else(String::new, |on| on.to_string());
    let read = show(latest.irradiance);
    let mut all = Vec::new();
    let Some(window) = review.terms.window else {
        all.push(format!(
            "{on}: {read}. It is held against nothing: there are no limits at the monitor position; set them in the step Limits"
        ));
        return all;
    };
    let ends = window_words(window, units);
    all.push(format!(
        "{on}: {read}, {} ({ends})",
        match latest.side {
            Side::Below => "below the least",
            Side::Above => "above the most",
            Side::Inside | Side::NoWindow => "inside the limits",
        }
    ));
    let site = review.terms.coldest_site.as_deref();
    let part = site.map_or_else(|| "the coldest spot".to_owned(), |s| named("site", s));
    if let (Some(coldest), true) = (latest.coldest, latest.side == Side::Below) {
        let lower = review.terms.lower.map(|lower| {
            format!(
                ", the lower limit is {}; that it gets enough is not proven any more",
                show(lower)
            )
        });
        all.push(format!(
            "By the map {part} gets {} now{}",
            show(coldest),
            lower.unwrap_or_default()
        ));
    }
    if let (Some(coldest), true) = (latest.coldest, latest.side == Side::Above) {
        all.push(format!(
            "By the map {part} gets {} now; the hottest part may get more than the upper limit allows",
            show(coldest)
        ));
    }
    match (latest.at_coldest, latest.coldest) {
        (Some(read), Some(told)) => all.push(format!(
            "Read at {part}: {}, {} from what the map says there; one monitor position can't see local wear",
            show(read),
            signed_percent(read / told - 1.0, 1)
        )),
        _ if matches!(latest.side, Side::Below | Side::Above) => all.push(format!(
            "Read {part} as well before anything is changed: one monitor position can't see local wear"
        )),
        _ => {}
    }
    all.extend(latest.remedy.map(|remedy| match remedy {
        Remedy::FaceAt(height) => format!(
            "To bring it back set the lamp's face to {} above the fixture's base, then read again; the pattern changes with the distance",
            units.length.show_with_unit(height)
        ),
        Remedy::DriveBy(factor) => format!(
            "To bring it back the light has to change by {}; set the drive, then read again. Where the drive is at its end, change the panel",
            signed_percent(factor - 1.0, 1)
        ),
        Remedy::OtherLamp => {
            "No distance within the measured heights brings it back: clean reflector and window, then change the lamp".to_owned()
        }
    }));
    all
}

/// When the next check is due; `None`: nobody said how often.
pub fn next_words(review: &Review) -> Option<String> {
    let next = review.daily.next?;
    Some(match next.days {
        0 => "The next check is due today".to_owned(),
        1 => format!("The next check is due tomorrow, {}", next.on),
        n if n > 0 => format!("The next check is due in {n} days, {}", next.on),
        -1 => format!("The check was due yesterday, {}", next.on),
        n => format!("The check was due {} days ago, {}", -n, next.on),
    })
}
