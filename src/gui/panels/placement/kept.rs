//! Arrangements that are kept side by side.

use eframe::egui::{Grid, Ui};

use super::super::{Panel, heading};
use crate::geometry::Shape;
use crate::placement::Kind;
use crate::session::Command;
use crate::units::fixed;

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let all = panel.session.arrangements();
    if all.is_empty() {
        return;
    }
    heading(ui, "Kept side by side");
    let shown = panel.session.shown_arrangement();
    let preferences = panel.session.preferences();
    let (mm, light) = (preferences.length_unit, preferences.irradiance_unit);
    let mut commands = Vec::new();
    Grid::new("kept arrangements")
        .num_columns(6)
        .striped(true)
        .spacing([8.0, 3.0])
        .show(ui, |ui| {
            for name in ["Part", "Kind", "Parts", "Sure, %", "Cold to hot", ""] {
                ui.strong(name);
            }
            ui.end_row();
            for (i, arranged) in all.iter().enumerate() {
                let (ask, placed) = (&arranged.asked.ask, &arranged.placed);
                let part = match ask.part.shape {
                    Shape::Circle { diameter } => format!("d {}", mm.show(diameter)),
                    _ => {
                        let (w, d) = ask.part.shape.size();
                        format!("{} x {}", mm.show(w), mm.show(d))
                    }
                };
                ui.label(part);
                ui.label(match ask.kind {
                    Kind::Rows { .. } => "rows",
                    Kind::Free => "anywhere",
                });
                ui.label(placed.sites.len().to_string());
                ui.label(
                    placed
                        .confidence
                        .map_or_else(String::new, |c| fixed(100.0 * c, 1)),
                );
                let ends = placed.coldest().zip(placed.hottest());
                ui.label(ends.map_or_else(String::new, |(cold, hot)| {
                    format!("{} to {}", light.show(cold, None), light.show(hot, None))
                }));
                ui.horizontal(|ui| {
                    if ui
                        .selectable_label(shown == Some(i), format!("Show {}", i + 1))
                        .clicked()
                    {
                        commands.push(Command::ShowArrangement((shown != Some(i)).then_some(i)));
                    }
                    if ui.small_button(format!("Drop {}", i + 1)).clicked() {
                        commands.push(Command::DropArrangement(i));
                    }
                });
                ui.end_row();
            }
        });
    for command in commands {
        panel.send(command);
    }
}
