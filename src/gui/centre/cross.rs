//! The cross on the plan view: where the field is shown along a line.

use eframe::egui::{Shape, Stroke, Ui, vec2};
use egui_plot::PlotTransform;

use super::Phase;
use crate::geometry::Point;
use crate::gui::paint::Canvas;
use crate::gui::theme::look;
use crate::session::{Along, Command, Session};
use crate::sheet::drawing::Role;
use crate::units::LengthUnit;

/// What is half done with the cross.
#[derive(Default)]
pub(super) struct CrossState {
    /// The arrow keys move it.
    pub is_chosen: bool,
    /// Where it was when it was taken hold of.
    from: Option<Point>,
}

impl CrossState {
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
            Phase::Started | Phase::Moving | Phase::Done | Phase::ByKey => at,
        };
        commands.extend(to(session, at));
    }
}

/// Puts the cross there, or where the fixture is nearest: there is nothing to see beyond. A cross that is there already
/// asks for nothing, or a hand that holds it still would have the window painted all the time.
pub(super) fn to(session: &Session, at: Point) -> Option<Command> {
    let at = session.station().fixture.footprint().nearest_inside(at);
    (session.cross() != Some(at)).then_some(Command::SetCross(at))
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
    if let Some(middle) = canvas.place(at) {
        let look = look(Role::Selected, canvas.theme);
        // open in the middle: what it stands on stays seen
        for way in [
            vec2(1.0, 0.0),
            vec2(0.0, 1.0),
            vec2(-1.0, 0.0),
            vec2(0.0, -1.0),
        ] {
            let ends = [middle + 5.0 * way, middle + 14.0 * way];
            painter.line_segment(ends, Stroke::new(look.width + 3.0, look.halo));
        }
        for way in [
            vec2(1.0, 0.0),
            vec2(0.0, 1.0),
            vec2(-1.0, 0.0),
            vec2(0.0, -1.0),
        ] {
            let ends = [middle + 5.5 * way, middle + 13.5 * way];
            painter.line_segment(ends, Stroke::new(look.width, look.ink));
        }
    }
}
