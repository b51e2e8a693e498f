//! A map: values on nodes at one height and the lines of equal irradiance through them. Window and
//! sheets both show this, so that paper and screen are the same picture.

use std::sync::Arc;

use super::{Contour, Raster, contours, round_levels};
use crate::field::Fitted;
use crate::geometry::Footprint;
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
        let (low, high) = raster.range().unwrap_or((0.0, 0.0));
        let levels = round_levels(low, high, LEVELS);
        let contours = contours(&raster, &levels);
        Ok(Self {
            raster: Arc::new(raster),
            levels,
            contours,
        })
    }
}
