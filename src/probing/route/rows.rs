//! Positions that stand in rows, walked there and back: nothing is easier to follow.

use crate::geometry::Point;
use crate::numeric::neighbours::median_spacing;

/// Positions placed by hand stand in one row when they differ along y by no more, mm: less than any
/// detector's body.
const SAME_ROW: f64 = 5.0;

/// The same as a share of the median distance from a position to the nearest other one: one that was moved off a keep-out
/// stays in its row.
const OF_SPACING: f64 = 0.35;

/// The rows among points that are given row by row from the front, each from the left, and the rest. A point on its own is
/// no row: one that was put between rows later leaves them as they are.
pub(super) fn rows(points: &[Point]) -> (Vec<Vec<usize>>, Vec<usize>) {
    let spacing = median_spacing(points).unwrap_or(0.0);
    let same_row = SAME_ROW.max(OF_SPACING * spacing);
    let mut rows: Vec<Vec<usize>> = Vec::new();
    let mut rest = Vec::new();
    for (i, p) in points.iter().enumerate() {
        let row = rows.last_mut();
        match row {
            None => rows.push(vec![i]),
            Some(row) => {
                let (first, last) = (points[row[0]], points[row[row.len() - 1]]);
                let goes_on = (p.y - first.y).abs() <= same_row && p.x > last.x;
                let comes_back = p.y - first.y > same_row && p.x < last.x;
                if goes_on {
                    row.push(i);
                } else if comes_back {
                    rows.push(vec![i]);
                } else {
                    rest.push(i);
                }
            }
        }
    }
    rows.retain(|row| {
        let is_row = row.len() > 1;
        if !is_row {
            rest.extend(row);
        }
        is_row
    });
    rest.sort_unstable();
    (rows, rest)
}

/// Rows there and back, from the front left or, with a start, from that corner of the rows; `None`: it is no corner.
pub(super) fn there_and_back(rows: &[Vec<usize>], start: Option<usize>) -> Option<Vec<usize>> {
    let ways = [(false, false), (false, true), (true, false), (true, true)];
    let walked = |(from_back, from_right): (bool, bool)| {
        let mut rows: Vec<Vec<usize>> = rows.to_vec();
        if from_back {
            rows.reverse();
        }
        for (i, row) in rows.iter_mut().enumerate() {
            if (i % 2 == 1) != from_right {
                row.reverse();
            }
        }
        rows.concat()
    };
    let begins = |way: &Vec<usize>| start.is_none_or(|start| way.first() == Some(&start));
    ways.into_iter().map(walked).find(begins)
}

/// Points of any order in bands along x, there and back from the front left: for so many that nobody walks them by hand.
pub(super) fn bands(points: &[Point]) -> Vec<usize> {
    let along = |order: &mut Vec<usize>, key: &dyn Fn(&Point) -> f64| {
        order.sort_by(|&a, &b| key(&points[a]).total_cmp(&key(&points[b])).then(a.cmp(&b)));
    };
    let mut order: Vec<usize> = (0..points.len()).collect();
    along(&mut order, &|p| p.y);
    let mut rows: Vec<Vec<usize>> = Vec::new();
    for i in order {
        match rows.last_mut() {
            Some(row) if points[i].y - points[row[0]].y <= SAME_ROW => row.push(i),
            _ => rows.push(vec![i]),
        }
    }
    for row in &mut rows {
        along(row, &|p| p.x);
    }
    there_and_back(&rows, None).unwrap_or_default()
}
