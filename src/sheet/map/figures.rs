//! The figures under a map: the answer in words, the table of sites, how the field was made.

use super::sheet::MapSheet;
use crate::assess::{SiteAnswer, Spot};
use crate::geometry::Place;
use crate::record::{DriftRecord, candidate_words, family_name, governing_words, scale_name};
use crate::sheet::flow::Flow;
use crate::sheet::table::{Column, Stand, Table};
use crate::station::named;
use crate::units::{IrradianceUnit, LengthUnit, fixed};

/// `x 3, y 148, height 20 mm`.
fn place(at: Place, unit: LengthUnit) -> String {
    format!(
        "x {}, y {}, height {}",
        unit.show(at.x),
        unit.show(at.y),
        unit.show_with_unit(at.height)
    )
}

fn spot(spot: &Spot, sheet: &MapSheet<'_>) -> String {
    let unit = sheet.irradiance;
    let value = match spot.uncertainty.filter(|u| u.is_finite() && *u > 0.0) {
        Some(u) => {
            let said = unit.show_expanded(spot.irradiance, u);
            said.replace(" (k", &format!(" {} (k", unit.symbol()))
        }
        None => unit.show_with_unit(spot.irradiance, None),
    };
    let site = spot
        .site
        .as_ref()
        .map_or_else(String::new, |s| format!(", in site {s}"));
    let extrapolated = if spot.extrapolated {
        "; extrapolated"
    } else {
        ""
    };
    format!(
        "{value} at {}{site}{extrapolated}",
        place(spot.at, sheet.length)
    )
}

/// A bound in words. `relative` is the same bound without the calibration error: when even that is missing
/// the family has none, otherwise the calibration's uncertainty is what is missing.
fn bound(
    value: Option<f64>,
    relative: Option<f64>,
    what: &str,
    near: &Spot,
    unit: IrradianceUnit,
) -> String {
    match (value, relative) {
        (Some(e), _) => format!(
            "{} with 95 % confidence",
            unit.show_with_unit(e, near.uncertainty)
        ),
        (None, Some(_)) => {
            "not proven: the uncertainty of the radiometer's calibration is not known".to_owned()
        }
        (None, None) => format!("none: this model has no {what}"),
    }
}

pub(super) fn figures(sheet: &MapSheet<'_>) -> Vec<(String, String)> {
    let (answer, unit) = (sheet.answer, sheet.irradiance);
    let (cold, hot) = (&answer.coldest, &answer.hottest);
    let minimum = |value| bound(value, cold.at_least, "assured minimum", cold, unit);
    let maximum = |value| bound(value, hot.at_most, "upper bound", hot, unit);
    let governing = match answer.governing.irradiance {
        Some(e) => format!(
            "{}, by {}",
            unit.show_with_unit(e, cold.uncertainty),
            governing_words(&answer.governing)
        ),
        None => format!(
            "not proven: the rule asks for {}, which is not known",
            governing_words(&answer.governing)
        ),
    };
    let proof = if answer.governing.can_prove {
        ""
    } else {
        "; it cannot prove that a limit is met"
    };
    let reading = &answer.coldest_reading;
    let even = answer.uniformity;
    let mut all: Vec<(String, String)> = [
        ("Coldest spot", spot(cold, sheet)),
        ("Assured minimum, relative", minimum(cold.at_least)),
        ("Assured minimum, absolute", minimum(cold.at_least_absolute)),
        ("Hottest spot", spot(hot, sheet)),
        ("At most, relative", maximum(hot.at_most)),
        ("At most, absolute", maximum(hot.at_most_absolute)),
        (
            "Coldest reading",
            format!(
                "{} at {} ({})",
                unit.show_with_unit(
                    reading.irradiance,
                    answer.noise.map(|noise| noise * reading.irradiance)
                ),
                named("position", &reading.position),
                place(reading.at, sheet.length)
            ),
        ),
        ("Governing minimum", format!("{governing}{proof}")),
        (
            "Uniformity",
            format!(
                "mean {}; Emin/Emean {:.3}; Emin/Emax {:.3}; (Emax − Emin)/(Emax + Emin) {:.1} %",
                unit.show_with_unit(even.mean, cold.uncertainty),
                even.min_over_mean,
                even.min_over_max,
                even.nonuniformity_percent
            ),
        ),
        (
            "Relative, absolute",
            "without and with the uncertainty of the radiometer's calibration".to_owned(),
        ),
    ]
    .map(|(label, value)| (label.to_owned(), value))
    .into();
    if let Some(bond) = &answer.bond {
        let [cold_open, hot_open] = bond.open.map(|e| unit.show_with_unit(e, cold.uncertainty));
        let said = format!(
            "all figures, past what stands in the light and through substrates; in the open it is {cold_open} at the coldest \
             spot and {hot_open} at the hottest, which a radiometer can check"
        );
        all.insert(0, ("At the bond".to_owned(), said));
    }
    all
}

pub(super) fn sites(sheet: &MapSheet<'_>) -> Table {
    let unit = sheet.irradiance;
    let symbol = unit.symbol();
    let column = |heading: String, share, stand| Column {
        heading,
        share,
        stand,
    };
    let heights = sheet.station.all_sites();
    let judged = sheet.answer.judged();
    // the bounds that the verdicts are by
    let scale = sheet.answer.scale();
    let most = sheet.answer.scale_of_hottest();
    let verdict_of = |s: &SiteAnswer| judged.and_then(|j| j.of_site(sheet.answer, &s.site));
    let verdict = judged.map(|_| {
        column(
            "Verdict of the site by itself".to_owned(),
            20.0,
            Stand::Left,
        )
    });
    let row = |s: &SiteAnswer| {
        let u = s.coldest.uncertainty.filter(|u| u.is_finite() && *u > 0.0);
        let show = |e: f64| unit.show(e, u);
        let coldest = match u {
            Some(u) => unit
                .show_expanded(s.coldest.irradiance, u)
                .replace(" (k = 2)", ""),
            None => unit.show(s.coldest.irradiance, None),
        };
        let none = || "none".to_owned();
        let own = heights.iter().find(|own| own.name == s.site);
        vec![
            s.site.clone(),
            own.map_or_else(String::new, |own| {
                sheet.length.show(sheet.answer.height.unwrap_or(own.height))
            }),
            coldest,
            format!(
                "{}, {}",
                sheet.length.show(s.coldest.at.x),
                sheet.length.show(s.coldest.at.y)
            ),
            s.coldest.assured(scale).map_or_else(none, show),
            show(s.mean),
            show(s.hottest.irradiance),
            s.hottest.assured_most(most).map_or_else(none, show),
        ]
        .into_iter()
        .chain(verdict_of(s).map(|v| v.words().to_owned()))
        .collect()
    };
    let mm = sheet.length.symbol();
    Table {
        columns: vec![
            column("Site".to_owned(), 20.0, Stand::Left),
            column(format!("Height, {mm}"), 13.0, Stand::Point),
            column(format!("Coldest ± (k = 2), {symbol}"), 25.0, Stand::Point),
            column(format!("at x, y ({mm})"), 25.0, Stand::Left),
            column(
                format!("Assured minimum, {}, 95 %, {symbol}", scale_name(scale)),
                25.0,
                Stand::Point,
            ),
            column(format!("Mean, {symbol}"), 18.0, Stand::Point),
            column(format!("Hottest, {symbol}"), 18.0, Stand::Point),
            column(
                format!("At most, {}, 95 %, {symbol}", scale_name(most)),
                22.0,
                Stand::Point,
            ),
        ]
        .into_iter()
        .chain(verdict)
        .collect(),
        rows: sheet.answer.sites.iter().map(row).collect(),
        row_height: 0.0,
        ruled: false,
    }
}

pub(super) fn model(sheet: &MapSheet<'_>, flow: &mut Flow<'_>) {
    let answer = sheet.answer;
    flow.heading("How the field was made", 20.0);
    let percent = |share: Option<f64>| {
        share.map_or_else(|| "not known".to_owned(), |s| format!("{:.1} %", 100.0 * s))
    };
    flow.paragraph(&format!(
        "Model used: {}, on {} readings that count. Scatter of a reading about the field (k = 1): {}. \
         Uncertainty of the radiometer's calibration (k = 1): {}.",
        family_name(answer.family),
        answer.counted,
        percent(answer.noise),
        percent(answer.calibration),
    ));
    if let Some(drift) = &answer.drift {
        flow.paragraph(&format!(
            "Drift of lamp and radiometer over the round, taken out of the readings: {}. The map is that of the round's mean.",
            DriftRecord::from(drift).words()
        ));
    }
    if answer.scores.is_empty() {
        return;
    }
    let column = |heading: &str, share, stand| Column {
        heading: heading.to_owned(),
        share,
        stand,
    };
    let rows = answer
        .scores
        .iter()
        .map(|s| {
            vec![
                candidate_words(s.family).to_owned(),
                fixed(s.rms_percent, 2),
                s.outer_ring_rms_percent
                    .map_or_else(|| "none".to_owned(), |e| fixed(e, 2)),
                s.log_density
                    .map_or_else(|| "none".to_owned(), |d| fixed(d, 2)),
                if s.weight > 0.0 {
                    format!("{:.0} %", 100.0 * s.weight)
                } else {
                    String::new()
                },
            ]
        })
        .collect();
    let said = "Whole positions, then the outer ring as a whole, were left out and predicted from the others:";
    let table = Table {
        columns: vec![
            column("Model", 54.0, Stand::Left),
            column("Error (rms), %", 30.0, Stand::Point),
            column("Of the outer ring, %", 34.0, Stand::Point),
            column(
                "Score of left-out readings (log density)",
                46.0,
                Stand::Point,
            ),
            column("Share", 16.0, Stand::Left),
        ],
        rows,
        row_height: 0.0,
        ruled: false,
    };
    flow.need(flow.paragraph_height(said) + flow.beginning(&table, 1));
    flow.paragraph(said);
    flow.table(&table);
}
