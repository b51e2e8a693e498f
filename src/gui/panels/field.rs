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
use crate::work::Held;

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
            leaning(ui, &answer, &preferences);
            warnings(ui, &answer);
            next(ui, panel);
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
    let name = |family: Family| match family.has_assured_minimum() {
        true => family_name(family).to_owned(),
        false => format!("{} (no assured minimum)", family_name(family)),
    };
    let names = Family::ALL.map(name);
    let automatic = (None, "source-aware, or the best by hold-out");
    let each = Family::ALL
        .into_iter()
        .map(Some)
        .zip(names.iter().map(String::as_str));
    let families: Vec<_> = std::iter::once(automatic).chain(each).collect();
    if let Some(family) = choice(ui, "settings/family", "Family", now.family, &families) {
        wanted = Some(Settings { family, ..now });
    }
    if let Some(wanted) = wanted {
        panel.send(Command::Edit(Edit::SetSettings(wanted)));
    }
}

/// How far the coldest spot's figure leans on physics and how far on readings.
fn leaning(ui: &mut Ui, answer: &Answer, preferences: &Preferences) {
    let Some(leaning) = &answer.leaning else {
        return;
    };
    let unit = preferences.irradiance_unit;
    let figure = |value: f64, u: f64| format!("{} {}", unit.show_expanded(value, u), unit.symbol());
    let Some(u) = answer.coldest.uncertainty else {
        return;
    };
    heading(ui, "What the coldest spot leans on");
    ui.label(leaning.words(
        &figure(answer.coldest.irradiance, u),
        &figure(leaning.readings_alone, leaning.readings_alone_uncertainty),
        &preferences.length_unit.show_with_unit(leaning.beyond),
    ));
}

/// Where to measure next, on demand: it takes a moment.
fn next(ui: &mut Ui, panel: &mut Panel<'_>) {
    heading(ui, "Where to measure next");
    if !panel.session.is_proposing() {
        ui.label("Positions that would raise the assured minimum most, as far as the detector's body allows");
        if ui.button("Propose positions").clicked() {
            panel.send(Command::ProposeNext);
        }
        return;
    }
    let held = panel.session.answers().next();
    let proposal = match held {
        Held::Failed(why, _) => {
            ui.label(why);
            return;
        }
        Held::Current(proposal) => proposal.clone(),
        Held::Updating(..) | Held::Nothing => {
            ui.weak("Looking for the positions that tell most");
            return;
        }
    };
    let preferences = panel.session.preferences().clone();
    let (unit, length) = (preferences.irradiance_unit, preferences.length_unit);
    if proposal.positions.is_empty() {
        ui.label(
            "No further position would raise the assured minimum; read planned positions first, or take repeats",
        );
        return;
    }
    let earned = panel.session.answers().answer().any();
    let earned = earned.and_then(|answer| answer.coldest.uncertainty);
    ui.label(format!(
        "The assured minimum is {} now. To expect once these are read, one after the other, if they read what the field says:",
        unit.show_with_unit(proposal.assured, earned)
    ));
    let survey = panel.session.survey().map(|(index, _)| index);
    let mut taken = None;
    Grid::new("next").num_columns(4).striped(true).spacing([14.0, 3.0]).show(ui, |ui| {
        for title in ["Position", "Where", "Assured then", ""] {
            ui.strong(title);
        }
        ui.end_row();
        for next in &proposal.positions {
            let at = next.position.at;
            ui.label(&next.position.name);
            ui.label(format!("{}, {} {}", length.show(at.x), length.show(at.y), length.symbol()));
            ui.label(RichText::new(unit.show_with_unit(next.expected, earned)).monospace());
            let tip = "Adds the position to the plan, and rows for it at every planned height to this survey";
            if ui.small_button("Take").on_hover_text(tip).clicked() {
                taken = Some(next.position.clone());
            }
            ui.end_row();
        }
    });
    if let Some(position) = taken {
        panel.send(Command::Edit(Edit::AddPosition { position, survey }));
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
        "Each position was left out in turn, with all its heights and repeats, and predicted from the others; so was the outer ring as a whole. Errors are root mean squares; shares follow how probable the readings were, not the errors alone",
    );
    Grid::new("scores")
        .num_columns(4)
        .striped(true)
        .spacing([14.0, 3.0])
        .show(ui, |ui| {
            for title in ["Family", "Positions", "Outer ring", "Share"] {
                ui.strong(title);
            }
            ui.end_row();
            for score in &answer.scores {
                ui.label(candidate_name(score.family));
                for error in [Some(score.rms_percent), score.outer_ring_rms_percent] {
                    let text = error.map_or_else(String::new, |e| format!("{} %", fixed(e, 2)));
                    ui.label(RichText::new(text).monospace());
                }
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
