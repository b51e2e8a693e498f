//! The built-in self-check: published examples worked out on this machine by the very functions that the answers come from. A
//! reader of the record sees that this copy of the program still computes what books and laboratories have printed.

mod examples;

use crate::progress::{Cancelled, Progress};

/// A published example.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Example {
    /// What it is about.
    pub what: &'static str,
    /// Where it is published.
    pub source: &'static str,
    /// Which figure.
    pub figure: &'static str,
    /// As it is published.
    pub published: f64,
    /// As it came out here.
    pub computed: f64,
    /// How far off it may be: half a unit of the last printed digit, or what the digits of the data leave.
    pub within: f64,
}

impl Example {
    /// Whether it came out as published.
    pub fn holds(&self) -> bool {
        (self.computed - self.published).abs() <= self.within
    }
}

/// Works all examples out.
///
/// # Errors
/// [`Cancelled`].
pub fn examples(progress: &Progress) -> Result<Vec<Example>, Cancelled> {
    let mut all = Vec::new();
    for (i, group) in examples::GROUPS.iter().enumerate() {
        progress.check()?;
        all.extend(group());
        progress.set((i + 1) as f64 / examples::GROUPS.len() as f64);
    }
    Ok(all)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_example_comes_out_as_published() {
        let all = examples(&Progress::new()).expect("not cancelled");
        assert!(all.len() > 15);
        for example in &all {
            assert!(example.holds(), "{example:?}");
        }
    }

    #[test]
    fn one_that_is_off_does_not_hold() {
        let mut example = examples(&Progress::new()).expect("not cancelled")[0];
        example.computed += 1.01 * example.within + 1e-300;
        assert!(!example.holds());
        example.computed = f64::NAN;
        assert!(!example.holds());
    }
}
