//! Texts of a picture: of one size at every zoom, on a small backing, and never one over another.

use std::collections::HashMap;

use eframe::egui::{FontId, Pos2, Rect, Vec2, vec2};

use super::Canvas;
use crate::gui::theme::BACKING;
use crate::sheet::drawing::{Anchor, Role};

/// No text is smaller than this, points.
const LETTER: Vec2 = vec2(4.0, 9.0);

/// From a point to the text that stands beside it.
const GAP: f32 = 8.0;

/// A text of the picture at its place on the screen.
pub struct Text<'a> {
    /// Of its anchor.
    pub at: Pos2,
    /// What it says.
    pub text: &'a str,
    /// Where it stands from there.
    pub anchor: Anchor,
    /// What it belongs to.
    pub role: Role,
}

/// Paints what finds room. The more important text comes first, of equal ones the earlier; one that
/// would cover another, or of which a part is out of sight, shows again when there is room.
pub fn paint(canvas: &Canvas<'_>, mut texts: Vec<Text<'_>>) {
    texts.sort_by_key(|t| rank(t.role));
    let visible = canvas.visible();
    let mut taken = Taken::default();
    for text in texts {
        // Most of very many texts find no room for even one letter, and need not be laid out.
        let letter = Rect::from_min_size(text.at + offset(text.anchor, LETTER), LETTER);
        if !visible.contains(text.at) || !taken.is_free(letter) {
            continue;
        }
        let look = canvas.look(text.role);
        let galley = canvas.painter.layout_no_wrap(
            text.text.to_owned(),
            FontId::proportional(look.text_size),
            look.ink,
        );
        let size = galley.size();
        let rect = Rect::from_min_size(text.at + offset(text.anchor, size), size);
        let backing = rect.expand2(vec2(3.0, 0.5));
        if !visible.contains_rect(rect) || !taken.is_free(backing) {
            continue;
        }
        canvas
            .painter
            .rect_filled(backing, 3.0, look.halo.gamma_multiply(BACKING));
        canvas.painter.galley(rect.min, galley, look.ink);
        taken.take(backing);
    }
}

/// The places that have a text, by the squares of the screen that they touch: with very many texts each
/// is held against its neighbours only.
#[derive(Default)]
struct Taken(HashMap<[i32; 2], Vec<Rect>>);

impl Taken {
    /// Side of a square, points.
    const SQUARE: f32 = 64.0;

    fn squares(rect: Rect) -> impl Iterator<Item = [i32; 2]> {
        let square = |v: f32| (v / Self::SQUARE).floor() as i32;
        let (x, y) = (rect.x_range(), rect.y_range());
        (square(x.min)..=square(x.max))
            .flat_map(move |i| (square(y.min)..=square(y.max)).map(move |j| [i, j]))
    }

    fn is_free(&self, rect: Rect) -> bool {
        let mut near = Self::squares(rect)
            .filter_map(|square| self.0.get(&square))
            .flatten();
        !near.any(|taken| taken.intersects(rect))
    }

    fn take(&mut self, rect: Rect) {
        for square in Self::squares(rect) {
            self.0.entry(square).or_default().push(rect);
        }
    }
}

/// Top left corner of a text from its point.
fn offset(anchor: Anchor, size: Vec2) -> Vec2 {
    let (w, h) = (size.x, size.y);
    match anchor {
        Anchor::Centre => vec2(-0.5 * w, -0.5 * h),
        Anchor::Left => vec2(GAP, -0.5 * h),
        Anchor::Right => vec2(-w - GAP, -0.5 * h),
        Anchor::Above => vec2(-0.5 * w, -h - GAP),
        Anchor::Below => vec2(-0.5 * w, GAP),
    }
}

/// Least first.
fn rank(role: Role) -> u8 {
    match role {
        Role::Selected => 0,
        Role::Coldest | Role::Hottest => 1,
        Role::Datum => 2,
        Role::Position | Role::Stop => 3,
        Role::Site | Role::KeepOut | Role::Beneath | Role::Engraved => 4,
        Role::Reading | Role::ReadingLeftOut => 5,
        Role::Below | Role::NotProven | Role::Inside | Role::Above => 3,
        Role::Gap => 2,
        Role::Contour => 6,
        Role::Fixture
        | Role::Face
        | Role::Plate
        | Role::Cut
        | Role::Way
        | Role::Body
        | Role::Preview
        | Role::Extrapolated
        | Role::Border => 7,
    }
}
