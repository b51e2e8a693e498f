//! One reading that is out of line.

/// A reading against what all others predict there. It counts in full until it is read again or excluded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutOfLine {
    /// Row among the survey's readings.
    pub row: usize,
    /// What was read, mW/cm².
    pub read: f64,
    /// What the others predict, mW/cm².
    pub predicted: f64,
    /// How far apart they are in predictive standard deviations, in the logarithm.
    pub deviations: f64,
}

impl OutOfLine {
    /// How far the reading is above the prediction, percent of it.
    pub fn percent(&self) -> f64 {
        100.0 * (self.read / self.predicted - 1.0)
    }

    /// Standard uncertainty of the prediction of a reading there, mW/cm².
    pub fn uncertainty(&self) -> f64 {
        self.predicted * ((self.read / self.predicted).ln() / self.deviations).abs()
    }
}
