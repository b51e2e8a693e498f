//! More than two surveys: each against the earlier one, and where that goes.

use eframe::egui::{Grid, ScrollArea, Ui};

use crate::gui::panels::{Panel, heading_of};
use crate::record::{HistoryRecord, history_headings, history_rows};
use crate::work::Held;

/// Shows the table and the trend; nothing where there are only two surveys.
pub(super) fn show(ui: &mut Ui, panel: &Panel<'_>) {
    let held = panel.session.answers().change_history();
    let station = panel.session.station();
    if station.surveys.len() < 3 {
        return;
    }
    heading_of(
        ui,
        "All surveys",
        held.is_updating() && held.any().is_some(),
    );
    let Some(history) = held.any() else {
        ui.label(match held {
            Held::Failed(why, _) => why,
            _ => "Comparing all surveys with the earlier one",
        });
        return;
    };
    let record = HistoryRecord::new(station, history);
    let unit = panel.session.preferences().irradiance_unit;
    ScrollArea::horizontal()
        .id_salt("change history")
        .auto_shrink([false, true])
        .show(ui, |ui| {
            Grid::new("change history")
                .num_columns(5)
                .striped(true)
                .spacing([12.0, 3.0])
                .show(ui, |ui| {
                    for title in history_headings(unit) {
                        ui.strong(title);
                    }
                    ui.end_row();
                    for row in history_rows(&record, unit) {
                        for cell in row {
                            ui.label(cell);
                        }
                        ui.end_row();
                    }
                });
        });
    ui.label(record.trend_words());
    ui.weak("Common change with 95 % confidence; of coldest spot and nonuniformity each bound with 95 % confidence");
    for why in &record.left_out {
        ui.weak(why);
    }
}
