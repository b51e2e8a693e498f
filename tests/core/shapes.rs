//! What holds of outlines whatever their shape, and of polygons against what is known of them without
//! the program's own code.

use evenfield::geometry::{Corners, Footprint, Point, Shape};
use evenfield::numeric::neighbours::largest_gap;
use proptest::prelude::*;

use crate::strategies::star;

fn polygon(corners: Vec<Point>) -> Shape {
    Shape::Polygon {
        corners: corners.into(),
    }
}

/// A turned rectangle, and the polygon of its corners, begun at any of them, either way round.
fn twins() -> impl Strategy<Value = (Footprint, Footprint)> {
    let at = (-50.0..50.0, -50.0..50.0).prop_map(|(x, y)| Point::new(x, y));
    (
        1.0..80.0,
        1.0..80.0,
        at,
        -180.0..180.0,
        0usize..4,
        any::<bool>(),
    )
        .prop_map(|(width, depth, centre, turn, first, backwards)| {
            let shape = Shape::Rectangle { width, depth };
            let mut corners = Footprint::new(shape.clone(), Point::default()).outline();
            corners.rotate_left(first);
            if backwards {
                corners.reverse();
            }
            let with = |shape| Footprint {
                shape,
                centre,
                turn,
            };
            (with(shape), with(polygon(corners)))
        })
}

fn point() -> impl Strategy<Value = Point> {
    (-120.0..120.0, -120.0..120.0).prop_map(|(x, y)| Point::new(x, y))
}

/// Whether all corners of two outlines are far enough from the other's rim for rounding not to decide.
fn is_clear(a: &Footprint, b: &Footprint) -> bool {
    let far = |a: &Footprint, b: &Footprint| {
        let mut corners = a.outline().into_iter();
        corners.all(|p| b.signed_distance(p).abs() > 0.01)
    };
    far(a, b) && far(b, a)
}

/// Places on the rim, 2000 of them, made without the program's own sides.
fn rim(corners: &[Point]) -> Vec<Point> {
    let n = corners.len();
    (0..n)
        .flat_map(|i| {
            let (a, b) = (corners[i], corners[(i + 1) % n]);
            (0..2000 / n).map(move |k| {
                let t = k as f64 / (2000 / n) as f64;
                Point::new(a.x + t * (b.x - a.x), a.y + t * (b.y - a.y))
            })
        })
        .collect()
}

proptest! {
    #[test]
    fn a_rectangle_by_its_corners_is_that_rectangle(
        (rectangle, corners) in twins(),
        (other, others_corners) in twins(),
        diameter in 1.0..60.0,
        p in point(),
    ) {
        let distance = rectangle.signed_distance(p);
        prop_assert!((distance - corners.signed_distance(p)).abs() < 1e-9);
        prop_assert!((rectangle.area() - corners.area()).abs() < 1e-9 * rectangle.area());
        let (a, b) = (rectangle.bounds(), corners.bounds());
        prop_assert!(a.min.distance(b.min) < 1e-9 && a.max.distance(b.max) < 1e-9);
        prop_assert!(rectangle.middle().distance(corners.middle()) < 1e-9);
        // nearest places differ where two are as near
        if distance > 1e-6 {
            let (a, b) = (rectangle.nearest_inside(p), corners.nearest_inside(p));
            prop_assert!((p.distance(a) - p.distance(b)).abs() < 1e-9);
        } else {
            prop_assert_eq!(corners.nearest_inside(p), p);
        }
        let disk = Footprint::new(Shape::Circle { diameter }, p);
        if (distance.abs() - 0.5 * diameter).abs() > 0.01 {
            prop_assert_eq!(rectangle.covers(&disk), corners.covers(&disk));
            prop_assert_eq!(rectangle.overlaps(&disk), corners.overlaps(&disk));
        }
        if is_clear(&rectangle, &other) {
            prop_assert_eq!(rectangle.covers(&other), corners.covers(&others_corners));
            prop_assert_eq!(rectangle.covers(&other), corners.covers(&other));
            prop_assert_eq!(rectangle.overlaps(&other), corners.overlaps(&others_corners));
            prop_assert_eq!(rectangle.overlaps(&other), others_corners.overlaps(&rectangle));
        }
    }

    #[test]
    fn lattice_and_cells_of_a_rectangle_by_its_corners(
        (rectangle, corners) in twins(),
        step in 2.0..9.0,
    ) {
        let (a, b) = (rectangle.cells(step), corners.cells(step));
        prop_assert_eq!(a.len(), b.len());
        let near = |p: &Point, all: &[Point]| all.iter().any(|q| p.distance(*q) < 1e-6);
        prop_assert!(a.iter().all(|p| near(p, &b)));
        let (a, b) = (rectangle.lattice(step), corners.lattice(step));
        prop_assert!(b.iter().all(|p| rectangle.signed_distance(*p) < 1e-6));
        // nodes on the rim may be lost to rounding, but the rim itself is sampled
        let inner = |p: &&Point| rectangle.signed_distance(**p) < -1e-6;
        prop_assert!(a.iter().filter(inner).all(|p| near(p, &b)));
    }

    /// The distance from the rim against thousands of places on it, the inside against the angle at which
    /// the rim goes around a point.
    #[test]
    fn distance_and_inside_of_any_polygon(corners in star(), p in point()) {
        let outline = Footprint::new(polygon(corners.clone()), Point::default());
        prop_assert!(outline.shape.is_sound());
        let found = outline.signed_distance(p);
        let rim = rim(&corners);
        let longest = (rim.iter().zip(rim.iter().cycle().skip(1)))
            .map(|(a, b)| a.distance(*b))
            .fold(0.0, f64::max);
        let sampled = rim.iter().map(|q| p.distance(*q)).fold(f64::INFINITY, f64::min);
        prop_assert!(found.abs() <= sampled + 1e-9 && sampled <= found.abs() + 0.5 * longest + 1e-9);
        prop_assume!(found.abs() > 0.01);
        let turned: f64 = (corners.iter().zip(corners.iter().cycle().skip(1)))
            .map(|(a, b)| {
                let (u, v) = ((a.x - p.x, a.y - p.y), (b.x - p.x, b.y - p.y));
                (u.0 * v.1 - u.1 * v.0).atan2(u.0 * v.0 + u.1 * v.1)
            })
            .sum();
        prop_assert_eq!(found < 0.0, turned.abs() > 1.0);
        let kept = outline.nearest_inside(p);
        prop_assert!((p.distance(kept) - found.max(0.0)).abs() < 1e-9);
        prop_assert!(outline.contains(kept) || outline.signed_distance(kept) < 1e-6);
    }

    /// A body is inside when all of its rim is, and meets another when a place of one is in the other.
    #[test]
    fn bodies_and_polygons_with_dents(
        corners in star(),
        (rectangle, _) in twins(),
        other in star(),
        at in point(),
    ) {
        let outline = Footprint::new(polygon(corners.clone()), Point::default());
        let apart = Footprint::new(polygon(other), at);
        for body in [rectangle, apart] {
            prop_assume!(is_clear(&outline, &body));
            let deepest = |of: &Footprint, rim: &[Point]| {
                let mut ends = (f64::INFINITY, f64::NEG_INFINITY);
                for p in rim {
                    let d = of.signed_distance(*p);
                    ends = (ends.0.min(d), ends.1.max(d));
                }
                ends
            };
            let (least, most) = deepest(&outline, &rim(&body.outline()));
            if most.abs() > 0.2 {
                prop_assert_eq!(outline.covers(&body), most < 0.0);
            }
            let (theirs, _) = deepest(&body, &rim(&corners));
            let nearest = least.min(theirs);
            if nearest.abs() > 0.2 {
                prop_assert_eq!(outline.overlaps(&body), nearest < 0.0);
                prop_assert_eq!(body.overlaps(&outline), nearest < 0.0);
            }
        }
    }

    #[test]
    fn triangles_of_any_polygon_have_its_area(corners in star(), p in point()) {
        let corners = Corners::from(corners);
        let triangles = corners.triangles();
        prop_assert_eq!(triangles.len(), corners.len() - 2);
        let outlines: Vec<Footprint> = triangles
            .iter()
            .map(|t| Footprint::new(polygon(t.to_vec()), Point::default()))
            .collect();
        let area: f64 = outlines.iter().map(Footprint::area).sum();
        prop_assert!((area - corners.signed_area().abs()).abs() < 1e-6 * area);
        prop_assume!(outlines.iter().all(|t| t.signed_distance(p).abs() > 1e-6));
        let holding = outlines.iter().filter(|t| t.contains(p)).count();
        prop_assert_eq!(holding, usize::from(corners.signed_distance(p) < 0.0));
    }
}

/// Of an equilateral triangle the largest disk inside has the radius side / (2 * sqrt 3).
#[test]
fn the_deepest_place_of_a_triangle_is_its_inradius_inside() {
    let side: f64 = 90.0;
    let height = side * 0.75f64.sqrt();
    let corners = vec![
        Point::new(0.0, 0.0),
        Point::new(side, 0.0),
        Point::new(0.5 * side, height),
    ];
    let outline = Footprint::new(polygon(corners.clone()), Point::default());
    let middle = Point::new(0.5 * side, height / 3.0);
    let inradius = side / (2.0 * 3f64.sqrt());
    assert!((outline.signed_distance(middle) + inradius).abs() < 1e-9);
    let body = |diameter| Footprint::new(Shape::Circle { diameter }, middle);
    assert!(outline.covers(&body(2.0 * inradius - 1e-6)));
    assert!(!outline.covers(&body(2.0 * inradius + 1e-6)));
    // the place farthest from all corners is the same one, at the circumradius
    let (at, gap) = largest_gap(&outline, &corners).expect("a gap");
    assert!(at.distance(middle) < 0.01 && (gap - 2.0 * inradius).abs() < 0.01);
}
