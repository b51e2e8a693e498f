//! The map on paper: the drawing at a round scale, and everything that is said of the survey.

use std::sync::Arc;

use super::colour::{ColourMap, ColourScale};
use super::figure::{self, ColourBar};
use super::flow::{self, Flow};
use super::page::{Page, PaperSize};
use super::picture::{Layers, Picture, level_text};
use super::table::{Column, Stand, Table};
use super::title::Title;
use super::words::{self, NOT_RECORDED, recorded};
use crate::assess::{Answer, SiteAnswer, Spot};
use crate::field::{Contour, Raster};
use crate::geometry::Place;
use crate::record::{candidate_name, family_name, rule_name};
use crate::station::{Radiometer, Station, Survey};
use crate::units::{IrradianceUnit, LengthUnit, fixed};

/// What the pages of a map are made of.
#[derive(Debug, Clone, Copy)]
pub struct MapSheet<'a> {
    /// The document.
    pub station: &'a Station,
    /// What is said of the survey, and which survey that is.
    pub answer: &'a Answer,
    /// The map, at its height.
    pub raster: &'a Arc<Raster>,
    /// Lines of equal irradiance of that map.
    pub contours: &'a [Contour],
    /// For lengths.
    pub length: LengthUnit,
    /// For irradiance.
    pub irradiance: IrradianceUnit,
    /// The paper.
    pub paper: PaperSize,
    /// The program's version.
    pub version: &'a str,
    /// The colours of the map.
    pub colours: ColourMap,
}

/// The pages of a map. A survey that the station does not have leaves its fields `not recorded`.
pub fn map_pages(sheet: &MapSheet<'_>) -> Vec<Page> {
    let survey = sheet.station.surveys.get(sheet.answer.survey);
    let title = title(sheet, survey);
    let mut flow = Flow::new(sheet.paper, &title, sheet.version);
    figure(sheet, &mut flow);
    flow.heading("Irradiance", 20.0);
    flow.pairs(&figures(sheet));
    if !sheet.answer.warnings.is_empty() {
        flow.heading("Be careful", 6.0);
        for warning in &sheet.answer.warnings {
            flow.point(warning);
        }
    }
    if !sheet.answer.sites.is_empty() {
        flow.heading("Sites, coldest first", 16.0);
        flow.table(&sites(sheet));
    }
    flow.heading("How the field was made", 20.0);
    model(sheet, &mut flow);
    flow::cautions(&mut flow);
    flow.finish()
}

fn title(sheet: &MapSheet<'_>, survey: Option<&Survey>) -> Title {
    let (station, mm) = (sheet.station, sheet.length);
    let radiometer = survey.and_then(|s| s.radiometer.as_ref());
    let state = survey.map(|s| &s.state);
    let face = survey.map_or(station.source.face_height, |s| s.face_height(station));
    let number = |value: Option<f64>, unit: &str| {
        value.map_or_else(|| NOT_RECORDED.to_owned(), |v| format!("{v} {unit}"))
    };
    let text =
        |pick: fn(&Survey) -> &str| survey.map_or_else(|| recorded(""), |s| recorded(pick(s)));
    Title {
        document: "Map of irradiance",
        subject: station.name.clone(),
        columns: vec![
            vec![
                ("Survey", text(|s| &s.name)),
                (
                    "Date",
                    survey.map_or_else(|| recorded(""), |s| s.date.to_string()),
                ),
                ("Operator", text(|s| &s.operator)),
                ("Fixture", recorded(&station.fixture.name)),
                ("Source", source(station)),
                ("Map at height", mm.show_with_unit(sheet.raster.height)),
            ],
            radiometer_fields(radiometer),
            vec![
                ("Face height", mm.show_with_unit(face)),
                (
                    "Working distance",
                    format!(
                        "{} at this height",
                        mm.show_with_unit(face - sheet.raster.height)
                    ),
                ),
                ("Drive", text(|s| &s.state.drive)),
                ("Lamp serial", text(|s| &s.state.lamp_serial)),
                ("Lamp hours", number(state.and_then(|s| s.lamp_hours), "h")),
                ("On for", number(state.and_then(|s| s.minutes_on), "min")),
                ("In the way", text(|s| &s.state.in_the_way)),
                (
                    "Pallet",
                    state
                        .map_or(NOT_RECORDED, |s| words::pallet(s.pallet))
                        .to_owned(),
                ),
            ],
        ],
    }
}

/// Name and kind of the source.
pub(super) fn source(station: &Station) -> String {
    let kind = words::source_kind(station.source.kind);
    if station.source.name.trim().is_empty() {
        kind.to_owned()
    } else {
        format!("{}, {kind}", station.source.name.trim())
    }
}

/// What a title block says of a radiometer.
pub(super) fn radiometer_fields(radiometer: Option<&Radiometer>) -> Vec<(&'static str, String)> {
    let Some(r) = radiometer else {
        return vec![("Radiometer", NOT_RECORDED.to_owned())];
    };
    let day = |d: Option<jiff::civil::Date>| d.map_or_else(|| recorded(""), |d| d.to_string());
    vec![
        ("Radiometer", recorded(&r.name)),
        ("Meter serial", recorded(&r.meter_serial)),
        ("Detector serial", recorded(&r.detector_serial)),
        ("Band", recorded(&r.band)),
        ("Calibrated on", day(r.calibrated_on)),
        ("Calibration due", day(r.due)),
        ("Against", recorded(&r.calibrated_against)),
        (
            "Uncertainty",
            r.expanded_uncertainty_percent.map_or_else(
                || recorded(""),
                |u| format!("± {u} % (k = {})", r.coverage_factor),
            ),
        ),
    ]
}

fn figure(sheet: &MapSheet<'_>, flow: &mut Flow<'_>) {
    let levels: Vec<f64> = sheet.contours.iter().map(|c| c.level).collect();
    let said = level_text(&levels, sheet.irradiance);
    let scale = sheet.raster.range().map(|(low, high)| ColourScale {
        low,
        high,
        map: sheet.colours,
    });
    let drawing = Picture {
        station: sheet.station,
        survey: Some(sheet.answer.survey),
        height: Some(sheet.raster.height),
        map: scale.map(|scale| (sheet.raster, scale)),
        contours: sheet.contours,
        answer: Some(sheet.answer),
        layers: Layers {
            map: true,
            contours: true,
            face: false,
            sites: true,
            keep_outs: true,
            positions: false,
            bodies: false,
            readings: true,
            spots: true,
        },
    }
    .drawing(&said);
    let bar = scale.map(|scale| ColourBar {
        ticks: bar_ticks(&levels, scale, sheet.irradiance),
        unit: sheet.irradiance.symbol(),
        scale,
    });
    let (left, right, top) = (flow.left(), flow.right(), flow.y);
    // about half the page: figures and warnings stand with the map they belong to
    let room = (flow.room() * 0.62).max(60.0);
    flow.y = figure::put(
        flow.page(),
        drawing,
        (left, right),
        (top, room),
        sheet.length,
        bar.as_ref(),
    );
    let shown = if sheet.raster.extrapolated.contains(&true) {
        "Dots: readings at this height; crosses: readings left out. Hatched: extrapolated, the readings say little there."
    } else {
        "Dots: readings at this height; crosses: readings left out."
    };
    flow.paragraph(shown);
}

/// The contours' levels and, where there are fewer than two, the ends of the scale.
fn bar_ticks(levels: &[f64], scale: ColourScale, unit: IrradianceUnit) -> Vec<(f64, String)> {
    let mut ticks = levels.to_vec();
    ticks.sort_by(f64::total_cmp);
    ticks.dedup();
    if ticks.len() < 2 {
        let ends = [scale.low, scale.high];
        let decimals = unit.decimals(scale.high, Some(0.1 * (scale.high - scale.low)));
        return ends
            .map(|e| (e, fixed(unit.from_mw_cm2(e), decimals)))
            .to_vec();
    }
    let said = level_text(levels, unit);
    ticks.into_iter().map(|e| (e, said(e))).collect()
}

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

/// A bound in words. `relative` is the same bound without the scale error: when even that is missing
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
        (None, None) => format!("none: this family has no {what}"),
    }
}

fn figures(sheet: &MapSheet<'_>) -> Vec<(String, String)> {
    let (answer, unit) = (sheet.answer, sheet.irradiance);
    let (cold, hot) = (&answer.coldest, &answer.hottest);
    let minimum = |value| bound(value, cold.at_least, "assured minimum", cold, unit);
    let maximum = |value| bound(value, hot.at_most, "upper bound", hot, unit);
    let governing = match answer.governing.irradiance {
        Some(e) => format!(
            "{}, by {}",
            unit.show_with_unit(e, cold.uncertainty),
            rule_name(answer.governing.rule)
        ),
        None => format!(
            "none: the rule asks for {} and this family has none",
            rule_name(answer.governing.rule)
        ),
    };
    let proof = if answer.governing.can_prove {
        ""
    } else {
        "; it cannot prove that a limit is met"
    };
    let reading = &answer.coldest_reading;
    let even = answer.uniformity;
    [
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
                reading.position,
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
            "without and with the scale error of the radiometer's calibration".to_owned(),
        ),
    ]
    .map(|(label, value)| (label.to_owned(), value))
    .to_vec()
}

fn sites(sheet: &MapSheet<'_>) -> Table {
    let unit = sheet.irradiance;
    let symbol = unit.symbol();
    let column = |heading: String, share, stand| Column {
        heading,
        share,
        stand,
    };
    let heights = sheet.station.all_sites();
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
            s.coldest.at_least.map_or_else(none, show),
            show(s.mean),
            show(s.hottest.irradiance),
            s.hottest.at_most.map_or_else(none, show),
        ]
    };
    let mm = sheet.length.symbol();
    Table {
        columns: vec![
            column("Site".to_owned(), 20.0, Stand::Left),
            column(format!("Height, {mm}"), 13.0, Stand::Point),
            column(format!("Coldest ± (k = 2), {symbol}"), 25.0, Stand::Point),
            column(format!("at x, y in {mm}"), 25.0, Stand::Left),
            column(
                format!("Assured minimum, relative, 95 %, {symbol}"),
                25.0,
                Stand::Point,
            ),
            column(format!("Mean, {symbol}"), 18.0, Stand::Point),
            column(format!("Hottest, {symbol}"), 18.0, Stand::Point),
            column(
                format!("At most, relative, 95 %, {symbol}"),
                22.0,
                Stand::Point,
            ),
        ],
        rows: sheet.answer.sites.iter().map(row).collect(),
        row_height: 0.0,
        ruled: false,
    }
}

fn model(sheet: &MapSheet<'_>, flow: &mut Flow<'_>) {
    let answer = sheet.answer;
    let percent = |share: Option<f64>| {
        share.map_or_else(|| "not known".to_owned(), |s| format!("{:.1} %", 100.0 * s))
    };
    flow.paragraph(&format!(
        "Family used: {}, on {} readings that count. Scatter of a reading about the field (k = 1): {}. \
         Uncertainty of the radiometer's calibration (k = 1): {}.",
        family_name(answer.family),
        answer.leave_one_out.len(),
        percent(answer.noise),
        percent(answer.calibration),
    ));
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
                candidate_name(s.family).to_owned(),
                fixed(s.rms_percent, 2),
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
    flow.need(30.0);
    flow.paragraph("Whole positions were left out and predicted from the others:");
    flow.table(&Table {
        columns: vec![
            column("Family", 50.0, Stand::Left),
            column("Root mean square error, %", 40.0, Stand::Point),
            column("Log density of a left-out reading", 50.0, Stand::Point),
            column("", 30.0, Stand::Left),
        ],
        rows,
        row_height: 0.0,
        ruled: false,
    });
}
