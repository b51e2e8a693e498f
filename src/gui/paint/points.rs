//! Very many marks: where thousands are in sight each is a point, and of points on each other one is enough. Enlarged,
//! they are marks again.
//!
//! One at most stands in a square of 6 points of the screen.

use eframe::egui::{Mesh, Pos2, Rect, Shape, Vec2};

use super::Canvas;
use crate::sheet::drawing::{Drawing, Item, MarkForm, Role};

/// More marks in sight than this are points.
const MANY: usize = 1500;
/// Side of a point, in points of the screen.
const SIDE: f32 = 2.0;
/// Side of the squares of the screen that have one at most, so that the map between them is seen.
const SQUARE: f32 = 6.0;

/// The places in sight of marks that are points, with what they are.
pub(super) struct Points(Vec<(Pos2, Role)>);

impl Points {
    /// The marks of a drawing that are to be points; none where few are in sight.
    pub fn of(canvas: &Canvas<'_>, drawing: &Drawing) -> Self {
        let visible = canvas.visible();
        let marks = drawing.items.iter().filter_map(|item| match item {
            Item::Mark { at, form, role } if is_one_of_many(*form, *role) => {
                let at = canvas.place(*at).filter(|at| visible.contains(*at))?;
                Some((at, *role))
            }
            _ => None,
        });
        let found: Vec<(Pos2, Role)> = marks.collect();
        Self(if found.len() > MANY {
            found
        } else {
            Vec::new()
        })
    }

    /// Whether an item is shown by these points, or would hide them: marks, and of planned positions the names and the
    /// detector's bodies.
    pub fn stand_for(&self, item: &Item) -> bool {
        let Some((_, first)) = self.0.first() else {
            return false;
        };
        match item {
            Item::Mark { form, role, .. } => is_one_of_many(*form, *role),
            Item::Label { role, .. } => *role == Role::Position && *first == Role::Position,
            Item::Path { role, .. } => *role == Role::Body,
            Item::Field { .. } => false,
        }
    }

    /// Paints them.
    pub fn paint(&self, canvas: &Canvas<'_>) {
        if self.0.is_empty() {
            return;
        }
        let visible = canvas.visible();
        let columns = (visible.width() / SQUARE).ceil().max(1.0) as usize + 1;
        let rows = (visible.height() / SQUARE).ceil().max(1.0) as usize + 1;
        let mut mesh = Mesh::default();
        for role in [Role::Position, Role::Reading, Role::ReadingLeftOut] {
            let ink = canvas.look(role).ink;
            let mut taken = vec![false; columns * rows];
            for (at, _) in self.0.iter().filter(|(_, of)| *of == role) {
                let from = (*at - visible.min) / SQUARE;
                let square = from.y.max(0.0) as usize * columns + from.x.max(0.0) as usize;
                let square = square.min(columns * rows - 1);
                if !std::mem::replace(&mut taken[square], true) {
                    mesh.add_colored_rect(Rect::from_center_size(*at, Vec2::splat(SIDE)), ink);
                }
            }
        }
        canvas.painter.add(Shape::mesh(mesh));
    }
}

/// A proposed position is a ring, and always seen.
fn is_one_of_many(form: MarkForm, role: Role) -> bool {
    let many = [Role::Position, Role::Reading, Role::ReadingLeftOut];
    form != MarkForm::Ring && many.contains(&role)
}
