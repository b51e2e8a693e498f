//! Lines of equal irradiance by marching squares.
//!
//! Own code: the library at hand closes lines along the rim and shifts them by half a cell.

use super::Raster;
use crate::geometry::Point;

/// A line of equal irradiance, joined. Closed lines repeat their first point at the end.
#[derive(Debug, Clone, PartialEq)]
pub struct Contour {
    /// mW/cm².
    pub level: f64,
    /// mm.
    pub points: Vec<Point>,
}

/// Contours of values on a raster's nodes by marching squares with linear interpolation: in mm,
/// lines end where the values do (NaN), a saddle is split by the mean of its cell, the order is
/// deterministic.
///
/// A node exactly at the level counts as above it. Lines run with the higher values on their left. For
/// each level in turn first the lines that end somewhere, then the closed ones.
pub fn contours(raster: &Raster, levels: &[f64]) -> Vec<Contour> {
    let mut march = March::over(raster);
    levels
        .iter()
        .filter(|level| level.is_finite())
        .flat_map(|&level| march.lines(level))
        .collect()
}

/// No crossing on this edge.
const NONE: u32 = u32::MAX;

/// Edges have numbers: that from a node to the right twice the node's, that from a node to the back one
/// more.
struct March<'a> {
    raster: &'a Raster,
    /// For each edge the one that the line goes to next.
    next: Vec<u32>,
    /// Whether a line comes to the edge.
    entered: Vec<bool>,
}

impl<'a> March<'a> {
    fn over(raster: &'a Raster) -> Self {
        let edges = 2 * raster.columns * raster.rows;
        Self {
            raster,
            next: vec![NONE; edges],
            entered: vec![false; edges],
        }
    }

    fn lines(&mut self, level: f64) -> Vec<Contour> {
        let mut starts = self.link(level);
        starts.sort_unstable();
        let mut lines = Vec::new();
        // open lines have a start that nothing enters; what is left after them is closed
        let (closed, open): (Vec<u32>, Vec<u32>) = starts
            .iter()
            .partition(|&&edge| self.entered[edge as usize]);
        for start in open.into_iter().chain(closed) {
            let points = self.trace(start, level);
            if points.len() > 1 {
                lines.push(Contour { level, points });
            }
        }
        starts.iter().for_each(|&edge| self.forget(edge));
        lines
    }

    /// Links the edges that the line crosses, cell by cell; gives those that lines leave from.
    fn link(&mut self, level: f64) -> Vec<u32> {
        let (columns, rows) = (self.raster.columns, self.raster.rows);
        let values = &self.raster.irradiance;
        let mut starts = Vec::new();
        for row in 0..rows.saturating_sub(1) {
            for column in 0..columns.saturating_sub(1) {
                let node = row * columns + column;
                // corners counter-clockwise from the front left, side k from corner k to the next
                let corners =
                    [node, node + 1, node + columns + 1, node + columns].map(|i| values[i]);
                if corners.iter().any(|v| v.is_nan()) {
                    continue;
                }
                let above = corners.map(|v| v >= level);
                let sides = [
                    2 * node,
                    2 * (node + 1) + 1,
                    2 * (node + columns),
                    2 * node + 1,
                ];
                let falls = |k: usize| above[k] && !above[(k + 1) % 4];
                let rises = |k: usize| !above[k] && above[(k + 1) % 4];
                let saddle = (0..4).filter(|&k| falls(k)).count() == 2;
                let high = corners.iter().sum::<f64>() / 4.0 >= level;
                for from in (0..4).filter(|&k| falls(k)) {
                    let to = match (saddle, high) {
                        (true, true) => Some((from + 1) % 4),
                        (true, false) => Some((from + 3) % 4),
                        _ => (0..4).find(|&k| rises(k)),
                    };
                    if let Some(to) = to {
                        self.next[sides[from]] = sides[to] as u32;
                        self.entered[sides[to]] = true;
                        starts.push(sides[from] as u32);
                    }
                }
            }
        }
        starts
    }

    /// Follows a line from an edge to its end or back to its start, and forgets it.
    fn trace(&mut self, start: u32, level: f64) -> Vec<Point> {
        let mut points: Vec<Point> = Vec::new();
        let mut edge = start;
        if self.next[start as usize] == NONE {
            return points;
        }
        loop {
            let point = self.crossing(edge as usize, level);
            // a level exactly on a node gives its point from each edge around it
            if points.last() != Some(&point) {
                points.push(point);
            }
            let next = std::mem::replace(&mut self.next[edge as usize], NONE);
            if next == NONE {
                return points;
            }
            edge = next;
        }
    }

    fn crossing(&self, edge: usize, level: f64) -> Point {
        let raster = self.raster;
        let node = edge / 2;
        let to_the_back = edge % 2 == 1;
        let other = node + if to_the_back { raster.columns } else { 1 };
        let (a, b) = (raster.irradiance[node], raster.irradiance[other]);
        let part = ((level - a) / (b - a)).clamp(0.0, 1.0);
        let at = raster.node(node % raster.columns, node / raster.columns);
        if to_the_back {
            Point::new(at.x, at.y + part * raster.step_y)
        } else {
            Point::new(at.x + part * raster.step_x, at.y)
        }
    }

    fn forget(&mut self, edge: u32) {
        let next = edge as usize;
        self.next[next] = NONE;
        self.entered[next] = false;
    }
}

/// About `wanted` round levels (1, 2, 2.5 or 5 times a power of ten apart) strictly inside a range,
/// ascending; none when there is no range.
pub fn round_levels(low: f64, high: f64, wanted: usize) -> Vec<f64> {
    let range = high - low;
    if !(range.is_finite() && range > 0.0) || wanted == 0 {
        return Vec::new();
    }
    let decade = 10f64.powf((range / wanted as f64).log10().floor());
    let inside = |step: f64| -> Vec<f64> {
        let first = (low / step).floor() + 1.0;
        (0..=10 * wanted)
            .map(|i| (first + i as f64) * step)
            .take_while(|&level| level < high)
            .filter(|&level| level > low)
            .collect()
    };
    [1.0, 2.0, 2.5, 5.0, 10.0]
        .map(|round| inside(round * decade))
        .into_iter()
        .min_by_key(|levels| levels.len().abs_diff(wanted))
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A raster with nodes a millimetre apart; values from the front row to the back.
    fn raster(columns: usize, values: &[f64]) -> Raster {
        Raster {
            columns,
            rows: values.len() / columns,
            origin: Point::new(0.0, 0.0),
            step_x: 1.0,
            step_y: 1.0,
            height: 0.0,
            irradiance: values.to_vec(),
            uncertainty: vec![f64::NAN; values.len()],
            extrapolated: vec![false; values.len()],
        }
    }

    #[test]
    fn a_saddle_is_split_by_its_mean() {
        let saddle = raster(2, &[1.0, 0.0, 0.0, 1.0]);
        // mean 0.5 at level 0.5 counts as above: the two high corners hang together
        let lines = contours(&saddle, &[0.5]);
        let ends: Vec<_> = lines.iter().map(|l| (l.points[0], l.points[1])).collect();
        assert_eq!(
            ends,
            [
                (Point::new(0.5, 0.0), Point::new(1.0, 0.5)),
                (Point::new(0.5, 1.0), Point::new(0.0, 0.5)),
            ]
        );
        let lines = contours(&saddle, &[0.75]);
        assert_eq!(lines.len(), 2);
        assert_eq!(
            lines[0].points,
            [Point::new(0.25, 0.0), Point::new(0.0, 0.25)]
        );
    }

    #[test]
    fn a_level_on_nodes_gives_each_point_once() {
        let peak = raster(3, &[0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0]);
        assert!(
            contours(&peak, &[1.0]).is_empty(),
            "a single point is no line"
        );
        let ridge = raster(3, &[0.0, 1.0, 2.0, 0.0, 1.0, 2.0, 0.0, 1.0, 2.0]);
        let lines = contours(&ridge, &[1.0]);
        assert_eq!(lines.len(), 1);
        assert_eq!(
            lines[0].points,
            [2.0, 1.0, 0.0].map(|y| Point::new(1.0, y)).to_vec()
        );
    }

    #[test]
    fn lines_end_where_values_do() {
        let nan = f64::NAN;
        let with_hole = raster(
            4,
            &[
                0.0, 0.0, 0.0, 0.0, 1.0, 1.0, nan, 1.0, 2.0, 2.0, 2.0, 2.0, 3.0, 3.0, 3.0, 3.0,
            ],
        );
        let lines = contours(&with_hole, &[0.5, 2.5]);
        assert_eq!(lines.len(), 2);
        assert_eq!(lines[0].points.len(), 2);
        assert_eq!(lines[1].points.len(), 4);
        assert!(contours(&raster(2, &[nan; 4]), &[0.5]).is_empty());
        assert!(contours(&raster(1, &[1.0]), &[0.5]).is_empty());
    }

    #[test]
    fn levels_are_round_and_inside() {
        assert_eq!(
            round_levels(18.0, 46.2, 5),
            [20.0, 25.0, 30.0, 35.0, 40.0, 45.0]
        );
        assert_eq!(
            round_levels(0.0, 1.0, 4),
            [0.2, 0.4, 0.6000000000000001, 0.8]
        );
        assert!(round_levels(1.0, 1.0, 5).is_empty());
        assert!(round_levels(f64::NAN, 1.0, 5).is_empty());
        assert!(round_levels(0.0, 1.0, 0).is_empty());
        for (low, high, wanted) in [(3.1, 97.0, 8), (1e-3, 2e-3, 10), (999.0, 1001.0, 6)] {
            let levels = round_levels(low, high, wanted);
            assert!(
                levels.len().abs_diff(wanted) <= wanted / 2 + 1,
                "{levels:?}"
            );
            assert!(levels.iter().all(|&l| l > low && l < high));
        }
    }
}
