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
            let found: Vec<&ActionText> = ACTIONS.iter().filter(|row| fits(row, typed)).collect();
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
