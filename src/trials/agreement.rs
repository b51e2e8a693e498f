//! Does a confirmation run fit the trials before it? More light never cures less, so at no level may clearly fewer
//! parts pass than at one below it.

use super::ladder::Ladder;
use super::reliability::reliability;
use crate::numeric::distributions::hypergeometric_at_most;

/// Parts that passed, of how many.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Passed {
    /// That passed.
    pub passed: u64,
    /// All.
    pub of: u64,
}

/// What does not fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Misfit {
    /// More parts of the run passed than of the trials from its level up to this one, mW/cm² or s.
    TrialsWorseAbove {
        /// The highest of the levels that were put together.
        up_to: f64,
        /// Of the trials.
        trials: Passed,
        /// How often chance does as much.
        chance: f64,
    },
    /// Fewer parts of the run passed than of the trials from its level down to this one, mW/cm² or s.
    TrialsBetterBelow {
        /// The lowest of the levels that were put together.
        down_to: f64,
        /// Of the trials.
        trials: Passed,
        /// How often chance does as much.
        chance: f64,
    },
    /// At a level that the trials call full cure at most this share of all parts passes, with the confidence; between 0
    /// and 1.
    FullCureFails {
        /// The share.
        at_most: f64,
    },
}

/// Chance explains a difference that it makes more often than this.
const CHANCE: f64 = 0.01;
/// Levels so near to each other are one.
const SAME: f64 = 0.01;

/// Holds a run of pass and fail against trials of pass and fail, by Fisher's exact test (Fisher 1935; one-sided) of the
/// parts of the run against those of the one, two, and more levels next to it on either side. `level` is the run's,
/// mW/cm² or s, at what was held in the trials.
pub fn misfit(ladder: &Ladder, level: f64, run: Passed) -> Option<Misfit> {
    let above: Vec<_> = (ladder.levels.iter())
        .filter(|l| l.value >= level * (1.0 - SAME))
        .collect();
    let below: Vec<_> = (ladder.levels.iter().rev())
        .filter(|l| l.value <= level * (1.0 + SAME))
        .collect();
    let tests = (above.len() + below.len()) as f64;
    let mut worst: Option<(f64, Misfit)> = None;
    let mut heard = |chance: f64, what: Misfit| {
        if chance < CHANCE / tests && worst.is_none_or(|w| chance < w.0) {
            worst = Some((chance, what));
        }
    };
    let mut together = Passed { passed: 0, of: 0 };
    for l in above {
        together.passed += l.passed() as u64;
        together.of += l.count() as u64;
        let chance = as_few(together, run);
        heard(
            chance,
            Misfit::TrialsWorseAbove {
                up_to: l.value,
                trials: together,
                chance,
            },
        );
    }
    together = Passed { passed: 0, of: 0 };
    for l in below {
        together.passed += l.passed() as u64;
        together.of += l.count() as u64;
        let chance = as_few(run, together);
        heard(
            chance,
            Misfit::TrialsBetterBelow {
                down_to: l.value,
                trials: together,
                chance,
            },
        );
    }
    worst.map(|w| w.1)
}

/// How often so few of the first pass by chance, where both pass alike.
pub fn as_few(first: Passed, second: Passed) -> f64 {
    hypergeometric_at_most(
        first.passed,
        first.of + second.of,
        first.passed + second.passed,
        first.of,
    )
}

/// Holds a run at a level of full cure of a measured property against that: so many failed that, with the
/// confidence, fewer than the wanted share pass (the upper bound of Clopper & Pearson 1934).
pub fn full_cure_fails(passed: u32, failed: u32, share: f64, confidence: f64) -> Option<Misfit> {
    let at_most = 1.0 - reliability(failed, passed, confidence);
    (failed > 0 && at_most < share).then_some(Misfit::FullCureFails { at_most })
}
