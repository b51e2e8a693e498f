//! What a person has to be careful about, as plain sentences of what and what to do.

use super::no_bound::no_bound;
use super::{Assessed, OfBond, Spot, SurveyFit, ThrownBack};
use crate::field::Shortcoming;
use crate::geometry::Point;
use crate::station::{Alike, Finding, GoverningRule, Severity, Survey, Where, named};
use crate::units::{LengthUnit, Units};

/// Everything that warnings are drawn from.
pub(super) struct WarningGrounds<'a> {
    /// In which sentences are said.
    pub units: Units,
    pub rule: GoverningRule,
    pub survey_index: usize,
    pub survey: &'a Survey,
    pub fit: &'a SurveyFit,
    pub assessed: &'a Assessed,
    /// What is odd about the station.
    pub findings: &'a [Finding],
    pub coldest: &'a Spot,
    pub hottest: &'a Spot,
    /// How far the coldest spot lies outside the outermost positions, mm.
    pub beyond: f64,
    /// What is told of light at bonds.
    pub bond: Option<&'a OfBond>,
    pub thrown_back: Option<ThrownBack>,
    pub calibration: Option<f64>,
}

/// So many rows are named one by one; more are counted.
const NAMED: usize = 5;

pub(super) fn warnings(seen: &WarningGrounds<'_>) -> Vec<String> {
    let length = seen.units.length;
    let assumed = seen.assessed.assumed.map(|assumed| assumed.words(length));
    let mut list: Vec<String> = assumed.into_iter().collect();
    let shortcomings = seen.fit.field.shortcomings().iter();
    list.extend(shortcomings.map(|what| shortcoming(what, length)));
    readings(seen, &mut list);
    heights(seen, &mut list);
    bounds(seen, &mut list);
    list.extend(beyond_all_positions(seen));
    list.extend(seen.fit.field.misses().map(missed));
    list.extend(seen.thrown_back.map(ThrownBack::words));
    list.extend(seen.bond.into_iter().flat_map(OfBond::words));
    // The document's own findings, but for other surveys' ones.
    let of_this = seen
        .findings
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

fn shortcoming(what: &Shortcoming, length: LengthUnit) -> String {
    let said = |mm: f64| length.show_with_unit(mm);
    // nearer to each other than this two heights tell little (common practice, no source)
    let apart = said(5.0);
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
            format!(
                "All readings are at {}: what the field is at other heights is not known from them; read at a second height at least {apart} away",
                said(height)
            )
        }
        Shortcoming::HeightsTooNear(gap) => {
            format!(
                "Two measured heights are only {} apart: they tell little of how the field changes with height; read at least {apart} apart",
                said(gap)
            )
        }
        Shortcoming::TakenTogether { cells, side } => {
            format!("There are so many readings that those near to each other were taken together, in {cells} cells of up to {}: finer detail is not in the map; for that, split the survey", said(side))
        }
        Shortcoming::TypicalParameters => {
            "The readings do not tell how smooth the field is: typical values were taken, and the band is wide accordingly; take more readings".into()
        }
    }
}

/// No reading shows what lies beyond all positions.
pub(super) fn beyond_all_positions(seen: &WarningGrounds<'_>) -> Option<String> {
    let widened = seen.fit.field.beyond(seen.coldest.at);
    (seen.beyond > 0.0 && widened > 0.0).then(|| {
        format!(
            "The coldest spot lies {} beyond the outermost positions, where no reading shows the light: the uncertainty \
             there is widened by {:.1} % (k = 1), as far as the survey's outer positions are missed by those inside; \
             read around the parts with the pallet out, or as near to that spot as the detector can sit",
            seen.units.length.show_with_unit(seen.beyond),
            100.0 * widened
        )
    })
}

/// A field that visibly fails.
pub(super) fn missed(times: f64) -> String {
    format!(
        "Positions that were left out are missed by {times:.1} times what one reading scatters: the light has structure \
         that these positions do not show, and bounds made from such readings fail in half of the cases; read more \
         positions between them"
    )
}

fn readings(seen: &WarningGrounds<'_>, list: &mut Vec<String>) {
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
    let unit = seen.units.irradiance;
    for out in out_of_line.iter().take(NAMED) {
        let r = &all[out.row];
        list.push(format!(
            "Row {} ({}) reads {} where the others predict {}; read there again, until then it counts in full",
            out.row + 1,
            if r.position.is_empty() { place(r.place().point(), seen.units.length) } else { named("position", &r.position) },
            unit.show_with_unit(out.read, Some(out.uncertainty())),
            unit.show_with_unit(out.predicted, Some(out.uncertainty()))
        ));
    }
    if out_of_line.len() > NAMED {
        list.push(format!(
            "{} more readings are out of line with the others; read there again",
            out_of_line.len() - NAMED
        ));
    }
}

/// `12.5, 40 mm`.
fn place(at: Point, length: LengthUnit) -> String {
    format!("{}, {}", length.show(at.x), length.show_with_unit(at.y))
}

fn readings_are(n: usize) -> String {
    if n == 1 {
        "1 reading is".into()
    } else {
        format!("{n} readings are")
    }
}

fn heights(seen: &WarningGrounds<'_>, list: &mut Vec<String>) {
    let length = seen.units.length;
    let said = |mm: f64| length.show_with_unit(mm);
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
            "The field is assessed at {} but was measured at {} only; read at {}",
            said(*a),
            said(low),
            said(*a)
        )),
        (Some(a), Some(b)) => {
            let assessed = if a == b {
                said(*a)
            } else {
                format!("{} to {}", length.show(*a), said(*b))
            };
            list.push(format!(
                "The field is assessed at {assessed}, outside the measured heights of {} to {}; read nearer to the bond line",
                length.show(low),
                said(high)
            ));
        }
        _ => {}
    }
    for (spot, which) in [(seen.coldest, "coldest"), (seen.hottest, "hottest")] {
        if spot.extrapolated {
            list.push(format!(
                "The {which} spot is extrapolated: it lies beyond what the readings span; read nearer to {} at {} height",
                place(spot.at.point(), length),
                said(spot.at.height)
            ));
        }
    }
}

fn bounds(seen: &WarningGrounds<'_>, list: &mut Vec<String>) {
    if seen.coldest.at_least.is_none() {
        let unproven = seen.bond.is_some_and(OfBond::is_unproven);
        let why = no_bound(seen.fit.field.family().into(), unproven);
        list.push(format!("There is no assured minimum: {why}"));
    }
    if seen.rule == GoverningRule::ColdestReading {
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
