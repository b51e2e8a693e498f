//! Where to paint.

use eframe::egui::{Painter, Pos2, Rect, Theme};
use egui_plot::{PlotPoint, PlotTransform};

use crate::geometry::Point;
use crate::gui::theme::{Look, look};
use crate::sheet::drawing::Role;

/// Where to paint: a part of the screen and how millimetres lie on it.
pub struct Canvas<'a> {
    /// Paints; its clip is the part of the screen.
    pub painter: &'a Painter,
    /// From millimetres to the screen.
    pub transform: &'a PlotTransform,
    /// Light or dark.
    pub theme: Theme,
}

impl Canvas<'_> {
    /// Where a place of the plan is on the screen; `None` for a place that is no finite number.
    pub fn place(&self, p: Point) -> Option<Pos2> {
        (p.x.is_finite() && p.y.is_finite()).then(|| {
            self.transform
                .position_from_point(&PlotPoint::new(p.x, p.y))
        })
    }

    pub(super) fn look(&self, role: Role) -> Look {
        look(role, self.theme)
    }

    pub(super) fn visible(&self) -> Rect {
        self.painter.clip_rect()
    }
}
