//! How well readings are predicted from others, in closed form: no refitting.
//!
//! With `P` as in the kriging system, readings `b` left out together are predicted from the others with
//! `y_b - prediction = P_bb⁻¹ (P y)_b` and covariance `P_bb⁻¹`, the uncertainty of the trend and the noise of the
//! readings included (Dubrule 1983; Rasmussen & Williams 2006, eq. 5.12 for one at a time).

use std::borrow::Cow;

use faer::Mat;

use super::Judged;
use crate::field::equations::System;
use crate::field::readings::Groups;
use crate::field::{LeaveOneOut, Sample};
use crate::numeric::cholesky::Factor;
use crate::progress::{Cancelled, Progress};

/// Readings left out together, against the others.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftOut {
    /// Value minus prediction.
    pub errors: Vec<f64>,
    /// Predictive variance of each, noise included.
    pub variances: Vec<f64>,
    /// Logarithm of their joint predictive density.
    pub log_density: f64,
    /// Sum of their squared standardised errors, correlation taken into account: their number, on average,
    /// where uncertainty is claimed as it is.
    pub misfit: f64,
}

/// Everything that a kriging says of its own readings.
pub struct HoldOut<'a> {
    projection: Mat<f64>,
    pull: Cow<'a, [f64]>,
    /// Prior variance of the values, the measure of "the others say nothing".
    scale: f64,
}

impl<'a> HoldOut<'a> {
    /// Of any solved system, with the prior variance of its values.
    pub(in crate::field) fn new(system: &'a System, scale: f64) -> Self {
        Self {
            projection: system.projection(),
            pull: Cow::Borrowed(&system.pull),
            scale,
        }
    }

    /// Of `P` and `P y`, however they were found.
    pub(in crate::field) fn of_projection(
        projection: Mat<f64>,
        pull: Vec<f64>,
        scale: f64,
    ) -> Self {
        Self {
            projection,
            pull: Cow::Owned(pull),
            scale,
        }
    }

    /// Leaves out the values with these indices; `None` when the others cannot predict them, because
    /// the trend needs them.
    pub fn without(&self, indices: &[usize]) -> Option<LeftOut> {
        const NOTHING: f64 = 1e-9;
        let m = indices.len();
        let block = Mat::from_fn(m, m, |i, j| self.projection[(indices[i], indices[j])]);
        let factor = Factor::of(block.as_ref()).ok()?;
        let lower = factor.lower();
        if (0..m).any(|i| lower[(i, i)].powi(2) * self.scale < NOTHING) {
            return None;
        }
        let mut errors = Mat::from_fn(m, 1, |i, _| self.pull[indices[i]]);
        factor.whiten(errors.as_mut());
        let misfit: f64 = errors.col_as_slice(0).iter().map(|e| e * e).sum();
        factor.unwhiten(errors.as_mut());
        let inverse = factor.inverse();
        let constant = m as f64 * std::f64::consts::TAU.ln();
        Some(LeftOut {
            errors: errors.col_as_slice(0).to_vec(),
            variances: (0..m).map(|i| inverse[(i, i)]).collect(),
            log_density: 0.5 * (factor.log_determinant() - misfit - constant),
            misfit,
        })
    }
}

impl HoldOut<'_> {
    /// Leaves out each reading and each group. `predict` makes mW/cm² of a reading's error (value minus prediction);
    /// `log_slope` is the logarithm of the slope of the value by the reading's logarithm.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub(in crate::field) fn judge(
        &self,
        samples: &[Sample],
        groups: &Groups,
        predict: impl Fn(usize, f64) -> f64,
        log_slope: impl Fn(usize) -> f64,
        progress: &Progress,
    ) -> Result<Judged, Cancelled> {
        let mut leave_one_out = Vec::with_capacity(samples.len());
        for (i, sample) in samples.iter().enumerate() {
            progress.check()?;
            leave_one_out.push(match self.without(&[i]) {
                Some(out) => LeaveOneOut {
                    predicted: predict(i, out.errors[0]),
                    standardised: Some(out.errors[0] / out.variances[0].sqrt()),
                },
                None => LeaveOneOut {
                    predicted: sample.irradiance,
                    standardised: None,
                },
            });
        }
        let density = |group: &[usize], out: &LeftOut| {
            out.log_density + group.iter().map(|&i| log_slope(i)).sum::<f64>()
        };
        let (mut predicted, mut densities) = (Vec::new(), Vec::new());
        let (mut misfit, mut count) = (0.0, 0.0);
        for group in &groups.positions {
            progress.check()?;
            let out = self.without(group);
            densities.push(out.as_ref().map(|out| density(group, out)));
            if let Some(out) = out {
                misfit += out.misfit;
                count += group.len() as f64;
                let pairs = group.iter().zip(&out.errors);
                predicted.extend(pairs.map(|(&i, &error)| (i, predict(i, error))));
            }
        }
        let mut excess = if count > 0.0 { misfit / count } else { 1.0 };
        let outer = &groups.outer;
        let ring = self.without(outer).filter(|_| !outer.is_empty());
        if let Some(ring) = &ring {
            excess = excess.max(ring.misfit / outer.len() as f64);
        }
        let ring_predicted = ring.iter().flat_map(|ring| {
            let pairs = outer.iter().zip(&ring.errors);
            pairs.map(|(&i, &error)| (i, predict(i, error)))
        });
        let ring_predicted = ring_predicted.collect();
        let mut heights = Vec::with_capacity(groups.heights.len());
        for group in &groups.heights {
            progress.check()?;
            heights.push(self.without(group).map(|out| density(group, &out)));
        }
        Ok(Judged {
            leave_one_out,
            predicted,
            ring_predicted,
            densities,
            ring: ring.map(|out| density(outer, &out)),
            heights,
            excess,
        })
    }
}
