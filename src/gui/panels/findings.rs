//! What is odd about the station, as a list that leads to the place.

use eframe::egui::Ui;

use super::Panel;
use crate::session::{Command, Step};

/// The findings of a step; a click goes to the place.
pub fn findings(ui: &mut Ui, panel: &mut Panel<'_>, step: Step) {
    for finding in panel.session.findings() {
        if Step::of(&finding.place) == step && ui.link(&finding.what).clicked() {
            panel.commands.push(Command::GoTo(finding.place.clone()));
        }
    }
}
