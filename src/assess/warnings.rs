//! What a person has to be careful about, as plain sentences of what and what to do.

use super::{Assessed, Spot, SurveyFit};
use crate::field::Shortcoming;
use crate::station::{Alike, GoverningRule, Severity, SourceKind, Station, Survey, Where};

/// Everything that warnings are drawn from.
pub(super) struct Seen<'a> {
    pub station: &'a Station,
    pub survey_index: usize,
    pub survey: &'a Survey,
    pub fit: &'a SurveyFit,
    pub assessed: &'a Assessed,
    pub coldest: &'a Spot,
    pub hottest: &'a Spot,
    pub calibration: Option<f64>,
}

/// So many rows are named one by one; more are counted.
const NAMED: usize = 5;

pub(super) fn warnings(seen: &Seen<'_>) -> Vec<String> {
    let mut list = seen.assessed.assumed.clone();
    list.extend(seen.fit.field.shortcomings().iter().map(shortcoming));
    readings(seen, &mut list);
    heights(seen, &mut list);
    bounds(seen, &mut list);
    list.extend(beyond_under_a_reflector(seen));
    // The document's own findings, but for other surveys' ones.
    let findings = seen.station.check();
    let of_this = findings
        .iter()
        .filter(|f| f.severity == Severity::Warning)
        .filter(|f| match f.place {
            Where::Survey(survey, _) | Where::Reading(survey, _) => survey == seen.survey_index,
            _ => true,
        });
    let groups = Alike::groups(of_this);
    list.extend(
        groups
            .iter()
            .map(|g| format!("{}; {}", g.what(), g.first().mend)),
    );
    list.dedup();
    list
}

fn shortcoming(what: &Shortcoming) -> String {
    match *what {
        Shortcoming::FewReadings(1) => {
            "There is one reading only: the field is that reading with a very wide band; take more".into()
        }
        Shortcoming::FewReadings(n) => {
            format!("There are only {n} readings: the field rests on typical values; take at least 8 spread over the fixture")
        }
        Shortcoming::OnOneLine => {
            "All readings lie on one line: the field across it is a guess with a wide band; take readings beside the line".into()
        }
        Shortcoming::OneHeight(height) => {
            format!("All readings are at {height} mm: what the field is at other heights is not known from them; read at a second height at least 5 mm away")
        }
        Shortcoming::HeightsTooNear(gap) => {
            format!("Two measured heights are only {gap:.1} mm apart: they tell little of how the field changes with height; read at least 5 mm apart")
        }
        Shortcoming::TakenTogether { cells, side } => {
            format!("There are so many readings that those near to each other were taken together, in {cells} cells of up to {side:.1} mm: finer detail is not in the map; for that, split the survey")
        }
        Shortcoming::TypicalParameters => {
            "The readings do not tell how smooth the field is: typical values were taken, and the band is wide accordingly; take more readings".into()
        }
    }
}

/// Where the light comes by way of mirrors, readings inside do not show what lies beyond all positions.
pub(super) fn beyond_under_a_reflector(seen: &Seen<'_>) -> Option<String> {
    let field = &seen.fit.field;
    let beyond = field.beyond_positions(seen.coldest.at.point());
    if field.beyond(seen.coldest.at) <= 0.0 {
        return None;
    }
    let lamp = if seen.station.source.kind == SourceKind::ReflectorArc {
        "the lamp has a reflector, whose edges and worn patches the readings may not see"
    } else {
        "the readings look as if light came by way of mirrors, whose edges they may not see (say in the step Fixture \
         what kind of source it is)"
    };
    Some(format!(
        "The coldest spot lies {beyond:.0} mm beyond the outermost positions and {lamp}: the bounds there are widened by \
         what simulated reflectors do; read as near to that spot as the detector can sit"
    ))
}

fn readings(seen: &Seen<'_>, list: &mut Vec<String>) {
    let survey = seen.survey;
    let all = &survey.readings;
    let count = |test: &dyn Fn(usize) -> bool| (0..all.len()).filter(|&i| test(i)).count();
    let excluded = count(&|i| all[i].excluded.is_some());
    if excluded > 0 {
        list.push(format!(
            "{} excluded and did not count; the reasons stand in the survey",
            readings_are(excluded)
        ));
    }
    let saturated = count(&|i| all[i].saturated && all[i].excluded.is_none());
    if saturated > 0 {
        list.push(format!(
            "{} saturated and did not count; read there again on a higher range",
            readings_are(saturated)
        ));
    }
    let dark = count(&|i| {
        all[i].excluded.is_none()
            && !all[i].saturated
            && all[i].irradiance.is_some_and(|e| e <= 0.0)
    });
    if dark > 0 {
        list.push(format!(
            "{} not above zero and did not count; read there again",
            readings_are(dark)
        ));
    }
    let missing = count(&|i| all[i].irradiance.is_none());
    if missing > 0 {
        list.push(format!(
            "{missing} planned {} not been read yet",
            if missing == 1 {
                "reading has"
            } else {
                "readings have"
            }
        ));
    }
    let out_of_line = &seen.fit.out_of_line;
    for out in out_of_line.iter().take(NAMED) {
        let r = &all[out.row];
        list.push(format!(
            "Row {} ({}) reads {:.1} mW/cm² where the others predict {:.1} mW/cm²; read there again, until then it counts in full",
            out.row + 1,
            if r.position.is_empty() { format!("{}, {} mm", r.x, r.y) } else { r.position.clone() },
            out.read,
            out.predicted
        ));
    }
    if out_of_line.len() > NAMED {
        list.push(format!(
            "{} more readings are out of line with the others; read there again",
            out_of_line.len() - NAMED
        ));
    }
}

fn readings_are(n: usize) -> String {
    if n == 1 {
        "1 reading is".into()
    } else {
        format!("{n} readings are")
    }
}

fn heights(seen: &Seen<'_>, list: &mut Vec<String>) {
    let (Some(&low), Some(&high)) = (seen.fit.heights.first(), seen.fit.heights.last()) else {
        return;
    };
    let mut beyond: Vec<f64> = seen
        .assessed
        .areas
        .iter()
        .map(|a| a.height)
        .filter(|h| *h < low - 0.5 || *h > high + 0.5)
        .collect();
    beyond.sort_by(f64::total_cmp);
    beyond.dedup();
    match (beyond.first(), beyond.last()) {
        (Some(a), Some(b)) if low == high && a == b => list.push(format!(
            "The field is assessed at {a} mm but was measured at {low} mm only; read at {a} mm"
        )),
        (Some(a), Some(b)) => {
            let assessed = if a == b {
                format!("{a} mm")
            } else {
                format!("{a} to {b} mm")
            };
            list.push(format!(
                "The field is assessed at {assessed}, outside the measured heights of {low} to {high} mm; read nearer to the bond line"
            ));
        }
        _ => {}
    }
    for (spot, which) in [(seen.coldest, "coldest"), (seen.hottest, "hottest")] {
        if spot.extrapolated {
            list.push(format!(
                "The {which} spot is extrapolated: it lies beyond what the readings span; read nearer to {:.0}, {:.0} mm at {:.0} mm height",
                spot.at.x, spot.at.y, spot.at.height
            ));
        }
    }
}

fn bounds(seen: &Seen<'_>, list: &mut Vec<String>) {
    if seen.coldest.at_least.is_none() {
        list.push(
            "There is no assured minimum: this model does not say how far off it may be; choose source-aware or a kriging to get one".into(),
        );
    }
    if seen.station.settings.rule == GoverningRule::ColdestReading {
        list.push(
            "The coldest reading alone governs: it can never prove a limit, for the coldest spot is rarely where a detector can sit".into(),
        );
    }
    if seen.calibration.is_none() && seen.coldest.at_least.is_some() {
        list.push(
            "The radiometer's calibration uncertainty is not known, so there is no absolute bound; enter it from the certificate".into(),
        );
    }
}
