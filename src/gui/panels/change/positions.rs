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
    // one number of decimals, so that the eye can compare
    let most = (change.positions.iter()).fold(0.0, |most: f64, p| most.max(p.before).max(p.after));
    let decimals = unit.decimals(most, None);
    let light = |mw_cm2: f64| fixed(unit.from_mw_cm2(mw_cm2), decimals);
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
                        (
                            "",
                            "Colder or hotter than what is common, significant among all",
                        ),
                    ] {
                        ui.strong(title).on_hover_text(tip);
                    }
                    ui.end_row();
                    for p in change.positions.iter().take(MOST) {
                        let number = |text: String| RichText::new(text).monospace();
                        ui.label(&p.position);
                        ui.label(number(mm.show(p.at.height)));
                        ui.label(number(light(p.before)));
                        ui.label(number(light(p.after)));
                        ui.label(number(format!("{} %", fixed(100.0 * p.change, 1))));
                        ui.label(number(format!("{} %", fixed(100.0 * p.local, 1))));
                        ui.label(match p.significant {
                            false => "",
                            true if p.local < 0.0 => "cold",
                            true => "hot",
                        });
                        ui.end_row();
                    }
                });
        });
}
