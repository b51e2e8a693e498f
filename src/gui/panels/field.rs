//! The step Field: what the readings say of the light, and how sure that is.

use eframe::egui::{Grid, RichText, Ui};

use super::{Panel, heading, heading_of, sample_link};
use crate::assess::limits::{Scale, Verdict};
use crate::assess::{Answer, Spot};
use crate::files::Preferences;
use crate::gui::widgets::field_row::choice;
use crate::gui::words;
use crate::probing::{LEAST_GAIN, Proposal};
use crate::record::{
    DriftRecord, candidate_words, family_name, governing_words, rule_name, scale_name,
};
use crate::session::{Command, Step};
use crate::station::{AssessedArea, Edit, Family, GoverningRule, Settings, named};
use crate::units::fixed;
use crate::work::Held;

/// Shows the panel.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let held = panel.session.answers().answer();
    match held.any().cloned() {
        None => empty(ui, panel),
        Some(answer) => {
            let preferences = panel.session.preferences().clone();
            let updating = panel.session.answers().is_answering();
            extremes(ui, &answer, updating, &preferences);
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

fn extremes(ui: &mut Ui, answer: &Answer, updating: bool, preferences: &Preferences) {
    heading_of(ui, "Coldest and hottest", updating);
    let unit = preferences.irradiance_unit;
    Grid::new("extremes")
        .num_columns(2)
        .striped(true)
        .show(ui, |ui| {
            let mut row = |name: &str, tip: &str, value: String| {
                let label = ui.label(name);
                if !tip.is_empty() {
                    label.on_hover_text(tip);
                }
                ui.strong(value);
                ui.end_row();
            };
            let [relative, absolute] = [Scale::Relative, Scale::Absolute].map(words::scale_tip);
            let spot =
                "The field's least or greatest value over the assessed area; k = 2 is about 95 %";
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
            row("Coldest spot", spot, with_band(cold));
            row("  where", "", place(cold));
            let open = |row: &mut dyn FnMut(&str, &str, String), which: usize| {
                if let Some(bond) = &answer.bond {
                    let tip = "What a radiometer can check there, with nothing in the way; the other figures are at the bond";
                    row("  there in the open", tip, unit.show_with_unit(bond.open[which], cold.uncertainty));
                }
            };
            open(&mut row, 0);
            row(
                "  assured, relative",
                relative,
                words::bound(cold.at_least, cold, preferences),
            );
            row(
                "  assured, absolute",
                absolute,
                words::bound(cold.at_least_absolute, cold, preferences),
            );
            row("Hottest spot", spot, with_band(hot));
            row("  where", "", place(hot));
            open(&mut row, 1);
            row(
                "  assured, relative",
                relative,
                words::bound(hot.at_most, hot, preferences),
            );
            row(
                "  assured, absolute",
                absolute,
                words::bound(hot.at_most_absolute, hot, preferences),
            );
            row(
                "Coldest reading",
                "The least that was read where parts are assessed",
                format!(
                    "{} at {}",
                    unit.show_with_unit(
                        answer.coldest_reading.irradiance,
                        words::reading_uncertainty(answer)
                    ),
                    named("position", &answer.coldest_reading.position)
                ),
            );
            row(
                "Governing minimum",
                &format!(
                    "What the lower limit is held against: {}",
                    governing_words(&answer.governing)
                ),
                words::governing(answer, preferences),
            );
        });
    if let Some(why) = words::reading_below_spot(answer, preferences) {
        ui.label(why);
    }
    ui.weak(
        "Assured: with 95 % confidence. Relative: without the radiometer's calibration uncertainty, which cancels while one pair finds and judges the limits; absolute: with it",
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
    let automatic = (None, "automatic, by how well each predicts");
    let each = Family::ALL
        .into_iter()
        .map(Some)
        .zip(names.iter().map(String::as_str));
    let families: Vec<_> = std::iter::once(automatic).chain(each).collect();
    if let Some(family) = choice(ui, "settings/family", "Model", now.family, &families) {
        wanted = Some(Settings { family, ..now });
    }
    if let Some(wanted) = wanted {
        panel.send(Command::Edit(Edit::SetSettings(wanted)));
    }
}

/// How far the coldest spot's figure rests on the model of the lamp and how far on readings.
fn leaning(ui: &mut Ui, answer: &Answer, preferences: &Preferences) {
    let Some(leaning) = &answer.leaning else {
        return;
    };
    let unit = preferences.irradiance_unit;
    let figure = |value: f64, u: f64| format!("{} {}", unit.show_expanded(value, u), unit.symbol());
    let Some(u) = answer.coldest.uncertainty else {
        return;
    };
    heading(ui, "What the coldest spot's figure rests on");
    ui.label(leaning.words(
        &figure(answer.coldest.irradiance, u),
        &figure(leaning.readings_alone, leaning.readings_alone_uncertainty),
        &preferences.length_unit.show_with_unit(leaning.beyond),
    ));
}

/// Where to measure next, on demand: it takes a moment.
fn next(ui: &mut Ui, panel: &mut Panel<'_>) {
    heading(ui, "Where to measure next");
    ui.label("Which further positions would make the coldest spot surer: those that raise the assured minimum most, as far as the detector's body allows");
    let open = (panel.session.judged()).is_some_and(|j| j.verdict == Verdict::NotProven);
    if open {
        ui.label("The verdict is not proven. What would settle it is another question, and may name other places: the step Limits answers it");
        if ui.button("Go to Limits").clicked() {
            panel.send(Command::Go(Step::Limits));
        }
    }
    if !panel.session.is_proposing() {
        if ui.button("Propose positions").clicked() {
            panel.send(Command::ProposeNext);
        }
        return;
    }
    match panel.session.answers().next() {
        Held::Failed(why, _) => {
            ui.label(why);
        }
        Held::Current(proposal) if proposal.positions.is_empty() => {
            ui.label(format!(
                "None: no further position would raise the assured minimum by more than can be told from noise ({} %)",
                100.0 * LEAST_GAIN
            ));
        }
        Held::Current(proposal) => {
            let proposal = proposal.clone();
            proposed(ui, panel, &proposal);
        }
        Held::Updating(..) | Held::Nothing => {
            ui.weak("Looking for the positions that tell most");
        }
    }
}

/// The table of proposed positions.
fn proposed(ui: &mut Ui, panel: &mut Panel<'_>, proposal: &Proposal) {
    let preferences = panel.session.preferences().clone();
    let (unit, length) = (preferences.irradiance_unit, preferences.length_unit);
    let answer = panel.session.answers().answer().any().cloned();
    let earned = answer.as_ref().and_then(|a| a.coldest.uncertainty);
    // a proposal draws its own fields: what it expects is told from the figure that stands above
    let now = answer
        .and_then(|a| a.coldest.at_least)
        .unwrap_or(proposal.assured);
    ui.label(format!(
        "Read each at {}. If they read what the field says, the assured minimum (relative), now {}, rises one after the other:",
        length.show_list(&proposal.heights),
        unit.show_with_unit(now, earned)
    ));
    let survey = panel.session.survey().map(|(index, _)| index);
    let mut taken = None;
    Grid::new("next").num_columns(5).striped(true).spacing([12.0, 3.0]).show(ui, |ui| {
        for (title, tip) in [
            ("Position", "A name that is free in the plan"),
            ("Where", "x and y of the detector's sensing plane"),
            ("Brings", "By how much this position raises the assured minimum"),
            ("To", "The assured minimum to expect then"),
            ("", ""),
        ] {
            ui.strong(title).on_hover_text(tip);
        }
        ui.end_row();
        for next in &proposal.positions {
            let at = next.position.at;
            ui.label(&next.position.name);
            ui.label(format!("{}, {} {}", length.show(at.x), length.show(at.y), length.symbol()));
            ui.label(RichText::new(format!("+{} %", fixed(next.gain_percent, 1))).monospace());
            let then = now * next.expected / proposal.assured;
            ui.label(RichText::new(unit.show(then, earned)).monospace());
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
    let scale = answer.scale();
    heading(
        ui,
        &format!(
            "Sites, coldest first, {}; assured: {}",
            unit.symbol(),
            scale_name(scale)
        ),
    );
    Grid::new("sites")
        .num_columns(5)
        .striped(true)
        .spacing([14.0, 3.0])
        .show(ui, |ui| {
            let assured = format!(
                "The site's own assured minimum, {}, with 95 % confidence",
                scale_name(scale)
            );
            for (title, tip) in [
                ("Site", "Coldest first"),
                ("Coldest", "The field's least value in the site"),
                ("Assured", &assured),
                ("Mean", "Over the site's outline"),
                ("Hottest", "The field's greatest value in the site"),
            ] {
                ui.strong(title).on_hover_text(tip);
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
                ui.label(number(site.coldest.assured(scale)));
                ui.label(number(Some(site.mean)));
                ui.label(number(Some(site.hottest.irradiance)));
                ui.end_row();
            }
        });
}

fn model(ui: &mut Ui, answer: &Answer) {
    heading(ui, "How well it predicts what it has not seen");
    ui.label(
        "Each position was left out in turn, with all its heights and repeats, and predicted from the others; so was the outer ring of positions as a whole",
    );
    Grid::new("scores")
        .num_columns(4)
        .striped(true)
        .spacing([14.0, 3.0])
        .show(ui, |ui| {
            for (title, tip) in [
                ("Model", "How a field is made from the readings"),
                ("Positions", "Error at positions left out, root mean square"),
                ("Outer ring", "Error at the outermost positions, all of them left out at once, root mean square"),
                ("Share", "How much the model counts in the field: by how probable it made what was left out, not by the errors alone"),
            ] {
                ui.strong(title).on_hover_text(tip);
            }
            ui.end_row();
            for score in &answer.scores {
                ui.label(candidate_words(score.family))
                    .on_hover_text(words::model_tip(score.family));
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
    if let Some(drift) = &answer.drift {
        ui.label(format!(
            "Drift over the round, taken out: {}; the map is that of the round's mean",
            DriftRecord::from(drift).words()
        ));
    }
    match answer.calibration {
        Some(u) => ui.label(format!(
            "Calibration uncertainty of the radiometer: {} % (k = 2), the same for every reading",
            fixed(200.0 * u, 1)
        )),
        None => ui.label("Calibration uncertainty of the radiometer: not known"),
    };
}
