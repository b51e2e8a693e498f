//! The cells on the screen, and what the pointer does to them.

use eframe::egui;
use egui::style::ScrollAnimation;
use egui::text::{CCursor, CCursorRange};
use egui::{
    Button, Frame, Id, Margin, Rangef, Rect, Response, Role, Sense, TextEdit, TextStyle, Ui,
    UiBuilder, ViewportCommand, WidgetInfo, vec2,
};

use super::paint::{self, Marks};
use super::state::{At, Edit, GridState};
use super::{Cell, Grid, GridAction};

/// Width of the row numbers, in points: four digits.
const NUMBERS_WIDTH: f32 = 38.0;

/// What the pointer asked of the grid in one frame.
#[derive(Default)]
pub(super) struct Pointed {
    /// Pressed or tapped; true when it was a row's number.
    press: Option<(At, bool)>,
    /// To be opened for editing.
    open: Option<At>,
    /// Chosen in the menu of a cell.
    chosen: Option<Choice>,
    /// Where the cells in view lie.
    cells: Vec<(At, Rect)>,
    /// The height in which cells are seen.
    body: Option<Rangef>,
    /// The edited cell, where its text field was shown among the others.
    pub(super) edited: Option<Rect>,
    /// There was a text field, in sight or out of it.
    pub(super) has_editor: bool,
    /// Where the row of the cursor is, in sight or out of it.
    row: Option<Rect>,
}

/// The entries of a cell's menu.
#[derive(Clone, Copy, PartialEq)]
enum Choice {
    Cut,
    Copy,
    Paste,
    Clear,
    InsertRow,
    DeleteRows,
}

/// Frames in which a row that is out of view is asked for.
const FRAMES_TO_COME: u8 = 5;

impl Grid<'_> {
    pub(super) fn table(&self, ui: &mut Ui, id: Id, state: &mut GridState) -> Pointed {
        let mut pointed = Pointed::default();
        ui.spacing_mut().item_spacing = vec2(0.0, 0.0);
        let text_height = ui.text_style_height(&TextStyle::Body);
        let row_height = (text_height + 6.0).max(ui.spacing().interact_size.y);
        let header_lines = 1 + usize::from(self.columns.iter().any(|c| c.unit.is_some()));
        let header_height = text_height * header_lines as f32 + 6.0;
        // On a touch screen a drag scrolls; with a mouse it selects.
        let touch = ui.input(|i| i.has_touch_screen());
        let sense = if touch {
            Sense::CLICK
        } else {
            Sense::CLICK | Sense::DRAG
        };
        let widths = self.widths(ui);
        let mut table = egui_extras::TableBuilder::new(ui)
            .id_salt(id)
            .sense(sense)
            .auto_shrink(false)
            .animate_scrolling(false)
            .min_scrolled_height(0.0)
            .column(egui_extras::Column::exact(NUMBERS_WIDTH));
        for width in widths {
            table = table.column(egui_extras::Column::exact(width));
        }
        let top = state.cursor.row as f32 * row_height;
        let of_all = Rangef::new(top, top + row_height);
        let away = state.follow && state.seen.is_none_or(|seen| !lies_in(of_all, seen));
        let asked = away.then_some((state.cursor.row, state.seen));
        if state.asked.0 != asked {
            state.asked = (asked, 0);
        }
        // what scrolls around the table may need a few frames; where it comes no nearer, no more are asked for
        if away && state.asked.1 < FRAMES_TO_COME {
            state.asked.1 += 1;
            table = table.scroll_to_row(state.cursor.row, None);
        }
        let output = table
            .header(header_height, |mut header| {
                header.col(|ui| paint::header(ui, None));
                for column in self.columns {
                    let (_, response) = header.col(|ui| paint::header(ui, Some(column)));
                    response.widget_info(|| {
                        WidgetInfo::labeled(Role::ColumnHeader, true, &column.title)
                    });
                }
            })
            .body(|body| {
                body.rows(row_height, self.shown_rows(), |mut row| {
                    let number = row.index();
                    if pointed.cells.is_empty() {
                        state.visible = number..number;
                    }
                    state.visible.end = number + 1;
                    let (_, response) = row.col(|ui| self.number(ui, number, state));
                    pointed.note(&response, At::new(number, 0), true, touch);
                    for column in 0..self.columns.len() {
                        let at = At::new(number, column);
                        self.cell(&mut row, at, id, state, touch, &mut pointed);
                    }
                });
            });
        let body = output.inner_rect;
        pointed.body = Some(body.y_range());
        let from = output.state.clamped_offset().y;
        let seen = Rangef::new(from, from + body.height());
        state.seen = Some(seen);
        // what was laid out anew may have put it out of view in the last frame that anybody asked for
        let is_given_up = state.asked == (Some((state.cursor.row, state.seen)), FRAMES_TO_COME);
        if state.follow && !lies_in(of_all, seen) && !is_given_up {
            ui.ctx().request_repaint();
        }
        let top =
            body.top() - output.state.clamped_offset().y + state.cursor.row as f32 * row_height;
        let row = Rect::from_x_y_ranges(body.x_range(), top..=top + row_height);
        // never more than a row beside what can be seen, or the table around would be scrolled where nothing is
        pointed.row = Some(row.translate(vec2(0.0, into(row.y_range(), body.y_range()))));
        pointed.has_editor = pointed.edited.is_some();
        if let Some(edit) = state.edit.as_mut().filter(|_| !pointed.has_editor) {
            // out of sight it takes what is typed all the same
            let mut unseen = ui.new_child(UiBuilder::new().id_salt("out of sight").max_rect(row));
            unseen.set_clip_rect(Rect::NOTHING);
            self.editor(&mut unseen, id, edit);
            pointed.has_editor = true;
        }
        pointed
    }

    /// Keeps the row of the cursor in view of what scrolls around the table, too.
    pub(super) fn follow(&self, ui: &Ui, state: &mut GridState, pointed: &Pointed) {
        state.follow &= state.focused;
        let view = ui.clip_rect();
        let away =
            (pointed.row).filter(|row| state.follow && !lies_in(row.y_range(), view.y_range()));
        let places = away.map(|row| [row, view]);
        // where it can't come nearer, nothing is gained by asking for it from frame to frame
        if let Some([row, _]) = places.filter(|_| state.brought != places) {
            ui.scroll_to_rect_animation(row, None, ScrollAnimation::none());
        }
        state.brought = places;
    }

    /// The columns' widths: narrowed together where there is too little room; what is left over goes
    /// to the last column of text.
    fn widths(&self, ui: &Ui) -> Vec<f32> {
        let scroll_bar = ui.spacing().scroll.allocated_width();
        let room = (ui.available_width() - scroll_bar - NUMBERS_WIDTH).max(0.0);
        let heads = self.columns.iter().map(|c| paint::header_width(ui, c));
        let wanted = self.columns.iter().map(|column| column.width);
        let numbers = self.columns.iter().map(|column| column.align_right);
        let mut widths = narrowed(
            &wanted.collect::<Vec<_>>(),
            &heads.collect::<Vec<_>>(),
            &numbers.collect::<Vec<_>>(),
            room,
        );
        if let Some(last) = self.columns.iter().rposition(|column| !column.align_right) {
            widths[last] += (room - widths.iter().sum::<f32>()).max(0.0);
        }
        widths
    }

    fn number(&self, ui: &mut Ui, row: usize, state: &GridState) {
        let text = if row < self.rows {
            (row + 1).to_string()
        } else {
            "+".to_owned()
        };
        paint::number(ui, &text, state.selection().0.contains(&row));
    }

    fn cell(
        &self,
        row: &mut egui_extras::TableRow<'_, '_>,
        at: At,
        id: Id,
        state: &mut GridState,
        touch: bool,
        pointed: &mut Pointed,
    ) {
        let column = &self.columns[at.column];
        if let Some(edit) = state.edit.as_mut().filter(|edit| edit.at == at) {
            row.col(|ui| {
                let rect = ui.max_rect();
                pointed.cells.push((at, rect));
                pointed.edited = Some(rect);
                self.editor(ui, id, edit);
            });
            return;
        }
        let cell = self.cell_at(at);
        let marks = Marks {
            selected: state.is_selected(at),
            cursor: state.cursor == at,
            focused: state.focused,
            editable: column.editable,
        };
        let mut elided = false;
        let (_, mut response) = row.col(|ui| {
            pointed.cells.push((at, ui.max_rect()));
            elided = paint::cell(ui, &cell, column.align_right, marks);
        });
        self.describe(&response, at, &cell, marks);
        if let Some(hover) = &cell.hover {
            response = response.on_hover_text(hover.as_ref());
        } else if elided {
            response = response.on_hover_text(cell.text.as_ref());
        }
        pointed.note(&response, at, false, touch);
        if response.secondary_clicked() || response.long_touched() {
            state.menu_at = Some(at);
            if !state.is_selected(at) {
                pointed.press = Some((at, false));
            }
        }
        if state.menu_at == Some(at) {
            response.context_menu(|ui| pointed.chosen = self.menu(ui, state));
        }
    }

    /// Tells a screen reader what the cell is.
    fn describe(&self, response: &Response, at: At, cell: &Cell<'_>, marks: Marks) {
        response.widget_info(|| WidgetInfo {
            current_text_value: Some(cell.text.to_string()),
            ..WidgetInfo::labeled(Role::GridCell, true, self.cell_name(at))
        });
        response.ctx.accesskit_node_builder(response.id, |node| {
            node.set_row_index(at.row);
            node.set_column_index(at.column);
            node.set_selected(marks.selected);
            if let Some(hover) = &cell.hover {
                node.set_description(hover.as_ref());
            }
        });
    }

    /// The text field of the edited cell.
    fn editor(&self, ui: &mut Ui, id: Id, edit: &mut Edit) {
        let column = &self.columns[edit.at.column];
        if std::mem::take(&mut edit.fresh) {
            // A fresh state, or undo would bring back the text of the cell edited before.
            let mut fresh = egui::text_edit::TextEditState::default();
            let end = CCursor::new(edit.text.chars().count());
            fresh.cursor.set_char_range(Some(CCursorRange::one(end)));
            fresh.store(ui.ctx(), id);
        }
        let rect = ui.max_rect();
        let field = TextEdit::singleline(&mut edit.text)
            .id(id)
            .frame(Frame::new().inner_margin(Margin::symmetric(paint::PADDING as i8, 0)))
            .font(paint::text_style(column.align_right))
            .align(paint::alignment(column.align_right))
            .min_size(rect.size())
            .desired_width(rect.width())
            .event_filter(super::EVERY_KEY);
        paint::editor_ground(ui, rect);
        ui.put(rect, field).accessible_name(self.cell_name(edit.at));
        paint::editor_outline(ui, rect, edit.message.is_some());
        if let Some(message) = &edit.message {
            ui.ctx().accesskit_node_builder(id, |node| {
                node.set_description(message.as_str());
                node.set_invalid(egui::accesskit::Invalid::True);
            });
        }
    }

    fn menu(&self, ui: &mut Ui, state: &GridState) -> Option<Choice> {
        let (rows, _) = state.selection();
        let some_rows = rows.start < self.rows;
        let delete = match rows.end.min(self.rows).saturating_sub(rows.start) {
            0 | 1 => "Delete row".to_owned(),
            many => format!("Delete {many} rows"),
        };
        let mut chosen = None;
        for (choice, name, possible) in [
            (Choice::Cut, "Cut", some_rows),
            (Choice::Copy, "Copy", some_rows),
            (Choice::Paste, "Paste", true),
            (Choice::Clear, "Clear", some_rows),
            (Choice::InsertRow, "Insert row above", some_rows),
            (Choice::DeleteRows, &delete, some_rows),
        ] {
            let about_rows = matches!(choice, Choice::InsertRow | Choice::DeleteRows);
            if about_rows && !self.rows_can_change {
                continue;
            }
            if ui.add_enabled(possible, Button::new(name)).clicked() {
                chosen = Some(choice);
            }
        }
        chosen
    }

    /// Acts on what the pointer did.
    pub(super) fn point(
        &self,
        ui: &Ui,
        state: &mut GridState,
        pointed: &Pointed,
        actions: &mut Vec<GridAction>,
    ) {
        let (shift, down, at) = ui.input(|i| {
            let pointer = &i.pointer;
            (
                i.modifiers.shift,
                pointer.primary_down(),
                pointer.interact_pos(),
            )
        });
        if let Some((at, whole_row)) = pointed.press {
            self.pick(state, at, whole_row, shift);
            state.take_focus = true;
            state.tab_from = None;
            state.drag = Some(whole_row);
        }
        match (state.drag, at) {
            (Some(whole_row), Some(at)) if down => {
                let nearest = pointed.cells.iter().min_by(|a, b| {
                    let distance = |rect: &Rect| rect.distance_sq_to_pos(at);
                    distance(&a.1).total_cmp(&distance(&b.1))
                });
                if let Some((cell, _)) = nearest
                    && state.edit.is_none()
                {
                    self.pick(state, *cell, whole_row, true);
                    state.follow = pointed.body.is_some_and(|body| !body.contains(at.y));
                    if state.follow {
                        ui.ctx().request_repaint();
                    }
                }
            }
            _ => state.drag = None,
        }
        if let Some(at) = pointed.open
            && self.columns[at.column].editable
        {
            self.commit(state, actions);
            state.open(at, self.cell_at(at).text.into_owned());
        }
        if let Some(choice) = pointed.chosen {
            state.take_focus = true;
            self.choose(ui, state, choice, actions);
        }
    }

    /// Selects the cell or its whole row, from the anchor on when extending.
    fn pick(&self, state: &mut GridState, at: At, whole_row: bool, extend: bool) {
        if whole_row {
            state.select(At::new(at.row, 0), extend);
            state.anchor.column = self.columns.len().saturating_sub(1);
        } else {
            state.select(at, extend);
        }
    }

    fn choose(
        &self,
        ui: &Ui,
        state: &mut GridState,
        choice: Choice,
        actions: &mut Vec<GridAction>,
    ) {
        match choice {
            Choice::Cut => {
                self.copy(ui, state);
                self.clear(state, actions);
            }
            Choice::Copy => self.copy(ui, state),
            Choice::Paste => ui.ctx().send_viewport_cmd(ViewportCommand::RequestPaste),
            Choice::Clear => self.clear(state, actions),
            Choice::InsertRow => actions.push(GridAction::InsertRow(state.selection().0.start)),
            Choice::DeleteRows => self.delete_rows(state, actions),
        }
    }
}

/// Whether a span lies in another one, but for what rounding does.
fn lies_in(span: Rangef, other: Rangef) -> bool {
    span.min > other.min - 1.0 && span.max < other.max + 1.0
}

/// How far a span has to move to lie in another one.
fn into(span: Rangef, other: Rangef) -> f32 {
    if span.max > other.max {
        (other.max - span.max).min(0.0)
    } else {
        (other.min - span.min).max(0.0)
    }
}

/// Of a column of text, at least this share of its head is left where numbers need the room.
const LEAST_TEXT: f32 = 0.4;

/// Widths that fit the room: as wanted and never below the heads where there is room for that; otherwise what lies
/// between heads and wishes is cut by one share, then the heads of text, and those of numbers last: half a number is a
/// wrong one.
fn narrowed(wanted: &[f32], heads: &[f32], numbers: &[bool], room: f32) -> Vec<f32> {
    let wanted: Vec<f32> = wanted.iter().zip(heads).map(|(w, h)| w.max(*h)).collect();
    let (all, least): (f32, f32) = (wanted.iter().sum(), heads.iter().sum());
    let share = |part: f32, whole: f32| {
        if whole > 0.0 {
            (part / whole).clamp(0.0, 1.0)
        } else {
            1.0
        }
    };
    let between = share(room - least, all - least);
    let of_numbers: f32 = (heads.iter().zip(numbers))
        .filter_map(|(h, is_number)| is_number.then_some(h))
        .sum();
    let of_text = least - of_numbers;
    let room_for_text = (room - of_numbers).clamp(LEAST_TEXT * of_text, of_text);
    let below = [
        share(room_for_text, of_text),
        share(room - room_for_text, of_numbers),
    ];
    let widths = wanted.iter().zip(heads).zip(numbers);
    widths
        .map(|((w, h), is_number)| {
            let share = below[usize::from(*is_number)];
            ((h + (w - h) * between) * share).max(0.0).floor()
        })
        .collect()
}

impl Pointed {
    /// The edited cell, if it can be seen: rows just outside the view are shown too.
    pub(super) fn edited_in_view(&self) -> Option<Rect> {
        let body = self.body?;
        self.edited.filter(|rect| body.contains(rect.center().y))
    }

    /// Notes what the pointer did to one cell, or to a row's number.
    fn note(&mut self, response: &Response, at: At, number: bool, touch: bool) {
        let (pressed, released) = response
            .ctx
            .input(|i| (i.pointer.primary_pressed(), i.pointer.any_released()));
        // A mouse selects when it goes down, or when it went down and up between two frames. A finger
        // may be about to scroll, so it selects when it is lifted; a click without any pointer comes
        // from a screen reader.
        let hit = (touch || pressed || !released) && response.clicked();
        if hit || (!touch && pressed && response.is_pointer_button_down_on()) {
            self.press = Some((at, number));
        }
        if response.double_clicked() && !number {
            self.open = Some(at);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::narrowed;

    #[test]
    fn columns_are_narrowed_to_their_heads_before_a_head_is_cut() {
        let (wanted, heads) = ([60.0, 100.0, 20.0], [50.0, 40.0, 30.0]);
        let numbers = [true, false, true];
        let narrowed = |room: f32| narrowed(&wanted, &heads, &numbers, room);
        assert_eq!(narrowed(400.0), [60.0, 100.0, 30.0]);
        let tight = narrowed(130.0);
        assert!(tight.iter().zip(&heads).all(|(w, h)| w >= h), "{tight:?}");
        assert!(tight.iter().sum::<f32>() <= 130.0);
        // text gives way first, numbers only then
        assert_eq!(narrowed(104.0), [50.0, 24.0, 30.0]);
        assert_eq!(narrowed(56.0), [25.0, 16.0, 15.0]);
        assert_eq!(super::narrowed(&[], &[], &[], 60.0), [0.0; 0]);
    }
}
