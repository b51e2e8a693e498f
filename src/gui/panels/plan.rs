//! To be written.

use eframe::egui::Ui;

use super::Panel;

/// Shows the panel.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let _ = (ui, panel.session);
}
