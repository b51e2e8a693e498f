//! The field on a lattice: what maps, contours and grid files are made of.

use crate::field::Fitted;
use crate::geometry::{Bounds, Footprint, Point};
use crate::progress::{Cancelled, Progress};

/// A field on a regular lattice at one height: what a map, contours and a grid file are made of.
/// Node `(column, row)` is at `origin + (column * step_x, row * step_y)` and stands at
/// `row * columns + column` in the vectors.
#[derive(Debug, Clone, PartialEq)]
pub struct Raster {
    /// Nodes along x.
    pub columns: usize,
    /// Nodes along y.
    pub rows: usize,
    /// Node (0, 0).
    pub origin: Point,
    /// mm from node to node along x.
    pub step_x: f64,
    /// mm from node to node along y.
    pub step_y: f64,
    /// Of the map, mm above the fixture's base.
    pub height: f64,
    /// mW/cm², NaN outside the outline.
    pub irradiance: Vec<f64>,
    /// Standard uncertainty, mW/cm², NaN outside or where the family has none.
    pub uncertainty: Vec<f64>,
    /// Whether the node is extrapolated.
    pub extrapolated: Vec<bool>,
}

impl Raster {
    /// The field over an outline's bounds, edges included, with nodes at most `step` mm apart; nodes
    /// outside the outline are NaN.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn of(
        fitted: &Fitted,
        outline: &Footprint,
        height: f64,
        step: f64,
        progress: &Progress,
    ) -> Result<Self, Cancelled> {
        let mut raster = Self::empty(fitted, outline, height, step);
        let (xs, ys) = raster.axes();
        let estimates = fitted.estimates_on_lattice(&xs, &ys, height, progress)?;
        for i in raster.inside(outline) {
            raster.irradiance[i] = estimates[i].irradiance;
            raster.uncertainty[i] = estimates[i].uncertainty.unwrap_or(f64::NAN);
        }
        Ok(raster)
    }

    /// As [`of`](Self::of) without uncertainties (they are NaN): many times faster, for a first look.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn of_irradiance(
        fitted: &Fitted,
        outline: &Footprint,
        height: f64,
        step: f64,
        progress: &Progress,
    ) -> Result<Self, Cancelled> {
        let mut raster = Self::empty(fitted, outline, height, step);
        let (xs, ys) = raster.axes();
        let values = fitted.irradiance_on_lattice(&xs, &ys, height, progress)?;
        for i in raster.inside(outline) {
            raster.irradiance[i] = values[i];
        }
        Ok(raster)
    }

    /// Marks the nodes outside the convex hull of the positions as extrapolated, too: in a file there is no hatching and no
    /// dot that tells the rim from what lies between positions.
    pub fn mark_beyond_positions(&mut self, fitted: &Fitted) {
        let rows = (0..self.rows).flat_map(|row| (0..self.columns).map(move |c| (c, row)));
        let beyond = fitted.are_beyond_positions(rows.map(|(column, row)| self.node(column, row)));
        for (node, beyond) in self.extrapolated.iter_mut().zip(beyond) {
            *node |= beyond;
        }
    }

    fn axes(&self) -> (Vec<f64>, Vec<f64>) {
        (
            (0..self.columns).map(|c| self.node(c, 0).x).collect(),
            (0..self.rows).map(|r| self.node(0, r).y).collect(),
        )
    }

    fn empty(fitted: &Fitted, outline: &Footprint, height: f64, step: f64) -> Self {
        /// Along one side: enough for a poster, and a slip of the step does not fill the memory.
        const MOST_CELLS: f64 = 2000.0;
        let bounds = outline.bounds();
        let cells = |extent: f64| {
            let wanted = (extent / step - 1e-9).ceil();
            // a step of zero or nonsense is the finest
            let cells = if wanted.is_nan() { MOST_CELLS } else { wanted };
            cells.clamp(1.0, MOST_CELLS) as usize
        };
        let mut raster = Self::blank(
            bounds,
            (cells(bounds.width()), cells(bounds.depth())),
            height,
        );
        for row in 0..raster.rows {
            let start = raster.node(0, row).at_height(height);
            let beyond = fitted.beyond_along(start, raster.step_x, raster.columns);
            let nodes = &mut raster.extrapolated[row * raster.columns..];
            for (node, beyond) in nodes.iter_mut().zip(beyond) {
                *node = beyond;
            }
        }
        raster
    }

    /// Nodes over bounds, edges included, that nothing is known of yet: so many cells across and deep, from one each on.
    pub(crate) fn blank(bounds: Bounds, (across, deep): (usize, usize), height: f64) -> Self {
        let nodes = (across + 1) * (deep + 1);
        Self {
            columns: across + 1,
            rows: deep + 1,
            origin: bounds.min,
            step_x: bounds.width() / across as f64,
            step_y: bounds.depth() / deep as f64,
            height,
            irradiance: vec![f64::NAN; nodes],
            uncertainty: vec![f64::NAN; nodes],
            extrapolated: vec![false; nodes],
        }
    }

    /// The nodes inside the outline. The distance from the outline changes by no more than a step from one
    /// node to the next, so most need not be looked at.
    fn inside(&self, outline: &Footprint) -> Vec<usize> {
        let mut inside = Vec::with_capacity(self.columns * self.rows);
        for row in 0..self.rows {
            let mut column = 0;
            while column < self.columns {
                let beyond = outline.signed_distance(self.node(column, row)) - 1e-6;
                let alike = 1 + (0.999 * beyond.abs() / self.step_x) as usize;
                let end = self.columns.min(column.saturating_add(alike));
                if beyond <= 0.0 {
                    inside.extend(row * self.columns + column..row * self.columns + end);
                }
                column = end;
            }
        }
        inside
    }

    /// The place of a node.
    pub fn node(&self, column: usize, row: usize) -> Point {
        Point::new(
            self.origin.x + column as f64 * self.step_x,
            self.origin.y + row as f64 * self.step_y,
        )
    }

    /// The value of the node nearest to a point; `None` outside.
    pub fn nearest(&self, at: Point) -> Option<f64> {
        let node = |v: f64, from: f64, step: f64, n: usize| {
            let i = ((v - from) / step).round();
            (i >= 0.0 && i < n as f64).then_some(i as usize)
        };
        let column = node(at.x, self.origin.x, self.step_x, self.columns)?;
        let row = node(at.y, self.origin.y, self.step_y, self.rows)?;
        let value = self.irradiance[row * self.columns + column];
        value.is_finite().then_some(value)
    }

    /// What the raster covers.
    pub fn bounds(&self) -> Bounds {
        Bounds {
            min: self.origin,
            max: self.node(self.columns.saturating_sub(1), self.rows.saturating_sub(1)),
        }
    }

    /// Least and greatest finite irradiance, mW/cm².
    pub fn range(&self) -> Option<(f64, f64)> {
        self.irradiance
            .iter()
            .filter(|e| e.is_finite())
            .fold(None, |range, &e| match range {
                None => Some((e, e)),
                Some((lo, hi)) => Some((f64::min(lo, e), f64::max(hi, e))),
            })
    }
}
