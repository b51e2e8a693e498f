//! Full cure without a curve: level after level, from the highest down, is held against all above it.

use super::ladder::{Ladder, Level, pooled};
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
/// margin, to each of those above it (an intersection-union test: Berger 1982), each by the t of
/// `mean - (1 - margin) mean above` (a ratio without its division: Sasabuchi 1988; Hauschke, Kieser &
/// Hothorn 1999) with Welch's degrees of freedom. The first that is not ends it: in such a fixed sequence
/// each test keeps the whole error rate (Maurer, Hothorn & Lehmacher 1995; Hsu & Berger 1999), so that the
/// level found is an upper confidence bound of the least level, whatever the shape of the curve, as
/// long as the highest levels are on the plateau.
///
/// A level brings its own scatter, for parts short of full cure may scatter more; those above it, which were
/// shown to be full cure, share theirs. A level of one part takes its scatter from all others. `None` where no
/// level has two parts.
pub fn sequence(ladder: &Ladder, goal: Goal, confidence: f64) -> Option<Sequence> {
    let everywhere = pooled(&ladder.levels)?;
    let top = ladder.levels.len() - 1;
    let mut found = Sequence {
        steps: Vec::new(),
        least: top,
    };
    for level in (0..top).rev() {
        let below = scatter(&ladder.levels[level], everywhere, ladder.grain);
        let above = pooled(&ladder.levels[level + 1..]).unwrap_or(everywhere);
        let above = (above.0.max(ladder.grain), above.1);
        let worst = (level + 1..=top)
            .map(|against| compare(ladder, goal, (level, below), (against, above), confidence))
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

/// Variance of a part, and its degrees of freedom.
type Scatter = (f64, f64);

fn scatter(level: &Level, everywhere: Scatter, grain: f64) -> Scatter {
    let (variance, dof) = match level.variance {
        Some(variance) => (variance, level.count() as f64 - 1.0),
        None => everywhere,
    };
    (variance.max(grain), dof)
}

fn compare(
    ladder: &Ladder,
    goal: Goal,
    (level, below): (usize, Scatter),
    (against, above): (usize, Scatter),
    confidence: f64,
) -> Comparison {
    let (low, high) = (&ladder.levels[level], &ladder.levels[against]);
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
    let (t, dof) = over_its_scatter(better, (low, below, 1.0), (high, above, weight));
    let p = student_above(t, dof);
    Comparison {
        level,
        against,
        t,
        dof,
        p,
        full: p <= 1.0 - confidence,
    }
}

/// A difference of means over its standard uncertainty, with its effective degrees of freedom; each level with the
/// scatter of its parts and its weight.
fn over_its_scatter(
    by: f64,
    first: (&Level, Scatter, f64),
    second: (&Level, Scatter, f64),
) -> (f64, f64) {
    let part = |(level, scatter, weight): (&Level, Scatter, f64)| Component {
        uncertainty: weight * (scatter.0 / level.count() as f64).sqrt(),
        dof: scatter.1,
    };
    let together = combined(&[part(first), part(second)]);
    let t = if together.uncertainty > 0.0 {
        by / together.uncertainty
    } else {
        by.signum() * if by == 0.0 { 0.0 } else { f64::INFINITY }
    };
    (t, together.dof)
}

/// A level that is shown to be better than the top one, by Welch's t at its share of the error rate: the
/// response falls at the top. The index of the one that is most so.
pub fn falls_at_top(ladder: &Ladder, rises: bool, confidence: f64) -> Option<usize> {
    let top = ladder.levels.len() - 1;
    let share = (1.0 - confidence) / top as f64;
    (0..top)
        .filter_map(|level| Some((level, chance_of(ladder, rises, level, top)?)))
        .filter(|(_, p)| *p < share)
        .reduce(|a, b| if b.1 < a.1 { b } else { a })
        .map(|found| found.0)
}

/// Whether the lowest level is shown to be worse than the highest.
pub fn bottom_is_below_top(ladder: &Ladder, rises: bool, confidence: f64) -> bool {
    chance_of(ladder, rises, ladder.levels.len() - 1, 0).is_some_and(|p| p < 1.0 - confidence)
}

/// How often two like levels would differ as much, the first being the better one. `None` where no level has two
/// parts.
fn chance_of(ladder: &Ladder, rises: bool, first: usize, second: usize) -> Option<f64> {
    let everywhere = pooled(&ladder.levels)?;
    let of = |index: usize| {
        let level = &ladder.levels[index];
        (level, scatter(level, everywhere, ladder.grain), 1.0)
    };
    let by = ladder.levels[first].mean - ladder.levels[second].mean;
    let (t, dof) = over_its_scatter(if rises { by } else { -by }, of(first), of(second));
    Some(student_above(t, dof))
}

/// Half the width of the two-sided interval of a level's mean; `level` between 0 and 1.
pub fn half_width(ladder: &Ladder, index: usize, level: f64) -> Option<f64> {
    let of = &ladder.levels[index];
    let (variance, dof) = scatter(of, pooled(&ladder.levels)?, ladder.grain);
    Some(student_quantile(0.5 + 0.5 * level, dof) * (variance / of.count() as f64).sqrt())
}
