//! Confirmation runs: how many of all parts pass, from how many of a run did.

use crate::numeric::distributions::beta_quantile;

/// The share of all parts that passes at least, with a confidence: the one-sided Clopper-Pearson bound
/// (Clopper & Pearson 1934), `(1 - confidence)^(1/n)` where all `n` passed. 0 where none did.
pub fn reliability(passed: u32, failed: u32, confidence: f64) -> f64 {
    match (passed, failed) {
        (0, _) => 0.0,
        (passed, 0) => (1.0 - confidence).powf(1.0 / f64::from(passed)),
        _ => beta_quantile(1.0 - confidence, f64::from(passed), f64::from(failed) + 1.0),
    }
}

/// How many parts must all pass to show that at least `share` of all parts do, with a confidence:
/// `ln(1 - confidence) / ln share`, rounded up. Share and confidence lie between 0 and 1.
pub fn run_length(share: f64, confidence: f64) -> u32 {
    let parts = (1.0 - confidence).ln() / share.ln();
    // a whole number is not raised by its own rounding
    (parts - 1e-9).ceil().clamp(1.0, 1e9) as u32
}
