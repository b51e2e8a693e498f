//! The nearest of many points, and what follows from it: how far positions are apart, where the largest
//! gap is.

use kiddo::{ImmutableKdTree, SquaredEuclidean};
use spade::{DelaunayTriangulation, Point2, Triangulation};
use std::num::NonZero;

use crate::geometry::{Footprint, Point};

/// Finds the nearest of a set of points. Points that are not finite are never found.
#[derive(Debug)]
pub struct Nearest {
    tree: Option<ImmutableKdTree<f64, 2>>,
    /// For each point of the tree its index among those given.
    indices: Vec<usize>,
}

impl Nearest {
    /// Made once for a set of points.
    pub fn new(points: &[Point]) -> Self {
        let (indices, kept): (Vec<usize>, Vec<[f64; 2]>) = points
            .iter()
            .enumerate()
            .filter(|(_, p)| p.x.is_finite() && p.y.is_finite())
            .map(|(i, p)| (i, [p.x, p.y]))
            .unzip();
        let tree = if kept.is_empty() {
            None
        } else {
            ImmutableKdTree::new_from_slice(&kept).ok()
        };
        Self { tree, indices }
    }

    /// Index and distance in mm of the nearest point; `None` without points. Of several equally near
    /// the first.
    pub fn nearest(&self, point: Point) -> Option<(usize, f64)> {
        let tree = self.tree.as_ref()?;
        let at = [point.x, point.y];
        let distance = tree
            .query(&at)
            .nearest_one::<SquaredEuclidean<f64>>()
            .execute()
            .distance;
        if !distance.is_finite() {
            return None;
        }
        // the order of the tree among equals is not that of the points
        let index = tree
            .query(&at)
            .within::<SquaredEuclidean<f64>>(distance * (1.0 + 1e-12))
            .execute()
            .iter()
            .map(|found| self.indices[found.item as usize])
            .min();
        index.map(|i| (i, distance.sqrt()))
    }

    /// Distance in mm to the nearest point; infinite without points.
    pub fn distance(&self, point: Point) -> f64 {
        self.tree.as_ref().map_or(f64::INFINITY, |tree| {
            tree.query(&[point.x, point.y])
                .nearest_one::<SquaredEuclidean<f64>>()
                .execute()
                .distance
                .sqrt()
        })
    }
}

/// For each of the distinct points the distance to the nearest other one, mm; empty for fewer than two.
pub fn nearest_distances(points: &[Point]) -> Vec<f64> {
    let distinct: Vec<[f64; 2]> = distinct(points).iter().map(|p| [p.x, p.y]).collect();
    let Some(two) = NonZero::new(2) else {
        return Vec::new();
    };
    if distinct.len() < 2 {
        return Vec::new();
    }
    let Ok(tree) = ImmutableKdTree::<f64, 2>::new_from_slice(&distinct) else {
        return Vec::new();
    };
    distinct
        .iter()
        .filter_map(|p| {
            let found = tree
                .query(p)
                .nearest_n::<SquaredEuclidean<f64>>(two)
                .execute();
            found.iter().map(|f| f.distance.sqrt()).reduce(f64::max)
        })
        .collect()
}

/// The median distance from a point to its nearest neighbour, mm; points at the same place count once.
/// `None` for fewer than two places.
pub fn median_spacing(points: &[Point]) -> Option<f64> {
    super::quantile::median(&nearest_distances(points))
}

/// The place in an outline that is farthest from any point, and how far: the centre and radius in mm of
/// the largest disk without a point whose centre is inside. Found on a lattice, then refined to a
/// thousandth of a millimetre. `None` without points.
pub fn largest_gap(outline: &Footprint, points: &[Point]) -> Option<(Point, f64)> {
    let nearest = Nearest::new(points);
    nearest.tree.as_ref()?;
    let (w, d) = outline.shape.size();
    let mut step = w.max(d) / 60.0;
    let mut best = outline
        .lattice(step)
        .into_iter()
        .map(|p| (p, nearest.distance(p)))
        .reduce(|a, b| if b.1 > a.1 { b } else { a })?;
    while step > 1e-3 {
        let around = (0..8).map(|i| {
            let angle = std::f64::consts::TAU * f64::from(i) / 8.0;
            let p = Point::new(best.0.x + step * angle.cos(), best.0.y + step * angle.sin());
            outline.nearest_inside(p)
        });
        let better = around
            .map(|p| (p, nearest.distance(p)))
            .reduce(|a, b| if b.1 > a.1 { b } else { a })
            .filter(|found| found.1 > best.1);
        match better {
            Some(found) => best = found,
            None => step *= 0.5,
        }
    }
    Some(best)
}

/// A point as a triangulation takes it: without numbers that are all but zero.
pub(crate) fn vertex(p: Point) -> Point2<f64> {
    let kept = |v: f64| if v.abs() < 1e-30 { 0.0 } else { v };
    Point2::new(kept(p.x), kept(p.y))
}

/// The longest edge of the shortest tree that joins distinct points (Kruskal 1956, on the edges of the Delaunay
/// triangulation, which has all of them), mm; 0 for fewer than two. Points too far away for a triangulation are as far
/// apart as that.
pub fn longest_link(points: &[Point]) -> f64 {
    let vertices = points.iter().map(|&p| vertex(p)).collect();
    let Ok(mesh) = DelaunayTriangulation::<Point2<f64>>::bulk_load(vertices) else {
        return f64::MAX;
    };
    let mut edges: Vec<(f64, usize, usize)> = mesh
        .undirected_edges()
        .map(|edge| {
            let [a, b] = edge.vertices().map(|v| v.fix().index());
            (edge.length_2(), a, b)
        })
        .collect();
    edges.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let mut above: Vec<usize> = (0..mesh.num_vertices()).collect();
    let root = |above: &mut Vec<usize>, mut v: usize| {
        while above[v] != v {
            above[v] = above[above[v]];
            v = above[v];
        }
        v
    };
    let mut longest = 0.0;
    for (length, a, b) in edges {
        let (a, b) = (root(&mut above, a), root(&mut above, b));
        if a != b {
            above[a] = b;
            longest = length;
        }
    }
    longest.sqrt()
}

/// The finite points, each place once, in the order of x and y.
pub fn distinct(points: &[Point]) -> Vec<Point> {
    let mut sorted: Vec<Point> = points
        .iter()
        .copied()
        .filter(|p| p.x.is_finite() && p.y.is_finite())
        .collect();
    sorted.sort_unstable_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    sorted.dedup();
    sorted
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Shape;

    fn lattice() -> Vec<Point> {
        (0..25)
            .map(|i| Point::new(f64::from(i % 5) * 20.0, f64::from(i / 5) * 10.0))
            .collect()
    }

    #[test]
    fn the_nearest_and_the_first_of_equals() {
        let n = Nearest::new(&lattice());
        assert_eq!(n.nearest(Point::new(21.0, 1.0)).map(|f| f.0), Some(1));
        assert_eq!(n.nearest(Point::new(10.0, 0.0)), Some((0, 10.0)));
        assert_eq!(Nearest::new(&[]).nearest(Point::new(0.0, 0.0)), None);
        let same = vec![Point::new(3.0, 4.0); 200];
        assert_eq!(
            Nearest::new(&same).nearest(Point::new(0.0, 0.0)),
            Some((0, 5.0))
        );
    }

    #[test]
    fn spacing_of_a_lattice_with_repeats() {
        let mut points = lattice();
        points.extend(lattice());
        assert_eq!(median_spacing(&points), Some(10.0));
        assert_eq!(median_spacing(&points[..1]), None);
    }

    #[test]
    fn the_longest_link_is_that_of_the_shortest_tree() {
        assert_eq!(longest_link(&lattice()), 20.0);
        assert_eq!(longest_link(&lattice()[..1]), 0.0);
        let line: Vec<Point> = [0.0, 1.0, 5.0, 7.0]
            .map(|v| Point::new(3.0 * v, 4.0 * v))
            .to_vec();
        assert!((longest_link(&line) - 20.0).abs() < 1e-12);
        let apart = [
            Point::new(0.0, 0.0),
            Point::new(3.0, 0.0),
            Point::new(0.0, 50.0),
        ];
        assert_eq!(longest_link(&apart), 50.0);
    }

    #[test]
    fn the_largest_gap_of_one_point_in_a_corner_is_the_other_corner() {
        let outline = Footprint::new(
            Shape::Rectangle {
                width: 100.0,
                depth: 60.0,
            },
            Point::new(50.0, 30.0),
        );
        let (p, r) = largest_gap(&outline, &[Point::new(0.0, 0.0)]).expect("a gap");
        assert!(
            p.distance(Point::new(100.0, 60.0)) < 1e-6 && (r - 100f64.hypot(60.0)).abs() < 1e-6
        );
        // Four corners: the centre is as far from each.
        let corners: Vec<Point> = outline.outline();
        let (p, r) = largest_gap(&outline, &corners).expect("a gap");
        assert!(p.distance(outline.centre) < 0.01 && (r - 50f64.hypot(30.0)).abs() < 0.01);
        assert_eq!(largest_gap(&outline, &[]), None);
    }
}
