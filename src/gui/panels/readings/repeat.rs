//! The repeat study: which surveys are its rounds, what is found, and what may be taken over from it.

use eframe::egui::{CollapsingHeader, Grid, Label, RichText, ScrollArea, Ui};

use crate::gui::panels::Panel;
use crate::record::{
    COMPONENT_HEADINGS, ROUND_HEADINGS, RepeatRecord, component_rows, proposed_words, round_rows,
};
use crate::session::Command;
use crate::station::limits::{Allowances, Limits};
use crate::station::{Edit, RepeatStudy, Round, Settings, Station};
use crate::units::fixed;
use crate::work::Held;

/// A longer heading, and a longer sentence in a cell, wrap; points.
const WIDEST_HEADING: f32 = 110.0;
const WIDEST_SENTENCE: f32 = 250.0;

/// Shows it; nothing where there is one survey only.
pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>, room: f32) {
    let station = panel.session.station().clone();
    if station.surveys.len() < 2 && station.repeat.is_none() {
        return;
    }
    let unfold = std::mem::take(&mut panel.state.entry.unfold_repeat);
    let header = CollapsingHeader::new("Repeat study").open(unfold.then_some(true));
    header.show(ui, |ui| {
        ScrollArea::vertical()
            .id_salt("repeat study")
            .max_height((0.65 * room).max(140.0))
            .show(ui, |ui| {
                ui.add(Label::new("Several people, or one on several days, read the same plan: how well is a reading repeated? Tick their surveys, and say before which the pallet was taken out and put back").wrap());
                rounds(ui, panel, &station);
                taken_over(ui, panel, &station);
                if station.repeat.is_none() {
                    return;
                }
                let held = panel.session.answers().repeat_study();
                match held.any().cloned() {
                    Some(record) => {
                        let updating = held.is_updating();
                        if updating {
                            ui.weak("updating: as before the last change");
                        }
                        found(ui, &record);
                        ui.add_enabled_ui(!updating, |ui| {
                            take_over(ui, panel, &station, &record);
                        });
                    }
                    None => {
                        let said = match held {
                            Held::Failed(why, _) => why,
                            _ => "Working out what readings scatter by",
                        };
                        ui.add(Label::new(said).wrap());
                    }
                }
            });
    });
}

/// A row a survey: whether it is a round, and whether the pallet was put back before it.
fn rounds(ui: &mut Ui, panel: &mut Panel<'_>, station: &Station) {
    let before = station.repeat.clone().unwrap_or_default();
    let mut study = before.clone();
    Grid::new("rounds of the study")
        .num_columns(3)
        .spacing([14.0, 3.0])
        .show(ui, |ui| {
            for survey in &station.surveys {
                let at = study.rounds.iter().position(|r| r.survey == survey.name);
                let mut is_in = at.is_some();
                if ui.checkbox(&mut is_in, &survey.name).changed() {
                    match at {
                        Some(at) => {
                            study.rounds.remove(at);
                        }
                        None => add(&mut study, station, &survey.name),
                    }
                }
                let who = match survey.operator.trim() {
                    "" => "nobody's initials",
                    operator => operator,
                };
                ui.label(format!("{who}, {}", survey.date));
                if let Some(round) = at.and_then(|at| study.rounds.get_mut(at)) {
                    ui.checkbox(&mut round.reset, "pallet put back before it");
                }
                ui.end_row();
            }
        });
    if study != before {
        let study = Some(study).filter(|study| !study.rounds.is_empty());
        panel.send(Command::Edit(Edit::SetRepeat(study)));
    }
}

/// In the order of the surveys.
fn add(study: &mut RepeatStudy, station: &Station, name: &str) {
    let place = |name: &str| station.survey(name).unwrap_or(usize::MAX);
    let own = place(name);
    let at = (study.rounds.iter()).position(|r| place(&r.survey) > own);
    let round = Round {
        survey: name.to_owned(),
        reset: false,
    };
    study.rounds.insert(at.unwrap_or(study.rounds.len()), round);
}

/// What the field was told of how readings scatter.
fn taken_over(ui: &mut Ui, panel: &mut Panel<'_>, station: &Station) {
    let Some(scatter) = station.settings.scatter else {
        return;
    };
    let placement = scatter.placement.map_or(String::new(), |mm| {
        let unit = panel.session.preferences().length_unit;
        format!(", error of placement {}", unit.show_with_unit(mm))
    });
    ui.horizontal_wrapped(|ui| {
        ui.label(format!(
            "The field is told: noise {} %{placement}",
            fixed(scatter.noise_percent, 2)
        ));
        if ui.button("Forget it").clicked() {
            panel.send(Command::Edit(Edit::SetSettings(Settings {
                scatter: None,
                ..station.settings.clone()
            })));
        }
    });
}

fn found(ui: &mut Ui, record: &RepeatRecord) {
    ui.add_space(4.0);
    ui.strong("What each round has in common, taken out of the rest");
    table(ui, "common changes", &ROUND_HEADINGS, round_rows(record));
    ui.add_space(4.0);
    ui.strong(format!(
        "What readings scatter by: {} positions, {} rounds",
        record.positions,
        record.rounds.len()
    ));
    table(
        ui,
        "components",
        &COMPONENT_HEADINGS,
        component_rows(record),
    );
    for note in &record.notes {
        ui.add(Label::new(note).wrap());
    }
    ui.add_space(4.0);
    ui.strong("Positions that scatter most");
    for s in &record.largest_scatter {
        let name = match s.position.as_str() {
            "" => "a position without a name",
            name => name,
        };
        ui.label(format!(
            "{name} at height {} mm: {} %, {} times that of all",
            fixed(s.at.height_mm, 1),
            fixed(s.percent, 2),
            fixed(s.over_typical, 1)
        ));
    }
}

fn table(ui: &mut Ui, name: &str, headings: &[&str; 5], rows: Vec<[String; 5]>) {
    ScrollArea::horizontal()
        .id_salt(name)
        .auto_shrink([false, true])
        .show(ui, |ui| {
            Grid::new(name)
                .num_columns(5)
                .striped(true)
                .spacing([12.0, 3.0])
                .show(ui, |ui| {
                    for heading in headings {
                        ui.scope(|ui| {
                            ui.set_max_width(WIDEST_HEADING);
                            ui.add(Label::new(RichText::new(*heading).strong()).wrap());
                        });
                    }
                    ui.end_row();
                    for row in rows {
                        for (i, cell) in row.into_iter().enumerate() {
                            // sentences wrap, figures do not
                            if i == 0 {
                                ui.scope(|ui| {
                                    ui.set_max_width(WIDEST_SENTENCE);
                                    ui.add(Label::new(cell).wrap());
                                });
                            } else {
                                ui.label(cell);
                            }
                        }
                        ui.end_row();
                    }
                });
        });
}

/// What a click makes of it.
fn take_over(ui: &mut Ui, panel: &mut Panel<'_>, station: &Station, record: &RepeatRecord) {
    let (of_field, reload) = proposed_words(record);
    ui.add_space(4.0);
    ui.strong("What may be taken over from it");
    ui.add(Label::new(of_field).wrap());
    if ui
        .button("Tell the field how readings scatter")
        .on_hover_text("The field begins from this noise and error of placement instead of those of careful people; its readings still have a say")
        .clicked()
    {
        panel.send(Command::Edit(Edit::SetSettings(Settings {
            scatter: Some(record.scatter()),
            ..station.settings.clone()
        })));
    }
    let Some((reload, percent)) = reload.zip(record.proposed.reload_percent) else {
        return;
    };
    ui.add(Label::new(reload).wrap());
    let limits = station.limits.as_deref();
    let button = ui.add_enabled(
        limits.is_some(),
        eframe::egui::Button::new("Allow for reloading in the limits"),
    );
    if limits.is_none() {
        ui.weak("There are no limits yet; set them in the step Limits");
    }
    if let Some(limits) = limits.filter(|_| button.clicked()) {
        let allowances = Allowances {
            // a tenth of a percent up: no more is known of it
            reload_percent: (10.0 * percent).ceil() / 10.0,
            ..limits.allowances
        };
        panel.send(Command::Edit(Edit::SetLimits(Box::new(Limits {
            allowances,
            ..limits.clone()
        }))));
    }
}
