//! What all families are made from.

use super::{Drifting, Groups, Pooled, Reach};
use crate::field::Sample;

/// What all families are made from.
pub(in crate::field) struct Ground {
    /// Without the drift that visits of a reference tell.
    pub samples: Vec<Sample>,
    /// Relative variance of each sample that is known beforehand.
    pub floor: Vec<f64>,
    /// Of samples that are means: relative standard deviation of one reading about them.
    pub scatter: Option<f64>,
    pub groups: Groups,
    pub reach: Reach,
    /// The smallest step that the radiometer shows, mW/cm²; finite, not below zero.
    pub resolution: f64,
    /// The drift that was taken off the samples, where there is one.
    pub drift: Option<Drifting>,
}

impl Ground {
    pub fn of(samples: Vec<Sample>, resolution: f64) -> Self {
        let reach = Reach::of(&samples);
        Self {
            // Rounding to steps has a variance of step²/12 (JCGM 100:2008, F.2.2.1).
            floor: samples
                .iter()
                .map(|s| (resolution / s.irradiance).powi(2) / 12.0)
                .collect(),
            scatter: None,
            groups: Groups::of(&samples, &reach),
            reach,
            samples,
            resolution,
            drift: None,
        }
    }

    /// Whose samples are those of a drifting round, without that.
    pub fn drifting(self, drift: Option<Drifting>) -> Self {
        Self { drift, ..self }
    }

    pub fn of_pooled(pooled: &Pooled, resolution: f64) -> Self {
        Self {
            floor: pooled.variances(resolution),
            scatter: Some(pooled.scatter),
            ..Self::of(pooled.samples.clone(), resolution)
        }
    }
}
