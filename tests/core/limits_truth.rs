//! Verdicts against simulated lamps whose truth is known: a seeded part of the study in `tests/bench/limits`.

use evenfield::assess::limits::Verdict;

use crate::intervals::wilson;
use crate::kinds::Kind;
use crate::limits_trial::{Outcome, outcome};

/// Kinds whose light does not come by way of mirrors, for which the bound is made (`tests/bench/limits.md` says how it does
/// on the others).
const KINDS: [Kind; 5] = [
    Kind::LedMany,
    Kind::LedFew,
    Kind::LedDead,
    Kind::Linear,
    Kind::TwoLamps,
];
const EACH: usize = 6;

#[test]
fn meets_is_seldom_wrong() {
    let all: Vec<Outcome> = KINDS
        .into_iter()
        .flat_map(|kind| (0..EACH).map(move |i| (kind, i)))
        .map(|(kind, i)| {
            outcome(kind, i).unwrap_or_else(|why| panic!("{} {i}: {why}", kind.name()))
        })
        .collect();
    let met: Vec<&Outcome> = all.iter().filter(|o| o.said == Verdict::Meets).collect();
    let wrong = met.iter().filter(|o| !o.inside).count();
    let (low, high) = wilson(wrong, met.len());
    println!(
        "meets said of {}, wrong {wrong}: {:.1} to {:.1} %",
        met.len(),
        100.0 * low,
        100.0 * high
    );
    assert!(met.len() >= 5, "the test must be able to see something");
    assert!(
        low <= 0.05,
        "meets is wrong in more than 5 %: {wrong} of {}",
        met.len()
    );
    let failed: Vec<&Outcome> = all.iter().filter(|o| o.said == Verdict::Fails).collect();
    assert!(failed.iter().filter(|o| o.inside).count() <= 1 && failed.len() >= 3);
    // a rule that says meets whenever the field's own value is inside would be wrong half the time here
    let at_limit = all.iter().filter(|o| o.met_at_the_limit).count();
    let (low, _) = wilson(at_limit, all.len());
    assert!(
        low <= 0.11,
        "{at_limit} of {} met a limit just missed",
        all.len()
    );
    let at_limit = all.iter().filter(|o| o.failed_at_the_limit).count();
    let (low, _) = wilson(at_limit, all.len());
    assert!(
        low <= 0.11,
        "{at_limit} of {} failed a limit just met",
        all.len()
    );
}

#[test]
fn intervals_are_those_of_the_published_formula() {
    // Wilson (1927) as in statsmodels' proportion_confint(3, 60, method="wilson")
    let (low, high) = wilson(3, 60);
    assert!(
        (low - 0.017_1).abs() < 2e-4 && (high - 0.137_0).abs() < 2e-3,
        "{low} {high}"
    );
}
