//! The built-in self-check: published examples worked out on this machine by the very functions that the answers come from. A
//! reader of the record sees that this copy of the program still computes what books and laboratories have printed.

mod example;
mod examples;

pub use example::Example;

use crate::progress::{Cancelled, Progress};

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
        example.computed = example.published + 1.01 * example.within;
        assert!(!example.holds());
        example.computed = f64::NAN;
        assert!(!example.holds());
    }
}
