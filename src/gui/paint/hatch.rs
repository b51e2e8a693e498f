//! Hatching of any outline, dents and holes included.

use eframe::egui::{Pos2, Rect, pos2};

/// Points of the screen between hatch lines, along x.
const SPACING: f32 = 11.0;

/// The parts of rising diagonals that lie inside closed edges by the even-odd rule: each diagonal
/// `x + y = c` is cut by the edges it crosses, every second piece is inside. The edges need no order.
/// Diagonals are `SPACING` apart and go with `origin`, so that they move with the picture; only those
/// that meet `visible` are made.
pub fn lines(
    edges: impl Iterator<Item = [Pos2; 2]>,
    visible: Rect,
    origin: Pos2,
) -> Vec<[Pos2; 2]> {
    let number = |p: Pos2| (p.x + p.y - origin.x - origin.y) / SPACING;
    let (least, most) = (number(visible.min), number(visible.max));
    // (number of the diagonal, x - y on it) of each crossing
    let mut crossings: Vec<(i64, f32)> = Vec::new();
    for [a, b] in edges {
        let (na, nb) = (number(a), number(b));
        // half-open, so that a corner shared by two edges is crossed once
        let first = na.min(nb).max(least).ceil() as i64;
        let end = na.max(nb).min(most).ceil() as i64;
        for n in first..end {
            let p = a + (b - a) * ((n as f32 - na) / (nb - na));
            crossings.push((n, p.x - p.y));
        }
    }
    crossings.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let mut lines = Vec::with_capacity(crossings.len() / 2);
    for diagonal in crossings.chunk_by(|a, b| a.0 == b.0) {
        let c = diagonal[0].0 as f32 * SPACING + origin.x + origin.y;
        let point = |t: f32| pos2(0.5 * (c + t), 0.5 * (c - t));
        lines.extend(
            diagonal
                .as_chunks::<2>()
                .0
                .iter()
                .map(|[from, to]| [point(from.1), point(to.1)]),
        );
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(points: &[Pos2]) -> Vec<[Pos2; 2]> {
        (0..points.len())
            .map(|i| [points[i], points[(i + 1) % points.len()]])
            .collect()
    }

    #[test]
    fn hatch_fills_a_square_and_spares_its_hole() {
        let square =
            |lo: f32, hi: f32| ring(&[pos2(lo, lo), pos2(hi, lo), pos2(hi, hi), pos2(lo, hi)]);
        let visible = Rect::from_min_max(pos2(-1e3, -1e3), pos2(1e3, 1e3));
        let length = |lines: &[[Pos2; 2]]| lines.iter().map(|[a, b]| a.distance(*b)).sum::<f32>();
        let whole = lines(square(0.0, 300.0).into_iter(), visible, Pos2::ZERO);
        // lines SPACING / sqrt 2 apart cover an area of (length * distance)
        let area = length(&whole) * SPACING / 2f32.sqrt();
        assert!((area / 9e4 - 1.0).abs() < 0.02, "{area}");
        let holed = square(0.0, 300.0).into_iter().chain(square(100.0, 200.0));
        let holed = lines(holed, visible, Pos2::ZERO);
        let hole = Rect::from_min_max(pos2(101.0, 101.0), pos2(199.0, 199.0));
        assert!(
            holed
                .iter()
                .all(|[a, b]| !hole.contains(*a + (*b - *a) * 0.5))
        );
        let area = length(&holed) * SPACING / 2f32.sqrt();
        assert!((area / 8e4 - 1.0).abs() < 0.03, "{area}");
    }

    #[test]
    fn what_is_far_out_of_sight_costs_nothing() {
        let big = ring(&[
            pos2(-1e7, -1e7),
            pos2(1e7, -1e7),
            pos2(1e7, 1e7),
            pos2(-1e7, 1e7),
        ]);
        let visible = Rect::from_min_max(pos2(0.0, 0.0), pos2(800.0, 600.0));
        let n = lines(big.into_iter(), visible, Pos2::ZERO).len();
        assert!((120..=130).contains(&n), "{n}");
    }
}
