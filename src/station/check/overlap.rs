//! Which outlines overlap, without holding each against every other one.

use crate::geometry::{Bounds, Footprint};

/// Overlaps that are said of one outline; mending these shows the next.
const MOST_OF_ONE: usize = 8;

/// Pairs of indices of outlines that overlap, the lower index first, sorted. Of each outline at most
/// eight overlaps with later ones along the sweep are given.
pub(super) fn pairs(outlines: &[Footprint]) -> Vec<(usize, usize)> {
    let bounds: Vec<Bounds> = outlines.iter().map(Footprint::bounds).collect();
    let Some(all) = bounds.iter().copied().reduce(Bounds::union) else {
        return Vec::new();
    };
    // sweep along the longer side: fewer outlines lie beside each other
    let along_x = all.width() >= all.depth();
    let span = |b: &Bounds| {
        if along_x {
            (b.min.x, b.max.x)
        } else {
            (b.min.y, b.max.y)
        }
    };
    let mut order: Vec<usize> = (0..outlines.len()).collect();
    order.sort_by(|&i, &j| span(&bounds[i]).0.total_cmp(&span(&bounds[j]).0));
    let mut pairs = Vec::new();
    for (place, &i) in order.iter().enumerate() {
        let end = span(&bounds[i]).1;
        let overlapping = order[place + 1..]
            .iter()
            .take_while(|&&j| span(&bounds[j]).0 < end)
            .filter(|&&j| meet(&bounds[i], &bounds[j]) && outlines[i].overlaps(&outlines[j]))
            .take(MOST_OF_ONE);
        pairs.extend(overlapping.map(|&j| (i.min(j), i.max(j))));
    }
    pairs.sort_unstable();
    pairs
}

/// Whether two bounds share a point.
pub(super) fn meet(a: &Bounds, b: &Bounds) -> bool {
    a.min.x <= b.max.x && b.min.x <= a.max.x && a.min.y <= b.max.y && b.min.y <= a.max.y
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Point, Shape};

    #[test]
    fn the_sweep_finds_what_comparing_all_pairs_finds() {
        // a spiral of turned rectangles, some of which overlap
        let outlines: Vec<Footprint> = (0..60)
            .map(|i| {
                let t = f64::from(i);
                Footprint {
                    shape: Shape::Rectangle {
                        width: 14.0,
                        depth: 5.0,
                    },
                    centre: Point::new(2.0 * t * (0.7 * t).cos(), 1.5 * t * (0.7 * t).sin()),
                    turn: 23.0 * t,
                }
            })
            .collect();
        let mut expected = Vec::new();
        for i in 0..outlines.len() {
            for j in i + 1..outlines.len() {
                if outlines[i].overlaps(&outlines[j]) {
                    expected.push((i, j));
                }
            }
        }
        assert!(expected.len() > 5, "the spiral has overlaps");
        assert_eq!(pairs(&outlines), expected);
    }
}
