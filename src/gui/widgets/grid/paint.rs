//! How cells look. Text keeps the theme's full contrast in every state: what is special about a cell
//! is said by a shape, not by a colour alone.

use eframe::egui;
use egui::text::{LayoutJob, TextFormat, TextWrapping};
use egui::{
    Align2, Area, Color32, CornerRadius, Frame, Id, Label, Order, Rect, Shape, Stroke, StrokeKind,
    TextStyle, Ui, pos2, vec2,
};

use super::cell::{Cell, Column, Look};
use crate::units::{IrradianceUnit, LengthUnit};

/// Between a cell's edge and its text, in points.
pub(super) const PADDING: f32 = 4.0;
/// The side of the mark in a flagged cell's corner, in points.
const CORNER: f32 = 7.0;
/// The width of the sentence under a refused text, in points.
const MESSAGE_WIDTH: f32 = 280.0;

/// What the grid says about a cell, beside what its owner says.
#[derive(Clone, Copy)]
pub(super) struct Marks {
    pub(super) selected: bool,
    pub(super) cursor: bool,
    pub(super) focused: bool,
    pub(super) editable: bool,
}

/// Numbers stand in figures of equal width.
pub(super) fn text_style(align_right: bool) -> TextStyle {
    if align_right {
        TextStyle::Monospace
    } else {
        TextStyle::Body
    }
}

/// Where a text stands in its cell.
pub(super) fn alignment(align_right: bool) -> Align2 {
    if align_right {
        Align2::RIGHT_CENTER
    } else {
        Align2::LEFT_CENTER
    }
}

/// The selected cells' ground and text colours: both the theme's.
fn selection(ui: &Ui) -> (Color32, Color32) {
    let selection = &ui.visuals().selection;
    (selection.bg_fill, selection.stroke.color)
}

/// Paints a cell; true when its text did not fit.
pub(super) fn cell(ui: &Ui, cell: &Cell<'_>, align_right: bool, marks: Marks) -> bool {
    let rect = ui.max_rect();
    let visuals = ui.visuals();
    let (selected_ground, selected_text) = selection(ui);
    let mut colour = visuals.text_color();
    // The cursor's own cell is told apart from the rest of the selection by its plain ground.
    if marks.selected && marks.focused && !marks.cursor {
        colour = selected_text;
        fill(ui, rect, selected_ground);
    } else if !marks.editable || marks.selected {
        fill(ui, rect, visuals.faint_bg_color);
    }
    lines(ui, rect);
    let elided = !cell.text.is_empty()
        && text(
            ui,
            rect,
            &cell.text,
            text_style(align_right),
            colour,
            align_right,
            cell.look == Look::Muted,
        );
    match cell.look {
        Look::Flagged => {
            let corner = rect.left_top();
            ui.painter().add(Shape::convex_polygon(
                vec![
                    corner,
                    corner + vec2(CORNER, 0.0),
                    corner + vec2(0.0, CORNER),
                ],
                visuals.warn_fg_color,
                Stroke::NONE,
            ));
        }
        Look::Missing => {
            let y = rect.bottom() - 4.0;
            let ends = [
                pos2(rect.left() + PADDING, y),
                pos2(rect.right() - PADDING, y),
            ];
            ui.painter().extend(Shape::dashed_line(
                &ends,
                Stroke::new(1.0, colour),
                3.0,
                3.0,
            ));
        }
        Look::Normal | Look::Muted => {}
    }
    if marks.cursor {
        let stroke = if marks.focused {
            Stroke::new(2.0, selected_text)
        } else {
            Stroke::new(1.0, visuals.text_color())
        };
        outline(ui, rect, stroke);
    }
    elided
}

/// Paints a row's number.
pub(super) fn number(ui: &Ui, number: &str, selected: bool) {
    let rect = ui.max_rect();
    let visuals = ui.visuals();
    fill(ui, rect, visuals.faint_bg_color);
    let colour = if selected {
        visuals.strong_text_color()
    } else {
        visuals.text_color()
    };
    lines(ui, rect);
    text(ui, rect, number, TextStyle::Monospace, colour, true, false);
}

/// A number that a column has, if its head alone is narrower: inches and W/cm² have four digits behind the point.
fn a_number(unit: &str) -> &'static str {
    let is_large = [
        LengthUnit::Inch.symbol(),
        IrradianceUnit::WattPerCm2.symbol(),
    ]
    .contains(&unit);
    if is_large { "0.1234" } else { "123.4" }
}

/// The width in which a column's title and its unit are not cut short, nor a number in it.
pub(super) fn header_width(ui: &Ui, column: &Column) -> f32 {
    let font = TextStyle::Body.resolve(ui.style());
    let colour = ui.visuals().text_color();
    let width = |text: &str| {
        let galley = ui
            .painter()
            .layout_no_wrap(text.to_owned(), font.clone(), colour);
        galley.size().x
    };
    let unit = column.unit.as_deref().map_or(0.0, width);
    let number = match column.unit.as_deref().filter(|_| column.align_right) {
        Some(unit) => {
            let figures = TextStyle::Monospace.resolve(ui.style());
            let text = a_number(unit).to_owned();
            (ui.painter().layout_no_wrap(text, figures, colour))
                .size()
                .x
        }
        None => 0.0,
    };
    (width(&column.title).max(unit).max(number) + 2.0 * PADDING).ceil() + 1.0
}

/// Paints a column's title with its unit below.
pub(super) fn header(ui: &mut Ui, column: Option<&Column>) {
    let rect = ui.max_rect();
    let visuals = ui.visuals();
    fill(ui, rect, visuals.faint_bg_color);
    lines(ui, rect);
    let Some(column) = column else { return };
    let (strong, plain) = (visuals.strong_text_color(), visuals.text_color());
    let (mut title, mut below) = (rect, rect);
    if let Some(unit) = &column.unit {
        title.max.y = rect.center().y;
        below.min.y = rect.center().y;
        text(
            ui,
            below,
            unit,
            TextStyle::Body,
            plain,
            column.align_right,
            false,
        );
    }
    text(
        ui,
        title,
        &column.title,
        TextStyle::Body,
        strong,
        column.align_right,
        false,
    );
}

/// The ground of the edited cell: that of a text field.
pub(super) fn editor_ground(ui: &Ui, rect: Rect) {
    fill(ui, rect, ui.visuals().text_edit_bg_color());
}

/// The outline of the edited cell, told apart when its text was refused.
pub(super) fn editor_outline(ui: &Ui, rect: Rect, refused: bool) {
    let colour = if refused {
        ui.visuals().error_fg_color
    } else {
        selection(ui).1
    };
    outline(ui, rect, Stroke::new(2.0, colour));
}

/// Says below a cell what is wrong with the text in it.
pub(super) fn message(ui: &Ui, id: Id, cell: Rect, message: &str) {
    let stroke = Stroke::new(1.0, ui.visuals().error_fg_color);
    Area::new(id.with("refused"))
        .order(Order::Foreground)
        .fixed_pos(cell.left_bottom() + vec2(0.0, 2.0))
        .interactable(false)
        .show(ui.ctx(), |ui| {
            Frame::popup(ui.style()).stroke(stroke).show(ui, |ui| {
                ui.set_max_width(MESSAGE_WIDTH);
                ui.add(Label::new(message).wrap());
            });
        });
}

fn fill(ui: &Ui, rect: Rect, colour: Color32) {
    ui.painter().rect_filled(rect, CornerRadius::ZERO, colour);
}

fn outline(ui: &Ui, rect: Rect, stroke: Stroke) {
    ui.painter()
        .rect_stroke(rect, CornerRadius::ZERO, stroke, StrokeKind::Inside);
}

/// The thin lines to the right of a cell and below it.
fn lines(ui: &Ui, rect: Rect) {
    let stroke = ui.visuals().widgets.noninteractive.bg_stroke;
    let painter = ui.painter();
    painter.hline(rect.x_range(), rect.bottom() - 0.5, stroke);
    painter.vline(rect.right() - 0.5, rect.y_range(), stroke);
}

/// Paints one line of text, cut short where it does not fit; true when it was cut.
fn text(
    ui: &Ui,
    rect: Rect,
    text: &str,
    style: TextStyle,
    colour: Color32,
    align_right: bool,
    struck: bool,
) -> bool {
    let mut format = TextFormat::simple(style.resolve(ui.style()), colour);
    if struck {
        format.strikethrough = Stroke::new(1.0, colour);
    }
    let mut job = LayoutJob::single_section(text.to_owned(), format);
    job.break_on_newline = false;
    job.wrap = TextWrapping::truncate_at_width((rect.width() - 2.0 * PADDING).max(0.0));
    let galley = ui.painter().layout_job(job);
    let place = alignment(align_right)
        .align_size_within_rect(galley.size(), rect.shrink2(vec2(PADDING, 0.0)));
    let elided = galley.elided;
    ui.painter().galley(place.min, galley, colour);
    elided
}

#[cfg(test)]
mod tests {
    use eframe::egui::{Color32, Rgba, Visuals};

    /// Contrast of two colours: WCAG 2.2, "contrast ratio" and "relative luminance".
    fn contrast(a: Color32, b: Color32) -> f32 {
        let luminance = |colour: Color32| {
            let linear = Rgba::from(colour);
            0.2126 * linear.r() + 0.7152 * linear.g() + 0.0722 * linear.b()
        };
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn text_and_outlines_stand_out_in_light_and_dark() {
        assert!((contrast(Color32::WHITE, Color32::BLACK) - 21.0).abs() < 0.01);
        for visuals in [Visuals::light(), Visuals::dark()] {
            let selection = &visuals.selection;
            for (what, a, b, least) in [
                ("text", visuals.text_color(), visuals.panel_fill, 4.5),
                (
                    "selected text",
                    selection.stroke.color,
                    selection.bg_fill,
                    4.5,
                ),
                (
                    "typed text",
                    visuals.text_color(),
                    visuals.text_edit_bg_color(),
                    4.5,
                ),
                ("message", visuals.text_color(), visuals.window_fill, 4.5),
                ("cursor", selection.stroke.color, visuals.panel_fill, 3.0),
                (
                    "refused",
                    visuals.error_fg_color,
                    visuals.text_edit_bg_color(),
                    3.0,
                ),
            ] {
                let ratio = contrast(a, b);
                assert!(
                    ratio >= least,
                    "{what}: {ratio} in dark {}",
                    visuals.dark_mode
                );
            }
        }
    }
}
