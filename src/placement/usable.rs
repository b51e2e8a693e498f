//! The usable part of the pallet: where a part's centre may be.

use std::sync::Arc;

use super::cells::{Room, offsets};
use super::light::Light;
use super::{Bar, Bars, Bed, Part, Passes, Unplaceable};
use crate::assess::limits::{Margins, Scale, Z95};
use crate::field::{Fitted, Raster};
use crate::geometry::Point;
use crate::progress::Progress;

/// Nodes along the longer side.
const NODES: f64 = 90.0;

/// What the usable part is asked of.
#[derive(Debug, Clone)]
pub struct ToShow {
    /// The field.
    pub field: Arc<Fitted>,
    /// The part.
    pub part: Part,
    /// Where it may lie.
    pub bed: Bed,
    /// What it is held against.
    pub bars: Bars,
}

/// For each node of a raster over the fixture how far a part whose centre is there lies inside the limits, or outside;
/// `None` where there is no room for it.
#[derive(Debug, Clone)]
pub struct Usable {
    /// The nodes; its values are not used.
    pub raster: Raster,
    /// Each of them.
    pub margins: Vec<Option<Margins>>,
}

impl ToShow {
    /// Looks at every node. Each place is judged by itself, by the field's own uncertainty at each of its points; of a part
    /// that may be turned the better way counts.
    ///
    /// # Errors
    /// The part can't be placed, or it was asked to stop.
    pub fn usable(&self, progress: &Progress) -> Result<Usable, Unplaceable> {
        self.part.sound()?;
        let bounds = self.bed.outline.bounds();
        let height = self.bed.height;
        let light = Light::of(&self.field, bounds, height, &Passes::once(), progress)?;
        let step = bounds.width().max(bounds.depth()) / NODES;
        let raster = empty(bounds, step, height);
        let room = Room::new(&self.part, &self.bed);
        let proves = light.has_uncertainty() && self.field.misses().is_none();
        let poses: Vec<(bool, Vec<Point>)> = self
            .part
            .poses()
            .into_iter()
            .map(|turned| (turned, offsets(&self.part, turned, 60)))
            .collect();
        let mut margins = Vec::with_capacity(raster.columns * raster.rows);
        for row in 0..raster.rows {
            progress.check()?;
            for column in 0..raster.columns {
                let centre = raster.node(column, row);
                let each = poses.iter().filter(|(turned, _)| room.has(centre, *turned));
                let best = each.map(|(_, offsets)| self.margins(centre, offsets, &light, proves));
                margins.push(best.reduce(|a, b| if b.inside > a.inside { b } else { a }));
            }
        }
        Ok(Usable { raster, margins })
    }

    fn margins(&self, centre: Point, offsets: &[Point], light: &Light, proves: bool) -> Margins {
        /// What stands for a margin that can't be said.
        const NEVER: f64 = -10.0;
        let bars = &self.bars;
        let mut all = Margins {
            below: NEVER,
            inside: -NEVER,
            above: NEVER,
        };
        for offset in offsets {
            let (ln, u) = light.at(Point::new(centre.x + offset.x, centre.y + offset.y));
            let (ln, u) = (f64::from(ln) + bars.through.ln(), f64::from(u));
            // half the width of the band of 95 % on either side
            let half = |bar: &Bar| match bar.scale {
                _ if !proves => None,
                Scale::Relative => Some(Z95 * u),
                Scale::Absolute => bars.calibration.map(|c| Z95 * u.hypot(c)),
            };
            if let Some(lower) = &bars.lower {
                let over = ln - lower.value.ln();
                let used_up = over + bars.allowed.0.ln();
                let half = half(lower);
                all.inside = all.inside.min(half.map_or(NEVER, |h| used_up - h));
                all.below = all.below.max(half.map_or(NEVER, |h| -over - h));
            }
            if let Some(upper) = &bars.upper {
                let over = ln - upper.value.ln();
                let grown = over + bars.allowed.1.ln();
                let half = half(upper);
                all.inside = all.inside.min(half.map_or(NEVER, |h| -grown - h));
                all.above = all.above.max(half.map_or(NEVER, |h| over - h));
            }
        }
        all
    }
}

fn empty(bounds: crate::geometry::Bounds, step: f64, height: f64) -> Raster {
    let cells = |extent: f64| (extent / step - 1e-9).ceil().max(1.0) as usize;
    Raster::blank(
        bounds,
        (cells(bounds.width()), cells(bounds.depth())),
        height,
    )
}
