//! Emitters on a plane lattice and the patterns of brightness that they can show.
//!
//! The deviation of brightness from even is expanded in cosines on the lattice's rectangle (Solin & Särkkä 2020,
//! Hilbert space methods for reduced-rank Gaussian process regression), so that its Matern covariance is a
//! diagonal of spectral densities and a reading's dependence on it is one row of features.

use faer::linalg::matmul::matmul;
use faer::{Accum, Mat, MatRef, Par};

use super::lobe::{Lobe, Points, seen};
use crate::field::Face;
use crate::geometry::{Bounds, Place, Point};

/// How far beyond face and readings emitters can be, mm.
const MARGIN: f64 = 45.0;
/// Patterns whose light is weaker than exp(-this) where the nearest reading is are left out.
const FAINTEST: f64 = 4.5;
/// Most emitters along a side.
const MOST_ALONG: usize = 48;

/// What is known of where light comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::field) enum Extent {
    /// The face's outline is where the light comes from, but for a little.
    OfFace,
    /// Anywhere on the lattice.
    Open,
}

/// Part of the brightness that may lie outside the face: reflections, an outline that is not quite right.
const OUTSIDE: f64 = 0.15;

/// Emitters and patterns.
#[derive(Debug, Clone)]
pub(super) struct Lattice {
    pub points: Points,
    /// Of the face above the fixture's base, mm.
    pub face: f64,
    /// How bright an even lamp is at each emitter.
    pub mask: Vec<f64>,
    pub nx: usize,
    pub ny: usize,
    along_x: Mat<f64>,
    along_y: Mat<f64>,
    /// Which cosine along x and y each pattern is.
    patterns: Vec<(usize, usize)>,
    /// Squared angular frequency of each pattern, 1/mm².
    pub frequencies: Vec<f64>,
    lowest: (f64, f64),
    /// mm².
    cell: f64,
    middle: Point,
    /// Of all emitters together, weighted by the mask, mm².
    area: f64,
}

impl Lattice {
    /// Over the face and the places that were read.
    pub fn new(face: &Face, extent: Extent, places: &[Place]) -> Self {
        let nearest = places
            .iter()
            .map(|p| face.height - p.height)
            .fold(f64::INFINITY, f64::min)
            .max(10.0);
        let read = Bounds::around(places.iter().map(|p| p.point()));
        let outline = face.outline.as_ref().map(|o| o.bounds());
        let covered = match (read, outline) {
            (Some(a), Some(b)) => a.union(b),
            (Some(a), None) | (None, Some(a)) => a,
            (None, None) => Bounds::around([Point::new(0.0, 0.0)]).expect("one point has bounds"),
        }
        .grown(MARGIN);
        let middle = outline.unwrap_or(covered).centre();
        let pitch = (0.45 * nearest).clamp(7.0, 18.0);
        let along = |length: f64| ((length / pitch).ceil() as usize).clamp(2, MOST_ALONG);
        let (nx, ny) = (along(covered.width()), along(covered.depth()));
        let (px, py) = (covered.width() / nx as f64, covered.depth() / ny as f64);
        let (mut x, mut y) = (Vec::new(), Vec::new());
        for row in 0..ny {
            for column in 0..nx {
                x.push(covered.min.x + (column as f64 + 0.5) * px);
                y.push(covered.min.y + (row as f64 + 0.5) * py);
            }
        }
        let soft = px.max(py);
        let mask: Vec<f64> = x
            .iter()
            .zip(&y)
            .map(|(&x, &y)| match (extent, &face.outline) {
                (Extent::OfFace, Some(outline)) => {
                    let beyond = outline.signed_distance(Point::new(x, y));
                    OUTSIDE.max((0.5 - beyond / soft).clamp(0.0, 1.0))
                }
                _ => 1.0,
            })
            .collect();
        let highest = FAINTEST / nearest;
        let most = |length: f64, n: usize| {
            ((highest * length / std::f64::consts::PI).ceil() as usize).clamp(1, n - 1)
        };
        let (kx, ky) = (most(covered.width(), nx), most(covered.depth(), ny));
        let cosines = |n: usize, k: usize| {
            Mat::from_fn(n, k + 1, |i, j| {
                let norm = if j == 0 {
                    1.0
                } else {
                    std::f64::consts::SQRT_2
                };
                norm * (std::f64::consts::PI * j as f64 * (i as f64 + 0.5) / n as f64).cos()
            })
        };
        let (mut patterns, mut frequencies) = (Vec::new(), Vec::new());
        for j in 0..=ky {
            for i in 0..=kx {
                let part = |i: usize, k: usize| (i as f64 / (k as f64 + 0.5)).powi(2);
                if part(i, kx) + part(j, ky) <= 1.0 {
                    patterns.push((i, j));
                    let w = |i: usize, l: f64| (std::f64::consts::PI * i as f64 / l).powi(2);
                    frequencies.push(w(i, covered.width()) + w(j, covered.depth()));
                }
            }
        }
        Self {
            middle,
            area: px * py * mask.iter().sum::<f64>(),
            points: Points::new(x, y, (middle.x, middle.y)),
            face: face.height,
            mask,
            nx,
            ny,
            along_x: cosines(nx, kx),
            along_y: cosines(ny, ky),
            patterns,
            frequencies,
            lowest: (
                std::f64::consts::PI / covered.width(),
                std::f64::consts::PI / covered.depth(),
            ),
            cell: px * py,
        }
    }

    /// Features of a place: first that of an even lamp, then of each pattern, then of an arc where the lobe
    /// has one.
    pub fn features_len(&self, lobe: Lobe) -> usize {
        1 + self.patterns.len() + usize::from(lobe == Lobe::Leaning)
    }

    /// The first emitter and the last one.
    pub fn corners(&self) -> (Point, Point) {
        let last = self.points.len() - 1;
        let at = |i: usize| Point::new(self.points.x[i], self.points.y[i]);
        (at(0), at(last))
    }

    /// How many patterns there are.
    pub fn patterns_len(&self) -> usize {
        self.patterns.len()
    }

    /// What an arc gives that shines as strongly as the even lamp, and its derivative.
    pub fn arc(&self, lobe: Lobe, shape: &[f64], at: Place) -> Option<(f64, f64)> {
        let beside = (at.x - self.middle.x, at.y - self.middle.y);
        let (gives, slope) = lobe.arc(shape, beside, self.distance(at))?;
        Some((self.area * gives, self.area * slope))
    }

    /// What a detector of a directional response sees of an arc's light, and the derivative of its logarithm.
    fn arc_seen(&self, shape: &[f64], at: Place, power: f64) -> (f64, f64) {
        let (dx, dy) = (at.x - self.middle.x, at.y - self.middle.y);
        let depth = shape[5].exp();
        let h = self.distance(at) + depth;
        seen(power, (dx * dx + dy * dy) / (h * h), depth / h)
    }

    /// The features of places into `out`, one row of [`features_len`](Self::features_len) a place; into each of
    /// `slopes`, likewise, their derivatives for a shape parameter. No slopes, none are worked out. With a `power` other
    /// than 0 it is what a detector of that directional response reads there.
    pub fn features(
        &self,
        lobe: Lobe,
        shape: &[f64],
        (places, power): (&[Place], f64),
        out: &mut [f64],
        slopes: &mut [Vec<f64>],
    ) {
        /// Places at a time, so that what reaches them stays near the processor.
        const TOGETHER: usize = 16;
        let (n, width) = (self.points.len(), self.features_len(lobe));
        let tables = 1 + slopes.len();
        let mut raw = vec![0.0; TOGETHER * tables * n];
        let mut half = Mat::zeros(self.along_x.ncols(), TOGETHER * tables * self.ny);
        for (block, places) in places.chunks(TOGETHER).enumerate() {
            let raw = &mut raw[..places.len() * tables * n];
            for (&at, raw) in places.iter().zip(raw.chunks_exact_mut(tables * n)) {
                let (reach, by_shape) = raw.split_at_mut(n);
                let (beside, distance) = ((at.x, at.y), self.distance(at));
                if by_shape.is_empty() {
                    lobe.reach(shape, &self.points, beside, distance, reach);
                } else {
                    lobe.reach_and_slopes(shape, &self.points, beside, distance, reach, by_shape);
                }
                if power != 0.0 {
                    lobe.see(power, shape, &self.points, beside, distance, raw);
                }
            }
            self.project(raw, &mut half, |which, patterns| {
                let (place, table) = (which / tables, which % tables);
                let row = (block * TOGETHER + place) * width;
                let into = match table {
                    0 => &mut out[row..row + width],
                    k => &mut slopes[k - 1][row..row + width],
                };
                into[0] = patterns(0, 0);
                for (f, &(i, j)) in into[1..].iter_mut().zip(&self.patterns) {
                    *f = patterns(i, j);
                }
            });
            for (i, &at) in places.iter().enumerate() {
                let Some((gives, slope)) = self.arc(lobe, shape, at) else {
                    continue;
                };
                let (seen, by_log_depth) = self.arc_seen(shape, at, power);
                let (gives, slope) = (seen * gives, seen * (slope + gives * by_log_depth));
                let last = (block * TOGETHER + i + 1) * width - 1;
                out[last] = gives;
                if let Some((by_arc, others)) = slopes.split_last_mut() {
                    others.iter_mut().for_each(|s| s[last] = 0.0);
                    by_arc[last + 1 - width..last].fill(0.0);
                    by_arc[last] = slope;
                }
            }
        }
    }

    /// The middle of the face.
    pub fn middle(&self) -> Point {
        self.middle
    }

    /// From one emitter to the next along x and y, mm.
    pub fn pitch(&self) -> (f64, f64) {
        let (first, last) = self.corners();
        let along = |from: f64, to: f64, n: usize| (to - from) / (n.max(2) - 1) as f64;
        (
            along(first.x, last.x, self.nx),
            along(first.y, last.y, self.ny),
        )
    }

    /// Features of what reaches places by some way: `raw` is what each emitter of unit weight gives there, one lattice
    /// after the other, and is spent; a row of `out` a place, without what an arc gives.
    pub fn features_of(&self, raw: &mut [f64], width: usize, out: &mut [f64]) {
        let lines = raw.len() / self.nx;
        let mut half = Mat::zeros(self.along_x.ncols(), lines);
        self.project(raw, &mut half, |which, patterns| {
            let into = &mut out[which * width..(which + 1) * width];
            into[0] = patterns(0, 0);
            for (f, &(i, j)) in into[1..].iter_mut().zip(&self.patterns) {
                *f = patterns(i, j);
            }
        });
    }

    /// The lowest angular frequencies along x and y, 1/mm.
    pub fn lowest(&self) -> (f64, f64) {
        self.lowest
    }

    /// mm from the face down to a place; never less than a little, so that a place at the face is finite.
    pub fn distance(&self, at: Place) -> f64 {
        (self.face - at.height).max(0.5)
    }

    /// Sums over emitters of what reaches, times each product of cosines: along x for all of `reach` (one lattice
    /// of emitters after the other) at once, then along y for each, given to `take` with its number.
    fn project(
        &self,
        reach: &mut [f64],
        half: &mut Mat<f64>,
        mut take: impl FnMut(usize, &dyn Fn(usize, usize) -> f64),
    ) {
        let n = self.points.len();
        for lattice in reach.chunks_exact_mut(n) {
            for (k, m) in lattice.iter_mut().zip(&self.mask) {
                *k *= m * self.cell;
            }
        }
        let lines = reach.len() / self.nx;
        let mut half = half.as_mut().subcols_mut(0, lines);
        matmul(
            half.as_mut(),
            Accum::Replace,
            self.along_x.transpose(),
            MatRef::from_column_major_slice(reach, self.nx, lines),
            1.0,
            Par::Seq,
        );
        let mut whole = Mat::<f64>::zeros(self.along_x.ncols(), self.along_y.ncols());
        for which in 0..reach.len() / n {
            matmul(
                whole.as_mut(),
                Accum::Replace,
                half.as_ref().subcols(which * self.ny, self.ny),
                self.along_y.as_ref(),
                1.0,
                Par::Seq,
            );
            take(which, &|i, j| whole[(i, j)]);
        }
    }

    /// The brightness of each emitter from the coefficients of the features, so that a place's irradiance is
    /// one sum over emitters.
    pub fn brightness(&self, coefficients: &[f64]) -> Vec<f64> {
        let (kx, _) = (self.along_x.ncols(), self.along_y.ncols());
        let mut out = vec![coefficients[0]; self.points.len()];
        let mut half = vec![0.0; kx];
        for row in 0..self.ny {
            half.fill(0.0);
            for (&(i, j), c) in self.patterns.iter().zip(&coefficients[1..]) {
                half[i] += c * self.along_y[(row, j)];
            }
            for column in 0..self.nx {
                let sum: f64 = (0..kx).map(|i| half[i] * self.along_x[(column, i)]).sum();
                out[row * self.nx + column] += sum;
            }
        }
        for (w, m) in out.iter_mut().zip(&self.mask) {
            *w *= m * self.cell;
        }
        out
    }
}

pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; 4];
    let (a4, ar) = a.as_chunks::<4>();
    let (b4, br) = b.as_chunks::<4>();
    for (a, b) in a4.iter().zip(b4) {
        for k in 0..4 {
            sums[k] += a[k] * b[k];
        }
    }
    let rest: f64 = ar.iter().zip(br).map(|(x, y)| x * y).sum();
    sums.iter().sum::<f64>() + rest
}
