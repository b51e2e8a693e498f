//! Marks: forms of a fixed size on the screen, each with its halo.

use eframe::egui::{Pos2, Shape, Stroke, Vec2, vec2};

use crate::gui::theme::{HALO, Look};
use crate::sheet::drawing::MarkForm;

/// The shapes of a mark: its halo, then its ink.
pub fn mark(at: Pos2, form: MarkForm, look: &Look) -> Vec<Shape> {
    let halo = Stroke::new(look.width + 2.0 * HALO, look.halo);
    let ink = Stroke::new(look.width, look.ink);
    let r = look.radius;
    let cross = |a: Vec2, b: Vec2| {
        [halo, ink]
            .into_iter()
            .flat_map(|s| [a, b].map(|v| Shape::line_segment([at - v, at + v], s)))
            .collect()
    };
    let filled = |corners: &[Vec2]| {
        let corners: Vec<Pos2> = corners.iter().map(|&v| at + v).collect();
        vec![
            Shape::closed_line(corners.clone(), halo),
            Shape::convex_polygon(corners, look.ink, Stroke::NONE),
        ]
    };
    match form {
        MarkForm::Dot => vec![
            Shape::circle_filled(at, r + HALO, look.halo),
            Shape::circle_filled(at, r, look.ink),
        ],
        MarkForm::Ring => vec![
            Shape::circle_stroke(at, r, halo),
            Shape::circle_stroke(at, r, ink),
        ],
        MarkForm::Plus => cross(vec2(r, 0.0), vec2(0.0, r)),
        MarkForm::Cross => cross(vec2(r, r) * 0.8, vec2(r, -r) * 0.8),
        MarkForm::TriangleDown => filled(&[
            vec2(-0.87 * r, -0.5 * r),
            vec2(0.87 * r, -0.5 * r),
            vec2(0.0, r),
        ]),
        MarkForm::TriangleUp => filled(&[
            vec2(-0.87 * r, 0.5 * r),
            vec2(0.0, -r),
            vec2(0.87 * r, 0.5 * r),
        ]),
        MarkForm::Square => filled(&[vec2(-r, -r), vec2(r, -r), vec2(r, r), vec2(-r, r)]),
    }
}
