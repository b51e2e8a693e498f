//! Parts that pass or fail: the share that passes against the level, as a logistic curve in its logarithm.

use super::ladder::Ladder;
use super::profile::least_at;
use crate::numeric::distributions::normal_quantile;

/// Steepness of the curve, per factor e of the level: from hardly rising to a step.
const STEEP: (f64, f64) = (0.1, 100.0);

/// The fitted curve and the level at which the wanted share passes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PassCurve {
    /// Of all parts, between 0 and 1.
    pub share: f64,
    /// Where the curve reaches it.
    pub level: f64,
    /// Per factor e of the level.
    pub steepness: f64,
    /// One-sided bounds of the level at the confidence; `None`: beyond anything that was tried.
    pub lower: Option<f64>,
    /// As `lower`.
    pub upper: Option<f64>,
}

impl PassCurve {
    /// The share that passes at a level, between 0 and 1.
    pub fn at(&self, level: f64) -> f64 {
        let logit = logit(self.share) + self.steepness * (level / self.level).ln();
        1.0 / (1.0 + (-logit).exp())
    }

    /// The most likely curve, with bounds by profile likelihood: levels whose best curve is less likely by
    /// no more than half the squared normal quantile (Cox & Hinkley 1974, 9.3). `share` and `confidence` lie
    /// between 0 and 1. `None` where all parts passed or all failed.
    pub fn of(ladder: &Ladder, share: f64, confidence: f64) -> Option<Self> {
        let counts: Vec<(f64, f64, f64)> = (ladder.levels.iter())
            .map(|l| (l.value, l.passed() as f64, l.count() as f64))
            .collect();
        let passed: f64 = counts.iter().map(|c| c.1).sum();
        let all: f64 = counts.iter().map(|c| c.2).sum();
        if passed == 0.0 || passed == all {
            return None;
        }
        let low = (ladder.bottom().value / 100.0).ln();
        let high = (ladder.top().value * 100.0).ln();
        let profile = |level: f64| {
            let cost = |steep: f64| -likelihood(&counts, share, level, steep.exp());
            least_at(cost, STEEP.0.ln(), STEEP.1.ln(), 40)
        };
        let (best, cost) = least_at(|level| profile(level).1, low, high, 400);
        let allowed = cost + 0.5 * normal_quantile(confidence).powi(2);
        let bound = |end: f64| {
            if profile(end).1 <= allowed {
                return None;
            }
            let (mut inside, mut outside) = (best, end);
            for _ in 0..40 {
                let middle = 0.5 * (inside + outside);
                if profile(middle).1 <= allowed {
                    inside = middle;
                } else {
                    outside = middle;
                }
            }
            Some(outside.exp())
        };
        Some(Self {
            share,
            level: best.exp(),
            steepness: profile(best).0.exp(),
            lower: bound(low),
            upper: bound(high),
        })
    }
}

fn logit(share: f64) -> f64 {
    (share / (1.0 - share)).ln()
}

/// Log likelihood of (level, passed, parts) where `share` passes at `exp(level)`.
fn likelihood(counts: &[(f64, f64, f64)], share: f64, level: f64, steepness: f64) -> f64 {
    // ln(1 / (1 + e^-x)) without overflow
    let ln_pass = |x: f64| {
        if x > 0.0 {
            -(-x).exp().ln_1p()
        } else {
            x - x.exp().ln_1p()
        }
    };
    counts
        .iter()
        .map(|&(at, passed, all)| {
            let x = logit(share) + steepness * (at.ln() - level);
            let term = |count: f64, ln: f64| if count > 0.0 { count * ln } else { 0.0 };
            term(passed, ln_pass(x)) + term(all - passed, ln_pass(-x))
        })
        .sum()
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
