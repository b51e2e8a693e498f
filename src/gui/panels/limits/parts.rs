//! What the panels of this step are put together from.

use eframe::egui::{ScrollArea, Ui};

use crate::gui::panels::Panel;
use crate::session::{Command, Step};

/// A table that is wider than the panel scrolls by itself.
pub(super) fn wide(ui: &mut Ui, name: &str, contents: impl FnOnce(&mut Ui)) {
    ScrollArea::horizontal()
        .id_salt(name)
        .auto_shrink([false, true])
        .show(ui, contents);
}

/// A sentence with a mark before it.
pub(super) fn point(ui: &mut Ui, text: &str) {
    ui.horizontal_top(|ui| {
        ui.label("·");
        ui.vertical(|ui| ui.label(text));
    });
}

/// A button that leads to a step.
pub(super) fn go_to(ui: &mut Ui, panel: &mut Panel<'_>, step: Step) {
    if ui.button(format!("Go to {}", step.name())).clicked() {
        panel.send(Command::Go(step));
    }
}

/// A limit with all the digits it has and no more.
pub(super) fn plain(value: f64) -> String {
    let rounded: f64 = format!("{value:.6e}").parse().unwrap_or(value);
    rounded.to_string()
}
