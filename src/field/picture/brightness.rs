//! How bright the lamp's face is inferred to be, as a picture.

use super::Raster;
use crate::field::families::lamp::EmitterGrid;
use crate::field::families::model::Model;
use crate::field::{Face, Fitted};
use crate::geometry::{Bounds, Footprint, Point};

impl Fitted {
    /// How bright the lamp's face is inferred to be, relative to its mean (1): values in the raster's `irradiance`.
    /// `None` for a field that does not start from the lamp.
    pub fn brightness(&self) -> Option<Raster> {
        let Model::Blend(blend) = &self.inner.model else {
            return None;
        };
        Some(raster(&blend.brightness()?, self.inner.face.as_ref()?))
    }
}

/// Cells along the longer side.
const CELLS: f64 = 120.0;

/// Brightness relative to the mean over the face (1), on nodes over the face's outline, or over all emitters where
/// there is none; in the raster's `irradiance`, for it is painted like one. Its height is that of the face.
fn raster(emitters: &EmitterGrid, face: &Face) -> Raster {
    let emitters = &as_fine_as_told(emitters, face);
    let (first, last) = emitters.corners;
    let everywhere = Bounds {
        min: first,
        max: last,
    };
    let bounds = (face.outline.as_ref()).map_or(everywhere, Footprint::bounds);
    let step = bounds.width().max(bounds.depth()) / CELLS;
    let cells = |extent: f64| ((extent / step).round() as usize).max(1);
    let (across, deep) = (cells(bounds.width()), cells(bounds.depth()));
    let (columns, rows) = (across + 1, deep + 1);
    let mut raster = Raster {
        columns,
        rows,
        origin: bounds.min,
        step_x: bounds.width() / across as f64,
        step_y: bounds.depth() / deep as f64,
        height: face.height,
        irradiance: Vec::with_capacity(columns * rows),
        uncertainty: vec![f64::NAN; columns * rows],
        extrapolated: vec![false; columns * rows],
    };
    for row in 0..rows {
        for column in 0..columns {
            let at = raster.node(column, row);
            let inside = |outline: &Footprint| outline.signed_distance(at) <= 1e-6;
            let value = if face.outline.as_ref().is_none_or(inside) {
                between(emitters, at)
            } else {
                f64::NAN
            };
            raster.irradiance.push(value);
        }
    }
    raster
}

/// Most passes of smoothing: a face of some tens of emitters is even long before.
const MOST_PASSES: usize = 500;

/// The brightness as finely as readings determine it: nothing shines less than not at all, so where neighbours swing below
/// that and above, only their mean is told. It is smoothed until nothing on the face is below zero.
fn as_fine_as_told(emitters: &EmitterGrid, face: &Face) -> EmitterGrid {
    let (nx, ny) = (emitters.columns, emitters.rows);
    let (first, last) = emitters.corners;
    let pitch = |from: f64, to: f64, n: usize| (to - from) / (n.max(2) - 1) as f64;
    let (px, py) = (pitch(first.x, last.x, nx), pitch(first.y, last.y, ny));
    let counts: Vec<bool> = (0..nx * ny)
        .map(|k| {
            let at = Point::new(
                first.x + px * (k % nx) as f64,
                first.y + py * (k / nx) as f64,
            );
            // those between which the face's rim lies too
            let near = |outline: &Footprint| outline.signed_distance(at) < px.max(py);
            face.outline.as_ref().is_none_or(near)
        })
        .collect();
    let mut values = emitters.values.clone();
    for _ in 0..MOST_PASSES {
        let dark = |(value, counts): (&f64, &bool)| *counts && *value < 0.0;
        if !values.iter().zip(&counts).any(dark) {
            break;
        }
        let before = values.clone();
        for (k, value) in values.iter_mut().enumerate().filter(|(k, _)| counts[*k]) {
            let (i, j) = (k % nx, k / nx);
            let beside = |i: Option<usize>, j: Option<usize>| {
                let k = j.filter(|j| *j < ny)? * nx + i.filter(|i| *i < nx)?;
                counts[k].then(|| before[k])
            };
            let around = [
                beside(i.checked_sub(1), Some(j)),
                beside(Some(i + 1), Some(j)),
                beside(Some(i), j.checked_sub(1)),
                beside(Some(i), Some(j + 1)),
            ];
            // an eighth goes each way, and as much comes back: the mean stays
            let moved: f64 = around.iter().flatten().map(|other| other - before[k]).sum();
            *value += 0.125 * moved;
        }
    }
    EmitterGrid {
        values,
        ..*emitters
    }
}

/// Bilinear between emitters.
fn between(emitters: &EmitterGrid, at: Point) -> f64 {
    let (first, last) = emitters.corners;
    let along = |x: f64, from: f64, to: f64, n: usize| {
        let most = (n - 1) as f64;
        let t = if to > from {
            ((x - from) / (to - from) * most).clamp(0.0, most)
        } else {
            0.0
        };
        let cell = (t as usize).min(n.saturating_sub(2));
        (cell, t - cell as f64)
    };
    let (i, u) = along(at.x, first.x, last.x, emitters.columns);
    let (j, v) = along(at.y, first.y, last.y, emitters.rows);
    let value = |i: usize, j: usize| {
        let (i, j) = (i.min(emitters.columns - 1), j.min(emitters.rows - 1));
        emitters.values[j * emitters.columns + i]
    };
    let low = value(i, j) * (1.0 - u) + value(i + 1, j) * u;
    let high = value(i, j + 1) * (1.0 - u) + value(i + 1, j + 1) * u;
    low * (1.0 - v) + high * v
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_linear_brightness_comes_back_between_emitters() {
        let f = |x: f64, y: f64| 0.5 + 0.01 * x - 0.02 * y;
        let emitters = EmitterGrid {
            columns: 4,
            rows: 3,
            corners: (Point::new(10.0, 5.0), Point::new(40.0, 25.0)),
            values: (0..12)
                .map(|k| {
                    f(
                        10.0 + 10.0 * f64::from(k % 4),
                        5.0 + 10.0 * f64::from(k / 4),
                    )
                })
                .collect(),
        };
        let face = Face {
            height: 80.0,
            outline: None,
        };
        let raster = raster(&emitters, &face);
        assert_eq!(raster.height, 80.0);
        for row in 0..raster.rows {
            for column in 0..raster.columns {
                let at = raster.node(column, row);
                let got = raster.irradiance[row * raster.columns + column];
                assert!((got - f(at.x, at.y)).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn brightness_is_never_negative_and_keeps_its_mean() {
        let swing = |k: i32| 1.0 + if (k % 6 + k / 6) % 2 == 0 { 3.0 } else { -3.0 };
        let emitters = EmitterGrid {
            columns: 6,
            rows: 6,
            corners: (Point::new(0.0, 0.0), Point::new(50.0, 50.0)),
            values: (0..36).map(swing).collect(),
        };
        let face = Face {
            height: 80.0,
            outline: None,
        };
        let told = as_fine_as_told(&emitters, &face).values;
        assert!(told.iter().all(|v| *v >= 0.0), "{told:?}");
        assert!((told.iter().sum::<f64>() / 36.0 - 1.0).abs() < 1e-12);
        // a dim corner that readings do tell stays as it is
        let dim: Vec<f64> = (0..36).map(|k| if k < 3 { 0.2 } else { 1.1 }).collect();
        let emitters = EmitterGrid {
            values: dim.clone(),
            ..emitters
        };
        assert_eq!(as_fine_as_told(&emitters, &face).values, dim);
    }

    /// `scipy.interpolate.RegularGridInterpolator` (SciPy 1.16.3) on the plane at 90 mm of
    /// `tests/reference/data/synth_probe_5x5x3.csv`, which `tests/reference/kriging.py` recomputes.
    #[test]
    fn bilinear_as_scipy_has_it() {
        let file = include_str!("../../../tests/reference/data/synth_probe_5x5x3.csv");
        let mut plane: Vec<[f64; 3]> = file
            .lines()
            .skip(1)
            .filter_map(|line| {
                let numbers: Vec<f64> = line.split(',').filter_map(|n| n.parse().ok()).collect();
                (numbers[2] == 90.0).then(|| [numbers[0], numbers[1], numbers[3]])
            })
            .collect();
        plane.sort_by(|a, b| a[1].total_cmp(&b[1]).then(a[0].total_cmp(&b[0])));
        let emitters = EmitterGrid {
            columns: 5,
            rows: 5,
            corners: (Point::new(-80.0, -80.0), Point::new(80.0, 80.0)),
            values: plane.iter().map(|p| p[2]).collect(),
        };
        for (x, y, wanted) in [
            (0.0, 0.0, 46.2),
            (10.0, 10.0, 43.8),
            (20.0, -30.0, 39.8),
            (-60.0, 60.0, 26.625),
            (75.0, -75.0, 20.001_562_5),
            (-80.0, -80.0, 18.0),
            (33.3, -12.5, 41.764_812_5),
        ] {
            let got = between(&emitters, Point::new(x, y));
            assert!((got - wanted).abs() < 1e-12 * wanted, "{x} {y}: {got}");
        }
    }
}
