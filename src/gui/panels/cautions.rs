//! The cautions beside whatever tells a person to put a detector under a source.

use eframe::egui::{CollapsingHeader, Label, Ui};

use crate::sheet::cautions::{CAUTIONS, RESPONSIBILITY, TITLE};

/// Their heading, always in sight; a click shows them all.
pub(super) fn cautions(ui: &mut Ui) {
    CollapsingHeader::new(TITLE).show(ui, |ui| {
        for caution in CAUTIONS.iter().chain([&RESPONSIBILITY]) {
            ui.add(Label::new(*caution).wrap());
            ui.add_space(3.0);
        }
    });
}
