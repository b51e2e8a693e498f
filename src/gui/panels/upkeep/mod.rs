//! The step Upkeep: the daily reading, what it means and what is due; the log, its trend, events, radiometers, lamps and the
//! record.

mod beside;
mod entry;
mod events;
mod lamps;
mod papers;
mod radiometers;
mod table;
mod trend;

use eframe::egui::{Context, Label, Ui};

use super::cautions::cautions;
use super::{Panel, heading, heading_of};
use crate::record::upkeep_words;
use crate::station::{Edit, Upkeep, Where};
use crate::work::Held;

/// What is half done in this step.
#[derive(Default)]
pub struct UpkeepEntry {
    entry: entry::Typed,
    /// The row of the log that is chosen.
    pub chosen: Option<usize>,
    /// Bring the chosen row into view.
    scroll: bool,
    /// The event, the comparison whose form is open.
    event: Option<usize>,
    beside: Option<usize>,
    /// The reason that is typed for setting an entry aside.
    reason: String,
}

impl UpkeepEntry {
    /// Chooses a row of the log and brings it into view.
    pub fn choose(&mut self, row: usize) {
        self.chosen = Some(row);
        self.scroll = true;
    }
}

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
            if !review.due.is_empty() {
                ui.add_space(4.0);
                ui.strong("What is due");
                for due in &review.due {
                    ui.horizontal_top(|ui| {
                        ui.colored_label(ui.visuals().warn_fg_color, "!");
                        ui.vertical(|ui| wrapped(ui, &upkeep_words::due_words(due, units)));
                    });
                }
            }
        }
    }
    cautions(ui);
}

fn wrapped(ui: &mut Ui, text: &str) {
    ui.add(Label::new(text).wrap());
}

/// The edit that puts everything but the log in place.
fn change(name: &'static str) -> impl Fn(Upkeep) -> Edit {
    move |upkeep| Edit::SetUpkeep {
        upkeep: Box::new(upkeep),
        name: name.to_owned(),
    }
}
