//! Irradiance along a line, upwards or over the fixture: the field's curve with its band, readings near it, and one
//! place on it (the height of the map, or the cross) as a stroke that can be dragged.

use eframe::egui::{
    Color32, CursorIcon, EventFilter, Id, Key, Mesh, Painter, Pos2, Shape, Stroke, StrokeKind, Ui,
    WidgetInfo,
};
use egui_plot::{Plot, PlotPoint, PlotTransform};

use super::axes;
use crate::gui::paint::mark;
use crate::gui::theme::{Look, look};
use crate::sheet::drawing::{MarkForm, Role};
use crate::units::{IrradianceUnit, LengthUnit};

/// The field at one place of the line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StripPoint {
    /// Where on the line, mm.
    pub at: f64,
    /// mW/cm²; not a number where there is no field: the curve has a gap there.
    pub irradiance: f64,
    /// Lower and upper end of the band (k = 2), mW/cm²; `None` where the family has none.
    pub band: Option<(f64, f64)>,
    /// Whether the readings do not reach here.
    pub extrapolated: bool,
}

/// A strip to be shown.
#[derive(Debug, Clone, Copy)]
pub struct Strip<'a> {
    /// Tells this strip from others in the same part of the window.
    pub id_salt: &'a str,
    /// What it shows, for a screen reader: `Irradiance against height at 92, 60 mm`.
    pub title: &'a str,
    /// What the line runs along: `height`.
    pub axis: &'a str,
    /// What the stroke is, for a screen reader: `height of the map`.
    pub stroke: &'a str,
    /// The curve, ascending.
    pub curve: &'a [StripPoint],
    /// Where on the line there are readings at all, mm.
    pub measured: &'a [f64],
    /// Readings near the line: where in mm, irradiance in mW/cm².
    pub readings: &'a [(f64, f64)],
    /// Where the stroke is, mm.
    pub chosen: f64,
    /// Least and greatest place that can be chosen, mm.
    pub ends: (f64, f64),
    /// The unit of lengths.
    pub length: LengthUnit,
    /// The unit of irradiance.
    pub unit: IrradianceUnit,
}

impl Strip<'_> {
    /// Shows the strip in all the room there is. While the stroke is dragged, or where the strip is
    /// clicked, the new place in mm; with the focus, the arrow keys move it by 1 mm, with Shift by
    /// 10 mm.
    pub fn show(&self, ui: &mut Ui) -> Option<f64> {
        let theme = ui.theme();
        let shown = self.plot(ui).show(ui, |_| ());
        let (response, transform) = (shown.response, shown.transform);
        let frame = *transform.frame();
        let painter = ui.painter_at(frame);

        let curve = look(Role::Fixture, theme);
        self.band(&painter, &transform, curve.ink.gamma_multiply(0.18));
        self.curve(&painter, &transform, &curve);
        let reading = look(Role::Reading, theme);
        for &measured in self.measured {
            if let Some(at) = place(&transform, measured, 0.0) {
                let y = frame.bottom();
                painter.vline(at.x, y - 8.0..=y, (2.0, reading.ink));
            }
        }
        for &(read, irradiance) in self.readings {
            if let Some(at) = place(&transform, read, irradiance) {
                painter.extend(mark(at, MarkForm::Dot, &reading));
            }
        }
        if let Some(at) = place(&transform, self.chosen, 0.0) {
            let line = look(Role::Selected, theme);
            painter.vline(at.x, frame.y_range(), (line.width + 2.0, line.halo));
            painter.vline(at.x, frame.y_range(), (line.width, line.ink));
        }
        if response.has_focus() {
            painter.rect_stroke(
                frame,
                0.0,
                ui.visuals().selection.stroke,
                StrokeKind::Inside,
            );
        }

        if response.clicked() {
            response.request_focus();
        }
        response.widget_info(|| {
            WidgetInfo::slider(
                ui.is_enabled(),
                self.length.from_mm(self.chosen),
                format!("{}; {}, {}", self.title, self.stroke, self.length.symbol()),
            )
        });
        let pointed = (response.clicked() || response.dragged())
            .then(|| response.interact_pointer_pos())
            .flatten()
            .map(|at| transform.value_from_position(at).x);
        response
            .clone()
            .on_hover_cursor(CursorIcon::ResizeHorizontal);
        let nudged = || response.has_focus().then(|| self.nudged(ui, response.id));
        pointed
            .or_else(|| nudged().flatten())
            .map(|at| at.max(self.ends.0).min(self.ends.1))
    }

    fn plot(&self, ui: &Ui) -> Plot<'static> {
        let (length, unit) = (self.length, self.unit);
        let mut plot = axes::still(Plot::new(self.id_salt))
            .auto_bounds(true)
            .grid_color(ui.visuals().text_color().gamma_multiply(0.3))
            .x_axis_label(format!("{}, {}", self.axis, length.symbol()))
            .y_axis_label(unit.symbol())
            .x_grid_spacer(axes::ticks(length.in_mm(), 80.0))
            .y_grid_spacer(axes::ticks(unit.in_mw_cm2(), 34.0))
            .x_axis_formatter(axes::tick_text(length.in_mm()))
            .y_axis_formatter(axes::tick_text(unit.in_mw_cm2()));
        let ends = [self.ends.0, self.ends.1, self.chosen];
        let places = ends
            .into_iter()
            .chain(self.curve.iter().map(|p| p.at))
            .chain(self.readings.iter().map(|r| r.0));
        for at in places.filter(|at| at.is_finite()) {
            plot = plot.include_x(at);
        }
        let values = self
            .curve
            .iter()
            .flat_map(|p| {
                let (low, high) = p.band.unwrap_or((p.irradiance, p.irradiance));
                [p.irradiance, low, high]
            })
            .chain(self.readings.iter().map(|r| r.1));
        for value in values.filter(|e| e.is_finite()) {
            plot = plot.include_y(value);
        }
        plot
    }

    /// The band as quads between neighbouring places that both have one.
    fn band(&self, painter: &Painter, transform: &PlotTransform, colour: Color32) {
        let ends = |p: &StripPoint| {
            let (low, high) = p.band?;
            Some([place(transform, p.at, low)?, place(transform, p.at, high)?])
        };
        let mut mesh = Mesh::default();
        for pair in self.curve.windows(2) {
            if let (Some(a), Some(b)) = (ends(&pair[0]), ends(&pair[1])) {
                let first = mesh.vertices.len() as u32;
                for at in [a[0], a[1], b[1], b[0]] {
                    mesh.colored_vertex(at, colour);
                }
                mesh.add_triangle(first, first + 1, first + 2);
                mesh.add_triangle(first, first + 2, first + 3);
            }
        }
        painter.add(Shape::mesh(mesh));
    }

    /// The curve, dashed between heights of which one is extrapolated.
    fn curve(&self, painter: &Painter, transform: &PlotTransform, look: &Look) {
        let points: Vec<(Option<Pos2>, bool)> = self
            .curve
            .iter()
            .map(|p| (place(transform, p.at, p.irradiance), p.extrapolated))
            .collect();
        let stroke = Stroke::new(look.width, look.ink);
        let pieces: Vec<(Pos2, Pos2, bool)> = points
            .windows(2)
            .filter_map(|w| Some((w[0].0?, w[1].0?, w[0].1 || w[1].1)))
            .collect();
        for run in pieces.chunk_by(|a, b| a.2 == b.2 && a.1 == b.0) {
            let line: Vec<Pos2> = std::iter::once(run[0].0)
                .chain(run.iter().map(|p| p.1))
                .collect();
            if run[0].2 {
                painter.extend(Shape::dashed_line(&line, stroke, 6.0, 5.0));
            } else {
                painter.add(Shape::line(line, stroke));
            }
        }
    }

    fn nudged(&self, ui: &Ui, id: Id) -> Option<f64> {
        ui.memory_mut(|memory| {
            memory.set_focus_lock_filter(
                id,
                EventFilter {
                    horizontal_arrows: true,
                    ..EventFilter::default()
                },
            );
        });
        let (left, right, shift) = ui.input(|i| {
            (
                i.num_presses(Key::ArrowLeft),
                i.num_presses(Key::ArrowRight),
                i.modifiers.shift,
            )
        });
        let step = if shift { 10.0 } else { 1.0 };
        (left != right).then_some(self.chosen + step * (right as f64 - left as f64))
    }
}

fn place(transform: &PlotTransform, at: f64, irradiance: f64) -> Option<Pos2> {
    (at.is_finite() && irradiance.is_finite())
        .then(|| transform.position_from_point(&PlotPoint::new(at, irradiance)))
}
