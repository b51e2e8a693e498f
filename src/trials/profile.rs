//! The least level of full cure from fitted curves: how badly the points are fitted when that level is
//! said to be somewhere else.

use super::curves::{Family, Fit, POWERS, Start};
use crate::numeric::distributions::student_above;
use crate::numeric::optimise::first_reached;

/// How far short of the plateau is full cure, for a curve that rises or falls.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Goal {
    /// Part of the plateau, or a difference in the property's unit.
    pub margin: Short,
    /// The property rises to its plateau.
    pub rises: bool,
}

/// How far short.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Short {
    /// As a part of the plateau.
    Part(f64),
    /// In the property's unit.
    By(f64),
}

impl Goal {
    /// The level of full cure on a fitted curve; 0 where already the start is.
    pub fn level(&self, fit: &Fit) -> f64 {
        let short = match self.margin {
            Short::Part(part) => part * fit.plateau.abs(),
            Short::By(by) => by,
        };
        let rise = if self.rises { fit.rise } else { -fit.rise };
        let left = short / rise;
        if left > 0.0 && left < 1.0 {
            fit.family.shape.where_left(left, fit.power) / fit.rate
        } else {
            0.0
        }
    }

    /// The value that is just full cure, where the plateau is so much.
    pub fn just_full(&self, plateau: f64) -> f64 {
        let short = match self.margin {
            Short::Part(part) => part * plateau.abs(),
            Short::By(by) => by,
        };
        if self.rises {
            plateau - short
        } else {
            plateau + short
        }
    }

    /// The least sum of squares of a family whose level of full cure is `level`.
    pub fn squares(&self, points: &[(f64, f64)], family: Family, level: f64) -> f64 {
        let with_power = |left: f64| {
            let at = |power: f64| self.squares_at(points, family, level, left, power);
            if family.shape.has_power() {
                least_of(|log| at(log.exp()), POWERS.0.ln(), POWERS.1.ln(), 12)
            } else {
                at(1.0)
            }
        };
        match (self.margin, family.start) {
            (Short::Part(part), Start::Zero) => with_power(part),
            _ => least_of(|log| with_power(log.exp()), 1e-4f64.ln(), 0.999f64.ln(), 20),
        }
    }

    /// The sum of squares where `left` of the rise is left at `level`; what is still linear is solved for.
    fn squares_at(
        &self,
        points: &[(f64, f64)],
        family: Family,
        level: f64,
        left: f64,
        power: f64,
    ) -> f64 {
        let rate = family.shape.where_left(left, power) / level;
        let at = |x: f64| family.shape.left(rate * x, power).0;
        let sign = if self.rises { 1.0 } else { -1.0 };
        match (self.margin, family.start) {
            (Short::By(by), Start::Zero) => {
                let plateau = sign * by / left;
                let miss = |&(x, y): &(f64, f64)| (y - plateau * (1.0 - at(x))).powi(2);
                points.iter().map(miss).sum()
            }
            (Short::By(by), Start::Free) => {
                let rise = sign * by / left;
                let rest: Vec<f64> = points.iter().map(|p| p.1 + rise * at(p.0)).collect();
                let mean = rest.iter().sum::<f64>() / rest.len() as f64;
                rest.iter().map(|r| (r - mean).powi(2)).sum()
            }
            (Short::Part(part), start) => {
                let rise = match start {
                    Start::Zero => 1.0,
                    Start::Free => sign * part / left,
                };
                let (mut ab, mut aa, mut bb) = (0.0, 0.0, 0.0);
                for &(x, y) in points {
                    let a = 1.0 - rise * at(x);
                    ab += a * y;
                    aa += a * a;
                    bb += y * y;
                }
                if aa > 0.0 {
                    (bb - ab * ab / aa).max(0.0)
                } else {
                    bb
                }
            }
        }
    }
}

/// The least value of a function between two ends: the best of a lattice, then golden sections beside it.
pub(super) fn least_of(function: impl Fn(f64) -> f64, low: f64, high: f64, steps: usize) -> f64 {
    least_at(function, low, high, steps).1
}

/// As [`least_of`], with where it is.
pub(super) fn least_at(
    function: impl Fn(f64) -> f64,
    low: f64,
    high: f64,
    steps: usize,
) -> (f64, f64) {
    let step = (high - low) / steps as f64;
    let lattice = (0..=steps).map(|i| {
        let x = low + step * i as f64;
        (x, function(x))
    });
    let Some(mut best) = lattice.reduce(|a, b| if b.1 < a.1 { b } else { a }) else {
        return (low, f64::INFINITY);
    };
    let (mut a, mut b) = ((best.0 - step).max(low), (best.0 + step).min(high));
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    let (mut c, mut d) = (b - GOLDEN * (b - a), a + GOLDEN * (b - a));
    let (mut at_c, mut at_d) = (function(c), function(d));
    for _ in 0..22 {
        if at_c < at_d {
            (b, d, at_d) = (d, c, at_c);
            c = b - GOLDEN * (b - a);
            at_c = function(c);
        } else {
            (a, c, at_c) = (c, d, at_d);
            d = a + GOLDEN * (b - a);
            at_d = function(d);
        }
    }
    for found in [(c, at_c), (d, at_d)] {
        if found.1 < best.1 {
            best = found;
        }
    }
    best
}

/// A fit with how much it is believed.
#[derive(Debug, Clone, PartialEq)]
pub struct Weighed {
    /// The fit.
    pub fit: Fit,
    /// Its Akaike weight.
    pub weight: f64,
}

/// Fits by their weights `exp(-AICc/2)` (Akaike; the correction for few points of Hurvich & Tsai 1989), the
/// best first. `grain` is the variance that rounding of the values gives, below which none is believed.
pub fn weighed(fits: Vec<Fit>, grain: f64) -> Vec<Weighed> {
    let criterion = |fit: &Fit| {
        let p = fit.family.parameters() as f64;
        let n = fit.dof + p;
        let k = p + 1.0;
        // without a degree of freedom to spare the correction has no end
        let correction = 2.0 * k * (k + 1.0) / (n - k - 1.0);
        (n > k + 1.0)
            .then(|| n * (fit.squares / n).max(grain).max(1e-300).ln() + 2.0 * k + correction)
    };
    let mut judged: Vec<(f64, Fit)> = fits
        .into_iter()
        .filter_map(|fit| Some((criterion(&fit)?, fit)))
        .collect();
    judged.sort_by(|a, b| a.0.total_cmp(&b.0));
    let Some(best) = judged.first().map(|j| j.0) else {
        return Vec::new();
    };
    let total: f64 = judged.iter().map(|j| (0.5 * (best - j.0)).exp()).sum();
    judged
        .into_iter()
        .map(|(of, fit)| Weighed {
            fit,
            weight: (0.5 * (best - of)).exp() / total,
        })
        .filter(|w| w.weight > 1e-3)
        .collect()
}

/// A quantity that a fit tells and that may be said to be something else: how much worse the fit becomes.
pub(super) trait Told {
    /// What the fit says.
    fn best(&self, fit: &Fit) -> f64;
    /// The least sum of squares where it is `value`.
    fn squares(&self, family: Family, value: f64) -> f64;
}

/// The level of full cure as a [`Told`] quantity.
pub(super) struct LevelOf<'a> {
    pub(super) goal: Goal,
    pub(super) points: &'a [(f64, f64)],
}

impl Told for LevelOf<'_> {
    fn best(&self, fit: &Fit) -> f64 {
        self.goal.level(fit)
    }

    fn squares(&self, family: Family, value: f64) -> f64 {
        self.goal.squares(self.points, family, value)
    }
}

/// The value below which the quantity lies with confidence `p`, between `low` and `high` > 0: profile t of
/// each family (Bates & Watts 1988, 6.1), their tails averaged by weight (Fletcher & Turek 2012), so
/// that the choice of the curve is part of the interval. `None`: beyond `high`. Not below `low`.
pub(super) fn bound(
    fits: &[Weighed],
    told: &impl Told,
    grain: f64,
    p: f64,
    low: f64,
    high: f64,
) -> Option<f64> {
    let below = |value: f64| -> f64 {
        (fits.iter())
            .map(|w| {
                let more = told.squares(w.fit.family, value) - w.fit.squares;
                let t = (more.max(0.0) / w.fit.variance().max(grain).max(1e-300)).sqrt();
                let signed = if value >= told.best(&w.fit) { t } else { -t };
                w.weight * student_above(-signed, w.fit.dof)
            })
            .sum()
    };
    if fits.is_empty() || below(high) < p {
        return None;
    }
    if below(low) >= p {
        return Some(low);
    }
    Some(first_reached((low, high), 30, |value| below(value) < p))
}
