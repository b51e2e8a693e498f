//! The cross on the plan view: where the field is shown along a line.

use eframe::egui::{Shape, Stroke, Ui};
use egui_plot::PlotTransform;

use super::Phase;
use crate::geometry::Point;
use crate::gui::paint::Canvas;
use crate::gui::theme::look;
use crate::session::{Along, Command, Session};
use crate::sheet::drawing::{MarkForm, Role};
use crate::units::LengthUnit;

/// What is half done with the cross.
#[derive(Default)]
pub(super) struct State {
    /// The arrow keys move it.
    pub is_chosen: bool,
    /// Where it was when it was taken hold of.
    from: Option<Point>,
}

impl State {
    /// It was moved by pointer or keys.
    pub fn dragged(
        &mut self,
        session: &Session,
        at: Point,
        phase: Phase,
        commands: &mut Vec<Command>,
    ) {
        self.is_chosen = true;
        if phase == Phase::Started {
            self.from = session.cross();
        }
        let at = match phase {
            Phase::GivenUp => self.from.unwrap_or(at),
            Phase::Started | Phase::Moving | Phase::Done => at,
        };
        commands.push(to(session, at));
    }
}

/// Puts the cross there, or where the fixture is nearest: there is nothing to see beyond.
pub(super) fn to(session: &Session, at: Point) -> Command {
    let bounds = session.station().fixture.footprint().bounds();
    Command::SetCross(Point::new(
        at.x.max(bounds.min.x).min(bounds.max.x),
        at.y.max(bounds.min.y).min(bounds.max.y),
    ))
}

/// For a screen reader: `; cross at 92, 60 mm`.
pub(super) fn words(at: Point, unit: LengthUnit) -> String {
    let (x, y) = (unit.show(at.x), unit.show_with_unit(at.y));
    format!("; cross at {x}, {y}; the arrow keys move it once it was clicked")
}

/// Paints it over the picture, with the line of a section from side to side of the fixture.
pub(super) fn paint(ui: &Ui, transform: &PlotTransform, session: &Session, at: Point) {
    let painter = ui.painter_at(*transform.frame());
    let canvas = Canvas {
        painter: &painter,
        transform,
        theme: ui.theme(),
    };
    let bounds = session.station().fixture.footprint().bounds();
    let ends = match session.along() {
        Along::Height => None,
        Along::X => Some([
            Point::new(bounds.min.x, at.y),
            Point::new(bounds.max.x, at.y),
        ]),
        Along::Y => Some([
            Point::new(at.x, bounds.min.y),
            Point::new(at.x, bounds.max.y),
        ]),
    };
    if let Some([Some(a), Some(b)]) = ends.map(|ends| ends.map(|p| canvas.place(p))) {
        let look = look(Role::Selected, canvas.theme);
        painter.line_segment([a, b], Stroke::new(3.0, look.halo.gamma_multiply(0.55)));
        painter.extend(Shape::dashed_line(
            &[a, b],
            Stroke::new(1.0, look.ink),
            8.0,
            4.0,
        ));
    }
    canvas.mark(at, MarkForm::Plus, Role::Selected);
}
