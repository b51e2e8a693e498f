//! Scrolling by hand.

use eframe::egui::{Ui, Vec2};

use super::state::GridState;

/// Whether somebody scrolls, by wheel or by a bar, and not by drawing a selection out of the table.
pub(super) fn is_scrolled(ui: &Ui, state: &GridState) -> bool {
    ui.input(|input| {
        input.smooth_scroll_delta != Vec2::ZERO
            || (input.pointer.any_down() && state.drag.is_none())
    })
}
