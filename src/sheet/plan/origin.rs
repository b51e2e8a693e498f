//! From where x and y are measured, for someone with a ruler at the fixture.

use crate::geometry::{Point, Shape};
use crate::sheet::drawing::{Anchor, Item, MarkForm, Role};
use crate::station::Fixture;
use crate::units::LengthUnit;

/// A corner this near to the datum is the datum, mm.
const AT_DATUM: f64 = 0.05;

/// Which point of the fixture is the datum, and how large the fixture is.
pub(super) fn sentence(fixture: &Fixture, unit: LengthUnit) -> String {
    let said = |mm| unit.show_with_unit(mm);
    let at = |p: Point| format!("x {}, y {}", said(p.x), said(p.y));
    let outline = fixture.footprint();
    let about = match &fixture.shape {
        Shape::Rectangle { width, depth } => format!(
            "the front left corner of the fixture, which is {} wide (x, to the right) and {} deep (y, to the back)",
            said(*width),
            said(*depth)
        ),
        Shape::Circle { diameter } => format!(
            "the front left corner of the square around the round fixture, where the tangents at its left and at its front \
             meet; the fixture is {} across and its centre, the small diagonal cross, is at {}",
            said(*diameter),
            at(outline.centre)
        ),
        Shape::Polygon { .. } => {
            let corners = outline.corners();
            let far = |p: &Point| p.distance(Point::default());
            let near = (corners.iter()).min_by(|a, b| far(a).total_cmp(&far(b)));
            let bounds = outline.bounds();
            let reach = format!(
                "the outline lies from {} to {}",
                at(bounds.min),
                at(bounds.max)
            );
            match near {
                Some(corner) if far(corner) > AT_DATUM => format!(
                    "the point that the corners of the outline are measured from, no corner itself; the corner nearest to it \
                     is at {}, and {reach}",
                    at(*corner)
                ),
                _ => format!(
                    "the corner of the outline that the other corners are measured from; {reach}"
                ),
            }
        }
    };
    format!("The ring with the arrows x and y is the datum, x 0 and y 0: {about}.")
}

/// The mark in the middle of a round fixture, where there is nothing to touch at the datum.
pub(super) fn centre(fixture: &Fixture) -> Vec<Item> {
    let Shape::Circle { .. } = fixture.shape else {
        return Vec::new();
    };
    let (at, role) = (fixture.footprint().centre, Role::Datum);
    vec![
        Item::Mark {
            at,
            form: MarkForm::Cross,
            role,
        },
        Item::Label {
            at,
            text: "centre".to_owned(),
            anchor: Anchor::Below,
            role,
        },
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(shape: Shape) -> String {
        let fixture = Fixture {
            name: String::new(),
            shape,
            rim: None,
            reflectance_percent: None,
        };
        sentence(&fixture, LengthUnit::Mm)
    }

    #[test]
    fn each_outline_says_where_its_datum_is() {
        let text = said(Shape::Rectangle {
            width: 180.0,
            depth: 120.0,
        });
        assert!(text.ends_with(
            "the front left corner of the fixture, which is 180 mm wide (x, to the right) and 120 mm deep (y, to the back)."
        ));
        let text = said(Shape::Circle { diameter: 180.0 });
        for part in [
            "tangents at its left and at its front meet",
            "180 mm across",
            "is at x 90 mm, y 90 mm.",
        ] {
            assert!(text.contains(part), "{text}");
        }
        let polygon = |dx: f64, dy: f64| {
            let corners = [(0.0, 0.0), (100.0, 0.0), (100.0, 20.0), (0.0, 60.0)];
            let corners: Vec<Point> = corners
                .iter()
                .map(|(x, y)| Point::new(x + dx, y + dy))
                .collect();
            said(Shape::Polygon {
                corners: corners.into(),
            })
        };
        let text = polygon(0.0, 0.0);
        assert!(text.contains("the corner of the outline that"), "{text}");
        let text = polygon(5.0, -3.0);
        assert!(text.contains("no corner itself"), "{text}");
        assert!(
            text.contains("nearest to it is at x 5 mm, y -3 mm"),
            "{text}"
        );
        assert!(
            text.contains("from x 5 mm, y -3 mm to x 105 mm, y 57 mm"),
            "{text}"
        );
    }

    #[test]
    fn only_a_round_fixture_has_a_centre_marked() {
        let of = |shape| {
            centre(&Fixture {
                name: String::new(),
                shape,
                rim: None,
                reflectance_percent: None,
            })
        };
        let round = of(Shape::Circle { diameter: 180.0 });
        let at = Point::new(90.0, 90.0);
        let is_mark = |item: &Item| matches!(item, Item::Mark { at: here, .. } if *here == at);
        assert!(round.iter().any(is_mark), "{round:?}");
        let none = of(Shape::Rectangle {
            width: 1.0,
            depth: 1.0,
        });
        assert_eq!(none, []);
    }
}
