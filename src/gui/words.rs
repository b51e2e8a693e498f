//! Sentences with figures, in the units of this person.

use crate::assess::limits::{Judged, Scale, Verdict};
use crate::assess::{Answer, Lies, Spot};
use crate::files::Preferences;
use crate::record::scale_name;
use crate::station::{GoverningRule, Station, Survey};

/// A survey in a list: its name and, where the name does not say it, its date.
pub fn survey(survey: &Survey) -> String {
    let date = survey.date.to_string();
    if survey.name.contains(&date) {
        survey.name.clone()
    } else {
        format!("{}, {date}", survey.name)
    }
}

/// The surveys with their indices, newest first.
pub fn newest_first(station: &Station) -> Vec<(usize, &Survey)> {
    let all = station.surveys.iter().map(|survey| &**survey);
    let mut all: Vec<(usize, &Survey)> = all.enumerate().collect();
    all.sort_by_key(|(i, survey)| std::cmp::Reverse((survey.date, *i)));
    all
}

/// Why the coldest reading is lower than the coldest spot; `None` where it is not.
pub fn reading_below_spot(answer: &Answer, preferences: &Preferences) -> Option<String> {
    let (reading, spot) = (&answer.coldest_reading, &answer.coldest);
    if reading.irradiance >= spot.irradiance {
        return None;
    }
    let unit = preferences.length_unit;
    let why = match reading.lies {
        Lies::AtAnotherHeight => format!(
            "it was read at height {}, where nothing is assessed",
            unit.show_with_unit(reading.at.height)
        ),
        Lies::Beside => "it lies outside the assessed area".to_owned(),
        Lies::Within => {
            "one reading differs from the field by the radiometer's noise, which the field evens out"
                .to_owned()
        }
    };
    Some(format!(
        "The coldest reading is lower than the coldest spot because {why}"
    ))
}

/// `3, 148 mm`.
pub fn place(spot: &Spot, preferences: &Preferences) -> String {
    let unit = preferences.length_unit;
    let (x, y) = (unit.show(spot.at.x), unit.show(spot.at.y));
    format!("{x}, {y} {}", unit.symbol())
}

/// An irradiance with the digits that the spot's uncertainty earns, and its unit.
pub fn irradiance(value: f64, spot: &Spot, preferences: &Preferences) -> String {
    preferences
        .irradiance_unit
        .show_with_unit(value, spot.uncertainty)
}

/// The standard uncertainty of the coldest reading: how readings differ from the field, and the
/// radiometer's scale. Where neither is known it is no surer than the field is at its coldest.
pub fn reading_uncertainty(answer: &Answer) -> Option<f64> {
    match (answer.noise, answer.calibration) {
        (None, None) => answer.coldest.uncertainty,
        (noise, scale) => {
            let relative = noise.unwrap_or_default().hypot(scale.unwrap_or_default());
            Some(relative * answer.coldest_reading.irradiance)
        }
    }
}

/// A bound, or why there is none.
pub fn bound(value: Option<f64>, spot: &Spot, preferences: &Preferences) -> String {
    match value {
        Some(value) => irradiance(value, spot, preferences),
        None => "not known".into(),
    }
}

/// The governing minimum, and which assured minimum it is.
pub fn governing(answer: &Answer, preferences: &Preferences) -> String {
    let governing = &answer.governing;
    let Some(e) = governing.irradiance else {
        return "not proven".into();
    };
    let which =
        (governing.scale).map_or_else(String::new, |scale| format!(", {}", scale_name(scale)));
    irradiance(e, &answer.coldest, preferences) + &which
}

/// What an assured value on a scale means.
pub fn scale_tip(scale: Scale) -> &'static str {
    match scale {
        Scale::Relative => {
            "Relative: without the radiometer's calibration uncertainty, whose error cancels while one pair finds and judges a limit"
        }
        Scale::Absolute => {
            "Absolute: with the radiometer's calibration uncertainty, as a limit from a data sheet or another pair asks for"
        }
    }
}

/// What a model of the field is.
pub fn model_tip(family: crate::field::Family) -> &'static str {
    use crate::field::Family as F;
    match family {
        F::SourceAware => {
            "Starts from the lamp: several models of its light and what they miss, by how well each predicts"
        }
        F::RoundFace => "The lamp as many small sources on its face, each with the same round beam",
        F::RoundOpen => {
            "The lamp as many small sources with round beams, on its face and around it, as mirrors and walls show them"
        }
        F::LeaningFace => {
            "Sources on the face whose beams tilt towards a focus, and an arc above its middle, as reflectors make them"
        }
        F::OrdinaryKriging => "The readings alone, carried on by how alike near ones are",
        F::UniversalKriging => "As ordinary kriging, with a trend over place and height",
        F::ThinPlate => {
            "A smooth sheet bent through the readings; says nothing of how far off it may be"
        }
        F::NaturalNeighbour => {
            "Each place by the readings around it; says nothing of how far off it may be"
        }
        F::InverseDistance => {
            "Each place by all readings, near ones more; says nothing of how far off it may be"
        }
    }
}

/// A verdict at the beginning of a line.
pub fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Meets => "Meets",
        Verdict::Fails => "Fails",
        Verdict::NotProven => "Not proven",
    }
}

/// `Not proven: lower limit 112.5, upper 180`.
fn limits_line(judged: &Judged, preferences: &Preferences) -> String {
    let unit = preferences.irradiance_unit;
    let said = |e: f64| unit.exact(e);
    let upper = (judged.hottest.as_ref())
        .map_or_else(String::new, |h| format!(", upper {}", said(h.limit.value)));
    let mut text = format!(
        "{}: lower limit {}{upper}",
        verdict(judged.verdict),
        said(judged.coldest.limit.value)
    );
    if judged.reading_flatters {
        text += "; the coldest reading would pass";
    }
    text
}

/// The parts of the answer line, most important first.
pub fn answer_line(answer: &Answer, preferences: &Preferences) -> Vec<String> {
    let coldest = &answer.coldest;
    let unit = preferences.irradiance_unit;
    let number = |value: f64| unit.show(value, coldest.uncertainty);
    let site = coldest
        .site
        .as_ref()
        .map_or_else(String::new, |name| format!(" (site {name})"));
    let mut first = format!(
        "Coldest {} at {}{site}",
        irradiance(coldest.irradiance, coldest, preferences),
        place(coldest, preferences)
    );
    first += &match coldest.assured(answer.scale()) {
        Some(bound) => format!(", with 95 % confidence above {}", number(bound)),
        None => ", no assured minimum".into(),
    };
    let which = (answer.governing.scale)
        .map_or_else(String::new, |scale| format!(", {}", scale_name(scale)));
    let governs = match (answer.governing.rule, answer.governing.irradiance) {
        (GoverningRule::AssuredMinimum, Some(e)) => {
            format!("Governs: assured minimum {}{which}", number(e))
        }
        (GoverningRule::AssuredMinimum, None) => {
            format!("Governs: the assured minimum{which}, which is not known")
        }
        (GoverningRule::LowerOfReadingAndSpot, Some(e)) => {
            format!("Governs: lower of coldest reading and spot {}", number(e))
        }
        (GoverningRule::ColdestReading, Some(e)) => {
            format!("Governs: coldest reading {}, proves nothing", number(e))
        }
        (_, None) => "Nothing governs".into(),
    };
    let careful = match answer.warnings.len() {
        0 => None,
        1 => Some("1 warning".to_owned()),
        n => Some(format!("{n} warnings")),
    };
    let limits = match &answer.judged {
        None => "No limits set".to_owned(),
        Some(Err(_)) => "Limits not complete".to_owned(),
        Some(Ok(judged)) => limits_line(judged, preferences),
    };
    let mut parts = vec![first, limits, governs];
    parts.extend(careful);
    parts
}

/// A moment as people here say it: `12 Nov 2026, 14:03`.
pub fn time(time: std::time::SystemTime) -> Option<String> {
    let time = jiff::Timestamp::try_from(time).ok()?;
    let here = jiff::ZonedDateTime::new(time, jiff::tz::TimeZone::system());
    Some(here.strftime("%-d %b %Y, %H:%M").to_string())
}
