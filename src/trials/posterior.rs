//! Where the least level of full cure lies, from curves of every likely shape at once.
//!
//! Each shape of [`super::rise`] at each of many scales is fitted to the parts: its plateau (and its start, where
//! that is not zero) and the scatter are integrated out over priors without a scale of their own, which leaves
//! a weight of `(sum of squares)^(-(n - linear)/2)` (Zellner 1971, 3.1). The level at which a curve is full cure gets its
//! weight; the bound is a quantile of them (model averaging: Hoeting et al. 1999). The choice of the curve is so part of
//! the bound, and no curve can flatter.

use super::ladder::Level;
use super::profile::Goal;
use super::rise::{Prior, Ready};

/// Parts cured alike, as far as a fit hangs on them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Alike {
    /// mW/cm² or s.
    pub level: f64,
    /// Parts.
    pub count: f64,
    /// Of the results.
    pub mean: f64,
}

/// All parts, as far as fits hang on them.
#[derive(Debug, Clone, PartialEq)]
pub struct Data {
    /// Ascending.
    pub alike: Vec<Alike>,
    /// Squares of the parts about the mean of their level, and what rounding adds.
    pub within: f64,
}

impl Data {
    /// Of levels; `grain` is the variance that rounding of the results gives.
    pub fn of(levels: &[Level], grain: f64) -> Self {
        let within = |l: &Level| l.variance.unwrap_or(0.0) * (l.count() as f64 - 1.0);
        let parts: usize = levels.iter().map(Level::count).sum();
        Self {
            alike: (levels.iter())
                .map(|l| Alike {
                    level: l.value,
                    count: l.count() as f64,
                    mean: l.mean,
                })
                .collect(),
            within: levels.iter().map(within).sum::<f64>() + grain * parts as f64,
        }
    }
}

/// Curves of all shapes and scales, at the levels of the data.
pub(super) struct Curves {
    shapes: Vec<(Ready, f64)>,
    /// Levels at which a tenth is left.
    scales: Vec<f64>,
    /// Between natural logarithms of neighbouring scales.
    step: f64,
    /// For each level what is left of each curve, shape after shape.
    left: Vec<Vec<f64>>,
}

/// How far below the lowest level and above the highest one a tenth may be left.
const BEYOND: (f64, f64) = (2.0, 4.0);
/// The longest step between natural logarithms of scales.
const STEP: f64 = 0.062;

impl Curves {
    pub(super) fn of(data: &Data, prior: &Prior) -> Option<Self> {
        let (bottom, top) = (data.alike.first()?.level, data.alike.last()?.level);
        let (low, high) = ((bottom / BEYOND.0).ln(), (top * BEYOND.1).ln());
        let steps = ((high - low) / STEP).ceil().max(1.0);
        let step = (high - low) / steps;
        let mut curves = Self {
            shapes: (prior.shapes().into_iter())
                .map(|(rise, weight)| (rise.ready(), weight))
                .collect(),
            scales: (0..=steps as usize)
                .map(|i| (low + step * i as f64).exp())
                .collect(),
            step,
            left: Vec::new(),
        };
        curves.left = (data.alike.iter()).map(|a| curves.at(a.level)).collect();
        Some(curves)
    }

    /// What is left of each curve at a level.
    pub(super) fn at(&self, level: f64) -> Vec<f64> {
        (self.shapes.iter())
            .flat_map(|(shape, _)| self.scales.iter().map(|scale| shape.left(level / scale)))
            .collect()
    }
}

/// What is linear in a curve, with its sum of squares.
#[derive(Debug, Clone, Copy)]
struct Fitted {
    plateau: f64,
    rise: f64,
    squares: f64,
}

/// One curve of the many.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Piece {
    /// Which of the curves.
    curve: usize,
    plateau: f64,
    /// By how much it lies below the plateau (above it, where the response falls) at its start.
    rise: f64,
    /// Natural logarithm of the level of full cure.
    level: f64,
    /// All sum to 1.
    weight: f64,
}

/// Where the level of full cure may lie.
#[derive(Debug, Clone, PartialEq)]
pub struct Posterior {
    pieces: Vec<Piece>,
    rises: bool,
    /// Width of the natural logarithm over which each weight is spread.
    step: f64,
    /// Beyond this level nothing is known.
    end: f64,
}

/// Weights below this part of the greatest are left out.
const NOTHING: f64 = 1e-9;

impl Posterior {
    /// `None` without a curve that rises, or falls, as it should.
    pub fn of(data: &Data, goal: Goal, prior: &Prior) -> Option<Self> {
        Self::with(&Curves::of(data, prior)?, data, goal, &[])
    }

    /// With parts at `more` levels on top of those that the curves were made for, each with what is left of the curves
    /// there.
    pub(super) fn with(
        curves: &Curves,
        data: &Data,
        goal: Goal,
        more: &[(Alike, &[f64])],
    ) -> Option<Self> {
        let columns: Vec<(Alike, &[f64])> = (data.alike.iter().zip(&curves.left))
            .map(|(&a, left)| (a, left.as_slice()))
            .chain(more.iter().copied())
            .collect();
        let parts: f64 = columns.iter().map(|c| c.0.count).sum();
        let fits = fitted(&columns, data.within, goal);
        let best = fits.iter().map(|f| f.squares).fold(f64::INFINITY, f64::min);
        if !best.is_finite() {
            return None;
        }
        // results without any scatter are not taken for exact to more than nine digits
        let size: f64 = columns
            .iter()
            .map(|c| c.0.count * c.0.mean * c.0.mean)
            .sum();
        let best = best.max(1e-18 * size).max(1e-300);
        let half = 0.5 * (parts - if goal.rises { 1.0 } else { 2.0 });
        let most = best * NOTHING.powf(-1.0 / half.max(0.5));
        let per_shape = curves.scales.len();
        let mut pieces = Vec::new();
        for (curve, fit) in fits.iter().enumerate() {
            if fit.squares > most {
                continue;
            }
            let (shape, prior) = &curves.shapes[curve / per_shape];
            let likely = (best / fit.squares.max(best)).powf(half);
            let short = goal.short(fit.plateau) / fit.rise;
            let level = if short < 1.0 {
                curves.scales[curve % per_shape] * shape.where_left(short)
            } else {
                0.0
            };
            pieces.push(Piece {
                curve,
                plateau: fit.plateau,
                rise: fit.rise,
                level: level.ln(),
                weight: prior * likely,
            });
        }
        let total: f64 = pieces.iter().map(|p| p.weight).sum();
        pieces.iter_mut().for_each(|p| p.weight /= total);
        Some(Self {
            pieces,
            rises: goal.rises,
            step: curves.step,
            end: curves.scales.last().copied()?,
        })
    }

    /// The mean of all curves where so much of each is left.
    pub(super) fn mean(&self, left: &[f64]) -> f64 {
        let sign = if self.rises { -1.0 } else { 1.0 };
        (self.pieces.iter())
            .map(|p| p.weight * (p.plateau + sign * p.rise * left[p.curve]))
            .sum()
    }

    /// The level below which that of full cure lies with probability `p`; `None`: beyond four times the highest
    /// level, of which the parts tell nothing.
    pub fn quantile(&self, p: f64) -> Option<f64> {
        let below = |log: f64| -> f64 {
            (self.pieces.iter())
                .map(|p| p.weight * ((log - p.level) / self.step + 0.5).clamp(0.0, 1.0))
                .sum()
        };
        let (mut low, mut high) = ((1e-6 * self.end).ln(), self.end.ln());
        if below(high) < p {
            return None;
        }
        for _ in 0..36 {
            let middle = 0.5 * (low + high);
            if below(middle) < p {
                low = middle;
            } else {
                high = middle;
            }
        }
        Some(high.exp())
    }
}

/// The best plateau and rise of each curve with its sum of squares; one that goes the wrong way has none.
fn fitted(columns: &[(Alike, &[f64])], within: f64, goal: Goal) -> Vec<Fitted> {
    let cells = columns.first().map_or(0, |c| c.1.len());
    let parts: f64 = columns.iter().map(|c| c.0.count).sum();
    let mean = columns.iter().map(|c| c.0.count * c.0.mean).sum::<f64>() / parts;
    let none = Fitted {
        plateau: f64::NAN,
        rise: f64::NAN,
        squares: f64::INFINITY,
    };
    let centre = if goal.rises { 0.0 } else { mean };
    let all: f64 = (columns.iter())
        .map(|c| c.0.count * (c.0.mean - centre).powi(2))
        .sum();
    (0..cells)
        .map(|i| {
            if goal.rises {
                let (mut ab, mut aa) = (0.0, 0.0);
                for (of, left) in columns {
                    let a = 1.0 - left[i];
                    ab += of.count * a * of.mean;
                    aa += of.count * a * a;
                }
                if ab <= 0.0 || aa < 1e-12 {
                    return none;
                }
                let plateau = ab / aa;
                Fitted {
                    plateau,
                    rise: plateau,
                    squares: within + (all - ab * plateau).max(0.0),
                }
            } else {
                let middle = columns.iter().map(|c| c.0.count * c.1[i]).sum::<f64>() / parts;
                let (mut ab, mut aa) = (0.0, 0.0);
                for (of, left) in columns {
                    let a = left[i] - middle;
                    ab += of.count * a * (of.mean - mean);
                    aa += of.count * a * a;
                }
                if ab <= 0.0 || aa < 1e-12 {
                    return none;
                }
                let rise = ab / aa;
                Fitted {
                    plateau: mean - rise * middle,
                    rise,
                    squares: within + (all - ab * rise).max(0.0),
                }
            }
        })
        .collect()
}
