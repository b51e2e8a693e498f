//! The ladder as a picture: parts, fitted curve with its band, plateau, the interval of the level of full
//! cure, and the level that was found. Told apart by form, and named below.

use eframe::egui::{
    self, Align2, Color32, FontId, Mesh, Painter, Pos2, Sense, Shape, Stroke, Ui, WidgetInfo,
};
use egui_plot::{Plot, PlotPoint, PlotTransform};

use crate::gui::paint::mark;
use crate::gui::panels::Panel;
use crate::gui::theme::{Look, look};
use crate::gui::widgets::axes;
use crate::numeric::distributions::student_quantile;
use crate::sheet::drawing::{MarkForm, Role};
use crate::station::Trials;
use crate::station::trials::Varied;
use crate::trials::{Analysis, Found, words};

const HEIGHT: f32 = 220.0;
/// Points along a curve.
const FINE: usize = 120;

/// What is drawn, in the axes' own measures.
struct Picture {
    /// Each part, or the share that passed at a level with its number of parts.
    parts: Vec<(f64, f64)>,
    /// x, y, and half the width of the band.
    curve: Vec<(f64, f64, f64)>,
    /// A line across with its name.
    across: Vec<(f64, &'static str)>,
    /// The interval of the level of full cure.
    interval: Option<(f64, f64)>,
    /// The level that was found.
    level: Option<f64>,
    top: f64,
    highest: f64,
}

fn picture(analysis: &Analysis) -> Picture {
    let ladder = &analysis.ladder;
    let top = 1.06 * ladder.top().value;
    let xs = || (1..=FINE).map(move |i| top * i as f64 / FINE as f64);
    let within = |lower: Option<f64>, upper: Option<f64>| {
        let (lower, upper) = (lower.unwrap_or(0.0), upper.unwrap_or(top));
        (lower < top).then_some((lower, upper.min(top)))
    };
    let level = analysis.least.as_ref().ok().map(|l| l.level());
    match &analysis.found {
        Found::Measured(measured) => {
            let best = measured.best();
            let curve = best.map_or(Vec::new(), |fit| {
                let k = student_quantile(0.5 + 0.5 * measured.confidence, fit.dof);
                xs().map(|x| (x, fit.value(x), k * fit.uncertainty(x)))
                    .collect()
            });
            let across = best.map_or(Vec::new(), |fit| {
                vec![
                    (fit.plateau, "plateau"),
                    (measured.goal.just_full(fit.plateau), "just full cure"),
                ]
            });
            let values = ladder.points.iter().map(|p| p.1);
            let lines = across.iter().map(|a| a.0);
            Picture {
                parts: ladder.points.clone(),
                highest: 1.08 * values.chain(lines).fold(0.0, f64::max),
                interval: within(measured.lower, measured.upper),
                curve,
                across,
                level,
                top,
            }
        }
        Found::Judged(curve) => Picture {
            parts: (ladder.levels.iter())
                .map(|l| (l.value, 100.0 * l.mean))
                .collect(),
            curve: (curve.iter())
                .flat_map(|c| xs().map(|x| (x, 100.0 * c.at(x), 0.0)))
                .collect(),
            across: (curve.iter())
                .map(|c| (100.0 * c.share, "must pass"))
                .collect(),
            interval: (curve.as_ref()).and_then(|c| within(c.lower, c.upper)),
            level,
            top,
            highest: 108.0,
        },
    }
}

pub(super) fn show(ui: &mut Ui, panel: &Panel<'_>, trials: &Trials, analysis: &Analysis) {
    let picture = picture(analysis);
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
    let said = said(&picture, analysis);
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
            &chosen,
        );
    }
    ui.weak(said);
}

/// What the picture shows, in words.
fn said(picture: &Picture, analysis: &Analysis) -> String {
    let mut list = match &analysis.found {
        Found::Measured(_) => vec!["dots: parts", "line and grey band: curve with its interval"],
        Found::Judged(_) => vec!["dots: share that passed", "line: fitted curve"],
    };
    if picture.interval.is_some() {
        list.push("hatched strip: interval of the level of full cure by the curves");
    }
    if picture.level.is_some() {
        list.push("upright line: least level");
    }
    list.join("; ")
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
            look,
        );
    }
}

/// A text on a plate, so that it is read over lines.
fn backed(painter: &Painter, at: Pos2, align: Align2, text: &str, look: &Look) {
    let galley = painter.layout_no_wrap(text.to_owned(), FontId::proportional(12.0), look.ink);
    let rect = align.anchor_size(at, galley.size());
    painter.rect_filled(rect.expand(2.0), 2.0, look.halo.gamma_multiply(0.85));
    painter.galley(rect.min, galley, look.ink);
}
