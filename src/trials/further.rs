//! What further parts would bring: at which levels they tell most, and how far the bound would come down.

use super::ladder::{Ladder, pooled};
use super::posterior::{Alike, Curves, Data, Posterior};
use super::profile::Goal;

/// Parts to cure, and what to expect of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Further {
    /// mW/cm² or s.
    pub level: f64,
    /// At that level.
    pub parts: u32,
    /// Where the bound of the least level is then to be expected, mW/cm² or s, with the parts of those before it in
    /// the list cured too.
    pub bound: f64,
}

/// Parts in one proposal.
const PARTS: u32 = 10;
/// Proposals, one on top of the other.
const PROPOSALS: usize = 2;
/// A bound that comes down by less is not worth a proposal.
const WORTH: f64 = 0.02;

/// The levels at which further parts bring the bound down most. They are taken to come out as all curves together
/// expect, with the scatter of the others; so the figure is an expectation, not a promise. Empty where nothing
/// helps, or where a bound would still lie above all levels.
pub(super) fn further(
    ladder: &Ladder,
    (data, curves, now): (&Data, &Curves, &Posterior),
    goal: Goal,
    confidence: f64,
) -> Vec<Further> {
    let Some(scatter) = pooled(&ladder.levels).map(|(variance, _)| variance.max(ladder.grain))
    else {
        return Vec::new();
    };
    let places: Vec<(f64, Vec<f64>, f64)> = (places(ladder, now, confidence).into_iter())
        .map(|level| {
            let left = curves.at(level);
            let mean = now.mean(&left);
            (level, left, mean)
        })
        .collect();
    let mut data = data.clone();
    let mut more: Vec<(Alike, &[f64])> = Vec::new();
    let mut list: Vec<Further> = Vec::new();
    let mut bound = now.quantile(confidence).unwrap_or(f64::INFINITY);
    let count = f64::from(PARTS);
    data.within += count * scatter;
    for _ in 0..PROPOSALS {
        let best = (places.iter())
            .filter_map(|(level, left, mean)| {
                let alike = Alike {
                    level: *level,
                    count,
                    mean: *mean,
                };
                more.push((alike, left));
                let then = Posterior::with(curves, &data, goal, &more);
                more.pop();
                Some((then?.quantile(confidence)?, alike, left))
            })
            .reduce(|a, b| if b.0 < a.0 { b } else { a });
        let Some((then, alike, left)) = best.filter(|b| b.0 < bound * (1.0 - WORTH)) else {
            break;
        };
        more.push((alike, left));
        data.within += count * scatter;
        bound = then;
        list.push(Further {
            level: alike.level,
            parts: PARTS,
            bound,
        });
    }
    let highest = (list.iter().map(|f| f.level)).fold(ladder.top().value, f64::max);
    match list.last() {
        Some(last) if last.bound <= highest => merged(list),
        _ => Vec::new(),
    }
}

/// Two proposals at one level are one.
fn merged(list: Vec<Further>) -> Vec<Further> {
    let mut short: Vec<Further> = Vec::new();
    for next in list {
        match short.last_mut() {
            Some(last) if last.level == next.level => {
                last.parts += next.parts;
                last.bound = next.bound;
            }
            _ => short.push(next),
        }
    }
    short
}

/// Levels worth a look: those from below the estimate up to the highest, one between the neighbours of the estimate
/// and one between those of the bound, and two above all where the bound lies there.
fn places(ladder: &Ladder, now: &Posterior, confidence: f64) -> Vec<f64> {
    let levels: Vec<f64> = ladder.levels.iter().map(|l| l.value).collect();
    let (estimate, bound) = (now.quantile(0.5), now.quantile(confidence));
    let from = estimate.map_or(0.0, |e| 0.5 * e);
    let mut list: Vec<f64> = levels.iter().copied().filter(|&l| l >= from).collect();
    for value in [estimate, bound].into_iter().flatten() {
        let between = (levels.windows(2))
            .find(|w| w[0] <= value && value < w[1] && w[1] > 1.2 * w[0])
            .map(|w| two_digits((w[0] * w[1]).sqrt()));
        list.extend(between);
    }
    let top = ladder.top().value;
    if bound.is_none_or(|b| b > 0.8 * top) {
        list.extend([two_digits(1.5 * top), two_digits(2.2 * top)]);
    }
    list.sort_by(f64::total_cmp);
    list.dedup();
    list
}

fn two_digits(value: f64) -> f64 {
    let step = 10f64.powf(value.log10().floor() - 1.0);
    (value / step).round() * step
}

/// What further parts would bring, as a sentence that may follow another one; `said` writes a level with its unit. `None` where nothing helps.
pub fn sentence(further: &[Further], said: impl Fn(f64) -> String) -> Option<String> {
    let (first, rest) = further.split_first()?;
    let mut text = format!(
        "{} further parts at {} are expected to bring the bound to about {}",
        first.parts,
        said(first.level),
        said(three_digits(first.bound))
    );
    for next in rest {
        text += &format!(
            ", {} more at {} to about {}",
            next.parts,
            said(next.level),
            said(three_digits(next.bound))
        );
    }
    Some(text)
}

/// An expected bound is not known to more.
fn three_digits(value: f64) -> f64 {
    let step = 10f64.powf(value.log10().floor() - 2.0);
    (value / step).round() * step
}
