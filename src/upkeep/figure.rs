//! A value with its interval.

/// A value and the interval that holds it with 95 % confidence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure {
    /// The estimate: a median or a mean, as its field says.
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl Figure {
    /// `value` and so much to either side.
    pub fn about(value: f64, half: f64) -> Self {
        Self {
            value,
            low: value - half,
            high: value + half,
        }
    }

    /// The same through a function that never falls.
    pub fn through(self, rising: impl Fn(f64) -> f64) -> Self {
        Self {
            value: rising(self.value),
            low: rising(self.low),
            high: rising(self.high),
        }
    }

    /// Whether the interval holds a number.
    pub fn holds(&self, number: f64) -> bool {
        self.low <= number && number <= self.high
    }
}
