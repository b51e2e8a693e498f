//! A table that people type and paste into, as into a spreadsheet.
//!
//! The grid holds no data. It asks its owner for the text of the cells in view, and answers with
//! [`GridAction`]s: what the person wants changed. The owner changes its document, or refuses a typed
//! text ([`GridState::refuse`]), which then stays in its cell with a sentence of what is wrong.
//!
//! One id has the keyboard all the time, whether a cell is being edited or not: the text field of the
//! edited cell takes the grid's own id. So no key is lost on the way in or out of a cell. A cell that is scrolled out of
//! sight, of the table or of what is around it, takes what is typed all the same, and is brought back into view. What
//! follows a key that leaves a cell comes with the next frame ([`turns`](crate::gui::turns)), when the owner has
//! answered.
//! Order is always row, column; both count from 0 here and from 1 on the screen.

mod cell;
mod keys;
mod paint;
mod scroll;
mod state;
mod table;

use std::ops::Range;

use eframe::egui;
use egui::text_edit::TextEditState;
use egui::{EventFilter, Id, Rect, Role, Sense, Ui, WidgetInfo};

pub use cell::{Cell, Column, Look};
pub use state::{At, GridState};

/// While the grid has the keyboard, none of the keys by which egui moves from widget to widget does.
const EVERY_KEY: EventFilter = EventFilter {
    tab: true,
    horizontal_arrows: true,
    vertical_arrows: true,
    escape: true,
};

/// What the person wants changed. Rows at or past the grid's `rows` mean new rows at the end, and
/// occur only where `rows_can_change`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum GridAction {
    /// One cell was typed.
    Type {
        /// Its row.
        row: usize,
        /// Its column.
        column: usize,
        /// The whole new text, as typed.
        text: String,
    },
    /// A block was pasted; rows may differ in length, and may reach past the last row and column.
    Paste {
        /// The row of the block's first line.
        row: usize,
        /// The column of the block's first cells.
        column: usize,
        /// The texts, line by line, as pasted.
        cells: Vec<Vec<String>>,
    },
    /// The texts of these cells are to go.
    Clear {
        /// Existing rows.
        rows: Range<usize>,
        /// Columns.
        columns: Range<usize>,
    },
    /// These existing rows are to go.
    DeleteRows(Range<usize>),
    /// An empty row is wanted before this existing one.
    InsertRow(usize),
}

/// A grid as it is to be shown in this frame.
pub struct Grid<'a> {
    /// Its name for a screen reader; told apart from other grids in the same panel by it too.
    pub name: &'a str,
    /// The columns from left to right.
    pub columns: &'a [Column],
    /// How many rows there are, without the new row at the end.
    pub rows: usize,
    /// The cell at a row below `rows` and a column; asked for cells in view and for what is copied.
    pub cell: &'a dyn Fn(usize, usize) -> Cell<'a>,
    /// An empty row stands at the end to type and paste into; rows can be inserted and deleted.
    pub rows_can_change: bool,
}

impl Grid<'_> {
    /// Shows the grid in all of the space there is, and says what the person did with it.
    pub fn show(&self, ui: &mut Ui, state: &mut GridState) -> Vec<GridAction> {
        let id = ui.make_persistent_id(("grid", self.name));
        let mut actions = Vec::new();
        state.settle(self.shown_rows(), self.columns.len());
        state.follow &= !scroll::is_scrolled(ui, state);
        let was_focused = ui.memory(|m| m.has_focus(id));
        let ending = if was_focused {
            self.keyboard(ui, state, &mut actions)
        } else {
            Vec::new()
        };
        let shown = ui.scope(|ui| self.table(ui, id, state));
        let (pointed, rect) = (shown.inner, shown.response.rect);
        self.end(ui, state, ending, &mut actions);
        self.point(ui, state, &pointed, &mut actions);
        if state.edit.is_none() {
            // a text field that is gone must not keep undo and redo for itself
            ui.data_mut(|data| data.remove::<TextEditState>(id));
        }
        if !pointed.has_editor {
            let response = ui.interact(rect, id, Sense::focusable_noninteractive());
            response.widget_info(|| WidgetInfo::labeled(Role::Grid, ui.is_enabled(), self.name));
        }
        self.keep_focus(ui, id, state, rect, was_focused);
        self.follow(ui, state, &pointed);
        if state
            .edit
            .as_ref()
            .is_some_and(|edit| edit.at != state.cursor || (edit.had_focus && !state.focused))
        {
            self.commit(state, &mut actions);
        }
        if let (Some(edited), Some(message)) = (
            pointed.edited_in_view(),
            state.edit.as_ref().and_then(|e| e.message.as_deref()),
        ) {
            paint::message(ui, id, edited, message);
        }
        if !actions.is_empty() {
            ui.ctx().request_repaint();
        }
        actions
    }

    /// Rows on the screen: those there are and the new one.
    fn shown_rows(&self) -> usize {
        self.rows + usize::from(self.rows_can_change)
    }

    /// The cell, or an empty one in the new row.
    fn cell_at(&self, at: At) -> Cell<'_> {
        if at.row < self.rows {
            (self.cell)(at.row, at.column)
        } else {
            Cell {
                hover: Some("Type or paste here to add a row".into()),
                ..Cell::default()
            }
        }
    }

    fn cell_name(&self, at: At) -> String {
        format!("Row {}, {}", at.row + 1, self.columns[at.column].title)
    }

    /// Takes the typed text out of its cell; one that says something new becomes an action.
    fn commit(&self, state: &mut GridState, actions: &mut Vec<GridAction>) {
        if let Some(edit) = state.edit.take()
            && edit.text != self.cell_at(edit.at).text
        {
            actions.push(GridAction::Type {
                row: edit.at.row,
                column: edit.at.column,
                text: edit.text,
            });
        }
    }

    fn keep_focus(&self, ui: &Ui, id: Id, state: &mut GridState, rect: Rect, was_focused: bool) {
        // A press anywhere in the grid, on its scroll bar too, leaves the keyboard with it.
        let pressed_inside = was_focused
            && ui.input(|i| i.pointer.any_pressed() || i.pointer.any_click())
            && ui.rect_contains_pointer(rect);
        let wanted = std::mem::take(&mut state.take_focus) || pressed_inside;
        ui.memory_mut(|memory| {
            if wanted && !memory.has_focus(id) {
                memory.request_focus(id);
            }
            memory.set_focus_lock_filter(id, EVERY_KEY);
            state.focused = memory.has_focus(id);
        });
        if state.focused && !was_focused {
            // The filter holds from the second frame on.
            ui.ctx().request_repaint();
        }
        if let Some(edit) = &mut state.edit {
            edit.had_focus |= state.focused;
        }
    }
}
