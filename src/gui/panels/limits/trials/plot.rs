//! The ladder as a picture: parts, fitted curve with its band, plateau, the interval of the level of full
//! cure, and the level that was found. Told apart by form, and named below.

use eframe::egui::{
    self, Align2, Color32, Mesh, Painter, Pos2, Sense, Shape, Stroke, Ui, WidgetInfo,
};
use egui_plot::{Plot, PlotPoint, PlotTransform};

use crate::gui::paint::{backed, mark};
use crate::gui::panels::Panel;
use crate::gui::theme::{Look, look};
use crate::gui::widgets::axes;
use crate::sheet::drawing::{MarkForm, Role};
use crate::station::Trials;
use crate::station::trials::Varied;
use crate::trials::picture::Picture;
use crate::trials::{Analysis, Found, words};

const HEIGHT: f32 = 220.0;
pub(super) fn show(ui: &mut Ui, panel: &Panel<'_>, trials: &Trials, analysis: &Analysis) {
    let picture = Picture::of(analysis);
    let (x_name, size) = match analysis.ladder.varied {
        Varied::Irradiance => {
            let unit = panel.session.preferences().irradiance_unit;
            (format!("irradiance, {}", unit.symbol()), unit.in_mw_cm2())
        }
        Varied::Time => ("exposure, s".to_owned(), 1.0),
    };
    let y_name = match &analysis.found {
        Found::Measured(_) => trials.property.unit.clone(),
        Found::Judged(_) => "passed, %".to_owned(),
    };
    let unit = panel.session.preferences().irradiance_unit;
    let held = words::held(analysis.ladder.varied, analysis.ladder.held, unit);
    ui.add_space(6.0);
    ui.label(format!("{} at {held}", trials.property.name));
    let theme = ui.theme();
    let shown = axes::still(Plot::new("cure trials"))
        .height(HEIGHT)
        .auto_bounds(true)
        .include_x(0.0)
        .include_x(picture.top)
        .include_y(0.0)
        .include_y(picture.highest)
        .set_margin_fraction(eframe::egui::Vec2::ZERO)
        .sense(Sense::hover())
        .grid_color(ui.visuals().text_color().gamma_multiply(0.3))
        .x_axis_label(x_name)
        .y_axis_label(y_name)
        .x_grid_spacer(axes::ticks(size, 70.0))
        .y_grid_spacer(axes::ticks(1.0, 34.0))
        .x_axis_formatter(axes::tick_text(size))
        .y_axis_formatter(axes::tick_text(1.0))
        .show(ui, |_| ());
    let transform = shown.transform;
    let painter = ui.painter_at(*transform.frame());
    let said = picture.words();
    shown
        .response
        .widget_info(|| WidgetInfo::labeled(egui::Role::Image, true, &said));
    let curve = look(Role::Fixture, theme);
    let chosen = look(Role::Selected, theme);
    interval(&painter, &transform, &picture, chosen.ink);
    band(
        &painter,
        &transform,
        &picture,
        curve.ink.gamma_multiply(0.16),
    );
    across(&painter, &transform, &picture, &curve);
    let line: Vec<Pos2> = (picture.curve.iter())
        .map(|c| at(&transform, c.0, c.1))
        .collect();
    painter.add(Shape::line(line, Stroke::new(curve.width, curve.ink)));
    let reading = look(Role::Reading, theme);
    for &(x, y) in &picture.parts {
        painter.extend(mark(at(&transform, x, y), MarkForm::Dot, &reading));
    }
    if let Some(level) = picture.level.filter(|&l| l <= picture.top) {
        let x = at(&transform, level, 0.0).x;
        let frame = transform.frame();
        painter.vline(x, frame.y_range(), (chosen.width + 2.0, chosen.halo));
        painter.vline(x, frame.y_range(), (chosen.width, chosen.ink));
        let right = x < frame.center().x;
        let (align, by) = if right {
            (Align2::LEFT_BOTTOM, 5.0)
        } else {
            (Align2::RIGHT_BOTTOM, -5.0)
        };
        let text = format!("least level at most {}", words::number(level / size));
        backed(
            &painter,
            Pos2::new(x + by, frame.bottom() - 6.0),
            align,
            &text,
            chosen.ink,
            chosen.halo,
        );
    }
    ui.weak(said);
}

fn at(transform: &PlotTransform, x: f64, y: f64) -> Pos2 {
    transform.position_from_point(&PlotPoint::new(x, y))
}

/// The strip of levels, hatched so that it is told from the band without colour.
fn interval(painter: &Painter, transform: &PlotTransform, picture: &Picture, ink: Color32) {
    let Some((lower, upper)) = picture.interval else {
        return;
    };
    let frame = transform.frame();
    let (left, right) = (at(transform, lower, 0.0).x, at(transform, upper, 0.0).x);
    let strip = eframe::egui::Rect::from_x_y_ranges(left..=right, frame.y_range());
    let inside = painter.with_clip_rect(strip.intersect(*frame));
    let stroke = Stroke::new(1.0, ink.gamma_multiply(0.45));
    let mut x = left - frame.height();
    while x < right {
        inside.line_segment(
            [
                Pos2::new(x, frame.bottom()),
                Pos2::new(x + frame.height(), frame.top()),
            ],
            stroke,
        );
        x += 9.0;
    }
}

fn band(painter: &Painter, transform: &PlotTransform, picture: &Picture, colour: Color32) {
    let mut mesh = Mesh::default();
    for pair in picture.curve.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let corners = [
            at(transform, a.0, a.1 - a.2),
            at(transform, a.0, a.1 + a.2),
            at(transform, b.0, b.1 + b.2),
            at(transform, b.0, b.1 - b.2),
        ];
        if corners.iter().all(|c| c.is_finite()) {
            let first = mesh.vertices.len() as u32;
            for corner in corners {
                mesh.colored_vertex(corner, colour);
            }
            mesh.add_triangle(first, first + 1, first + 2);
            mesh.add_triangle(first, first + 2, first + 3);
        }
    }
    painter.add(Shape::mesh(mesh));
}

fn across(painter: &Painter, transform: &PlotTransform, picture: &Picture, look: &Look) {
    let frame = transform.frame();
    for (i, &(y, name)) in picture.across.iter().enumerate() {
        let y = at(transform, 0.0, y).y;
        let ends = [Pos2::new(frame.left(), y), Pos2::new(frame.right(), y)];
        let stroke = Stroke::new(1.0, look.ink);
        painter.extend(Shape::dashed_line(
            &ends,
            stroke,
            if i == 0 { 12.0 } else { 4.0 },
            4.0,
        ));
        let (align, by) = if i == 0 {
            (Align2::LEFT_BOTTOM, -2.0)
        } else {
            (Align2::LEFT_TOP, 2.0)
        };
        backed(
            painter,
            Pos2::new(frame.left() + 6.0, y + by),
            align,
            name,
            look.ink,
            look.halo,
        );
    }
}
