//! Parts that pass or fail: the share that passes against the level, by the curves that also follow a
//! measured property, with every part passing in the end.
//!
//! `E^p t` is asked with the same curves as the level: p by profile likelihood, curves averaged. SciPy gives the same
//! interval, and of the logistic curve statsmodels the same p (`tests/reference`).

use super::curves::Shape;
use super::ladder::Ladder;
use super::profile::least_at;
use crate::numeric::distributions::{normal_above, normal_quantile};
use crate::numeric::optimise::first_reached;

/// Curves that are tried. The last one is a logistic curve in the logarithm of the level.
const SHAPES: [Shape; 5] = [
    Shape::Exponential,
    Shape::SecondOrder,
    Shape::Delayed,
    Shape::Weibull,
    Shape::Hill,
];

/// Powers of the shapes that have one: up to a step.
const POWERS: (f64, f64) = (1.0, 80.0);

/// How many levels and how many powers are looked at before the best of them is refined.
const FINE: (usize, usize) = (80, 24);
/// As `FINE`, for a fit that is made many times over.
const QUICK: (usize, usize) = (16, 8);

/// One curve, fitted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PassFit {
    /// Which.
    pub shape: Shape,
    /// Where the wanted share passes.
    pub level: f64,
    /// s; 1 where the shape has none.
    pub power: f64,
    /// Log likelihood.
    pub likelihood: f64,
    /// Akaike weight.
    pub weight: f64,
}

/// The fitted curves and the level at which the wanted share passes.
#[derive(Debug, Clone, PartialEq)]
pub struct PassCurve {
    /// Of all parts, between 0 and 1.
    pub share: f64,
    /// The best first.
    pub fits: Vec<PassFit>,
    /// Where the curves reach the share: the middle of its distribution.
    pub level: f64,
    /// One-sided bounds of the level at the confidence; `None`: beyond anything that was tried.
    pub lower: Option<f64>,
    /// As `lower`.
    pub upper: Option<f64>,
}

/// (level, passed, parts).
type Counts = [(f64, f64, f64)];

impl PassCurve {
    /// The share that passes at a level by the best curve, between 0 and 1.
    pub fn at(&self, level: f64) -> f64 {
        (self.fits.first()).map_or(f64::NAN, |f| {
            pass(f.shape, self.share, f.level, f.power, level)
        })
    }

    /// The most likely curves, with bounds of the level by signed roots of their profile likelihood
    /// (Cox & Hinkley 1974, 9.3), averaged by Akaike weight as for measured parts. `share` and `confidence`
    /// lie between 0 and 1. `None` where all parts passed or all failed.
    pub fn of(ladder: &Ladder, share: f64, confidence: f64) -> Option<Self> {
        let counts: Vec<(f64, f64, f64)> = (ladder.levels.iter())
            .map(|l| (l.value, l.passed() as f64, l.count() as f64))
            .collect();
        let passed: f64 = counts.iter().map(|c| c.1).sum();
        let all: f64 = counts.iter().map(|c| c.2).sum();
        if passed == 0.0 || passed == all {
            return None;
        }
        let range = (ladder.bottom().value / 50.0, ladder.top().value * 50.0);
        let mut fits: Vec<PassFit> = (SHAPES.iter())
            .map(|&shape| fit(&counts, shape, share, range, FINE))
            .collect();
        weigh(&mut fits);
        let told = |f: &PassFit, level: f64| profile(&counts, f.shape, share, level, FINE.1).1;
        let at = |p: f64| bound(&fits, |f| f.level, told, p, range);
        let (lower, middle, upper) = (at(1.0 - confidence), at(0.5), at(confidence));
        Some(Self {
            share,
            level: middle.or(fits.first().map(|f| f.level))?,
            lower,
            upper,
            fits,
        })
    }
}

/// The value below which a quantity lies with confidence `p`, between `low` and `high` > 0: signed roots of each
/// curve's profile likelihood, their tails averaged by weight. `best` is what a curve says, `told` its log likelihood
/// where the quantity has another value. `None`: beyond either end.
fn bound(
    fits: &[PassFit],
    best: impl Fn(&PassFit) -> f64,
    told: impl Fn(&PassFit, f64) -> f64,
    p: f64,
    (low, high): (f64, f64),
) -> Option<f64> {
    let below = |value: f64| -> f64 {
        (fits.iter())
            .map(|f| {
                let z = (2.0 * (f.likelihood - told(f, value)).max(0.0)).sqrt();
                f.weight * normal_above(if value >= best(f) { -z } else { z })
            })
            .sum()
    };
    if below(low) >= p || below(high) < p {
        return None;
    }
    Some(first_reached((low, high), 26, |value| below(value) < p))
}

/// Parts cured alike: irradiance over the geometric mean of all, exposure in s, how many passed, how many there were.
pub(super) type Exposed = (f64, f64, f64, f64);

/// The power p of `E^p t` on which the share that passes hangs: lower bound, middle and upper bound, the outer two
/// with `confidence` between them. The curves and their average are those of [`PassCurve::of`]; p is looked for
/// between `low` and `high`. `None` where all passed or all failed.
pub(super) fn power(
    parts: &[Exposed],
    (low, high): (f64, f64),
    confidence: f64,
) -> Option<[Option<f64>; 3]> {
    let passed: f64 = parts.iter().map(|p| p.2).sum();
    let all: f64 = parts.iter().map(|p| p.3).sum();
    if passed == 0.0 || passed == all {
        return None;
    }
    // any share will do: it only says which point of the curve is called its level
    let best_at = |shape: Shape, p: f64| {
        let counts: Vec<(f64, f64, f64)> = (parts.iter())
            .map(|&(e, t, passed, all)| (e.powf(p) * t, passed, all))
            .collect();
        let least = counts.iter().map(|c| c.0).fold(f64::INFINITY, f64::min);
        let most = counts.iter().map(|c| c.0).fold(0.0, f64::max);
        fit(&counts, shape, 0.5, (least / 50.0, most * 50.0), QUICK)
    };
    let mut found: Vec<(Shape, f64)> = Vec::new();
    let mut fits = Vec::new();
    for shape in SHAPES {
        let cost = |log: f64| -best_at(shape, log.exp()).likelihood;
        let (log, _) = least_at(cost, low.ln(), high.ln(), 24);
        found.push((shape, log.exp()));
        fits.push(best_at(shape, log.exp()));
    }
    weigh(&mut fits);
    let best = |f: &PassFit| {
        let of_shape = found.iter().find(|b| b.0 == f.shape);
        of_shape.map_or(1.0, |b| b.1)
    };
    let told = |f: &PassFit, p: f64| best_at(f.shape, p).likelihood;
    let at = |p: f64| bound(&fits, best, told, p, (low, high));
    let tail = 0.5 * (1.0 - confidence);
    Some([at(tail), at(0.5), at(1.0 - tail)])
}

/// The share that passes at x where `share` passes at `level`.
fn pass(shape: Shape, share: f64, level: f64, power: f64, x: f64) -> f64 {
    let rate = shape.where_left(1.0 - share, power) / level;
    1.0 - shape.left(rate * x, power).0
}

fn likelihood(counts: &Counts, shape: Shape, share: f64, level: f64, power: f64) -> f64 {
    counts
        .iter()
        .map(|&(x, passed, all)| {
            // a curve that rules out what was seen is impossible, not endlessly so
            let p = pass(shape, share, level, power, x).clamp(1e-12, 1.0 - 1e-12);
            passed * p.ln() + (all - passed) * (-p).ln_1p()
        })
        .sum()
}

/// The best power and the likelihood where `share` passes at `level`.
fn profile(counts: &Counts, shape: Shape, share: f64, level: f64, steps: usize) -> (f64, f64) {
    if !shape.has_power() {
        return (1.0, likelihood(counts, shape, share, level, 1.0));
    }
    let cost = |log: f64| -likelihood(counts, shape, share, level, log.exp());
    let (log, cost) = least_at(cost, POWERS.0.ln(), POWERS.1.ln(), steps);
    (log.exp(), -cost)
}

fn fit(
    counts: &Counts,
    shape: Shape,
    share: f64,
    (low, high): (f64, f64),
    (levels, powers): (usize, usize),
) -> PassFit {
    let cost = |log: f64| -profile(counts, shape, share, log.exp(), powers).1;
    let (log, _) = least_at(cost, low.ln(), high.ln(), levels);
    let (power, likelihood) = profile(counts, shape, share, log.exp(), powers);
    PassFit {
        shape,
        level: log.exp(),
        power,
        likelihood,
        weight: 0.0,
    }
}

/// By `exp(likelihood - parameters)` (Akaike).
fn weigh(fits: &mut Vec<PassFit>) {
    let worth = |f: &PassFit| f.likelihood - if f.shape.has_power() { 2.0 } else { 1.0 };
    fits.sort_by(|a, b| worth(b).total_cmp(&worth(a)));
    let best = fits.first().map_or(0.0, worth);
    let total: f64 = fits.iter().map(|f| (worth(f) - best).exp()).sum();
    for fit in fits.iter_mut() {
        fit.weight = (worth(fit) - best).exp() / total;
    }
    fits.retain(|f| f.weight > 1e-3);
}

/// Whether parts fail more often at higher levels: the slope of the logistic regression is below zero by
/// more than chance, by its score test (Cochran 1954, Armitage 1955), at the confidence.
pub fn falls(ladder: &Ladder, confidence: f64) -> bool {
    let (mut n, mut passed, mut sum_x, mut sum_xx, mut sum_px) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for level in &ladder.levels {
        let (x, count, pass) = (
            level.value.ln(),
            level.count() as f64,
            level.passed() as f64,
        );
        n += count;
        passed += pass;
        sum_x += count * x;
        sum_xx += count * x * x;
        sum_px += pass * x;
    }
    let share = passed / n;
    let score = sum_px - share * sum_x;
    let variance = share * (1.0 - share) * (sum_xx - sum_x * sum_x / n);
    variance > 0.0 && score / variance.sqrt() < -normal_quantile(confidence)
}
