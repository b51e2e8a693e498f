//! Bonds under an even face: where readings tell nothing of a lamp, about what arrives.

use super::Receiver;
use crate::geometry::Footprint;

/// A face that shines evenly, by Lambert's law, as about so many emitters.
const EMITTERS: f64 = 300.0;

/// A face whose every place shines alike.
pub struct EvenFace {
    emitters: Vec<(f64, f64)>,
    wide: f64,
    height: f64,
}

impl EvenFace {
    /// Of an outline at a height above the base, mm.
    pub fn new(outline: &Footprint, height: f64) -> Self {
        let wide = (outline.area() / EMITTERS).sqrt();
        let cells = outline.cells(wide);
        Self {
            emitters: cells.into_iter().map(|p| (p.x, p.y)).collect(),
            wide,
            height,
        }
    }

    /// Light at a bond over that in the open.
    pub fn ratio(&self, receiver: &Receiver) -> f64 {
        let sum = |at: crate::geometry::Place, passes: bool| -> f64 {
            let above = (self.height - at.height).max(0.5);
            let each = self.emitters.iter().map(|(x, y)| {
                let beside = (x - at.x, y - at.y);
                let r2 = beside.0 * beside.0 + beside.1 * beside.1 + above * above;
                let gives = (above / r2).powi(2);
                if passes {
                    gives * receiver.passes(beside, above, (self.wide, self.wide))
                } else {
                    gives
                }
            });
            each.sum()
        };
        let open = sum(receiver.open, false);
        if open > 0.0 {
            sum(receiver.at, true) / open
        } else {
            1.0
        }
    }
}
