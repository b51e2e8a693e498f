//! What else can be done at a stop: back, over range, skip, read it again.

use eframe::egui::{Button, Key, TextEdit, Ui, vec2};

use super::super::super::Panel;
use super::state::Far;
use super::value::{field_id, on, put, take};
use crate::session::Command;
use crate::station::{Edit, Reading, Survey};

/// A button for a finger in a glove.
pub(super) fn tall(text: &str) -> Button<'_> {
    const HEIGHT: f32 = 36.0;
    Button::new(text).min_size(vec2(0.0, HEIGHT))
}

/// The buttons, and the reason of a skip while it is typed.
pub(super) fn buttons(
    ui: &mut Ui,
    panel: &mut Panel<'_>,
    (index, survey): (usize, &Survey),
    row: usize,
) {
    ui.add_space(6.0);
    ui.horizontal_wrapped(|ui| {
        let enter = ui
            .add(tall("Take it"))
            .on_hover_text("As Enter does: the value is kept, and the next stop is shown");
        if enter.clicked() {
            take(panel, (index, survey), row);
        }
        let back = ui.add_enabled(row > 0, tall("Back"));
        if back.on_hover_text("The stop before (Page Up)").clicked() {
            panel.state.entry.bench.go(row.checked_sub(1));
        }
        if ui
            .add(tall("Over range"))
            .on_hover_text("The meter shows no number: the row is marked as saturated")
            .clicked()
        {
            let reading = Reading {
                saturated: true,
                irradiance: None,
                ..survey.readings[row].clone()
            };
            if put(panel, (index, survey), row, reading) {
                on(panel, survey, row);
            }
        }
        if ui
            .add(tall("Skip"))
            .on_hover_text("With a reason; it can be read later")
            .clicked()
        {
            panel.state.entry.bench.skipping = Some(String::new());
        }
    });
    let Some(mut reason) = panel.state.entry.bench.skipping.take() else {
        return;
    };
    let response = ui
        .horizontal(|ui| {
            ui.label("Why");
            ui.add(TextEdit::singleline(&mut reason).hint_text("such as: a clamp is in the way"))
        })
        .inner;
    if response.lost_focus() && ui.input(|i| i.key_pressed(Key::Escape)) {
        return;
    }
    let enter = response.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter));
    if enter && !reason.trim().is_empty() {
        let reading = Reading {
            excluded: Some(reason.trim().to_owned()),
            ..survey.readings[row].clone()
        };
        if put(panel, (index, survey), row, reading) {
            on(panel, survey, row);
            ui.memory_mut(|m| m.request_focus(field_id()));
            return;
        }
    }
    if !response.has_focus() {
        response.request_focus();
    }
    panel.state.entry.bench.skipping = Some(reason);
}

/// A reading was far from what was expected. The keyboard stays where it is: what a meter types next belongs to the next stop.
pub(super) fn question(
    ui: &mut Ui,
    panel: &mut Panel<'_>,
    (index, survey): (usize, &Survey),
    far: &Far,
) {
    ui.add_space(4.0);
    ui.colored_label(ui.visuals().warn_fg_color, &far.said);
    let again = ui.input_mut(|i| i.consume_key(Default::default(), Key::F2));
    ui.horizontal(|ui| {
        let pressed = ui
            .add(tall("Read it again (F2)"))
            .on_hover_text("A row more for that place: both readings are kept");
        if (pressed.clicked() || again)
            && let Some(reading) = survey.again(far.row)
        {
            panel.send(Command::Edit(Edit::InsertReadings {
                survey: index,
                row: far.row + 1,
                readings: vec![reading],
            }));
            let bench = &mut panel.state.entry.bench;
            bench.far = None;
            bench.go(Some(far.row + 1));
        }
        if ui.add(tall("It is right")).clicked() {
            panel.state.entry.bench.far = None;
        }
    });
}
