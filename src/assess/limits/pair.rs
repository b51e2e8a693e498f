//! Whether the pair that judges is the one that a limit was found with, within one calibration: then its scale error is in
//! both and cancels.

use crate::station::limits::{Figure, Origin};
use crate::station::{Radiometer, Survey};

/// Whether the scale error cancels, of a figure and what is known of the radiometer it was found with. That it is the one that
/// judges is checked as far as the document says: its name, its serials, its band, what it was calibrated against and when.
pub(super) fn cancels(
    (figure, with): (&Figure, Option<&Radiometer>),
    survey: Option<&Survey>,
    what: &str,
    warnings: &mut Vec<String>,
) -> bool {
    if figure.origin != Origin::SamePair {
        return false;
    }
    let Some(survey) = survey else {
        return true;
    };
    let Some(judge) = &survey.radiometer else {
        warnings.push(format!(
            "The {what} was found with the same pair that judges, and the survey names no radiometer to check that; choose its radiometer"
        ));
        return true;
    };
    let pair = figure.pair.trim();
    let other = if !pair.is_empty() && pair != judge.name.trim() {
        Some(format!(
            "The {what} was found with '{pair}', and the survey was read with '{}'",
            judge.name
        ))
    } else if let Some((of, then, now)) = with.and_then(|with| unlike(with, judge)) {
        Some(format!(
            "The pair's {of} was '{then}' where the {what} was found and is '{now}' in the survey"
        ))
    } else {
        let days = figure.calibrated_on.zip(judge.calibrated_on);
        days.filter(|(then, now)| then != now).map(|(then, now)| {
            format!(
                "The pair was calibrated on {then} when the {what} was found and on {now} for the survey"
            )
        })
    };
    let Some(other) = other else {
        return true;
    };
    warnings.push(format!(
        "{other}: the calibration uncertainty counts in full"
    ));
    false
}

/// What is told of two radiometers and makes them two: what it is, and both.
fn unlike<'a>(
    one: &'a Radiometer,
    other: &'a Radiometer,
) -> Option<(&'static str, &'a str, &'a str)> {
    let plain = |s: &str| s.to_lowercase().split_whitespace().collect::<String>();
    type Told = fn(&Radiometer) -> &str;
    let told: [(&str, Told); 4] = [
        ("meter serial number", |r| &r.meter_serial),
        ("detector serial number", |r| &r.detector_serial),
        ("band", |r| &r.band),
        ("source of calibration", |r| &r.calibrated_against),
    ];
    told.into_iter().find_map(|(what, of)| {
        let (a, b) = (of(one).trim(), of(other).trim());
        let both = !a.is_empty() && !b.is_empty();
        (both && plain(a) != plain(b)).then_some((what, a, b))
    })
}
