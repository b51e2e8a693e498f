//! Contours against scikit-image and contourpy, closed forms, and another library's closed rings.

use std::path::Path;

use evenfield::field::{Contour, Raster, contours};
use evenfield::geometry::Point;
use serde_json::Value;

/// `f` on nodes `h` mm apart from `origin`.
fn raster(origin: Point, columns: usize, rows: usize, h: f64, f: impl Fn(Point) -> f64) -> Raster {
    let mut raster = Raster {
        columns,
        rows,
        origin,
        step_x: h,
        step_y: h,
        height: 0.0,
        irradiance: Vec::new(),
        uncertainty: vec![f64::NAN; columns * rows],
        extrapolated: vec![false; columns * rows],
    };
    raster.irradiance = (0..columns * rows)
        .map(|i| f(raster.node(i % columns, i / columns)))
        .collect();
    raster
}

/// Positive for a line that runs counter-clockwise.
fn area(line: &Contour) -> f64 {
    let twice: f64 = line
        .points
        .windows(2)
        .map(|w| w[0].x * w[1].y - w[1].x * w[0].y)
        .sum();
    0.5 * twice
}

fn length(line: &Contour) -> f64 {
    line.points.windows(2).map(|w| w[0].distance(w[1])).sum()
}

fn is_closed(line: &Contour) -> bool {
    line.points.first() == line.points.last()
}

fn square(n: usize, f: impl Fn(f64) -> f64) -> Raster {
    let h = 200.0 / (n - 1) as f64;
    raster(Point::new(-100.0, -100.0), n, n, h, |p| f(p.x.hypot(p.y)))
}

fn reference() -> Value {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/data/contour.json");
    let text = std::fs::read_to_string(path).expect("reference file");
    serde_json::from_str(&text).expect("reference file is JSON")
}

fn number(v: &Value) -> f64 {
    v.as_f64().expect("number")
}

fn close(got: f64, expected: f64, tolerance: f64) {
    assert!(
        (got / expected - 1.0).abs() < tolerance,
        "{got}, expected {expected}"
    );
}

/// Paraboloid 50 (1 - r²/100²): areas and lengths by scikit-image 0.26.0 find_contours, contourpy 1.3.3.
#[test]
fn areas_and_lengths_of_a_paraboloid() {
    for case in reference()["paraboloid"].as_array().expect("cases") {
        let n = number(&case["n"]) as usize;
        let raster = square(n, |r| 50.0 * (1.0 - r * r / 1e4));
        let lines = contours(&raster, &[number(&case["T"])]);
        assert_eq!(lines.len(), 1);
        assert!(is_closed(&lines[0]));
        // higher values on the left: counter-clockwise around a peak
        close(area(&lines[0]), number(&case["skimage"]), 1e-11);
        close(length(&lines[0]), number(&case["perimeter"]), 1e-11);
    }
}

/// Gaussian 50 exp(-r² / (2 40²)), contourpy.
#[test]
fn areas_of_a_gaussian() {
    for case in reference()["gaussian"].as_array().expect("cases") {
        let n = number(&case["n"]) as usize;
        let raster = square(n, |r| 50.0 * (-r * r / 3200.0).exp());
        let lines = contours(&raster, &[30.0]);
        assert_eq!(lines.len(), 1);
        close(area(&lines[0]), number(&case["contourpy"]), 1e-11);
    }
}

/// A plane gives one straight line from rim to rim.
#[test]
fn a_plane_gives_a_straight_line() {
    let plane = raster(Point::new(0.0, 0.0), 11, 9, 10.0, |p| {
        20.0 + 0.1 * p.x + 0.05 * p.y
    });
    let lines = contours(&plane, &[27.0]);
    assert_eq!(lines.len(), 1);
    let points = &lines[0].points;
    let (a, b) = (points[0], points[points.len() - 1]);
    assert!(a.distance(Point::new(70.0, 0.0)) < 1e-9 || b.distance(Point::new(70.0, 0.0)) < 1e-9);
    assert!(a.distance(Point::new(30.0, 80.0)) < 1e-9 || b.distance(Point::new(30.0, 80.0)) < 1e-9);
    assert!((length(&lines[0]) - 40f64.hypot(80.0)).abs() < 1e-9);
}

/// Ambiguous cell: contourpy compares the level with the mean of the cell, and so do we.
#[test]
fn a_saddle_like_contourpy() {
    let saddle = raster(Point::new(0.0, 0.0), 2, 2, 1.0, |p| {
        if p.x == p.y { 1.0 } else { 0.0 }
    });
    // at 0.6 the high corners are cut off, at 0.4 the low ones
    let cut_off = |level: f64, corner: Point| {
        contours(&saddle, &[level])
            .iter()
            .any(|l| l.points.iter().all(|p| p.distance(corner) < 0.7))
    };
    assert!(cut_off(0.6, Point::new(0.0, 0.0)) && cut_off(0.6, Point::new(1.0, 1.0)));
    assert!(cut_off(0.4, Point::new(1.0, 0.0)) && cut_off(0.4, Point::new(0.0, 1.0)));
}

/// Where values are missing lines end; the rest is as without the hole.
#[test]
fn a_hole_opens_the_ring() {
    let with_hole = raster(Point::new(-50.0, -50.0), 21, 21, 5.0, |p| {
        if p.x > 20.0 && p.y.abs() < 11.0 {
            f64::NAN
        } else {
            100.0 - p.x.hypot(p.y)
        }
    });
    let lines = contours(&with_hole, &[65.0]);
    assert_eq!(lines.len(), 1);
    assert!(!is_closed(&lines[0]));
    let all_finite = lines[0]
        .points
        .iter()
        .all(|p| p.x.is_finite() && p.y.is_finite());
    assert!(all_finite);
    for p in &lines[0].points {
        assert!((p.x.hypot(p.y) - 35.0).abs() < 0.2);
    }
}

/// Closed rings inside the grid against the crate `contour`, whose coordinates are half a cell off and
/// which agrees up to how it places points between nodes.
#[test]
fn closed_rings_agree_with_another_library() {
    let n = 41;
    let field = |p: Point| {
        let bump = |x: f64, y: f64, w: f64| (-((p.x - x).powi(2) + (p.y - y).powi(2)) / w).exp();
        30.0 * bump(-40.0, -30.0, 900.0) + 20.0 * bump(35.0, 40.0, 700.0)
    };
    let ours = raster(Point::new(-100.0, -100.0), n, n, 5.0, field);
    let levels = [5.0, 9.7, 14.2, 22.0];
    let theirs = contour::ContourBuilder::new(n, n, true)
        .x_step(5.0)
        .y_step(5.0)
        .lines(&ours.irradiance, &levels)
        .expect("their lines");
    for (level, theirs) in levels.iter().zip(&theirs) {
        let lines = contours(&ours, &[*level]);
        let mut mine: Vec<f64> = lines.iter().map(area).collect();
        let (geometry, _) = theirs.clone().into_inner();
        let mut other: Vec<f64> = geometry
            .iter()
            .map(|ring| {
                let points = ring.points().map(|p| Point::new(p.x(), p.y())).collect();
                let line = Contour {
                    level: *level,
                    points,
                };
                area(&line).abs()
            })
            .collect();
        mine.sort_by(f64::total_cmp);
        other.sort_by(f64::total_cmp);
        assert_eq!(mine.len(), other.len());
        for (a, b) in mine.iter().zip(&other) {
            close(*a, *b, 1e-9);
        }
    }
}

/// The same lines in the same order, whatever was asked before.
#[test]
fn levels_do_not_disturb_each_other() {
    let raster = square(41, |r| 50.0 * (1.0 - r * r / 1e4));
    let together = contours(&raster, &[10.0, 30.0, 37.5]);
    let apart: Vec<Contour> = [10.0, 30.0, 37.5]
        .iter()
        .flat_map(|l| contours(&raster, &[*l]))
        .collect();
    assert_eq!(together, apart);
}
