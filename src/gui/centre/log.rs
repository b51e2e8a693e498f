//! The irradiance log in the middle of the window: readings over time with their window, the lamp's level, and what happened.
//! It is moved by dragging, made larger by the wheel; a click on a reading chooses its row.

use std::sync::Arc;

use eframe::egui::{
    Align2, Color32, Mesh, Painter, Pos2, Rect, Role as Speaks, Sense, Shape, Stroke, Ui, Vec2,
    WidgetInfo,
};
use egui_plot::{GridMark, Plot, PlotPoint, PlotTransform};

use crate::gui::paint::{backed, mark};
use crate::gui::theme::{Look, look};
use crate::gui::widgets::axes;
use crate::session::{Same, Session};
use crate::sheet::drawing::{MarkForm, Role};
use crate::sheet::upkeep::picture::{LevelPoint, LogPicture, LogPoint, PointKind};
use crate::station::{Shared, Upkeep};
use crate::units::Units;
use crate::upkeep::{Daily, Review, moment_of};

/// More readings than this in sight are drawn as the least and the greatest of each column of points on the screen.
const MANY: usize = 3000;
/// A click this near to a reading chooses it, points.
const NEAR: f32 = 12.0;

/// All that the picture is made of.
#[derive(PartialEq)]
struct Key {
    upkeep: Shared<Upkeep>,
    daily: Same<Daily>,
    review: Option<Same<Review>>,
    units: Units,
}

/// The picture, made once for each log and trend.
#[derive(Default)]
pub(super) struct LogView {
    made: Option<(Key, Arc<LogPicture>)>,
}

impl LogView {
    fn picture(&mut self, session: &Session) -> Option<Arc<LogPicture>> {
        let daily = session.answers().daily().any()?.clone();
        let review = session.answers().review().any().cloned();
        let key = Key {
            upkeep: session.station().upkeep(),
            daily: Same(daily.clone()),
            review: review.clone().map(Same),
            units: session.preferences().units(),
        };
        if self.made.as_ref().is_none_or(|(of, _)| *of != key) {
            let picture = LogPicture::of(&key.upkeep, &daily, review.as_deref(), key.units);
            self.made = Some((key, Arc::new(picture)));
        }
        self.made.as_ref().map(|(_, picture)| picture.clone())
    }
}

/// Shows it; the row of the log that was clicked. `chosen` is the row that is chosen already.
pub(super) fn show(
    ui: &mut Ui,
    session: &Session,
    view: &mut LogView,
    fit: bool,
    chosen: Option<usize>,
) -> (Rect, Option<usize>) {
    let room = ui.available_rect_before_wrap();
    let picture = view.picture(session);
    let Some((picture, days)) = picture.and_then(|p| Some((p.clone(), p.days?))) else {
        ui.centered_and_justified(|ui| {
            ui.weak("Here the readings at the monitor position will stand over time, with the limits and what happened to lamp and radiometers");
        });
        return (room, None);
    };
    let unit = session.preferences().irradiance_unit;
    let range = picture.range.unwrap_or((0.0, 1.0));
    let pad = (0.06 * (range.1 - range.0))
        .max(0.01 * range.1.abs())
        .max(1e-9);
    let last = picture.reaches.map_or(days.1, |(_, earliest, latest)| {
        // the outlook is seen as far as half again what was read
        let furthest = days.1 + 0.5 * (days.1 - days.0) + 5.0;
        latest
            .unwrap_or(furthest)
            .clamp(earliest.min(furthest), furthest)
    });
    let margin = (0.03 * (last - days.0)).max(1.0);
    let mut plot = Plot::new("irradiance log")
        .show_x(false)
        .show_y(false)
        .allow_drag([true, false])
        .allow_zoom([true, false])
        .allow_scroll(false)
        .allow_boxed_zoom(false)
        .allow_axis_zoom_drag(false)
        .allow_double_click_reset(true)
        .set_margin_fraction(Vec2::ZERO)
        .sense(Sense::click_and_drag())
        .include_x(days.0 - margin)
        .include_x(last + margin)
        .include_y(range.0 - pad)
        .include_y(range.1 + pad)
        .grid_color(ui.visuals().text_color().gamma_multiply(0.3))
        .y_axis_label(unit.symbol())
        .x_grid_spacer(ticks)
        .y_grid_spacer(axes::ticks(unit.in_mw_cm2(), 34.0))
        .x_axis_formatter(tick_text)
        .y_axis_formatter(axes::tick_text(unit.in_mw_cm2()));
    if fit {
        plot = plot.reset();
    }
    let shown = plot.show(ui, |_| ());
    let said = picture.words();
    (shown.response).widget_info(|| WidgetInfo::labeled(Speaks::Image, true, &said));
    let transform = shown.transform;
    let painter = ui.painter_at(*transform.frame());
    let drawn = Drawn {
        painter: &painter,
        transform: &transform,
        ui,
    };
    drawn.window(&picture);
    drawn.levels(&picture);
    drawn.outlook(&picture);
    drawn.events(&picture);
    drawn.points(&picture);
    if let Some(point) = chosen.and_then(|row| picture.points.get(row)) {
        let selected = look(Role::Selected, ui.theme());
        let at = drawn.at(point.day, point.irradiance);
        painter.circle_stroke(at, 8.0, Stroke::new(selected.width + 1.0, selected.ink));
    }
    let near = |at: Pos2| -> Option<usize> {
        let distance = |i: usize| {
            let point = &picture.points[i];
            drawn.at(point.day, point.irradiance).distance(at)
        };
        let nearest =
            (0..picture.points.len()).min_by(|&a, &b| distance(a).total_cmp(&distance(b)));
        nearest.filter(|&i| distance(i) <= NEAR)
    };
    if let Some(i) = shown.response.hover_pos().and_then(near) {
        let point = &picture.points[i];
        let when = moment_of(point.day).map_or_else(String::new, |at| at.to_string());
        let kind = match point.kind {
            PointKind::Inside => "",
            PointKind::Outside => ", outside the limits",
            PointKind::Note => ", a note",
        };
        let text = format!(
            "{}: {}{kind}",
            when.replace('T', " "),
            unit.show_with_unit(point.irradiance, None)
        );
        (shown.response.clone()).on_hover_ui_at_pointer(|ui| {
            ui.label(text);
        });
    }
    let clicked = shown.response.clicked();
    let at = shown.response.interact_pointer_pos();
    (room, at.filter(|_| clicked).and_then(near))
}

/// Ticks at whole days, months or years.
fn ticks(input: egui_plot::GridInput) -> Vec<GridMark> {
    let (from, to) = input.bounds;
    let step = input.base_step_size / 8.0 * 84.0;
    let (Some(first), Some(last)) = (moment_of(from), moment_of(to)) else {
        return Vec::new();
    };
    let mut marks = Vec::new();
    let mut add = |date: jiff::civil::Date, step_size: f64| {
        let value = crate::upkeep::day_of(date.at(0, 0, 0, 0));
        if (from..=to).contains(&value) && marks.len() < 200 {
            marks.push(GridMark { value, step_size });
        }
    };
    if step < 16.0 {
        let every = [1.0, 2.0, 7.0, 14.0].into_iter().find(|e| *e >= step);
        let every = every.unwrap_or(16.0);
        let mut day = (from / every).floor() * every;
        while day <= to {
            if let Some(at) = moment_of(day) {
                add(at.date(), every);
            }
            day += every;
        }
        return marks;
    }
    let months = [1, 2, 3, 6, 12, 24, 60, 120].into_iter();
    let every = months.clone().find(|m| f64::from(*m) * 30.44 >= step);
    let every = every.unwrap_or(120);
    let mut month = i32::from(first.year()) * 12 / every * every;
    let end = i32::from(last.year()) * 12 + 12;
    while month <= end {
        let year = i16::try_from(month.div_euclid(12)).unwrap_or(9999);
        let of_year = i8::try_from(month.rem_euclid(12) + 1).unwrap_or(1);
        if let Ok(date) = jiff::civil::Date::new(year, of_year, 1) {
            add(date, f64::from(every) * 30.44);
        }
        month += every;
    }
    marks
}

fn tick_text(mark: GridMark, _: &std::ops::RangeInclusive<f64>) -> String {
    let Some(at) = moment_of(mark.value) else {
        return String::new();
    };
    if mark.step_size >= 360.0 {
        at.year().to_string()
    } else if mark.step_size >= 28.0 {
        format!("{}-{:02}", at.year(), at.month())
    } else {
        at.date().to_string()
    }
}

struct Drawn<'a> {
    painter: &'a Painter,
    transform: &'a PlotTransform,
    ui: &'a Ui,
}

impl Drawn<'_> {
    fn at(&self, day: f64, irradiance: f64) -> Pos2 {
        let point = PlotPoint::new(day, irradiance);
        self.transform.position_from_point(&point)
    }

    fn look(&self, role: Role) -> Look {
        look(role, self.ui.theme())
    }

    /// Least and most as lines, what is set dashed between them, each named at its left end.
    fn window(&self, picture: &LogPicture) {
        let Some(window) = picture.window else { return };
        let frame = *self.transform.frame();
        let ink = self.ui.visuals().text_color();
        let lines = [
            (Some(window.least), "least", true, Align2::LEFT_TOP, 2.0),
            (window.most, "most", true, Align2::LEFT_BOTTOM, -2.0),
            (window.set, "set to", false, Align2::LEFT_BOTTOM, -2.0),
        ];
        for (value, name, solid, align, by) in lines {
            let Some(value) = value else { continue };
            let y = self.at(0.0, value).y;
            if !frame.y_range().contains(y) {
                continue;
            }
            let ends = [Pos2::new(frame.left(), y), Pos2::new(frame.right(), y)];
            if solid {
                self.painter.line_segment(ends, Stroke::new(1.5, ink));
            } else {
                let stroke = Stroke::new(1.0, ink);
                self.painter
                    .extend(Shape::dashed_line(&ends, stroke, 6.0, 5.0));
            }
            self.backed(Pos2::new(frame.left() + 6.0, y + by), align, name, ink);
        }
    }

    fn levels(&self, picture: &LogPicture) {
        let line = self.look(Role::Fixture);
        for lamp in &picture.levels {
            self.band(lamp, line.ink.gamma_multiply(0.18));
            let points: Vec<Pos2> = lamp.iter().map(|p| self.at(p.day, p.level)).collect();
            if points.len() > 1 {
                let stroke = Stroke::new(line.width, line.ink);
                self.painter.add(Shape::line(points, stroke));
            }
        }
    }

    /// The interval along a line.
    fn band(&self, line: &[LevelPoint], colour: Color32) {
        let frame = *self.transform.frame();
        let mut mesh = Mesh::default();
        for pair in line.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            let corners = [
                self.at(a.day, a.between.0),
                self.at(a.day, a.between.1),
                self.at(b.day, b.between.1),
                self.at(b.day, b.between.0),
            ];
            let seen = corners[3].x >= frame.left() && corners[0].x <= frame.right();
            if seen && corners.iter().all(|c| c.is_finite()) {
                let first = mesh.vertices.len() as u32;
                corners.iter().for_each(|c| mesh.colored_vertex(*c, colour));
                mesh.add_triangle(first, first + 1, first + 2);
                mesh.add_triangle(first, first + 2, first + 3);
            }
        }
        self.painter.add(Shape::mesh(mesh));
    }

    /// The level ahead, and a bar over the interval of the day on which it reaches the least.
    fn outlook(&self, picture: &LogPicture) {
        let line = self.look(Role::Selected);
        self.band(&picture.ahead, line.ink.gamma_multiply(0.12));
        let ahead = picture.ahead.iter().map(|p| self.at(p.day, p.level));
        let ahead: Vec<Pos2> = ahead.filter(|at| at.is_finite()).collect();
        let stroke = Stroke::new(line.width, line.ink);
        self.painter
            .extend(Shape::dashed_line(&ahead, stroke, 7.0, 5.0));
        let (Some((day, earliest, latest)), Some(window)) = (picture.reaches, picture.window)
        else {
            return;
        };
        let left = self.at(earliest, window.least);
        let right = match latest {
            Some(latest) => self.at(latest, window.least),
            None => Pos2::new(self.transform.frame().right(), left.y),
        };
        self.painter
            .line_segment([left, right], Stroke::new(4.0, line.ink));
        let to = self.at(day, window.least);
        self.painter.extend(mark(to, MarkForm::TriangleDown, &line));
    }

    /// A line each, its letter at the top; where they crowd only the line.
    fn events(&self, picture: &LogPicture) {
        let frame = *self.transform.frame();
        let ink = self.ui.visuals().weak_text_color();
        let mut free = f32::NEG_INFINITY;
        let steps = picture.steps.iter().map(|day| (*day, "!"));
        let events = picture.events.iter().map(|e| (e.day, e.letter));
        let mut all: Vec<(f64, &str)> = events.chain(steps).collect();
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (day, letter) in all {
            let x = self.at(day, 0.0).x;
            if !frame.x_range().contains(x) {
                continue;
            }
            let ends = [Pos2::new(x, frame.top()), Pos2::new(x, frame.bottom())];
            let stroke = Stroke::new(1.0, ink);
            self.painter
                .extend(Shape::dashed_line(&ends, stroke, 2.0, 3.0));
            if x >= free {
                let text = self.ui.visuals().text_color();
                self.backed(
                    Pos2::new(x, frame.top() + 3.0),
                    Align2::CENTER_TOP,
                    letter,
                    text,
                );
                free = x + 14.0;
            }
        }
    }

    fn points(&self, picture: &LogPicture) {
        let frame = self.transform.frame().expand(6.0);
        let reading = self.look(Role::Reading);
        let left_out = self.look(Role::ReadingLeftOut);
        let in_sight = |p: &&LogPoint| {
            let x = self.at(p.day, 0.0).x;
            frame.x_range().contains(x)
        };
        let seen: Vec<_> = picture.points.iter().filter(in_sight).collect();
        if seen.len() > MANY {
            return self.crowd(&seen, reading.ink);
        }
        for point in seen {
            let at = self.at(point.day, point.irradiance);
            match point.kind {
                PointKind::Inside => {
                    self.painter.circle_filled(at, 2.5, reading.ink);
                }
                PointKind::Outside => {
                    self.painter.circle_filled(at, 2.5, reading.ink);
                    let ink = self.ui.visuals().warn_fg_color;
                    self.painter.circle_stroke(at, 5.5, Stroke::new(1.5, ink));
                }
                PointKind::Note => self.painter.extend(mark(at, MarkForm::Cross, &left_out)),
            }
        }
    }

    /// The least and the greatest reading of each column of points on the screen, with what lies between; what lies outside is
    /// always seen.
    fn crowd(&self, seen: &[&LogPoint], ink: Color32) {
        let mut columns: Vec<(i32, f32, f32)> = Vec::new();
        for point in seen.iter().filter(|p| p.kind != PointKind::Note) {
            let at = self.at(point.day, point.irradiance);
            let x = at.x.round() as i32;
            match columns.last_mut() {
                Some((of, top, bottom)) if *of == x => {
                    *top = top.min(at.y);
                    *bottom = bottom.max(at.y);
                }
                _ => columns.push((x, at.y, at.y)),
            }
        }
        let mut mesh = Mesh::default();
        for (x, top, bottom) in columns {
            let (left, right) = (x as f32 - 0.75, x as f32 + 0.75);
            let rect =
                Rect::from_min_max(Pos2::new(left, top - 1.0), Pos2::new(right, bottom + 1.0));
            mesh.add_colored_rect(rect, ink);
        }
        self.painter.add(Shape::mesh(mesh));
        /// More rings than this say nothing.
        const RINGS: usize = 400;
        let warn = self.ui.visuals().warn_fg_color;
        let outside = seen.iter().filter(|p| p.kind == PointKind::Outside);
        for point in outside.take(RINGS) {
            let at = self.at(point.day, point.irradiance);
            self.painter.circle_stroke(at, 4.0, Stroke::new(1.0, warn));
        }
    }

    /// A text on a plate of the panel's own colour.
    fn backed(&self, at: Pos2, align: Align2, text: &str, ink: Color32) {
        let plate = self.ui.visuals().panel_fill;
        backed(self.painter, at, align, text, ink, plate);
    }
}
