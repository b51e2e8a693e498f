//! At the bench: the round stop by stop, with the keyboard alone, with large buttons, or with a meter that types what it holds.

mod beside;
mod buttons;
pub(super) mod state;
mod stop;
mod value;

use eframe::egui::{ProgressBar, RichText, Ui};

use super::super::cautions::cautions;
use super::super::{Panel, heading};
use crate::session::{Command, Step};
use crate::station::Survey;

/// Shows the view in the place of the table.
pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>, index: usize, survey: &Survey) {
    heading(ui, "At the bench");
    let (done, all) = survey.done();
    ui.horizontal(|ui| {
        if ui.button("Back to the table").clicked() {
            panel.send(Command::ReadAtBench(false));
        }
        let share = done as f32 / all.max(1) as f32;
        ui.add(ProgressBar::new(share).text(format!("{done} of {all} readings")));
    });
    cautions(ui);
    if let Some(far) = panel.state.entry.bench.far.clone() {
        buttons::question(ui, panel, (index, survey), &far);
    }
    let Some(row) = panel.state.entry.bench.stop(survey) else {
        finished(ui, panel, survey);
        return;
    };
    let reading = &survey.readings[row];
    stop::place(ui, panel, survey, row);
    stop::steps(ui, panel, reading);
    value::field(ui, panel, (index, survey), row);
    buttons::buttons(ui, panel, (index, survey), row);
    beside::beside(ui, panel, survey, row);
}

fn finished(ui: &mut Ui, panel: &mut Panel<'_>, survey: &Survey) {
    ui.add_space(12.0);
    if survey.readings.is_empty() {
        ui.label("This survey has no rows yet: prepare one from the plan, and its stops are shown here one after the other");
        return;
    }
    ui.label(RichText::new("The round is done").size(24.0).strong());
    let skipped = survey.readings.iter().filter(|r| r.excluded.is_some());
    match skipped.count() {
        0 => {}
        n => {
            ui.label(format!("{n} skipped or excluded"));
        }
    }
    if ui.add(buttons::tall("Go to the field")).clicked() {
        panel.send(Command::Go(Step::Field));
    }
}
