//! Radiometers over time: how far each calibration counts, how its readings come to the limits' scale, and what a
//! recalibration touches.

use eframe::egui::Ui;

use super::super::{Panel, heading, heading_of};
use super::common::wrapped;
use crate::record::upkeep_words as words;
use crate::session::{Command, Step};
use crate::station::{Happened, Upkeep};
use crate::upkeep::entries_touched;

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>, upkeep: &Upkeep) {
    let held = panel.session.answers().daily();
    let Some(daily) = held.any().cloned() else {
        return;
    };
    heading(ui, "Radiometers");
    let station = panel.session.station().clone();
    if station.radiometers.is_empty() {
        wrapped(
            ui,
            "The station has no radiometer yet; a reading without one counts as it is",
        );
        if ui.button("Go to Fixture").clicked() {
            panel.send(Command::Go(Step::Fixture));
        }
        return;
    }
    let main = panel
        .session
        .answers()
        .review()
        .any()
        .and_then(|r| r.terms.main.clone());
    for radiometer in &station.radiometers {
        let is_main = main.as_ref() == Some(&radiometer.name);
        ui.strong(if is_main {
            format!("{}, the main one", radiometer.name)
        } else {
            radiometer.name.clone()
        });
        for scale in daily
            .scales
            .all
            .iter()
            .filter(|s| s.radiometer == radiometer.name)
        {
            let since = scale.since.map_or_else(
                || "before".to_owned(),
                |since| format!("from {}", since.date()),
            );
            let due = scale.due.map_or_else(
                || "end not known".to_owned(),
                |due| format!("counts until {due}"),
            );
            wrapped(
                ui,
                &format!("{since}: {due}; {}", words::carried_words(scale, upkeep)),
            );
        }
    }
    let is_any = |e: &crate::station::Event| matches!(e.what, Happened::Calibrated(_));
    if upkeep.events.iter().any(is_any) {
        recalibrations(ui, panel, upkeep);
    }
}

fn recalibrations(ui: &mut Ui, panel: &mut Panel<'_>, upkeep: &Upkeep) {
    let held = panel.session.answers().touched();
    heading_of(
        ui,
        "What recalibrations touch",
        held.is_updating() && held.any().is_some(),
    );
    let Some(touched) = held.any().cloned() else {
        if held.is_updating() {
            ui.label("Working the verdicts out again");
        } else if ui
            .button("Work it out")
            .on_hover_text("Which readings and surveys were read since the calibration before, and their verdicts with the radiometer as it was found")
            .clicked()
        {
            panel.send(Command::FindTouched);
        }
        return;
    };
    let station = panel.session.station().clone();
    let units = panel.session.preferences().units();
    for of in touched.iter().rev() {
        let Some(event) = upkeep.events.get(of.event) else {
            continue;
        };
        ui.strong(format!(
            "{}, {}",
            words::event_words(event, units),
            event.at.date()
        ));
        let entries = entries_touched(upkeep, event);
        for sentence in words::touched_words(of, entries, &station, units) {
            wrapped(ui, &sentence);
        }
    }
}
