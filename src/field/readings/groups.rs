//! What is left out together.

use super::Reach;
use crate::field::Sample;
use crate::geometry::Bounds;

/// What is left out together when families are judged; indices of samples.
#[derive(Debug)]
pub(in crate::field) struct Groups {
    /// By position, in the order in which positions first appear.
    pub positions: Vec<Vec<usize>>,
    /// All readings of the positions on the outline of all positions; empty when those inside are too few to
    /// predict them.
    pub outer: Vec<usize>,
    /// By height, ascending; empty where only one was read.
    pub heights: Vec<Vec<usize>>,
}

impl Groups {
    pub fn of(samples: &[Sample], reach: &Reach) -> Self {
        let positions = by_position(samples);
        let heights = match &reach.heights[..] {
            [] | [_] => Vec::new(),
            heights => {
                let mut groups = vec![Vec::new(); heights.len()];
                for (i, sample) in samples.iter().enumerate() {
                    groups[reach.height_block(sample.at.height)].push(i);
                }
                groups
            }
        };
        Self {
            outer: outer_ring(samples, &positions, reach),
            positions,
            heights,
        }
    }

    /// Positions whose readings are all in the outer ring.
    pub fn outer_positions(&self) -> usize {
        let outer = |group: &&Vec<usize>| self.outer.contains(&group[0]);
        self.positions.iter().filter(outer).count()
    }
}

/// Samples by position, in the order in which positions first appear.
fn by_position(samples: &[Sample]) -> Vec<Vec<usize>> {
    let mut order = std::collections::HashMap::new();
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (i, sample) in samples.iter().enumerate() {
        let group = *order.entry(sample.position).or_insert(groups.len());
        if group == groups.len() {
            groups.push(Vec::new());
        }
        groups[group].push(i);
    }
    groups
}

/// Readings of the positions on the outline of all positions, when those inside are enough to predict them.
fn outer_ring(samples: &[Sample], positions: &[Vec<usize>], reach: &Reach) -> Vec<usize> {
    let bounds = Bounds::around(reach.positions.iter().copied());
    let Some(bounds) = bounds else {
        return Vec::new();
    };
    let (w, d) = (0.02 * bounds.width(), 0.02 * bounds.depth());
    let is_outer = |i: usize| {
        let p = samples[i].at;
        p.x < bounds.min.x + w
            || p.x > bounds.max.x - w
            || p.y < bounds.min.y + d
            || p.y > bounds.max.y - d
    };
    let outer: Vec<&Vec<usize>> = positions.iter().filter(|g| is_outer(g[0])).collect();
    if positions.len() - outer.len() < 4 {
        return Vec::new();
    }
    outer.into_iter().flatten().copied().collect()
}
