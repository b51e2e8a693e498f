//! One published figure.

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
