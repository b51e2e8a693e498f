//! Where the values of contours stand.

use crate::field::Contour;
use crate::geometry::{Bounds, Point};
use crate::sheet::drawing::{Anchor, Item, Role};

/// Height of a label's line and width of one of its characters, of the picture's extent. Painters
/// choose their own sizes; these are a little more than they take on a page.
const LINE: f64 = 0.024;
const CHARACTER: f64 = 0.012;

/// Labels on the lines, one a line, two on a long one, none on a loop too small to read or where
/// there is no room. `taken` are points that labels keep away from.
pub(super) fn on_contours(
    contours: &[Contour],
    bounds: Bounds,
    taken: Vec<Point>,
    level_text: &dyn Fn(f64) -> String,
) -> Vec<Item> {
    let extent = bounds.width().max(bounds.depth());
    let mut boxes: Vec<Bounds> = taken
        .into_iter()
        .map(|p| Bounds { min: p, max: p }.grown(LINE * extent))
        .collect();
    let mut labels = Vec::new();
    for contour in contours {
        let text = level_text(contour.level);
        let half_width = 0.5 * CHARACTER * extent * (text.chars().count() as f64 + 1.0);
        let half_height = 0.5 * LINE * extent;
        let length: f64 = contour.points.windows(2).map(|w| w[0].distance(w[1])).sum();
        if length < 6.0 * half_width {
            continue;
        }
        let searches: &[&[f64]] = if length > 1.3 * extent {
            &[
                &[0.25, 0.2, 0.3, 0.15, 0.35, 0.1, 0.4],
                &[0.75, 0.7, 0.8, 0.65, 0.85, 0.6, 0.9],
            ]
        } else {
            &[&[0.5, 0.44, 0.56, 0.38, 0.62, 0.3, 0.7, 0.2, 0.8, 0.12, 0.88]]
        };
        for search in searches {
            let free = search.iter().find_map(|&share| {
                let at = along(&contour.points, share * length)?;
                let around = Bounds {
                    min: Point::new(at.x - half_width, at.y - half_height),
                    max: Point::new(at.x + half_width, at.y + half_height),
                };
                let inside = around.min.x >= bounds.min.x
                    && around.max.x <= bounds.max.x
                    && around.min.y >= bounds.min.y
                    && around.max.y <= bounds.max.y;
                (inside && !boxes.iter().any(|b| overlap(b, &around))).then_some((at, around))
            });
            if let Some((at, around)) = free {
                boxes.push(around);
                labels.push(Item::Label {
                    at,
                    text: text.clone(),
                    anchor: Anchor::Centre,
                    role: Role::Contour,
                });
            }
        }
    }
    labels
}

fn overlap(a: &Bounds, b: &Bounds) -> bool {
    a.min.x < b.max.x && b.min.x < a.max.x && a.min.y < b.max.y && b.min.y < a.max.y
}

/// The point at a distance along a line.
fn along(points: &[Point], mut distance: f64) -> Option<Point> {
    for pair in points.windows(2) {
        let step = pair[0].distance(pair[1]);
        if distance <= step && step > 0.0 {
            let t = distance / step;
            return Some(Point::new(
                pair[0].x + t * (pair[1].x - pair[0].x),
                pair[0].y + t * (pair[1].y - pair[0].y),
            ));
        }
        distance -= step;
    }
    points.last().copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(level: f64, y: f64, to: f64) -> Contour {
        Contour {
            level,
            points: (0..=20)
                .map(|i| Point::new(to * f64::from(i) / 20.0, y))
                .collect(),
        }
    }

    const BOUNDS: Bounds = Bounds {
        min: Point::new(0.0, 0.0),
        max: Point::new(100.0, 100.0),
    };

    fn spots(contours: &[Contour], taken: Vec<Point>) -> Vec<Point> {
        on_contours(contours, BOUNDS, taken, &|e| format!("{e}"))
            .into_iter()
            .map(|item| match item {
                Item::Label { at, .. } => at,
                other => panic!("{other:?}"),
            })
            .collect()
    }

    #[test]
    fn one_label_in_the_middle_and_none_on_a_speck() {
        assert_eq!(
            spots(&[line(80.0, 50.0, 100.0)], vec![]),
            [Point::new(50.0, 50.0)]
        );
        assert_eq!(spots(&[line(80.0, 50.0, 3.0)], vec![]), []);
        assert_eq!(
            spots(
                &[Contour {
                    level: 1.0,
                    points: vec![]
                }],
                vec![]
            ),
            []
        );
    }

    #[test]
    fn labels_keep_away_from_each_other_and_from_what_is_taken() {
        let close = [line(80.0, 50.0, 100.0), line(81.0, 51.0, 100.0)];
        let at = spots(&close, vec![]);
        assert_eq!(at.len(), 2);
        assert!((at[0].x - at[1].x).abs() > 3.0, "{at:?}");
        let moved = spots(&close[..1], vec![Point::new(50.0, 50.0)]);
        assert!((moved[0].x - 50.0).abs() > 3.0);
    }
}
