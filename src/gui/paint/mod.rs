//! The screen's painter of a [`Drawing`]: millimetres in, shapes of egui out. How a role looks is in
//! [`crate::gui::theme`].

mod canvas;
mod field;
mod hatch;
mod labels;
mod marks;
mod points;

use eframe::egui::{Align2, Color32, FontId, Id, Mesh, Painter, Pos2, Rect, Shape, Stroke};
use egui_plot::PlotPoint;

use super::theme::{self, HALO, Look};
use crate::geometry::{Corners, Point};
use crate::sheet::drawing::{Drawing, Item, MarkForm, Role};

pub use canvas::Canvas;
pub use marks::mark;

/// A text on a plate, so that it is read over lines.
pub fn backed(
    painter: &Painter,
    at: Pos2,
    align: Align2,
    text: &str,
    ink: Color32,
    plate: Color32,
) {
    let galley = painter.layout_no_wrap(text.to_owned(), FontId::proportional(12.0), ink);
    let rect = align.anchor_size(at, galley.size());
    painter.rect_filled(rect.expand(2.0), 2.0, plate.gamma_multiply(0.85));
    painter.galley(rect.min, galley, ink);
}

impl Canvas<'_> {
    /// Paints a drawing: the plate first, then its items in their order, then its texts, the more
    /// important ones first and none over another. Items with a place that is not finite are left
    /// out. Things at `selected` have a ring, under the texts. Where thousands of marks are in sight they are
    /// points without names. `cache` names the memory in which the
    /// textures of this picture are kept.
    pub fn drawing(&self, drawing: &Drawing, selected: &[Point], cache: Id) {
        let mut texts = Vec::new();
        for item in &drawing.items {
            if let Item::Path {
                points,
                closed: true,
                role: Role::Fixture,
            } = item
            {
                self.plate(points);
            }
        }
        let points = points::Points::of(self, drawing);
        for (i, item) in drawing.items.iter().enumerate() {
            if points.stand_for(item) {
                continue;
            }
            match item {
                Item::Field { raster, scale } => {
                    field::paint(self, raster, *scale, cache.with(("field", i)));
                }
                Item::Path {
                    points,
                    closed,
                    role,
                } => self.path(points, *closed, *role),
                Item::Mark { at, form, role } => self.mark(*at, *form, *role),
                Item::Label {
                    at,
                    text,
                    anchor,
                    role,
                } => {
                    if let Some(at) = self.place(*at) {
                        texts.push(labels::Text {
                            at,
                            text,
                            anchor: *anchor,
                            role: *role,
                        });
                    }
                }
            }
        }
        points.paint(self);
        for &at in selected {
            self.mark(at, MarkForm::Ring, Role::Selected);
        }
        labels::paint(self, texts);
    }

    /// Paints a mark at a place.
    pub fn mark(&self, at: Point, form: MarkForm, role: Role) {
        let Some(at) = self.place(at) else { return };
        let look = self.look(role);
        if !self.visible().expand(look.radius + HALO).contains(at) {
            return;
        }
        self.painter.extend(mark(at, form, &look));
    }

    fn on_screen(&self, points: &[Point]) -> Option<Vec<Pos2>> {
        points.iter().map(|&p| self.place(p)).collect()
    }

    fn path(&self, points: &[Point], closed: bool, role: Role) {
        let Some(mut line) = self.on_screen(points) else {
            return;
        };
        if line.len() < 2 || !Rect::from_points(&line).intersects(self.visible()) {
            return;
        }
        let look = self.look(role);
        if closed {
            line.push(line[0]);
            if look.hatched {
                self.hatch(line.windows(2).map(|w| [w[0], w[1]]), &look);
            }
        }
        self.line(&line, &look);
    }

    /// A line over its halo.
    fn line(&self, line: &[Pos2], look: &Look) {
        let halo = Stroke::new(look.width + 2.0 * HALO, look.halo.gamma_multiply(0.55));
        let ink = Stroke::new(look.width, look.ink);
        let shape = |line: &[Pos2], stroke| match line {
            // joined at its ends
            [first, .., last] if first == last && line.len() > 3 => {
                Shape::closed_line(line[1..].to_vec(), stroke)
            }
            _ => Shape::line(line.to_vec(), stroke),
        };
        self.painter.add(shape(line, halo));
        match look.dash {
            Some((dash, gap)) => {
                self.painter
                    .extend(Shape::dashed_line(line, ink, dash, gap));
            }
            None => {
                self.painter.add(shape(line, ink));
            }
        }
    }

    /// Hatches the inside of edges; see [`hatch::lines`].
    fn hatch(&self, edges: impl Iterator<Item = [Pos2; 2]>, look: &Look) {
        let origin = self
            .transform
            .position_from_point(&PlotPoint::new(0.0, 0.0));
        let ink = Stroke::new(1.0, look.ink.gamma_multiply(0.75));
        let halo = Stroke::new(3.0, look.halo.gamma_multiply(0.3));
        for ends in hatch::lines(edges, self.visible(), origin) {
            self.painter.line_segment(ends, halo);
            self.painter.line_segment(ends, ink);
        }
    }

    /// Fills the fixture's outline; one with dents triangle by triangle, for the screen's polygons are
    /// convex.
    fn plate(&self, points: &[Point]) {
        let Some(outline) = self.on_screen(points) else {
            return;
        };
        if is_convex(&outline) {
            self.painter.add(Shape::convex_polygon(
                outline,
                theme::plate(self.theme),
                Stroke::NONE,
            ));
            return;
        }
        let mut mesh = Mesh::default();
        let corners = Corners::from(points.to_vec());
        for (corner, p) in corners.triangles().into_iter().flatten().enumerate() {
            if let Some(at) = self.place(p) {
                mesh.colored_vertex(at, theme::plate(self.theme));
                mesh.indices.push(corner as u32);
            }
        }
        self.painter.add(Shape::mesh(mesh));
    }
}

fn is_convex(outline: &[Pos2]) -> bool {
    let n = outline.len();
    let turns = (0..n).map(|i| {
        let (a, b, c) = (outline[i], outline[(i + 1) % n], outline[(i + 2) % n]);
        let (u, v) = (b - a, c - b);
        u.x * v.y - u.y * v.x
    });
    let (left, right) = turns.fold((false, false), |(l, r), t| (l || t > 1e-3, r || t < -1e-3));
    n >= 3 && left != right
}
