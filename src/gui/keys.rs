//! Shortcuts, read from the table of commands.

use eframe::egui::{Context, InputState, Key, KeyboardShortcut, Modifiers};

use crate::session::{ACTIONS, Action};

/// The shortcut of a command; `None` without. `Ctrl` is the platform's command key.
pub fn shortcut(keys: &str) -> Option<KeyboardShortcut> {
    let mut modifiers = Modifiers::NONE;
    let mut key = None;
    for part in keys.split('+') {
        match part {
            "Ctrl" => modifiers |= Modifiers::COMMAND,
            "Shift" => modifiers |= Modifiers::SHIFT,
            "Alt" => modifiers |= Modifiers::ALT,
            name => key = Key::from_name(name),
        }
    }
    Some(KeyboardShortcut::new(modifiers, key?))
}

/// The commands whose keys were pressed, the longer combinations first so that `Ctrl+Shift+S` is not
/// taken for `Ctrl+S`. While a text is edited, undo and redo belong to the text.
pub fn pressed(ctx: &Context, editing_cell: bool) -> Vec<Action> {
    let editing_text = editing_cell || ctx.text_edit_focused();
    let mut rows: Vec<_> = ACTIONS.iter().collect();
    rows.sort_by_key(|row| std::cmp::Reverse(row.keys.len()));
    rows.into_iter()
        .filter(|row| !(editing_text && matches!(row.action, Action::Undo | Action::Redo)))
        .filter_map(|row| Some((row.action, shortcut(row.keys)?)))
        .filter(|(_, keys)| ctx.input_mut(|input| consume(input, *keys)))
        .map(|(action, _)| action)
        .collect()
}

/// On many keyboards plus is the shifted equals key, and people press that without Shift.
fn consume(input: &mut InputState, keys: KeyboardShortcut) -> bool {
    let unshifted = KeyboardShortcut::new(keys.modifiers, Key::Equals);
    input.consume_shortcut(&keys)
        || (keys.logical_key == Key::Plus && input.consume_shortcut(&unshifted))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_key_in_the_table_is_a_key() {
        for row in ACTIONS {
            assert_eq!(
                shortcut(row.keys).is_some(),
                !row.keys.is_empty(),
                "{} {}",
                row.text,
                row.keys
            );
        }
    }
}
