//! The keyboard: moving, typing, copying and pasting.

use eframe::egui;
use egui::{Event, FocusDirection, Key, Modifiers, Ui};

use super::state::{At, GridState};
use super::{Grid, GridAction};
use crate::files::{block_text, parse_block};

impl Grid<'_> {
    /// Takes what is typed out of this frame's input and acts on it, in order, up to where the text field of the edited
    /// cell has to see some of it first. Gives back what ends that edit, for when it has. Keys that the grid has no use
    /// for stay for the text field and for the program's shortcuts.
    pub(super) fn keyboard(
        &self,
        ui: &Ui,
        state: &mut GridState,
        actions: &mut Vec<GridAction>,
    ) -> Vec<Event> {
        if self.shown_rows() == 0 || self.columns.is_empty() {
            return Vec::new();
        }
        let (typed, mut others): (Vec<_>, Vec<_>) = ui
            .input_mut(|input| std::mem::take(&mut input.events))
            .into_iter()
            .partition(is_keyboard);
        let mut ending = Vec::new();
        for event in typed {
            state.follow |= !matches!(event, Event::Key { pressed: false, .. });
            if state.edit.is_none() {
                self.key(ui, state, event, actions, &mut others);
                continue;
            }
            let event = without_last_line_end(event);
            if ending.is_empty() && !ends_edit(&event) {
                others.push(event);
            } else {
                ending.push(event);
            }
        }
        ui.input_mut(|input| input.events = others);
        ending
    }

    /// Acts on what ends an edit, after its text field has taken what was typed before.
    pub(super) fn end(
        &self,
        ui: &Ui,
        state: &mut GridState,
        ending: Vec<Event>,
        actions: &mut Vec<GridAction>,
    ) {
        let mut others = Vec::new();
        for event in ending {
            self.key(ui, state, event, actions, &mut others);
        }
        ui.input_mut(|input| input.events.extend(others));
    }

    fn key(
        &self,
        ui: &Ui,
        state: &mut GridState,
        event: Event,
        actions: &mut Vec<GridAction>,
        for_others: &mut Vec<Event>,
    ) {
        match event {
            Event::Key {
                key,
                pressed: true,
                modifiers,
                ..
            } if !modifiers.alt && self.press(ui, state, key, modifiers, actions) => {
                // Or egui would also take an arrow or Tab as a wish to leave the grid.
                if key != Key::Tab {
                    ui.memory_mut(|m| m.move_focus(FocusDirection::None));
                }
            }
            Event::Text(text)
                if self.columns[state.cursor.column].editable
                    && !text.chars().all(char::is_control) =>
            {
                state.open(state.cursor, text);
            }
            Event::Copy => self.copy(ui, state),
            Event::Cut => {
                self.copy(ui, state);
                self.clear(state, actions);
            }
            Event::Paste(text) => self.paste(state, &text, actions),
            other => for_others.push(other),
        }
    }

    /// Acts on a key; false when it has no meaning here.
    fn press(
        &self,
        ui: &Ui,
        state: &mut GridState,
        key: Key,
        modifiers: Modifiers,
        actions: &mut Vec<GridAction>,
    ) -> bool {
        let at = state.cursor;
        let taken = actions.len();
        if key != Key::Escape {
            self.commit(state, actions);
        }
        // A text typed into the new row makes it a row; the next new one is below.
        let grows = at.row == self.rows && actions.len() > taken;
        let last = At::new(
            self.shown_rows() - 1 + usize::from(grows),
            self.columns.len() - 1,
        );
        let page = state.visible.len().saturating_sub(2).max(1);
        let to = match key {
            Key::Escape => {
                if state.edit.take().is_none() {
                    if state.anchor == state.cursor {
                        return false;
                    }
                    state.anchor = state.cursor;
                }
                return true;
            }
            Key::Tab => {
                self.tab(ui, state, modifiers, last);
                return true;
            }
            Key::Enter => {
                let row = if modifiers.shift {
                    at.row.saturating_sub(1)
                } else {
                    (at.row + 1).min(last.row)
                };
                let column = state.tab_from.take().unwrap_or(at.column);
                state.select(At::new(row, column), false);
                return true;
            }
            Key::F2 => {
                if self.columns[at.column].editable {
                    state.open(at, self.cell_at(at).text.into_owned());
                }
                return true;
            }
            Key::Delete | Key::Backspace if modifiers.command => {
                self.delete_rows(state, actions);
                return true;
            }
            Key::Delete | Key::Backspace => {
                self.clear(state, actions);
                return true;
            }
            Key::A if modifiers.command => {
                state.anchor = At::default();
                state.cursor = At::new(self.rows.saturating_sub(1), last.column);
                return true;
            }
            Key::ArrowUp if modifiers.command => At::new(0, at.column),
            Key::ArrowDown if modifiers.command => At::new(last.row, at.column),
            Key::ArrowLeft if modifiers.command => At::new(at.row, 0),
            Key::ArrowRight if modifiers.command => At::new(at.row, last.column),
            Key::ArrowUp => At::new(at.row.saturating_sub(1), at.column),
            Key::ArrowDown => At::new(at.row + 1, at.column),
            Key::ArrowLeft => At::new(at.row, at.column.saturating_sub(1)),
            Key::ArrowRight => At::new(at.row, at.column + 1),
            Key::PageUp => At::new(at.row.saturating_sub(page), at.column),
            Key::PageDown => At::new(at.row + page, at.column),
            Key::Home if modifiers.command => At::default(),
            Key::End if modifiers.command => last,
            Key::Home => At::new(at.row, 0),
            Key::End => At::new(at.row, last.column),
            _ => return false,
        };
        let to = At::new(to.row.min(last.row), to.column.min(last.column));
        state.select(to, modifiers.shift);
        state.tab_from = None;
        true
    }

    /// Moves on by one cell, over the ends of rows. Past the last cell or before the first one, and
    /// with the command key from anywhere, the keyboard leaves the grid.
    fn tab(&self, ui: &Ui, state: &mut GridState, modifiers: Modifiers, last: At) {
        let at = state.cursor;
        let back = modifiers.shift;
        let end = if back { At::default() } else { last };
        let direction = if at != end && !modifiers.command {
            let from = state.tab_from.get_or_insert(at.column);
            let to = match (back, at.column) {
                (false, column) if column < last.column => At::new(at.row, column + 1),
                (false, _) => {
                    *from = 0;
                    At::new(at.row + 1, 0)
                }
                (true, 0) => At::new(at.row - 1, last.column),
                (true, column) => At::new(at.row, column - 1),
            };
            *from = (*from).min(to.column);
            state.select(to, false);
            FocusDirection::None
        } else if back {
            FocusDirection::Previous
        } else {
            FocusDirection::Next
        };
        ui.memory_mut(|m| m.move_focus(direction));
    }

    /// Puts the selected cells on the clipboard, tab-separated.
    pub(super) fn copy(&self, ui: &Ui, state: &GridState) {
        let (rows, columns) = state.selection();
        let block: Vec<Vec<String>> = (rows.start..rows.end.min(self.rows))
            .map(|row| {
                columns
                    .clone()
                    .map(|column| self.cell_at(At::new(row, column)).text.into_owned())
                    .collect()
            })
            .collect();
        if !block.is_empty() {
            ui.ctx().copy_text(block_text(&block));
        }
    }

    /// Pastes at the selection's first cell; a single text goes into every selected cell.
    fn paste(&self, state: &mut GridState, text: &str, actions: &mut Vec<GridAction>) {
        let mut cells = parse_block(text);
        let width = cells.iter().map(Vec::len).max().unwrap_or(0);
        if width == 0 {
            return;
        }
        state.edit = None;
        let (rows, columns) = state.selection();
        if let [line] = cells.as_slice()
            && let [text] = line.as_slice()
        {
            cells = vec![vec![text.clone(); columns.len()]; rows.len()];
        }
        let first = At::new(rows.start, columns.start);
        state.anchor = first;
        state.cursor = At::new(
            first.row + cells.len() - 1,
            (first.column + width.max(columns.len()) - 1).min(self.columns.len() - 1),
        );
        actions.push(GridAction::Paste {
            row: first.row,
            column: first.column,
            cells,
        });
    }

    pub(super) fn clear(&self, state: &GridState, actions: &mut Vec<GridAction>) {
        let (rows, columns) = state.selection();
        let rows = rows.start..rows.end.min(self.rows);
        if !rows.is_empty() {
            actions.push(GridAction::Clear { rows, columns });
        }
    }

    pub(super) fn delete_rows(&self, state: &mut GridState, actions: &mut Vec<GridAction>) {
        let rows = state.selection().0;
        let rows = rows.start..rows.end.min(self.rows);
        if self.rows_can_change && !rows.is_empty() {
            state.select(At::new(rows.start, state.cursor.column), false);
            actions.push(GridAction::DeleteRows(rows));
        }
    }
}

fn is_keyboard(event: &Event) -> bool {
    matches!(
        event,
        Event::Key { .. } | Event::Text(_) | Event::Copy | Event::Cut | Event::Paste(_)
    )
}

/// Whether an event takes the person out of the cell that is being edited.
fn ends_edit(event: &Event) -> bool {
    match event {
        Event::Key {
            key,
            pressed: true,
            modifiers,
            ..
        } if !modifiers.alt => match key {
            Key::Enter | Key::Tab | Key::Escape => true,
            Key::ArrowUp | Key::ArrowDown | Key::PageUp | Key::PageDown => !modifiers.shift,
            _ => false,
        },
        Event::Paste(text) => text.contains(['\t', '\n']),
        _ => false,
    }
}

/// A cell copied in a spreadsheet ends its line; that is no part of its text.
fn without_last_line_end(event: Event) -> Event {
    match event {
        Event::Paste(text) => Event::Paste(text.trim_end_matches(['\r', '\n']).to_owned()),
        other => other,
    }
}
