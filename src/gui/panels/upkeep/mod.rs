//! The step Upkeep: the daily reading, what it means and what is due; the log, its trend, events, radiometers, lamps and the
//! record.

mod beside;
mod common;
mod entry;
mod events;
mod half_done;
mod lamps;
mod papers;
mod radiometers;
mod table;
mod trend;

use eframe::egui::{CollapsingHeader, Context, Label, Ui};

use common::wrapped;
pub use half_done::UpkeepEntry;

use super::cautions::cautions;
use super::{Panel, heading, heading_of};
use crate::record::upkeep_words;
use crate::station::{Upkeep, Where};
use crate::work::Held;

/// Shows the panel.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let station = panel.session.station().clone();
    let upkeep = station.upkeep();
    if upkeep.log.is_empty() && upkeep.events.is_empty() {
        heading(ui, "Upkeep");
        wrapped(
            ui,
            "A station that was validated once is kept so by a reading each day at the monitor position: it shows when the lamp has faded, when a step tells of dirt or damage, and when a radiometer strays. Log the first reading, or import the log that you have",
        );
    }
    today(ui, panel, &upkeep);
    entry::show(ui, panel, &upkeep);
    table::show(ui, panel, &upkeep);
    trend::show(ui, panel, &upkeep);
    events::show(ui, panel, &upkeep);
    radiometers::show(ui, panel, &upkeep);
    beside::show(ui, panel, &upkeep);
    lamps::show(ui, panel, &upkeep);
    papers::show(ui, panel);
    ui.add_space(10.0);
}

/// Brings a finding's place into view.
pub fn jump(_: &Context, panel: &mut Panel<'_>, place: &Where) -> bool {
    match place {
        Where::LogEntry(row) => panel.state.upkeep.choose(*row),
        Where::Upkeep(_) => {}
        _ => return false,
    }
    true
}

/// What the newest reading means, and what is due.
fn today(ui: &mut Ui, panel: &Panel<'_>, upkeep: &Upkeep) {
    let held = panel.session.answers().review();
    let units = panel.session.preferences().units();
    heading_of(ui, "Today", held.is_updating() && held.any().is_some());
    match held {
        Held::Failed(why, _) => wrapped(ui, why),
        Held::Nothing | Held::Updating(None, _) => wrapped(ui, "Looking through the log"),
        Held::Current(review) | Held::Updating(Some(review), _) => {
            let mut says = upkeep_words::latest_words(review, upkeep, units).into_iter();
            if let Some(first) = says.next() {
                ui.add(Label::new(eframe::egui::RichText::new(first).strong()).wrap());
            }
            says.for_each(|sentence| wrapped(ui, &sentence));
            if let Some(next) = upkeep_words::next_words(review) {
                wrapped(ui, &next);
            }
            let due = |survey: bool| -> Vec<String> {
                let all = review.due.iter().filter(|due| due.survey == survey);
                all.map(|due| upkeep_words::due_words(due, units)).collect()
            };
            let (now, survey) = (due(false), due(true));
            if !now.is_empty() {
                ui.add_space(4.0);
                ui.strong("What is due");
                points(ui, &now);
            }
            if !survey.is_empty() {
                let title = format!(
                    "A whole survey is due: {} {}",
                    survey.len(),
                    if survey.len() == 1 {
                        "reason"
                    } else {
                        "reasons"
                    }
                );
                CollapsingHeader::new(title)
                    .id_salt("survey due")
                    .show(ui, |ui| {
                        wrapped(ui, "Since the survey that judges:");
                        points(ui, &survey);
                    });
            }
        }
    }
    cautions(ui);
}

fn points(ui: &mut Ui, sentences: &[String]) {
    for sentence in sentences {
        ui.horizontal_top(|ui| {
            ui.colored_label(ui.visuals().warn_fg_color, "!");
            ui.vertical(|ui| wrapped(ui, sentence));
        });
    }
}
