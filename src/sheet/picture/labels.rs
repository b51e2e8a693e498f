//! Where the values of contours stand.

use crate::field::Contour;
use crate::geometry::{Bounds, Point};
use crate::sheet::drawing::{Anchor, Item, Role};

/// Height of a label's line and width of one of its characters, of the picture's extent. Painters
/// choose their own sizes; these are a little more than they take on a page.
const LINE: f64 = 0.024;
const CHARACTER: f64 = 0.012;

/// Labels on the lines, one a line, two on a long one, none on a loop too small to read or where
/// there is no room. Labels keep away from each other and from the points in `barred`; from the labels
/// in `named`, each a point below which a text hangs, where that is possible.
pub(super) fn on_contours(
    contours: &[Contour],
    bounds: Bounds,
    barred: impl IntoIterator<Item = Point>,
    named: impl IntoIterator<Item = (Point, usize)>,
    level_text: &dyn Fn(f64) -> String,
) -> Vec<Item> {
    let extent = bounds.width().max(bounds.depth());
    let line = LINE * extent;
    let half = |characters: usize| 0.5 * CHARACTER * extent * (characters as f64 + 1.0);
    let mut taken: Vec<Bounds> = barred
        .into_iter()
        .map(|p| Bounds { min: p, max: p }.grown(line))
        .collect();
    let names: Vec<Bounds> = named
        .into_iter()
        .map(|(p, characters)| Bounds {
            min: Point::new(p.x - half(characters), p.y - 1.6 * line),
            max: Point::new(p.x + half(characters), p.y),
        })
        .collect();
    let mut labels = Vec::new();
    for contour in contours {
        let text = level_text(contour.level);
        let half_width = half(text.chars().count());
        let length: f64 = contour.points.windows(2).map(|w| w[0].distance(w[1])).sum();
        if length < 6.0 * half_width {
            continue;
        }
        let around = |share: f64| {
            let at = along(&contour.points, share * length)?;
            Some((
                at,
                Bounds {
                    min: Point::new(at.x - half_width, at.y - 0.5 * line),
                    max: Point::new(at.x + half_width, at.y + 0.5 * line),
                },
            ))
        };
        // from the wanted places outwards
        let (wanted, reach): (&[f64], _) = if length > 1.3 * extent {
            (&[0.25, 0.75], 0.22)
        } else {
            (&[0.5], 0.42)
        };
        for &middle in wanted {
            let places = || {
                (0..=20)
                    .flat_map(|i| [1.0, -1.0].map(|side| side * reach * f64::from(i) / 20.0))
                    .filter_map(|off| around(middle + off))
                    .filter(|(_, b)| inside(b, &bounds) && !taken.iter().any(|t| overlap(t, b)))
            };
            let free = places()
                .find(|(_, b)| !names.iter().any(|n| overlap(n, b)))
                .or_else(|| places().next());
            if let Some((at, around)) = free {
                taken.push(around);
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

fn inside(inner: &Bounds, outer: &Bounds) -> bool {
    inner.min.x >= outer.min.x
        && inner.max.x <= outer.max.x
        && inner.min.y >= outer.min.y
        && inner.max.y <= outer.max.y
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
        on_contours(contours, BOUNDS, taken, [], &|e| format!("{e}"))
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
