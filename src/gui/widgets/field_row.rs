//! One row of a form: label, field, unit.
//!
//! What is half typed lives in egui's memory under the field's id; the owner hears only of texts that
//! can be used. A text that cannot stays in its field with a sentence of what is wrong below it, and
//! changes nothing else. Enter moves on to the next field to type in, over choices and buttons, and
//! stays after the last one: held a little longer it must neither open a list nor press a "Delete".
//! Escape puts back what was there.

use eframe::egui;
use egui::text::{CCursor, CCursorRange};
use egui::{
    Align, Align2, Context, EventFilter, Id, Key, Label, Layout, Response, Stroke, StrokeKind,
    TextEdit, TextStyle, Ui, vec2,
};

use super::list::list;
use crate::units::parse_number;

/// The width of the labels, in points.
const LABEL_WIDTH: f32 = 140.0;
/// The width of a field for a number, in points: a date such as 2026-03-10 fits.
const NUMBER_WIDTH: f32 = 100.0;
/// That of one for several numbers, at most.
const MOST_NUMBER_WIDTH: f32 = 200.0;

/// A field as it is to be shown in this frame.
#[derive(Debug, Clone, Copy)]
pub struct FieldRow<'a> {
    /// Tells the field from every other in the program; the name to [`jump_to`].
    pub key: &'a str,
    /// What stands to the left; also the field's name for a screen reader.
    pub label: &'a str,
    /// What stands to the right; may be empty.
    pub unit: &'a str,
    /// The present value as text, in the unit shown.
    pub shown: &'a str,
}

/// What was typed and not taken yet.
#[derive(Clone)]
struct Typed {
    text: String,
    /// The value over which it was typed. When that changes (undo, another unit), what was typed is out
    /// of date.
    over: String,
    wrong: Option<String>,
}

impl FieldRow<'_> {
    /// A number, in the unit shown, when one was typed that differs from what is shown.
    pub fn number(self, ui: &mut Ui) -> Option<f64> {
        self.read(ui, |text| parse_number(text).map_err(|e| e.to_string()))
    }

    /// A number that may be missing: an emptied field gives `Some(None)`.
    pub fn optional_number(self, ui: &mut Ui) -> Option<Option<f64>> {
        self.read(ui, |text| match text.trim() {
            "" => Ok(None),
            text => parse_number(text).map(Some).map_err(|e| e.to_string()),
        })
    }

    /// A text without surrounding blanks, when it differs from what is shown.
    pub fn text(self, ui: &mut Ui) -> Option<String> {
        self.read_text(ui, |text| Ok(text.to_owned()))
    }

    /// A value read by the caller's own rule from a text without surrounding blanks.
    pub fn read_text<T>(self, ui: &mut Ui, rule: impl Fn(&str) -> Result<T, String>) -> Option<T> {
        self.show(ui, false, |text| rule(text.trim()))
    }

    /// A value read from a number field by the caller's own rule; an `Err` is the sentence that says
    /// what is wrong and what to do.
    pub fn read<T>(self, ui: &mut Ui, rule: impl Fn(&str) -> Result<T, String>) -> Option<T> {
        self.show(ui, true, rule)
    }

    /// A number without its row: what a table puts beside others. Its label is only spoken. Also the
    /// sentence of what is wrong with it, which belongs below the table's row.
    pub fn read_cell<T>(
        self,
        ui: &mut Ui,
        width: f32,
        rule: impl Fn(&str) -> Result<T, String>,
    ) -> (Option<T>, Option<String>) {
        let field = |ui: &mut Ui, id, text: &mut String| {
            let response = self.field(ui, id, text, Some(width));
            ui.ctx()
                .accesskit_node_builder(response.id, |node| node.set_label(self.label));
            response
        };
        self.edited(ui, field, rule)
    }

    fn show<T>(
        self,
        ui: &mut Ui,
        is_number: bool,
        rule: impl Fn(&str) -> Result<T, String>,
    ) -> Option<T> {
        let width = is_number.then(|| self.number_width(ui));
        let (mut taken, mut wrong) = (None, None);
        labelled(ui, self.label, |ui, label| {
            let field = |ui: &mut Ui, id, text: &mut String| {
                let response = self.field(ui, id, text, width).labelled_by(label);
                if !self.unit.is_empty() {
                    ui.label(self.unit);
                }
                response
            };
            (taken, wrong) = self.edited(ui, field, rule);
        });
        if let Some(wrong) = wrong {
            below(ui, &wrong);
        }
        taken
    }

    /// The width of a field for a number, or for several of them with blanks between: none of them is cut.
    fn number_width(&self, ui: &Ui) -> f32 {
        let figures = TextStyle::Monospace.resolve(ui.style());
        let colour = ui.visuals().text_color();
        let text = (ui.painter()).layout_no_wrap(self.shown.to_owned(), figures, colour);
        let margins = 2.0 * ui.spacing().button_padding.x + 8.0;
        (text.size().x + margins).clamp(NUMBER_WIDTH, MOST_NUMBER_WIDTH)
    }

    /// Shows the field and reads what was typed: what was taken, and what is wrong with what stands there.
    fn edited<T>(
        &self,
        ui: &mut Ui,
        field: impl FnOnce(&mut Ui, Id, &mut String) -> Response,
        rule: impl Fn(&str) -> Result<T, String>,
    ) -> (Option<T>, Option<String>) {
        let id = field_id(self.key);
        let mut typed = ui
            .data(|data| data.get_temp::<Typed>(id))
            .filter(|typed| typed.over == self.shown);
        let mut taken = None;
        let mut text = typed.as_ref().map_or(self.shown, |t| &t.text).to_owned();
        let had_keyboard = ui.memory(|memory| memory.has_focus(id));
        let response = field(ui, id, &mut text);
        if response.changed() {
            typed = Some(Typed {
                text,
                over: self.shown.to_owned(),
                wrong: None,
            });
        }
        if typed.is_some() && take_escape(ui, &response) {
            typed = None;
        }
        if response.lost_focus() {
            // taken out of the input, or it would also press the button that it moves on to; a field that is said to have
            // lost the keyboard a frame late leaves the Enter of the next one alone
            let enter = had_keyboard
                && ui.input_mut(|input| input.consume_key(egui::Modifiers::NONE, Key::Enter));
            if let Some(finished) = typed.take().filter(|typed| typed.text != self.shown) {
                match rule(&finished.text) {
                    Ok(value) => taken = Some(value),
                    Err(wrong) => {
                        typed = Some(Typed {
                            wrong: Some(wrong),
                            ..finished
                        });
                    }
                }
            }
            let is_wrong = typed.is_some();
            if enter {
                ui.memory_mut(|memory| memory.request_focus(id));
            }
            if enter && !is_wrong {
                hand_on(ui.ctx());
            }
        }
        show_outcome(ui, &response, typed.as_ref());
        let wrong = typed.as_ref().and_then(|typed| typed.wrong.clone());
        ui.data_mut(|data| {
            data.remove::<Typed>(id);
            if let Some(typed) = typed {
                data.insert_temp(id, typed);
            }
        });
        (taken, wrong)
    }

    /// The text field itself. Reaching it by the keyboard selects its text; so does a first click into a
    /// number, which is typed anew far more often than it is mended. `number`: it is one, this wide.
    fn field(&self, ui: &mut Ui, id: Id, text: &mut String, number: Option<f32>) -> Response {
        let is_number = number.is_some();
        let field = TextEdit::singleline(text).id(id).event_filter(EventFilter {
            horizontal_arrows: true,
            escape: true,
            ..EventFilter::default()
        });
        let field = if let Some(width) = number {
            field
                .font(TextStyle::Monospace)
                .align(Align2::RIGHT_CENTER)
                .desired_width(width)
        } else {
            field.desired_width(f32::INFINITY)
        };
        let output = field.show(ui);
        let response = output.response.response;
        let pass = ui.ctx().cumulative_pass_nr();
        let (jump, handed_on) = ui.data_mut(|data| {
            let jump = data.get_temp::<Id>(jump_id()) == Some(id);
            if jump {
                data.remove::<Id>(jump_id());
            }
            (jump, data.remove_temp::<u64>(hand_on_id()) == Some(pass))
        });
        let is_typed_in = response.gained_focus() || (response.has_focus() && response.changed());
        if jump {
            response.scroll_to_me(Some(Align::Center));
        } else if handed_on || is_typed_in {
            response.scroll_to_me(None);
        }
        let jump = jump || handed_on;
        if jump {
            response.request_focus();
        }
        let (pressed, down) =
            ui.input(|input| (input.pointer.any_pressed(), input.pointer.any_down()));
        let clicked_in = id.with("clicked into");
        if response.gained_focus() && pressed && is_number {
            ui.data_mut(|data| data.insert_temp(clicked_in, true));
        }
        // Only when the button is up again: until then the pointer may be selecting a part.
        let click_ended = !down && ui.data_mut(|data| data.remove_temp(clicked_in)) == Some(true);
        let nothing_selected = output.cursor_range.is_none_or(|range| range.is_empty());
        if jump
            || (response.gained_focus() && !pressed)
            || (click_ended && nothing_selected && response.has_focus())
        {
            let mut state = output.state;
            let end = CCursor::new(text.chars().count());
            state
                .cursor
                .set_char_range(Some(CCursorRange::two(CCursor::default(), end)));
            state.store(ui.ctx(), id);
        }
        response
    }
}

/// One of a few things to choose from; `Some` when another one than `current` was picked.
pub fn choice<T: PartialEq + Copy>(
    ui: &mut Ui,
    key: &str,
    label: &str,
    current: T,
    options: &[(T, &str)],
) -> Option<T> {
    let mut picked = current;
    labelled(ui, label, |ui, label| {
        list(ui, field_id(key), &mut picked, options).labelled_by(label);
    });
    (picked != current).then_some(picked)
}

/// Brings the keyboard to the field of this key as soon as its form is shown, and the field into view.
pub fn jump_to(ctx: &Context, key: &str) {
    ctx.data_mut(|data| data.insert_temp(jump_id(), field_id(key)));
    ctx.request_repaint();
}

/// The next field shown in this pass takes the keyboard over.
fn hand_on(ctx: &Context) {
    let pass = ctx.cumulative_pass_nr();
    ctx.data_mut(|data| data.insert_temp(hand_on_id(), pass));
}

fn hand_on_id() -> Id {
    Id::unique("form field after Enter")
}

fn field_id(key: &str) -> Id {
    Id::unique(("form field", key))
}

fn jump_id() -> Id {
    Id::unique("form field to jump to")
}

/// A row with its label; the contents get the label's id.
fn labelled(ui: &mut Ui, label: &str, contents: impl FnOnce(&mut Ui, Id)) {
    ui.horizontal(|ui| {
        let size = vec2(LABEL_WIDTH, ui.spacing().interact_size.y);
        let label = ui
            .allocate_ui_with_layout(size, Layout::left_to_right(Align::Center), |ui| {
                ui.set_min_width(LABEL_WIDTH);
                ui.add(Label::new(label).truncate()).id
            })
            .inner;
        contents(ui, label);
    });
}

/// Takes an Escape meant for this field out of the input, so that nothing else hears it.
fn take_escape(ui: &Ui, response: &Response) -> bool {
    (response.has_focus() || response.lost_focus())
        && ui.input_mut(|input| input.consume_key(egui::Modifiers::NONE, Key::Escape))
}

/// Shows at the field that its text cannot be used, and tells a screen reader why.
fn show_outcome(ui: &Ui, response: &Response, typed: Option<&Typed>) {
    let Some(wrong) = typed.and_then(|typed| typed.wrong.as_deref()) else {
        return;
    };
    ui.painter().rect_stroke(
        response.rect,
        ui.visuals().widgets.inactive.corner_radius,
        Stroke::new(2.0, ui.visuals().error_fg_color),
        StrokeKind::Inside,
    );
    ui.ctx().accesskit_node_builder(response.id, |node| {
        node.set_description(wrong);
        node.set_invalid(egui::accesskit::Invalid::True);
    });
}

/// The sentence of what is wrong, under the field.
fn below(ui: &mut Ui, wrong: &str) {
    ui.horizontal(|ui| {
        ui.add_space(LABEL_WIDTH + ui.spacing().item_spacing.x);
        ui.add(Label::new(wrong).wrap());
    });
}
