//! What counts as full cure on a curve, how much curves are believed, and how far from its best value a quantity
//! may be said to lie before the curves follow the points too badly.

use super::curves::{Family, Fit};
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
    /// How far short of the plateau is still full cure, in the property's unit.
    pub fn short(&self, plateau: f64) -> f64 {
        match self.margin {
            Short::Part(part) => part * plateau.abs(),
            Short::By(by) => by,
        }
    }

    /// The level of full cure on a fitted curve; 0 where already the start is.
    pub fn level(&self, fit: &Fit) -> f64 {
        let rise = if self.rises { fit.rise } else { -fit.rise };
        let left = self.short(fit.plateau) / rise;
        if left > 0.0 && left < 1.0 {
            fit.family.shape.where_left(left, fit.power) / fit.rate
        } else {
            0.0
        }
    }

    /// The value that is just full cure, where the plateau is so much.
    pub fn just_full(&self, plateau: f64) -> f64 {
        let short = self.short(plateau);
        if self.rises {
            plateau - short
        } else {
            plateau + short
        }
    }
}

/// Where a function is least between two ends, and its value there: the best of a lattice, then golden sections beside
/// it.
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
