//! Readings that a person looks for on the plan: the one chosen in the table, and those that are out of line with the
//! others, at whatever height they were read.

use eframe::egui::{Align2, FontId, Rect, Stroke, StrokeKind, Ui, Vec2, vec2};
use egui_plot::PlotTransform;

use crate::gui::paint::Canvas;
use crate::gui::theme::look;
use crate::session::{Session, Step};
use crate::sheet::drawing::Role;
use crate::station::{Reading, Survey};
use crate::units::trim_zeros;

/// Half the side of the frame around a reading, points.
const HALF: f32 = 9.0;
/// Readings out of line that are marked; with more something else is wrong.
const MOST: usize = 40;

/// Paints them over the picture. `chosen` is a row of the survey that is shown.
pub(super) fn paint(ui: &Ui, transform: &PlotTransform, session: &Session, chosen: Option<usize>) {
    let Some((index, survey)) = session.survey() else {
        return;
    };
    let is_seen = matches!(session.step(), Step::Readings | Step::Field);
    if !is_seen {
        return;
    }
    let painter = ui.painter_at(*transform.frame());
    let canvas = Canvas {
        painter: &painter,
        transform,
        theme: ui.theme(),
    };
    let fit = session.answers().fit().current();
    let flagged = fit.filter(|fit| fit.survey == index);
    let flagged = flagged.map_or(&[][..], |fit| &*fit.out_of_line);
    for out in flagged.iter().take(MOST) {
        if let Some(reading) = survey.readings.get(out.row) {
            frame(
                &canvas,
                session,
                reading,
                Role::ReadingLeftOut,
                "out of line",
            );
        }
    }
    let chosen = chosen.filter(|_| session.step() == Step::Readings);
    if let Some(reading) = chosen.and_then(|row| survey.readings.get(row)) {
        let word = if session.is_at_bench() { "now" } else { "" };
        frame(&canvas, session, reading, Role::Selected, word);
    }
    if let Some(row) = chosen.filter(|_| session.is_at_bench()) {
        for (reading, word) in next(survey, row).zip(["next", "then"]) {
            frame(&canvas, session, reading, Role::Preview, word);
        }
    }
}

/// The stops after one.
fn next(survey: &Survey, row: usize) -> impl Iterator<Item = &Reading> {
    survey.stops_after(row).map(|i| &survey.readings[i])
}

/// A square around a reading, with a word and what was read, and its height where the map is at another.
fn frame(canvas: &Canvas<'_>, session: &Session, reading: &Reading, role: Role, word: &str) {
    const NEAR: f64 = 0.5;
    let Some(at) = canvas.place(reading.place().point()) else {
        return;
    };
    let look = look(role, canvas.theme);
    let is_chosen = role == Role::Selected;
    let half = if is_chosen { HALF + 4.0 } else { HALF };
    let square = Rect::from_center_size(at, Vec2::splat(2.0 * half));
    let painter = canvas.painter;
    let halo = Stroke::new(5.0, look.halo);
    painter.rect_stroke(square, 1.0, halo, StrokeKind::Middle);
    let ink = Stroke::new(2.5, look.ink);
    painter.rect_stroke(square, 1.0, ink, StrokeKind::Middle);
    let preferences = session.preferences();
    let mut said = Vec::new();
    if !word.is_empty() {
        said.push(word.to_owned());
    }
    if let Some(e) = reading.irradiance.filter(|_| !is_chosen) {
        said.push(trim_zeros(preferences.irradiance_unit.show(e, None)));
    }
    if !session.is_at_bench() && (reading.height - session.height()).abs() > NEAR {
        let height = preferences.length_unit.show_with_unit(reading.height);
        said.push(format!("at {height}"));
    }
    if said.is_empty() {
        return;
    }
    let text = said.join(", ");
    let font = FontId::proportional(look.text_size);
    let galley = painter.layout_no_wrap(text, font, look.ink);
    // above the square, and below it what is chosen: both may be one reading
    let (align, corner) = if is_chosen {
        (Align2::CENTER_TOP, at + vec2(0.0, half + 3.0))
    } else {
        (Align2::CENTER_BOTTOM, at - vec2(0.0, half + 3.0))
    };
    let plate = align.anchor_size(corner, galley.size());
    painter.rect_filled(plate.expand(2.0), 2.0, look.halo);
    painter.galley(plate.min, galley, look.ink);
}
