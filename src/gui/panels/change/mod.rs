//! The step Change: one survey against another; what changed, what it points to and what to do next.

mod history;
mod positions;
mod short;

use eframe::egui::{Grid, Ui};

use super::{Panel, heading, heading_of, sample_link};
use crate::gui::widgets::field_row::choice;
use crate::record::change_words::Said;
use crate::session::{Command, Compared, Step};
use crate::station::Edit;
use crate::station::limits::Limits;
use crate::units::fixed;
use crate::work::Held;

/// Shows the panel.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let Some((from, to)) = panel.session.compared() else {
        return empty(ui, panel);
    };
    let held = panel.session.answers().change();
    heading_of(ui, "Change", held.is_updating() && held.any().is_some());
    surveys(ui, panel, (from, to));
    let held = panel.session.answers().change();
    if let Held::Failed(why, _) = held {
        ui.label(why);
        return;
    }
    let Some(compared) = held.any().cloned() else {
        ui.label("Comparing the two surveys");
        return;
    };
    judgement(ui, panel, &compared);
    fading(ui, panel, &compared);
    next(ui, &compared);
    history::show(ui, panel);
    short::show(ui, panel);
    picture(ui, &compared);
    positions::show(ui, panel, &compared.change);
    ui.add_space(10.0);
}

fn empty(ui: &mut Ui, panel: &mut Panel<'_>) {
    heading(ui, "Change");
    ui.label(
        "Here one survey is held against another, usually the newest against the baseline: what is less everywhere, whether a cold zone has appeared, and what to do next. It takes two surveys",
    );
    ui.add_space(6.0);
    if ui.button("Go to Readings").clicked() {
        panel.send(Command::Go(Step::Readings));
    }
    sample_link(ui, panel);
}

fn surveys(ui: &mut Ui, panel: &mut Panel<'_>, (from, to): (usize, usize)) {
    let station = panel.session.station().clone();
    let names: Vec<String> = station
        .surveys
        .iter()
        .map(|s| format!("{}, {}", s.name, s.date))
        .collect();
    let options: Vec<(usize, &str)> = names.iter().map(|n| &**n).enumerate().collect();
    let without = |other: usize| -> Vec<(usize, &str)> {
        options
            .iter()
            .copied()
            .filter(|(i, _)| *i != other)
            .collect()
    };
    if let Some(from) = choice(ui, "change/from", "Earlier", from, &without(to)) {
        panel.send(Command::Compare(from, to));
    }
    if let Some(to) = choice(ui, "change/to", "Later", to, &without(from)) {
        panel.send(Command::Compare(from, to));
    }
}

fn judgement(ui: &mut Ui, panel: &Panel<'_>, compared: &Compared) {
    let station = panel.session.station();
    let said = Said {
        station,
        change: &compared.change,
        length: panel.session.preferences().length_unit,
    };
    heading(ui, "Judgement");
    ui.strong(&compared.record.judgement);
    let faces = compared.change.cold.iter().filter_map(|z| said.face(z));
    for sentence in faces.chain(said.may_be()).chain(said.typical()) {
        ui.label(sentence);
    }
    let record = &compared.record;
    if let (Some(before), Some(after)) = (record.verdict_from, record.verdict_to) {
        Grid::new("verdicts").num_columns(2).show(ui, |ui| {
            for (name, verdict) in [
                ("Verdict of the earlier", before),
                ("Verdict of the later", after),
            ] {
                ui.label(name);
                ui.strong(verdict);
                ui.end_row();
            }
        });
    }
    if !record.warnings.is_empty() {
        heading(ui, "Be careful");
        for warning in &record.warnings {
            ui.horizontal_top(|ui| {
                ui.colored_label(ui.visuals().warn_fg_color, "!");
                ui.vertical(|ui| ui.label(warning));
            });
        }
    }
}

fn fading(ui: &mut Ui, panel: &mut Panel<'_>, compared: &Compared) {
    let Some(rate) = compared.record.fading else {
        return;
    };
    heading(ui, "Fading");
    let [low, high] = rate.interval_percent_per_100_h;
    ui.label(format!(
        "{} % per 100 h ({} to {} with 95 % confidence), over {} h",
        fixed(rate.percent_per_100_h, 2),
        fixed(low, 2),
        fixed(high, 2),
        fixed(rate.hours, 0)
    ));
    let station = panel.session.station().clone();
    let Some(limits) = station.limits.as_deref() else {
        return;
    };
    let value = (100.0 * rate.percent_per_100_h).round() / 100.0;
    if limits.fading_percent_per_100_h == Some(value) {
        ui.weak("In Limits this rate is used");
    } else if value > 0.0
        && ui
            .button("Use in Limits")
            .on_hover_text(
                "Takes this rate into the limits' outlook: when the lower limit will be reached",
            )
            .clicked()
    {
        let limits = Box::new(Limits {
            fading_percent_per_100_h: Some(value),
            ..limits.clone()
        });
        panel.send(Command::Edit(Edit::SetLimits(limits)));
    }
}

fn next(ui: &mut Ui, compared: &Compared) {
    heading(ui, "What to do next");
    for step in &compared.record.next_steps {
        ui.horizontal_top(|ui| {
            ui.label("\u{b7}");
            ui.vertical(|ui| ui.label(step));
        });
    }
}

fn picture(ui: &mut Ui, compared: &Compared) {
    if compared.pictures.local.is_none() {
        return;
    }
    heading(ui, "The picture");
    ui.label(
        "Local change beside what is common: blue colder, red hotter, white none. Pale where it is not significant; a line runs around each zone",
    );
}
