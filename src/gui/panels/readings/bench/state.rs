//! What is half done at the bench.

use crate::station::{Plan, Survey};

/// Seconds from switch-on to reading to begin with (common practice, no source).
const DELAY: f64 = 10.0;

/// What is half done at the bench.
#[derive(Debug)]
pub struct Bench {
    /// The stop that is shown; `None`: the next one at which something is left to do.
    pub stop: Option<usize>,
    /// What is typed.
    pub text: String,
    /// Why the text was not taken.
    pub refused: Option<String>,
    /// Why a stop is skipped, while that is typed.
    pub skipping: Option<String>,
    /// A reading that is far from what was expected, until somebody has said what of it.
    pub far: Option<Far>,
    /// Seconds from switch-on, or from the shutter's opening, to reading.
    pub delay: f64,
    /// When the delay ends, in seconds of the window.
    pub ends: Option<f64>,
}

/// A reading that is far from what was expected there.
#[derive(Debug, Clone)]
pub struct Far {
    pub row: usize,
    pub said: String,
}

impl Default for Bench {
    fn default() -> Self {
        Self {
            stop: None,
            text: String::new(),
            refused: None,
            skipping: None,
            far: None,
            delay: DELAY,
            ends: None,
        }
    }
}

impl Bench {
    /// At the beginning of a round by a plan, with the times that it was given.
    pub fn by(plan: &Plan) -> Self {
        let delay = plan.cycle.map_or(DELAY, |c| c.settle + c.expose);
        Self {
            delay,
            ..Self::default()
        }
    }

    /// The stop that is shown.
    pub fn stop(&self, survey: &Survey) -> Option<usize> {
        let there = self.stop.filter(|&row| row < survey.readings.len());
        there.or_else(|| survey.next_stop(0))
    }

    /// Shows another stop; `None`: the next one at which something is left to do.
    pub fn go(&mut self, to: Option<usize>) {
        self.stop = to;
        self.text.clear();
        (self.refused, self.skipping) = (None, None);
    }
}
