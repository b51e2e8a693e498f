//! Full cure without a curve: level after level, from the highest down, is held against all above it.

use super::ladder::{Ladder, Level};
use super::profile::{Goal, Short};
use crate::numeric::combine::{Component, combined};
use crate::numeric::distributions::{student_above, student_quantile};

/// One comparison: a level against one above it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Comparison {
    /// Index of the level.
    pub level: usize,
    /// Index of the level above it that it stood worst against.
    pub against: usize,
    /// By how much it is better than just not inferior, over its standard uncertainty.
    pub t: f64,
    /// Effective degrees of freedom.
    pub dof: f64,
    /// One-sided: how often a level that is just inferior does as well.
    pub p: f64,
    /// `p` is at most 1 less the confidence.
    pub full: bool,
}

/// What the sequence found.
#[derive(Debug, Clone, PartialEq)]
pub struct Sequence {
    /// In the order in which they were made; only the last may have failed.
    pub steps: Vec<Comparison>,
    /// Index of the lowest level that is full cure, with all above it. The top level where no other is.
    pub least: usize,
}

/// Tests the levels from the highest down. A level is full cure when it is shown not to be inferior, by the
/// margin, to each of those above it (an intersection-union test: Berger 1982), each by Welch's t of
/// `mean - (1 - margin) mean above` (a ratio without its division: Sasabuchi 1988; Hauschke, Kieser &
/// Hothorn 1999). The first that is not ends it: in such a fixed sequence each test keeps the
/// whole error rate (Maurer, Hothorn & Lehmacher 1995; Hsu & Berger 1999), so that the level found is an
/// upper confidence bound of the least level, whatever the shape of the curve, as long as the highest
/// levels are on the plateau.
///
/// A level of one part takes its scatter from the others. `None` where no level has two parts.
pub fn sequence(ladder: &Ladder, goal: Goal, confidence: f64) -> Option<Sequence> {
    let pooled = ladder.pooled()?;
    let top = ladder.levels.len() - 1;
    let mut found = Sequence {
        steps: Vec::new(),
        least: top,
    };
    for level in (0..top).rev() {
        let worst = (level + 1..=top)
            .map(|above| compare(ladder, goal, pooled, level, above, confidence))
            .reduce(|a, b| if b.p > a.p { b } else { a });
        let Some(worst) = worst else { break };
        found.steps.push(worst);
        if !worst.full {
            break;
        }
        found.least = level;
    }
    Some(found)
}

fn variance(level: &Level, pooled: (f64, f64), grain: f64) -> (f64, f64) {
    let (variance, dof) = match level.variance {
        Some(variance) => (variance, level.count() as f64 - 1.0),
        None => pooled,
    };
    (variance.max(grain), dof)
}

fn compare(
    ladder: &Ladder,
    goal: Goal,
    pooled: (f64, f64),
    level: usize,
    above: usize,
    confidence: f64,
) -> Comparison {
    let (low, high) = (&ladder.levels[level], &ladder.levels[above]);
    let better = if goal.rises {
        low.mean - goal.just_full(high.mean)
    } else {
        goal.just_full(high.mean) - low.mean
    };
    let weight = match (goal.margin, goal.rises) {
        (Short::Part(part), true) => 1.0 - part,
        (Short::Part(part), false) => 1.0 + part,
        (Short::By(_), _) => 1.0,
    };
    let part = |level: &Level, weight: f64| {
        let (variance, dof) = variance(level, pooled, ladder.grain);
        Component {
            uncertainty: weight * (variance / level.count() as f64).sqrt(),
            dof,
        }
    };
    let together = combined(&[part(low, 1.0), part(high, weight)]);
    let t = if together.uncertainty > 0.0 {
        better / together.uncertainty
    } else if better > 0.0 {
        f64::INFINITY
    } else {
        f64::NEG_INFINITY
    };
    let p = student_above(t, together.dof);
    Comparison {
        level,
        against: above,
        t,
        dof: together.dof,
        p,
        full: p <= 1.0 - confidence,
    }
}

/// Whether a level is shown to be better than the top one, by Welch's t at a share of the error rate: the
/// response falls at the top. The index of the worst such level.
pub fn falls_at_top(ladder: &Ladder, rises: bool, confidence: f64) -> Option<usize> {
    let top = ladder.levels.len() - 1;
    let share = (1.0 - confidence) / top as f64;
    let pooled = ladder.pooled()?;
    let sign = if rises { 1.0 } else { -1.0 };
    (0..top)
        .filter_map(|level| {
            let t = difference(ladder, pooled, level, top, sign)?;
            (t.2 < share).then_some((level, t.0))
        })
        .reduce(|a, b| if b.1 > a.1 { b } else { a })
        .map(|found| found.0)
}

/// Whether the lowest level is shown to be worse than the highest.
pub fn bottom_is_below_top(ladder: &Ladder, rises: bool, confidence: f64) -> bool {
    let Some(pooled) = ladder.pooled() else {
        return false;
    };
    let sign = if rises { 1.0 } else { -1.0 };
    difference(ladder, pooled, ladder.levels.len() - 1, 0, sign)
        .is_some_and(|(_, _, p)| p < 1.0 - confidence)
}

/// Difference of two levels, the first being better when positive; its quantile bound is left to the caller.
fn difference(
    ladder: &Ladder,
    pooled: (f64, f64),
    first: usize,
    second: usize,
    sign: f64,
) -> Option<(f64, f64, f64)> {
    let part = |index: usize| {
        let level = &ladder.levels[index];
        let (variance, dof) = variance(level, pooled, ladder.grain);
        Component {
            uncertainty: (variance / level.count() as f64).sqrt(),
            dof,
        }
    };
    let together = combined(&[part(first), part(second)]);
    let by = sign * (ladder.levels[first].mean - ladder.levels[second].mean);
    (together.uncertainty > 0.0).then(|| {
        let t = by / together.uncertainty;
        (by, together.dof, student_above(t, together.dof))
    })
}

/// Half the width of a two-sided interval of a level's mean.
pub fn half_width(ladder: &Ladder, index: usize, level: f64) -> Option<f64> {
    let of = &ladder.levels[index];
    let (variance, dof) = variance(of, ladder.pooled()?, ladder.grain);
    Some(student_quantile(0.5 + 0.5 * level, dof) * (variance / of.count() as f64).sqrt())
}
