//! The command search: every command by name, with its shortcut.

use eframe::egui::{self, Context, Id, Key, Modal, TextEdit};

use crate::session::{ACTIONS, Action, ActionText};

/// The search, open or not.
#[derive(Default)]
pub struct Search {
    typed: Option<String>,
}

impl Search {
    /// Opens it.
    pub fn open(&mut self) {
        self.typed = Some(String::new());
    }

    /// Whether it is open.
    pub fn is_open(&self) -> bool {
        self.typed.is_some()
    }

    /// Shows it while it is open; the command that was picked.
    pub fn show(&mut self, ctx: &Context) -> Option<Action> {
        let typed = self.typed.as_mut()?;
        let mut picked = None;
        let modal = Modal::new(Id::unique("command search")).show(ctx, |ui| {
            ui.set_width(420.0);
            let label = ui.label("Find a command");
            let edit = ui
                .add(TextEdit::singleline(typed).desired_width(f32::INFINITY))
                .labelled_by(label.id);
            let entered = edit.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
            if !edit.has_focus() {
                edit.request_focus();
            }
            let mut found: Vec<&ActionText> =
                ACTIONS.iter().filter(|row| fits(row, typed)).collect();
            found.sort_by_key(|row| rank(row, typed));
            if entered {
                picked = found.first().map(|row| row.action);
            }
            ui.add_space(6.0);
            let room = ctx.content_rect().height() - 110.0;
            egui::ScrollArea::vertical()
                .max_height(room.clamp(60.0, 320.0))
                .show(ui, |ui| {
                    for row in &found {
                        ui.horizontal(|ui| {
                            if ui
                                .selectable_label(false, row.text)
                                .on_hover_text(row.tip)
                                .clicked()
                            {
                                picked = Some(row.action);
                            }
                            ui.with_layout(
                                egui::Layout::right_to_left(egui::Align::Center),
                                |ui| {
                                    ui.weak(row.keys);
                                },
                            );
                        });
                    }
                    if found.is_empty() {
                        ui.weak("No command has these words");
                    }
                });
        });
        if picked.is_some() || modal.should_close() {
            self.typed = None;
        }
        picked
    }
}

/// Whether all words typed occur in the command's text or tip.
fn fits(row: &ActionText, typed: &str) -> bool {
    let all = format!("{} {}", row.text, row.tip).to_lowercase();
    typed
        .to_lowercase()
        .split_whitespace()
        .all(|word| all.contains(word))
}

/// What is found by its own name comes before what is found by what is said of it: first a name that has just these words, then
/// one that has each of them.
fn rank(row: &ActionText, typed: &str) -> u8 {
    let (name, typed) = (row.text.to_lowercase(), typed.trim().to_lowercase());
    if name.contains(&typed) {
        0
    } else if typed.split_whitespace().all(|word| name.contains(word)) {
        1
    } else {
        2
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_command_is_found_by_its_name_first() {
        let first = |typed: &str| {
            let found = ACTIONS.iter().filter(|row| fits(row, typed));
            found
                .min_by_key(|row| rank(row, typed))
                .map(|row| row.action)
        };
        assert_eq!(first("import a log by"), Some(Action::ImportLogTyped));
        assert_eq!(first("typed open"), Some(Action::OpenTyped));
        assert_eq!(first("import"), Some(Action::Import));
        assert_eq!(first("upkeep"), Some(Action::Step(7)));
        assert_eq!(first("no such thing"), None);
    }
}
