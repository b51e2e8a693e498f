//! The field over the bed, looked up fast: where parts lie best is asked at very many places. What is said in the end of an
//! arrangement comes from the field itself.

use super::passes::Passes;
use crate::field::{Fitted, Raster};
use crate::geometry::{Bounds, Footprint, Point, Shape};
use crate::progress::{Cancelled, Progress};

/// Nodes along the longer side of the bed.
const NODES: f64 = 128.0;
/// They need not be nearer than this, mm.
const NEAREST: f64 = 0.75;

/// Logarithm of the irradiance and its standard uncertainty on a lattice over the bed.
#[derive(Debug, Clone)]
pub(super) struct Light {
    origin: Point,
    step: (f64, f64),
    columns: usize,
    rows: usize,
    /// ln(mW/cm²) and relative standard uncertainty; NaN for a family without.
    values: Vec<(f32, f32)>,
}

impl Light {
    /// The field at a height over bounds, in the mean of all passes.
    pub fn of(
        field: &Fitted,
        bounds: Bounds,
        height: f64,
        passes: &Passes,
        progress: &Progress,
    ) -> Result<Self, Cancelled> {
        let longer = bounds.width().max(bounds.depth());
        let step = (longer / NODES).max(NEAREST).min(longer / 8.0);
        let one = |bounds: Bounds| -> Result<Self, Cancelled> {
            let outline = Footprint::new(
                Shape::Rectangle {
                    width: bounds.width(),
                    depth: bounds.depth(),
                },
                bounds.centre(),
            );
            let raster = Raster::of(field, &outline, height, step, progress)?;
            let values = raster.irradiance.iter().zip(&raster.uncertainty);
            Ok(Self {
                origin: raster.origin,
                step: (raster.step_x, raster.step_y),
                columns: raster.columns,
                rows: raster.rows,
                values: values
                    .map(|(e, u)| (e.ln() as f32, (u / e) as f32))
                    .collect(),
            })
        };
        if passes.is_plain() {
            return one(bounds);
        }
        let corners = [bounds.min, bounds.max];
        let moved = |pass: usize| {
            let images = corners.map(|p| passes.image(pass, p));
            Bounds::around(images).unwrap_or(bounds)
        };
        let maps: Vec<Self> = (0..passes.len())
            .map(|pass| one(moved(pass)))
            .collect::<Result<_, _>>()?;
        let mut mean = one(bounds)?;
        for row in 0..mean.rows {
            for column in 0..mean.columns {
                let p = mean.node(column, row);
                let each = maps.iter().enumerate().map(|(pass, map)| {
                    let (ln, u) = map.at(passes.image(pass, p));
                    (f64::from(ln).exp(), f64::from(u))
                });
                // errors of the passes are taken to go together, which is never too little
                let (sum, off) = each.fold((0.0, 0.0), |(s, o), (e, u)| (s + e, o + u * e));
                let n = maps.len() as f64;
                mean.values[row * mean.columns + column] =
                    ((sum / n).ln() as f32, (off / sum) as f32);
            }
        }
        Ok(mean)
    }

    fn node(&self, column: usize, row: usize) -> Point {
        Point::new(
            self.origin.x + column as f64 * self.step.0,
            self.origin.y + row as f64 * self.step.1,
        )
    }

    /// Whether the field has uncertainties.
    pub fn has_uncertainty(&self) -> bool {
        self.values.iter().any(|(_, u)| u.is_finite())
    }

    /// ln(mW/cm²) and relative standard uncertainty at a place, between nodes along straight lines.
    pub fn at(&self, p: Point) -> (f32, f32) {
        let along = |v: f64, from: f64, step: f64, n: usize| {
            let t = ((v - from) / step).clamp(0.0, (n - 1) as f64);
            let i = (t as usize).min(n.saturating_sub(2));
            (i, (t - i as f64) as f32)
        };
        let (i, s) = along(p.x, self.origin.x, self.step.0, self.columns);
        let (j, t) = along(p.y, self.origin.y, self.step.1, self.rows);
        let front = j * self.columns + i;
        let back = front + self.columns;
        let v = &self.values;
        let mix =
            |a: (f32, f32), b: (f32, f32), t: f32| (a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1));
        mix(
            mix(v[front], v[front + 1], s),
            mix(v[back], v[back + 1], s),
            t,
        )
    }
}
