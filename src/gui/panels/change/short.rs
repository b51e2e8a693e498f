//! The short check: the fewest positions that catch what harms, and a survey of them.

use eframe::egui::Ui;

use crate::gui::panels::{Panel, heading_of, prepare};
use crate::record::short_check_words;
use crate::session::Command;
use crate::station::Survey;
use crate::work::Held;

/// Shows what it catches, with the button that prepares a survey of it.
pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let held = panel.session.answers().short_check();
    heading_of(
        ui,
        "Short check",
        held.is_updating() && held.any().is_some(),
    );
    if !panel.session.wants_short_check() {
        ui.label(
            "Between whole surveys a few positions can tell whether anything harmful has happened",
        );
        if ui
            .button("Find the fewest positions")
            .on_hover_text("Of the earlier survey: those that, read again, catch a local loss, a wrong height, a shift and a tilt")
            .clicked()
        {
            panel.send(Command::FindShortCheck);
        }
        return;
    }
    let Some(check) = held.any().cloned() else {
        ui.label(match held {
            Held::Failed(why, _) => why,
            _ => "Looking for the fewest positions",
        });
        return;
    };
    for sentence in short_check_words(&check, panel.session.preferences().length_unit) {
        ui.label(sentence);
    }
    if check.catches_nothing() {
        return;
    }
    if ui
        .button("Prepare a survey of these")
        .on_hover_text("Adds a survey with a row for each of them, in the order of the route")
        .clicked()
    {
        let (station, today) = (panel.session.station(), panel.session.today());
        let survey = Survey {
            readings: prepare::rows(&check.positions),
            ..station.new_survey(&format!("Short check {today}"), today)
        };
        prepare::add(panel, survey);
    }
}
