//! Position by position.

use eframe::egui::{Grid, RichText, ScrollArea, Ui};

use crate::change::Change;
use crate::gui::panels::{Panel, heading};
use crate::units::fixed;

/// More are on the pages.
const MOST: usize = 400;

/// Shows the table.
pub(super) fn show(ui: &mut Ui, panel: &Panel<'_>, change: &Change) {
    let preferences = panel.session.preferences();
    let (mm, unit) = (preferences.length_unit, preferences.irradiance_unit);
    heading(ui, &format!("Position by position, {}", unit.symbol()));
    ScrollArea::horizontal()
        .id_salt("change positions")
        .auto_shrink([false, true])
        .show(ui, |ui| {
            Grid::new("change positions")
                .num_columns(7)
                .striped(true)
                .spacing([12.0, 3.0])
                .show(ui, |ui| {
                    for (title, tip) in [
                        ("Position", "As it is called in the later survey"),
                        ("Height", "Of the sensing plane"),
                        (
                            "Before",
                            "What was read in the earlier survey, or what its field is there",
                        ),
                        ("After", "What was read in the later survey"),
                        ("Change", "After over before"),
                        ("Local", "What of it is not common, as the model has it"),
                        ("", "Significant among all"),
                    ] {
                        ui.strong(title).on_hover_text(tip);
                    }
                    ui.end_row();
                    for p in change.positions.iter().take(MOST) {
                        let number = |text: String| RichText::new(text).monospace();
                        ui.label(&p.position);
                        ui.label(number(mm.show(p.at.height)));
                        ui.label(number(unit.show(p.before, None)));
                        ui.label(number(unit.show(p.after, None)));
                        ui.label(number(format!("{} %", fixed(100.0 * p.change, 1))));
                        ui.label(number(format!("{} %", fixed(100.0 * p.local, 1))));
                        ui.label(if p.significant { "significant" } else { "" });
                        ui.end_row();
                    }
                });
        });
}
