//! A part of many readings that is spread evenly.

use super::Reach;
use crate::geometry::{Place, Point};

/// More are never taken.
const MOST: usize = 400;

/// All readings of positions that are spread evenly: each next position is the one farthest from those
/// taken, until about `wanted` readings are taken.
pub(in crate::field) fn spread_part(places: &[Place], reach: &Reach, wanted: usize) -> Vec<usize> {
    let mut far: Vec<(Point, f64)> = reach
        .positions
        .iter()
        .map(|&p| (p, f64::INFINITY))
        .collect();
    let mut taken: Vec<usize> = Vec::new();
    while taken.len() < wanted {
        let next = far
            .iter()
            .map(|f| f.1)
            .enumerate()
            .fold(
                (0, -1.0),
                |best, (i, d)| if d > best.1 { (i, d) } else { best },
            );
        if next.1 <= 0.0 {
            break;
        }
        let here = far[next.0].0;
        taken.extend((0..places.len()).filter(|&i| places[i].point() == here));
        for (p, d) in &mut far {
            *d = d.min(p.distance(here));
        }
    }
    taken.truncate(MOST);
    taken
}
