//! What a family scored: its predictions of what was left out, and their summary.

use crate::field::{Family, HoldOutScore, LeaveOneOut, Sample};

/// How well a family predicted what was left out. Densities are of the logarithms of readings, natural logarithms.
#[derive(Debug, Clone)]
pub(in crate::field) struct Judged {
    pub leave_one_out: Vec<LeaveOneOut>,
    /// Readings predicted with their whole position left out.
    pub predicted: Vec<Predicted>,
    /// Those of the outer ring, all left out together.
    pub ring_predicted: Vec<Predicted>,
    /// Of each position left out; `None` where the others can't predict it.
    pub densities: Vec<Option<f64>>,
    /// Of the outer ring left out together.
    pub ring: Option<f64>,
    /// Of each height left out, likewise.
    pub heights: Vec<Option<f64>>,
    /// Mean squared standardised error of left-out positions or, where it is larger, of the outer ring: 1 on
    /// average where uncertainty is claimed as it is.
    pub excess: f64,
}

impl Judged {
    /// The score of this family; `None` when nothing could be held out.
    pub fn score(&self, family: Family, samples: &[Sample]) -> Option<HoldOutScore> {
        let density = self.densities.iter().flatten().sum();
        let predicted = (&self.predicted[..], &self.ring_predicted[..]);
        score(family, samples, predicted, Some(density))
    }
}

/// What others say of a sample: its index and mW/cm².
pub type Predicted = (usize, f64);

/// What a field said of readings that it had not seen.
#[derive(Debug, Clone, Default)]
pub struct Foretold {
    /// With their whole position left out.
    pub positions: Vec<Predicted>,
    /// Those of the outer ring, all left out together.
    pub ring: Vec<Predicted>,
}

/// The score of a family from predictions of readings whose position was left out, the same of the
/// outer ring, and the sum of the log densities of their logarithms; `None` when nothing could be held out.
pub(in crate::field) fn score(
    family: Family,
    samples: &[Sample],
    (predicted, ring): (&[Predicted], &[Predicted]),
    log_density: Option<f64>,
) -> Option<HoldOutScore> {
    let rms = rms_percent(samples, predicted)?;
    let log_density = log_density.map(|sum| sum / predicted.len() as f64);
    log_density
        .is_none_or(f64::is_finite)
        .then_some(HoldOutScore {
            family,
            rms_percent: rms,
            outer_ring_rms_percent: rms_percent(samples, ring),
            log_density,
            weight: 0.0,
        })
}

/// Root mean square of (predicted / read - 1), percent; `None` without predictions, or where they are not finite.
fn rms_percent(samples: &[Sample], predicted: &[Predicted]) -> Option<f64> {
    let error = |&(i, p): &(usize, f64)| (p / samples[i].irradiance - 1.0).powi(2);
    let squares: f64 = predicted.iter().map(error).sum();
    let rms = 100.0 * (squares / predicted.len() as f64).sqrt();
    rms.is_finite().then_some(rms)
}
