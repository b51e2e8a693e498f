//! The step Placement: where parts may lie under the source, and how many.

mod ask;
mod beside;
mod figures;
mod kept;
mod present;
mod result;

use eframe::egui::{Label, Ui};

use super::{Panel, heading, heading_of, sample_link};
use crate::session::{Command, Placing};
use crate::work::Held;

/// Shows the panel.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    heading(ui, "Placement");
    ui.add(Label::new("Says where on the pallet a part lies inside the limits, and how many parts fit. Nothing changes on the fixture until you take an arrangement.").wrap());
    let answers = panel.session.answers();
    if panel.session.survey().is_none() {
        ui.add(Label::new("There is no survey yet: parts are placed by a measured field. Enter readings first.").wrap());
        sample_link(ui, panel);
        return;
    }
    if let Held::Failed(why, _) = answers.fit() {
        ui.add(Label::new(why).wrap());
        return;
    }
    let now = panel.session.placing();
    let mut placing = now.clone();
    ask::show(ui, panel, &mut placing);
    buttons(ui, panel, &mut placing);
    let held = panel.session.answers().placing().placed();
    let updating = held.is_updating();
    if placing.go || panel.session.shown_arrangement().is_some() {
        heading_of(ui, "Arrangement", false);
        if updating && panel.session.shown_arrangement().is_none() {
            progress(ui, held);
        }
        result::show(ui, panel);
    }
    kept::show(ui, panel);
    beside::show(ui, panel, &mut placing);
    present::show(ui, panel, &mut placing);
    if placing != now {
        panel.send(Command::Place(Box::new(placing)));
    }
}

fn progress<T>(ui: &mut Ui, held: Held<'_, T>) {
    if let Held::Updating(_, fraction) = held {
        ui.horizontal(|ui| {
            ui.spinner();
            ui.label(format!(
                "{:.0} % done; the best so far is shown",
                100.0 * fraction
            ));
        });
    }
}

fn buttons(ui: &mut Ui, panel: &mut Panel<'_>, placing: &mut Placing) {
    let is_shown = panel.session.shown_arrangement().is_some();
    ui.add_space(6.0);
    ui.horizontal_wrapped(|ui| {
        if placing.go && !is_shown {
            let updating = panel.session.answers().placing().placed().is_updating();
            let text = if updating { "Stop" } else { "Clear" };
            if ui.button(text).clicked() {
                placing.go = false;
            }
        } else if ui.button("Arrange").clicked() {
            placing.go = true;
            panel.send(Command::ShowArrangement(None));
        }
        ui.checkbox(&mut placing.usable, "Show the usable part").on_hover_text(
            "Where the middle of a part may be with 95 % confidence, that part alone; in the step Fixture, too",
        );
    });
}
