//! The readings' covariance under a lamp of unknown brightness, and how well parameters explain them.
//!
//! All rows are relative to what is read there, so that noise in percent is one number. A row's covariance
//! with another is `F Fᵀ + τ² e eᵀ∘R + η² I + placement + S Sᵀ`: `F` the features times the square
//! roots of their prior variances, `R` a Matern 5/2 correlation for what the law of light misses as a part of what an
//! even lamp gives, `e`, placement the gradient times what a detector is set beside its position, shared by repeats, and
//! `S` what readings err by together (see [`Rows`]). An error of the face's height is in none: the depth from which
//! light seems to come takes it.

use std::f64::consts::FRAC_PI_2;

use faer::linalg::matmul::matmul;
use faer::{Accum, Mat, Par};

use super::lattice::{Lattice, dot};
use super::lobe::Lobe;
use super::rows::Rows;
use crate::field::Scatter;
use crate::field::equations::System;
use crate::field::equations::kernel::{Kernel, SQRT_5, Scaled};
use crate::field::families::kriging::Prior;
use crate::geometry::{Bounds, Place};
use crate::numeric::exponential::exp_minus;
use crate::numeric::optimise::Local;
use crate::numeric::triangle::add_outer_gram;
use crate::numeric::wide::wide;

/// Prior variance of the even lamp's brightness about the first guess, relative.
const EVEN: f64 = 1.0;
/// Standard deviation of an arc's strength beside the even lamp's.
const ARC: f64 = 0.3;

/// A parameter's prior: normal on the parameter as the climb sees it (a logarithm, or a lean).
#[derive(Debug, Clone, Copy)]
pub(super) struct Belief {
    pub centre: f64,
    pub spread: f64,
    pub low: f64,
    pub high: f64,
}

impl Belief {
    const fn new(centre: f64, spread: f64, low: f64, high: f64) -> Self {
        Self {
            centre,
            spread,
            low,
            high,
        }
    }

    fn log(prior: Prior) -> Self {
        Self::new(
            prior.typical.ln(),
            prior.spread,
            prior.low.ln(),
            prior.high.ln(),
        )
    }
}

/// Parameters after the lobe's shape.
pub(super) const LENGTH: usize = 0;
pub(super) const SPREAD: usize = 1;
pub(super) const NOISE: usize = 2;
pub(super) const MISSED: usize = 3;
pub(super) const PLACED: usize = 4;
pub(super) const MISSED_OVER: usize = 5;
const COMMON: usize = 6;

/// What is believed of the parameters of a lobe before anything is read.
pub(super) fn beliefs(lobe: Lobe, missed_over: f64, scatter: Option<Scatter>) -> Vec<Belief> {
    let log = |typical, spread, low, high| {
        Belief::log(Prior {
            typical,
            spread,
            low,
            high,
        })
    };
    // as a study found it, where one did
    let found = |value: Option<f64>, (typical, spread, low, high): (f64, f64, f64, f64)| {
        Belief::log(
            Prior {
                typical,
                spread,
                low,
                high,
            }
            .found(value),
        )
    };
    let depth = log(10.0, 1.2, 0.5, 150.0);
    let mut out = match lobe {
        Lobe::Round => vec![log(1.5, 1.0, 0.05, 80.0), depth, log(0.9, 0.7, 0.05, 20.0)],
        Lobe::Leaning => vec![
            log(0.5, 1.5, 0.003, 60.0),
            log(0.5, 1.5, 0.003, 60.0),
            Belief::new(0.0, 0.5, -3.0, 3.0),
            Belief::new(0.0, 0.5, -3.0, 3.0),
            depth,
            log(40.0, 0.7, 3.0, 300.0),
        ],
    };
    out.extend([
        log(40.0, 1.0, 5.0, 400.0),
        log(0.5, 1.0, 0.01, 6.0),
        found(scatter.map(|s| s.noise), (0.012, 0.5, 0.0005, 0.06)),
        log(0.004, 1.0, 0.0003, 0.3),
        found(scatter.and_then(|s| s.placement), (0.5, 0.5, 0.05, 3.0)),
        log(missed_over, 0.5, 0.25 * missed_over, 2.5 * missed_over),
    ]);
    out
}

/// How far apart what the law of light misses is alike, typically, mm: a third of what is read across.
pub(super) fn missed_over(places: &[Place]) -> f64 {
    let bounds = Bounds::around(places.iter().map(|p| p.point()));
    bounds.map_or(0.0, |b| b.width().hypot(b.depth())).max(40.0) * 0.3
}

/// Correlation of what the law of light misses between places, and its derivative by the logarithm of its
/// length.
fn missed_correlation(places: &[Place], length: f64, slope: bool) -> (Mat<f64>, Mat<f64>) {
    let n = places.len();
    let scaled = Scaled::of(places, [length; 3]);
    let mut r = Mat::<f64>::zeros(n, n);
    let m = if slope { n } else { 0 };
    let mut d = Mat::<f64>::zeros(m, m);
    for j in 0..n {
        let column = r.col_as_slice_mut(j);
        scaled.squared_from(&scaled, j, column);
        if slope {
            let slope = d.col_as_slice_mut(j);
            wide(
                #[inline(always)]
                || {
                    for (d, s) in slope.iter_mut().zip(column.iter()) {
                        let u = SQRT_5 * s.sqrt();
                        *d = (5.0 / 3.0) * s * (1.0 + u) * exp_minus(u);
                    }
                },
            );
        }
        Kernel::Matern52.correlate(column);
    }
    (r, d)
}

/// How well parameters explain rows.
pub(super) struct Evidence<'a> {
    pub lobe: Lobe,
    pub lattice: &'a Lattice,
    pub rows: &'a Rows,
    pub beliefs: &'a [Belief],
}

/// Square roots of the prior variances of the features, and the derivative of the logarithms of those of the
/// patterns by the logarithm of the correlation length.
pub(super) fn weights(lattice: &Lattice, lobe: Lobe, common: &[f64]) -> (Vec<f64>, Vec<f64>) {
    // Matern 5/2 in two dimensions: (5 + l²ω²)^(-7/2), scaled so that the mean variance is σ²
    // (Rasmussen & Williams 2006, eq. 4.15).
    let (l, sigma) = (common[LENGTH].exp(), common[SPREAD].exp());
    let density: Vec<f64> = lattice
        .frequencies
        .iter()
        .map(|w2| (1.0 + l * l * w2 / 5.0).powf(-3.5))
        .collect();
    let slope: Vec<f64> = lattice
        .frequencies
        .iter()
        .map(|w2| -7.0 * l * l * w2 / (5.0 + l * l * w2))
        .collect();
    // The sum of the densities of all patterns that emitters could show, those too fine to be seen included:
    // emitters are as bright as they are, seen or not. Its integral, half the edges and a quarter of the corner.
    let (dx, dy) = lattice.lowest();
    let (plane, edges) = (
        FRAC_PI_2 / (l * l * dx * dy),
        4.0 / 15.0 * 5f64.sqrt() / l * (1.0 / dx + 1.0 / dy),
    );
    let total = plane + edges + 0.25;
    let drift = -(2.0 * plane + edges) / total;
    let mut roots = vec![EVEN.sqrt()];
    roots.extend(density.iter().map(|d| sigma * (d / total).sqrt()));
    if lattice.features_len(lobe) > roots.len() {
        roots.push(ARC);
    }
    (roots, slope.iter().map(|s| s - drift).collect())
}

/// Rows under given parameters.
pub(super) struct Assembled {
    /// Weighted features, a row a reading.
    pub features: Mat<f64>,
    /// What the first guess of an even lamp gives, relative.
    pub even: Vec<f64>,
    /// Brightness of the first guess: raw features times it are mW/cm².
    pub brightness: f64,
    /// Derivatives of both for each shape parameter.
    slopes: Vec<(Mat<f64>, Vec<f64>)>,
}

impl<'a> Evidence<'a> {
    /// Of rows under a lobe.
    pub fn of(lobe: Lobe, lattice: &'a Lattice, beliefs: &'a [Belief], rows: &'a Rows) -> Self {
        Self {
            lobe,
            lattice,
            rows,
            beliefs,
        }
    }

    pub fn shape<'b>(&self, at: &'b [f64]) -> (&'b [f64], &'b [f64]) {
        at.split_at(self.lobe.shape_len())
    }

    pub fn assemble(&self, at: &[f64], with_slopes: bool) -> Assembled {
        let (shape, common) = self.shape(at);
        let n = self.rows.len();
        let width = self.lattice.features_len(self.lobe);
        let shapes = if with_slopes { shape.len() } else { 0 };
        let (roots, _) = weights(self.lattice, self.lobe, common);
        let mut raw = vec![0.0; n * width];
        let mut raw_slopes = vec![vec![0.0; n * width]; shapes];
        self.lattice.features(
            self.lobe,
            shape,
            (&self.rows.places, self.rows.power),
            &mut raw,
            &mut raw_slopes,
        );
        // The brightness that explains the readings best in relative terms, were the lamp even.
        let scale = &self.rows.scale;
        let share = |i: usize| raw[i * width] / (scale[i] * self.rows.values[i]);
        let s1: f64 = (0..n).map(share).sum();
        let s2: f64 = (0..n).map(|i| share(i).powi(2)).sum();
        let brightness = s1 / s2;
        let features = Mat::from_fn(n, width, |i, k| {
            raw[i * width + k] * brightness / scale[i] * roots[k]
        });
        let even = (0..n)
            .map(|i| raw[i * width] * brightness / scale[i])
            .collect();
        let slopes = raw_slopes
            .iter()
            .map(|raw_slope| {
                let d = |i: usize| raw_slope[i * width] / (scale[i] * self.rows.values[i]);
                let d1: f64 = (0..n).map(d).sum();
                let d2: f64 = (0..n).map(|i| 2.0 * share(i) * d(i)).sum();
                let gain = d1 / s1 - d2 / s2;
                let slope = |i: usize, k: usize| {
                    (raw_slope[i * width + k] + raw[i * width + k] * gain) * brightness / scale[i]
                };
                (
                    Mat::from_fn(n, width, |i, k| slope(i, k) * roots[k]),
                    (0..n).map(|i| slope(i, 0)).collect(),
                )
            })
            .collect();
        Assembled {
            features,
            even,
            brightness,
            slopes,
        }
    }

    /// Whether two rows are one setting of the detector, and how far that makes them err together per
    /// variance of placement.
    fn together(&self, i: usize, j: usize) -> f64 {
        if self.rows.placement[i] != self.rows.placement[j] {
            return 0.0;
        }
        let (a, b) = (self.rows.gradient[i], self.rows.gradient[j]);
        a[0] * b[0] + a[1] * b[1]
    }

    fn covariance(
        &self,
        at: &[f64],
        Assembled { features, even, .. }: &Assembled,
        correlation: &Mat<f64>,
    ) -> Mat<f64> {
        let (_, common) = self.shape(at);
        let n = self.rows.len();
        let square = |which: usize| (2.0 * common[which]).exp();
        let (noise, missed, placed) = (square(NOISE), square(MISSED), square(PLACED));
        let mut v = Mat::<f64>::zeros(n, n);
        add_outer_gram(&mut v, features.as_ref(), 1.0);
        add_outer_gram(&mut v, self.rows.shared.as_ref(), 1.0);
        for j in 0..n {
            let r = correlation.col_as_slice(j);
            let column = v.col_as_slice_mut(j);
            for i in j..n {
                column[i] += missed * even[i] * even[j] * r[i] + placed * self.together(i, j);
            }
            column[j] += noise + self.rows.floor[j];
        }
        v
    }

    /// The equations solved under given parameters, about the first guess of an even lamp.
    pub fn solve(&self, at: &[f64]) -> Option<(Assembled, System)> {
        let assembled = self.assemble(at, false);
        let (correlation, _) = self.correlation(at, false);
        let system = self.system(at, &assembled, &correlation)?;
        Some((assembled, system))
    }

    fn correlation(&self, at: &[f64], slope: bool) -> (Mat<f64>, Mat<f64>) {
        let (_, common) = self.shape(at);
        missed_correlation(&self.rows.places, common[MISSED_OVER].exp(), slope)
    }

    fn system(&self, at: &[f64], assembled: &Assembled, correlation: &Mat<f64>) -> Option<System> {
        let v = self.covariance(at, assembled, correlation);
        let rest: Vec<f64> = self
            .rows
            .values
            .iter()
            .zip(&assembled.even)
            .map(|(v, e)| v - e)
            .collect();
        System::solve(v.as_ref(), &Mat::zeros(rest.len(), 0), &rest).ok()
    }

    fn prior_loss(&self, at: &[f64]) -> f64 {
        self.beliefs
            .iter()
            .zip(at)
            .map(|(b, x)| 0.5 * ((x - b.centre) / b.spread).powi(2))
            .sum()
    }

    /// Minus the logarithm of the posterior density of parameters.
    pub fn loss(&self, at: &[f64]) -> Option<f64> {
        let (_, system) = self.solve(at)?;
        let loss = system.restricted_loss() + self.prior_loss(at);
        loss.is_finite().then_some(loss)
    }

    /// Loss, gradient and average information (see the kriging likelihood); the first guess moves with the
    /// shape, which adds `-dtᵀ P y` to the gradient and `dtᵀ P dt` to the information.
    pub fn local(&self, at: &[f64]) -> Option<Local> {
        let n = self.rows.len();
        let (shape, common) = self.shape(at);
        let assembled = self.assemble(at, true);
        let (correlation, stretched) = self.correlation(at, true);
        let system = self.system(at, &assembled, &correlation)?;
        let projection = system.projection();
        let pull = &system.pull;
        let f = &assembled.features;
        let even = &assembled.even[..];
        let q = shape.len() + COMMON;
        let width = f.ncols();
        let mut pf = Mat::<f64>::zeros(n, width);
        matmul(
            pf.as_mut(),
            Accum::Replace,
            projection.as_ref(),
            f.as_ref(),
            1.0,
            Par::Seq,
        );
        let along: Vec<f64> = (0..width).map(|k| dot(f.col_as_slice(k), pull)).collect();
        let (_, by_length) = weights(self.lattice, self.lobe, common);

        let mut traces = vec![0.0; q];
        let mut pushed = Mat::<f64>::zeros(n, q);
        let mut moved = Mat::<f64>::zeros(n, shape.len());
        for (s, (slope, even)) in assembled.slopes.iter().enumerate() {
            let out = pushed.col_as_slice_mut(s);
            for (k, along) in along.iter().enumerate() {
                let d = slope.col_as_slice(k);
                traces[s] += 2.0 * dot(pf.col_as_slice(k), d);
                let by = dot(d, pull);
                for ((o, d), f) in out.iter_mut().zip(d).zip(f.col_as_slice(k)) {
                    *o += d * along + f * by;
                }
            }
            moved.col_as_slice_mut(s).copy_from_slice(even);
        }
        let base = shape.len();
        for k in 1..=self.lattice.patterns_len() {
            let column = f.col_as_slice(k);
            let own = dot(pf.col_as_slice(k), column);
            for (which, half) in [(LENGTH, 0.5 * by_length[k - 1]), (SPREAD, 1.0)] {
                traces[base + which] += 2.0 * half * own;
                let out = pushed.col_as_slice_mut(base + which);
                for (o, f) in out.iter_mut().zip(column) {
                    *o += 2.0 * half * along[k] * f;
                }
            }
        }
        let twice = |which: usize| 2.0 * (2.0 * common[which]).exp();
        let (noise, missed, placed) = (twice(NOISE), twice(MISSED), twice(PLACED));
        for j in 0..n {
            let p = projection.col_as_slice(j);
            traces[base + NOISE] += noise * p[j];
            pushed[(j, base + NOISE)] += noise * pull[j];
            // R and its derivative between this reading and all, times the even lamp there
            let own = missed * even[j];
            let times = |from: &Mat<f64>, with: &[f64]| -> (f64, f64) {
                let column = from.col_as_slice(j).iter().zip(with);
                let column = column.zip(p.iter().zip(pull));
                column.fold((0.0, 0.0), |sums, ((r, e), (p, a))| {
                    (sums.0 + r * e * p, sums.1 + r * e * a)
                })
            };
            let (trace, push) = times(&correlation, even);
            traces[base + MISSED] += own * trace;
            pushed[(j, base + MISSED)] += own * push;
            for (s, (_, slope)) in assembled.slopes.iter().enumerate() {
                let (by_slope, pushed_by_slope) = times(&correlation, slope);
                traces[s] += own * by_slope;
                pushed[(j, s)] += 0.5 * (own * pushed_by_slope + missed * slope[j] * push);
            }
            let (trace, push) = times(&stretched, even);
            traces[base + MISSED_OVER] += 0.5 * own * trace;
            pushed[(j, base + MISSED_OVER)] += 0.5 * own * push;
            for (i, p) in p.iter().enumerate() {
                let g = self.together(i, j);
                if g != 0.0 {
                    traces[base + PLACED] += placed * g * p;
                    pushed[(i, base + PLACED)] += placed * g * pull[j];
                }
            }
        }
        let spread = &projection * &pushed;
        let moved_by = &projection * &moved;
        let mut gradient = Vec::with_capacity(q);
        for (i, (belief, x)) in self.beliefs.iter().zip(at).enumerate() {
            let mut slope = 0.5 * (traces[i] - dot(pull, pushed.col_as_slice(i)));
            if i < base {
                slope -= dot(pull, moved.col_as_slice(i));
            }
            gradient.push(slope + (x - belief.centre) / belief.spread.powi(2));
        }
        let mut curvature = Mat::from_fn(q, q, |i, j| {
            let mut c = 0.5 * dot(pushed.col_as_slice(i), spread.col_as_slice(j));
            if i < base && j < base {
                c += dot(moved.col_as_slice(i), moved_by.col_as_slice(j));
            }
            c
        });
        for (i, belief) in self.beliefs.iter().enumerate() {
            curvature[(i, i)] += belief.spread.powi(-2);
        }
        let value = system.restricted_loss() + self.prior_loss(at);
        (value.is_finite() && gradient.iter().all(|g| g.is_finite())).then_some(Local {
            value,
            gradient,
            curvature,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::field::Directional;
    use crate::field::families::lamp::Detector;
    use crate::field::families::lamp::lattice::Extent;
    use crate::field::readings::Reach;
    use crate::field::{Face, Sample};
    use crate::geometry::{Footprint, Point, Shape};

    /// Leaving rows out in closed form is conditioning on the others (Rasmussen & Williams 2006, eq. A.6).
    #[test]
    fn leaving_out_is_conditioning_on_the_others() {
        let (rows, face) = made_up();
        let lattice = Lattice::new(&face, Extent::OfFace, &rows.places);
        let beliefs = beliefs(Lobe::Round, 30.0, None);
        let evidence = Evidence::of(Lobe::Round, &lattice, &beliefs, &rows);
        let at: Vec<f64> = beliefs.iter().map(|b| b.centre).collect();
        let (assembled, system) = evidence.solve(&at).expect("solvable");
        let (correlation, _) = evidence.correlation(&at, false);
        let mut v = evidence.covariance(&at, &assembled, &correlation);
        crate::numeric::cholesky::mirror(&mut v);
        let rest: Vec<f64> = (0..rows.len())
            .map(|i| rows.values[i] - assembled.even[i])
            .collect();
        let held = crate::field::score::hold_out::HoldOut::new(&system, 1.0);
        for out in [vec![4], vec![0, 9], vec![16, 17]] {
            let kept: Vec<usize> = (0..rows.len()).filter(|i| !out.contains(i)).collect();
            let own = Mat::from_fn(kept.len(), kept.len(), |i, j| v[(kept[i], kept[j])]);
            let factor = crate::numeric::cholesky::Factor::of(own.as_ref()).expect("positive");
            let mut pulled = Mat::from_fn(kept.len(), 1, |i, _| rest[kept[i]]);
            factor.whiten(pulled.as_mut());
            let mut cross = Mat::from_fn(kept.len(), out.len(), |i, j| v[(kept[i], out[j])]);
            factor.whiten(cross.as_mut());
            let left = held.without(&out).expect("the others predict it");
            for (k, &i) in out.iter().enumerate() {
                let predicted = dot(cross.col_as_slice(k), pulled.col_as_slice(0));
                let variance = v[(i, i)] - dot(cross.col_as_slice(k), cross.col_as_slice(k));
                assert!((left.errors[k] - (rest[i] - predicted)).abs() < 1e-9);
                assert!((left.variances[k] / variance - 1.0).abs() < 1e-6);
            }
        }
    }

    /// Two heights of nine places, the last two rows repeats of one setting.
    fn made_up() -> (Rows, Face) {
        let places: Vec<Place> = (0..18)
            .map(|i| {
                Place::new(
                    10.0 + 30.0 * f64::from(i % 3),
                    8.0 + 25.0 * f64::from((i / 3) % 3),
                    15.0 * f64::from(i / 9),
                )
            })
            .collect();
        let readings = |p: &Place| {
            let fall = ((p.x - 40.0).powi(2) + (p.y - 30.0).powi(2)) / 9000.0;
            50.0 * (0.01 * p.height - fall).exp() * (1.0 + 0.01 * (p.x * 7.3 + p.height).sin())
        };
        let readings_near: Vec<f64> = places.iter().map(|p| 0.97 * readings(p)).collect();
        let samples: Vec<Sample> = places
            .iter()
            .enumerate()
            .map(|(i, p)| Sample {
                at: *p,
                irradiance: readings(p),
                // the last two are repeats of one setting
                position: if i == 17 { 7 } else { i % 9 },
                minute: (i % 4 != 0).then_some(i as f64),
            })
            .collect();
        let detector = Detector {
            resolution: 0.1,
            aperture: 0.0,
            directional: Directional {
                power: 0.2,
                doubt: 0.0,
            },
        };
        let mut rows = Rows::new(&samples, &Reach::of(&samples), &detector, None);
        rows.scale = readings_near;
        rows.values = samples
            .iter()
            .zip(&rows.scale)
            .map(|(s, scale)| s.irradiance / scale)
            .collect();
        rows.gradient = places
            .iter()
            .map(|p| [0.002 * (p.x - 40.0) / 10.0, 0.003, 0.01])
            .collect();
        rows.shared = Mat::from_fn(samples.len(), 3, |i, k| match k {
            0 | 1 => {
                if i / 9 == k {
                    0.0015
                } else {
                    0.0
                }
            }
            _ => 0.001 * (i as f64 - 8.0),
        });
        let outline = Footprint::new(
            Shape::Rectangle {
                width: 80.0,
                depth: 70.0,
            },
            Point::new(40.0, 33.0),
        );
        let face = Face {
            height: 50.0,
            outline: Some(outline),
        };
        (rows, face)
    }

    #[test]
    fn the_gradient_is_that_of_the_loss() {
        let (rows, face) = made_up();
        let lattice = Lattice::new(&face, Extent::OfFace, &rows.places);
        for lobe in [Lobe::Round, Lobe::Leaning] {
            let beliefs = beliefs(lobe, 30.0, None);
            let evidence = Evidence::of(lobe, &lattice, &beliefs, &rows);
            let at: Vec<f64> = beliefs
                .iter()
                .enumerate()
                .map(|(i, b)| b.centre + 0.2 * (i as f64 - 3.0) * b.spread)
                .collect();
            let local = evidence.local(&at).expect("finite");
            assert!((local.value - evidence.loss(&at).expect("finite")).abs() < 1e-9);
            for i in 0..at.len() {
                let moved = |by: f64| {
                    let mut x = at.clone();
                    x[i] += by;
                    evidence.loss(&x).expect("finite")
                };
                let slope = (moved(1e-4) - moved(-1e-4)) / 2e-4;
                assert!(
                    (slope - local.gradient[i]).abs() < 1e-5 * (1.0 + slope.abs()),
                    "{lobe:?} {i}: {slope} {}",
                    local.gradient[i]
                );
            }
        }
    }
}
