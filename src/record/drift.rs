//! The drift over a round in figures and words.

use serde::Serialize;

use super::figures::{percent, rounded};
use crate::field::Drift;
use crate::units::fixed;

/// The drift over a round, where it was taken out of the readings.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DriftRecord {
    /// From the first visit of the reference to the last.
    pub overall_percent: f64,
    /// Standard uncertainty (k = 1).
    pub overall_uncertainty_percent: f64,
    /// In the order of time.
    pub visits: Vec<VisitRecord>,
}

/// A visit of the reference.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct VisitRecord {
    /// Minutes since the round began, or the row where minutes were not noted.
    pub at: f64,
    /// Against the mean of the round.
    pub drift_percent: f64,
    /// Standard uncertainty (k = 1).
    pub uncertainty_percent: f64,
}

impl From<&Drift> for DriftRecord {
    fn from(drift: &Drift) -> Self {
        Self {
            overall_percent: percent(drift.overall.0.exp_m1()),
            overall_uncertainty_percent: percent(drift.overall.1),
            visits: (drift.visits.iter())
                .map(|visit| VisitRecord {
                    at: rounded(visit.at),
                    drift_percent: percent(visit.drift.exp_m1()),
                    uncertainty_percent: percent(visit.uncertainty),
                })
                .collect(),
        }
    }
}

impl DriftRecord {
    /// One sentence: what lamp and radiometer did from the first visit to the last.
    pub fn words(&self) -> String {
        format!(
            "{} % ± {} % (k = 2) from the first of {} visits to the last",
            fixed(self.overall_percent, 1),
            fixed(2.0 * self.overall_uncertainty_percent, 1),
            self.visits.len()
        )
    }
}
