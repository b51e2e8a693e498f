//! A map: values on nodes at one height and the lines of equal irradiance through them. Window and
//! sheets both show this, so that paper and screen are the same picture.

use std::sync::Arc;

use super::{Contour, Raster, contours, round_levels};
use crate::field::{Area, AtBond, Fitted};
use crate::geometry::{Footprint, Place};
use crate::progress::{Cancelled, Progress};

/// Contours on a map, about.
const LEVELS: usize = 8;

/// A field at one height, to be looked at.
#[derive(Debug, Clone)]
pub struct Map {
    /// What the map shows on nodes, as `irradiance`: mW/cm², or percent or a part of a mean for a map of those.
    pub raster: Arc<Raster>,
    /// Levels of the contours.
    pub levels: Vec<f64>,
    /// Lines of equal value.
    pub contours: Vec<Contour>,
}

impl Map {
    /// Nodes along the longer side of a map that is looked at closely.
    pub const FINE: usize = 200;

    /// A map of values without lines of equal value.
    pub fn without_contours(raster: Raster) -> Self {
        let (low, high) = raster.range().unwrap_or((0.0, 0.0));
        Self {
            levels: round_levels(low, high, LEVELS),
            contours: Vec::new(),
            raster: Arc::new(raster),
        }
    }

    /// As [`of`](Self::of), of the expanded uncertainty (k = 2) in percent of the irradiance; `None` for a family
    /// without.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn of_uncertainty(
        fitted: &Fitted,
        outline: &Footprint,
        height: f64,
        nodes: usize,
        progress: &Progress,
    ) -> Result<Option<Self>, Cancelled> {
        let bounds = outline.bounds();
        let step = bounds.width().max(bounds.depth()) / nodes as f64;
        let mut raster = Raster::of(fitted, outline, height, step, progress)?;
        for (e, u) in raster.irradiance.iter_mut().zip(&raster.uncertainty) {
            *e = 200.0 * u / *e;
        }
        let Some((low, high)) = raster.range() else {
            return Ok(None);
        };
        let levels = round_levels(low, high, LEVELS);
        Ok(Some(Self {
            contours: contours(&raster, &levels),
            levels,
            raster: Arc::new(raster),
        }))
    }

    /// The map over an outline at a height in mm, with about `nodes` nodes along its longer side.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn of(
        fitted: &Fitted,
        outline: &Footprint,
        height: f64,
        nodes: usize,
        progress: &Progress,
    ) -> Result<Self, Cancelled> {
        let bounds = outline.bounds();
        let step = bounds.width().max(bounds.depth()) / nodes as f64;
        let raster = Raster::of_irradiance(fitted, outline, height, step, progress)?;
        Ok(Self::with_contours(raster))
    }

    /// The map with what stands in the light's way: at the bonds of areas that lie at its height, and as a level place gets it
    /// elsewhere. Shadows are worked out on every third node along x and y.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn at_bonds(
        fitted: &Fitted,
        (at_bond, areas): (&AtBond<'_>, &[Area]),
        (outline, height): (&Footprint, f64),
        nodes: usize,
        progress: &Progress,
    ) -> Result<Self, Cancelled> {
        /// Areas so near to the map's height lie at it, mm.
        const AT_HEIGHT: f64 = 0.5;
        const EVERY: usize = 3;
        let bounds = outline.bounds();
        let step = bounds.width().max(bounds.depth()) / nodes as f64;
        let mut raster = Raster::of_irradiance(fitted, outline, height, step, progress)?;
        let here: Vec<(usize, &Area)> = areas
            .iter()
            .enumerate()
            .filter(|(_, area)| (area.height - height).abs() < AT_HEIGHT)
            .collect();
        let coarse = |count: usize| count.div_ceil(EVERY) + 1;
        let (columns, rows) = (coarse(raster.columns), coarse(raster.rows));
        let mut places = Vec::with_capacity(columns * rows);
        for row in 0..rows {
            for column in 0..columns {
                let at = raster.node(
                    (column * EVERY).min(raster.columns - 1),
                    (row * EVERY).min(raster.rows - 1),
                );
                let bond = here.iter().find(|(_, area)| area.outline.contains(at));
                // a bond that there is not: a level place among what stands there
                let bond = bond.map_or(areas.len(), |(i, _)| *i);
                places.push((bond, Place::new(at.x, at.y, height)));
            }
        }
        let shares = at_bond.shares(&places, progress)?;
        for row in 0..raster.rows {
            for column in 0..raster.columns {
                let (c, r) = (column / EVERY, row / EVERY);
                let part = |i: usize| (i % EVERY) as f64 / EVERY as f64;
                let (u, v) = (part(column), part(row));
                let at = |c: usize, r: usize| shares[r * columns + c];
                let share = (1.0 - v) * ((1.0 - u) * at(c, r) + u * at(c + 1, r))
                    + v * ((1.0 - u) * at(c, r + 1) + u * at(c + 1, r + 1));
                raster.irradiance[row * raster.columns + column] *= share;
            }
        }
        Ok(Self::with_contours(raster))
    }

    fn with_contours(raster: Raster) -> Self {
        let (low, high) = raster.range().unwrap_or((0.0, 0.0));
        let levels = round_levels(low, high, LEVELS);
        let contours = contours(&raster, &levels);
        Self {
            raster: Arc::new(raster),
            levels,
            contours,
        }
    }
}
