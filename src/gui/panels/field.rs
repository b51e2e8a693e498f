//! The step Field: what the readings say of the light, and how sure that is.

use eframe::egui::{Grid, RichText, Ui};

use super::{Panel, heading, sample_link};
use crate::assess::{Answer, Spot};
use crate::files::Preferences;
use crate::gui::widgets::field_row::choice;
use crate::gui::words;
use crate::record::{candidate_name, family_name, rule_name};
use crate::session::{Command, Step};
use crate::station::{AssessedArea, Edit, Family, GoverningRule, Settings};
use crate::units::fixed;

/// Shows the panel.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let held = panel.session.answers().answer();
    match held.any().cloned() {
        None => empty(ui, panel),
        Some(answer) => {
            if panel.session.answers().is_updating() {
                ui.weak("Updating: these are the figures before the last change");
            }
            let preferences = panel.session.preferences().clone();
            extremes(ui, &answer, &preferences);
            warnings(ui, &answer);
            settings(ui, panel);
            uniformity(ui, &answer, &preferences);
            sites(ui, &answer, &preferences);
            model(ui, &answer);
        }
    }
}

fn empty(ui: &mut Ui, panel: &mut Panel<'_>) {
    heading(ui, "Field");
    if panel.session.answers().is_updating() {
        ui.label("Working out the field from the readings");
        return;
    }
    ui.label(
        "Here stands the field of irradiance over the fixture: the map at any height, the coldest and the hottest spot, and how sure they are. It is made from the readings of a survey",
    );
    ui.add_space(6.0);
    if ui.button("Go to Readings").clicked() {
        panel.send(Command::Go(Step::Readings));
    }
    sample_link(ui, panel);
}

fn extremes(ui: &mut Ui, answer: &Answer, preferences: &Preferences) {
    heading(ui, "Coldest and hottest");
    let unit = preferences.irradiance_unit;
    Grid::new("extremes")
        .num_columns(2)
        .striped(true)
        .show(ui, |ui| {
            let mut row = |name: &str, value: String| {
                ui.label(name);
                ui.strong(value);
                ui.end_row();
            };
            let with_band = |spot: &Spot| match spot.uncertainty {
                Some(u) => format!(
                    "{} {}",
                    unit.show_expanded(spot.irradiance, u),
                    unit.symbol()
                ),
                None => words::irradiance(spot.irradiance, spot, preferences),
            };
            let place = |spot: &Spot| {
                let site = spot
                    .site
                    .as_ref()
                    .map_or_else(String::new, |s| format!("site {s}, "));
                format!("{site}{}", words::place(spot, preferences))
            };
            let (cold, hot) = (&answer.coldest, &answer.hottest);
            row("Coldest spot", with_band(cold));
            row("  where", place(cold));
            row(
                "  assured minimum",
                words::bound(cold.at_least, cold, preferences),
            );
            row(
                "  with scale error",
                words::bound(cold.at_least_absolute, cold, preferences),
            );
            row("Hottest spot", with_band(hot));
            row("  where", place(hot));
            row(
                "  assured maximum",
                words::bound(hot.at_most, hot, preferences),
            );
            row(
                "  with scale error",
                words::bound(hot.at_most_absolute, hot, preferences),
            );
            row(
                "Coldest reading",
                format!(
                    "{} at {}",
                    unit.show_with_unit(
                        answer.coldest_reading.irradiance,
                        words::reading_uncertainty(answer)
                    ),
                    answer.coldest_reading.position
                ),
            );
            row(
                "Governing minimum",
                answer.governing.irradiance.map_or_else(
                    || "not proven".into(),
                    |e| words::irradiance(e, cold, preferences),
                ),
            );
        });
    if let Some(why) = words::reading_below_spot(answer, preferences) {
        ui.label(why);
    }
    ui.weak(
        "Assured: with 95 % confidence. The scale error is the radiometer's calibration; it cancels while one and the same pair judges the limits",
    );
}

fn warnings(ui: &mut Ui, answer: &Answer) {
    if answer.warnings.is_empty() {
        return;
    }
    heading(ui, "Be careful");
    for warning in &answer.warnings {
        ui.horizontal_top(|ui| {
            ui.colored_label(ui.visuals().warn_fg_color, "!");
            ui.vertical(|ui| ui.label(warning));
        });
    }
}

fn settings(ui: &mut Ui, panel: &mut Panel<'_>) {
    heading(ui, "How the answer is made");
    let now = panel.session.station().settings.clone();
    let mut wanted: Option<Settings> = None;
    let rules = [
        GoverningRule::AssuredMinimum,
        GoverningRule::LowerOfReadingAndSpot,
        GoverningRule::ColdestReading,
    ]
    .map(|rule| (rule, rule_name(rule)));
    if let Some(rule) = choice(ui, "settings/rule", "Governing rule", now.rule, &rules) {
        wanted = Some(Settings {
            rule,
            ..now.clone()
        });
    }
    let areas = [
        (AssessedArea::Sites, "the sites"),
        (AssessedArea::Fixture, "the whole fixture"),
    ];
    if let Some(area) = choice(ui, "settings/area", "Assessed area", now.area, &areas) {
        wanted = Some(Settings {
            area,
            ..now.clone()
        });
    }
    let families = [
        (None, "source-aware, or the best by hold-out"),
        (Some(Family::SourceAware), family_name(Family::SourceAware)),
        (
            Some(Family::OrdinaryKriging),
            family_name(Family::OrdinaryKriging),
        ),
        (
            Some(Family::UniversalKriging),
            family_name(Family::UniversalKriging),
        ),
        (
            Some(Family::InverseDistance),
            family_name(Family::InverseDistance),
        ),
    ];
    if let Some(family) = choice(ui, "settings/family", "Family", now.family, &families) {
        wanted = Some(Settings { family, ..now });
    }
    if let Some(wanted) = wanted {
        panel.send(Command::Edit(Edit::SetSettings(wanted)));
    }
}

fn uniformity(ui: &mut Ui, answer: &Answer, preferences: &Preferences) {
    heading(ui, "Uniformity over the assessed area");
    let u = &answer.uniformity;
    Grid::new("uniformity")
        .num_columns(2)
        .striped(true)
        .show(ui, |ui| {
            for (name, tip, value) in [
                (
                    "Mean",
                    "Over the assessed area",
                    preferences
                        .irradiance_unit
                        .show_with_unit(u.mean, answer.coldest.uncertainty),
                ),
                ("Min / mean", "Uo of EN 12464-1", fixed(u.min_over_mean, 3)),
                ("Min / max", "Least over greatest", fixed(u.min_over_max, 3)),
                (
                    "(max - min) / (max + min)",
                    "Spatial non-uniformity of IEC 60904-9 and ASTM E927",
                    format!("{} %", fixed(u.nonuniformity_percent, 1)),
                ),
            ] {
                ui.label(name).on_hover_text(tip);
                ui.label(value);
                ui.end_row();
            }
        });
}

fn sites(ui: &mut Ui, answer: &Answer, preferences: &Preferences) {
    if answer.sites.is_empty() {
        return;
    }
    let unit = preferences.irradiance_unit;
    heading(ui, &format!("Sites, coldest first, {}", unit.symbol()));
    Grid::new("sites")
        .num_columns(5)
        .striped(true)
        .spacing([14.0, 3.0])
        .show(ui, |ui| {
            for title in ["Site", "Coldest", "Assured", "Mean", "Hottest"] {
                ui.strong(title);
            }
            ui.end_row();
            for site in &answer.sites {
                let u = site.coldest.uncertainty;
                let number = |value: Option<f64>| {
                    let text = value.map_or_else(|| "-".into(), |v| unit.show(v, u));
                    RichText::new(text).monospace()
                };
                ui.label(&site.site);
                ui.label(number(Some(site.coldest.irradiance)));
                ui.label(number(site.coldest.at_least));
                ui.label(number(Some(site.mean)));
                ui.label(number(Some(site.hottest.irradiance)));
                ui.end_row();
            }
        });
}

fn model(ui: &mut Ui, answer: &Answer) {
    heading(ui, "How well it predicts what it has not seen");
    ui.label(
        "Each position was left out in turn, with all its heights and repeats, and predicted from the others; so was the outer ring as a whole. Shares follow how probable the readings were, not the error alone",
    );
    Grid::new("scores")
        .num_columns(3)
        .striped(true)
        .spacing([14.0, 3.0])
        .show(ui, |ui| {
            for title in ["Family", "Error (rms)", "Share"] {
                ui.strong(title);
            }
            ui.end_row();
            for score in &answer.scores {
                ui.label(candidate_name(score.family));
                ui.label(RichText::new(format!("{} %", fixed(score.rms_percent, 2))).monospace());
                ui.label(if score.weight > 0.0 {
                    format!("{:.0} %", 100.0 * score.weight)
                } else {
                    String::new()
                });
                ui.end_row();
            }
        });
    if let Some(noise) = answer.noise {
        ui.label(format!(
            "A reading differs from the field by {} % (standard deviation, as estimated from the readings)",
            fixed(100.0 * noise, 2)
        ));
    }
    match answer.calibration {
        Some(u) => ui.label(format!(
            "Scale error of the radiometer: {} % (k = 2), the same for every reading",
            fixed(200.0 * u, 1)
        )),
        None => ui.label("Scale error of the radiometer: not known"),
    };
}
