//! The texts of a drawing, each on a white plate: letters of their size are too thin for a rim alone to
//! carry them over the dark end of the map.

use super::item::{Ink, WHITE, corners};
use crate::export::look::{Look, look};
use crate::sheet::drawing::{Anchor, Item, Role};
use crate::sheet::page::Placed;
use crate::sheet::text;

/// From a mark's point to its label's plate, beyond the mark's half size, mm.
const GAP: f64 = 0.6;

/// How far the plate reaches beyond the letters, mm.
const PLATE: f64 = 0.35;

/// A text with its plate.
struct Label<'a> {
    text: &'a str,
    size: f64,
    /// Left end of the baseline.
    at: [f64; 2],
    /// Left, upper, right and lower edge of the plate.
    plate: [f64; 4],
}

impl<'a> Label<'a> {
    fn new([x, y]: [f64; 2], text: &'a str, anchor: Anchor, look: &Look) -> Self {
        let size = look.text;
        let (width, capital) = (text::width(text, size), text::CAPITAL * size);
        let gap = 0.5 * look.mark + GAP + PLATE;
        let middle = y + 0.5 * capital;
        let at = match anchor {
            Anchor::Centre => [x - 0.5 * width, middle],
            Anchor::Left => [x + gap, middle],
            Anchor::Right => [x - gap - width, middle],
            Anchor::Above => [x - 0.5 * width, y - gap],
            Anchor::Below => [x - 0.5 * width, y + gap + capital],
        };
        let (above, below) = text::reach(text);
        Self {
            text,
            size,
            at,
            plate: [
                at[0] - PLATE,
                at[1] - above * size - PLATE,
                at[0] + width + PLATE,
                at[1] + below * size + PLATE,
            ],
        }
    }

    fn covers(&self, other: &Self) -> bool {
        let ([left, top, right, bottom], o) = (self.plate, other.plate);
        left < o[2] && o[0] < right && top < o[3] && o[1] < bottom
    }
}

/// Writes the texts of a drawing. Names and values that would cover another text are left out, least
/// important first; what a person is told to go by never is.
pub(super) fn put(placed: &Placed, inks: &mut Vec<Ink>) {
    let mut wanted: Vec<(Role, Label<'_>)> = placed
        .drawing
        .items
        .iter()
        .filter_map(|item| match item {
            Item::Label {
                at,
                text,
                anchor,
                role,
            } => {
                let label = Label::new(placed.on_page(*at), text, *anchor, &look(*role));
                Some((*role, label))
            }
            _ => None,
        })
        .collect();
    wanted.sort_by_key(|(role, _)| rank(*role));
    let mut shown: Vec<Label<'_>> = Vec::new();
    for (role, label) in wanted {
        if rank(role) == 0 || !shown.iter().any(|other| label.covers(other)) {
            shown.push(label);
        }
    }
    for label in shown {
        let [left, top, right, bottom] = label.plate;
        inks.push(Ink::Path {
            points: corners(left, top, right, bottom),
            closed: true,
            fill: Some([WHITE; 3]),
            pen: None,
        });
        inks.push(Ink::Text {
            at: label.at,
            text: label.text.to_owned(),
            size: label.size,
            heavy: false,
        });
    }
}

/// Least first; 0 is never left out.
fn rank(role: Role) -> u8 {
    match role {
        Role::Coldest | Role::Hottest | Role::Position | Role::Stop => 0,
        Role::Site | Role::KeepOut | Role::Beneath | Role::Engraved => 1,
        Role::Contour => 2,
        _ => 3,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Bounds, Point};
    use crate::sheet::drawing::Drawing;
    use crate::sheet::page::Frame;

    #[test]
    fn a_name_gives_way_to_a_spot_and_a_number_to_none() {
        let label = |x: f64, text: &str, role| Item::Label {
            at: Point::new(x, 5.0),
            text: text.to_owned(),
            anchor: Anchor::Centre,
            role,
        };
        let placed = Placed {
            drawing: Drawing {
                bounds: Bounds {
                    min: Point::new(0.0, 0.0),
                    max: Point::new(100.0, 10.0),
                },
                items: vec![
                    label(20.0, "80", Role::Contour),
                    label(21.0, "B2", Role::Site),
                    label(23.0, "coldest", Role::Coldest),
                    label(60.0, "B3", Role::Site),
                    label(61.0, "90", Role::Contour),
                    label(90.0, "1", Role::Position),
                    label(90.1, "2", Role::Position),
                ],
            },
            frame: Frame {
                x: 0.0,
                y: 0.0,
                width: 100.0,
                height: 10.0,
            },
            scale: 1.0,
        };
        let mut inks = Vec::new();
        put(&placed, &mut inks);
        let said: Vec<&str> = inks
            .iter()
            .filter_map(|ink| match ink {
                Ink::Text { text, .. } => Some(text.as_str()),
                _ => None,
            })
            .collect();
        assert_eq!(said, ["coldest", "1", "2", "B3"]);
        assert_eq!(inks.len(), 2 * said.len(), "each on its plate");
    }
}
