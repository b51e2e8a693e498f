//! Parts arranged, and what has to hold of a place that is used.

use super::Lattice;
use super::cells::Cell;
use crate::geometry::Point;

/// What has to hold of a place that is used: as far inside, at least as bright, at most as bright (ln mW/cm²).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Need {
    pub level: f32,
    pub cold: f32,
    pub hot: f32,
}

impl Need {
    /// Only so far inside the limits.
    pub fn level(level: f32) -> Self {
        Self {
            level,
            cold: f32::NEG_INFINITY,
            hot: f32::INFINITY,
        }
    }

    pub fn met(&self, cell: &Cell) -> bool {
        cell.level > f32::NEG_INFINITY
            && cell.level >= self.level
            && cell.cold >= self.cold
            && cell.hot <= self.hot
    }
}

/// Parts arranged.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Layout {
    /// Centre of each, whether it is turned, and its cell.
    pub parts: Vec<(Point, bool, Cell)>,
    pub lattice: Option<Lattice>,
}

/// What is chosen, and how far inside the limits its worst part lies.
pub(super) struct Chosen {
    pub layout: Layout,
    pub level: f32,
}

/// The level of the worst part.
pub(super) fn worst(layout: &Layout) -> f32 {
    layout
        .parts
        .iter()
        .map(|p| p.2.level)
        .fold(f32::INFINITY, f32::min)
}

/// From the coldest to the hottest of all parts, in logarithms.
pub(super) fn range(layout: &Layout) -> f32 {
    let cold = layout
        .parts
        .iter()
        .map(|p| p.2.cold)
        .fold(f32::INFINITY, f32::min);
    let hot = layout
        .parts
        .iter()
        .map(|p| p.2.hot)
        .fold(f32::NEG_INFINITY, f32::max);
    hot - cold
}

/// Of two rows of circles that are shifted by half a pitch the least step, for the least distance of their middles.
pub(super) fn nested(pitch: f64, apart: f64) -> f64 {
    (apart * apart - 0.25 * pitch * pitch)
        .max(0.25 * apart * apart)
        .sqrt()
}
