//! What is due.

use super::daily::side_words;
use super::figures::signed_percent;
use crate::station::named;
use crate::units::Units;
use crate::upkeep::{Due, DueWhat};

/// What is due, and what to do.
pub fn due_words(due: &Due, units: Units) -> String {
    let on = due.on.map(|on| format!("{on}: ")).unwrap_or_default();
    let what = match &due.what {
        DueWhat::Check(days) => format!("the monitor position was to be read {days} days ago"),
        DueWhat::Outside(side) => format!("the newest reading is {}", side_words(*side)),
        DueWhat::LimitNear => "the level reaches the least at the monitor position".to_owned(),
        DueWhat::Lamp(serial) => match serial.as_str() {
            "" => "the lamp was changed".to_owned(),
            serial => format!("the lamp was changed ({serial})"),
        },
        DueWhat::Adjusted(Some(height)) => format!(
            "the lamp was set to {}, another height",
            units.length.show_with_unit(*height)
        ),
        DueWhat::Adjusted(None) => {
            "the drive was set anew; read the coldest site as well".to_owned()
        }
        DueWhat::Cleaned(what) => match what.as_str() {
            "" => "something in the light's way was cleaned or changed".to_owned(),
            what => format!("cleaned or changed: {what}"),
        },
        DueWhat::Calibrated(name) => format!(
            "{} was calibrated: limits that were found with it are carried over; look at its shift",
            named("radiometer", name)
        ),
        DueWhat::Calibration(name, days) if *days < 0 => format!(
            "the calibration of {} ended {} days ago: its readings are kept as notes",
            named("radiometer", name),
            -days
        ),
        DueWhat::Calibration(name, days) => format!(
            "the calibration of {} ends in {days} days",
            named("radiometer", name)
        ),
        DueWhat::Step(share) => format!(
            "the light changed all at once by {}; look for its cause",
            signed_percent(*share, 1)
        ),
        DueWhat::Old(days) => format!("it has become {days} days old"),
    };
    format!("{on}{what}")
}
