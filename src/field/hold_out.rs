//! How well readings are predicted from others, in closed form: no refitting.
//!
//! With `P` as in the kriging system, readings `b` left out together are predicted from the others with
//! `y_b - prediction = P_bb⁻¹ (P y)_b` and covariance `P_bb⁻¹`, the uncertainty of the trend and the noise of the
//! readings included (Dubrule 1983; Rasmussen & Williams 2006, eq. 5.12 for one at a time).

use std::borrow::Cow;

use faer::Mat;

use super::kriging::Kriging;
use super::reach::Reach;
use super::system::System;
use super::{Family, HoldOutScore, LeaveOneOut, Sample};
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
    /// Prepared once for a kriging.
    pub fn of(kriging: &'a Kriging) -> Self {
        Self::new(&kriging.system, kriging.sill())
    }

    /// Of any solved system, with the prior variance of its values.
    pub(super) fn new(system: &'a System, scale: f64) -> Self {
        Self {
            projection: system.projection(),
            pull: Cow::Borrowed(&system.pull),
            scale,
        }
    }

    /// Of `P` and `P y`, however they were found.
    pub(super) fn of_projection(projection: Mat<f64>, pull: Vec<f64>, scale: f64) -> Self {
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

/// What is left out together when families are judged; indices of samples.
#[derive(Debug)]
pub(super) struct Groups {
    /// By position, in the order in which positions first appear.
    pub positions: Vec<Vec<usize>>,
    /// All readings of the positions on the outline of all positions; empty when those inside are too few to
    /// predict them.
    pub outer: Vec<usize>,
    /// By height, ascending; empty where only one was read.
    pub heights: Vec<Vec<usize>>,
}

impl Groups {
    pub fn of(samples: &[Sample], reach: &Reach) -> Self {
        let positions = by_position(samples);
        let heights = match &reach.heights[..] {
            [] | [_] => Vec::new(),
            heights => {
                let mut groups = vec![Vec::new(); heights.len()];
                for (i, sample) in samples.iter().enumerate() {
                    groups[reach.height_block(sample.at.height)].push(i);
                }
                groups
            }
        };
        Self {
            outer: outer_ring(samples, &positions, reach),
            positions,
            heights,
        }
    }

    /// Positions whose readings are all in the outer ring.
    pub fn outer_positions(&self) -> usize {
        let outer = |group: &&Vec<usize>| self.outer.contains(&group[0]);
        self.positions.iter().filter(outer).count()
    }
}

/// How well a family predicted what was left out. Densities are of the logarithms of readings, natural logarithms.
#[derive(Debug, Clone)]
pub(super) struct Judged {
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

impl HoldOut<'_> {
    /// Leaves out each reading and each group. `predict` makes mW/cm² of a reading's error (value minus prediction);
    /// `log_slope` is the logarithm of the slope of the value by the reading's logarithm.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub(super) fn judge(
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

/// Samples by position, in the order in which positions first appear.
fn by_position(samples: &[Sample]) -> Vec<Vec<usize>> {
    let mut order = std::collections::HashMap::new();
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (i, sample) in samples.iter().enumerate() {
        let group = *order.entry(sample.position).or_insert(groups.len());
        if group == groups.len() {
            groups.push(Vec::new());
        }
        groups[group].push(i);
    }
    groups
}

/// Readings of the positions on the outline of all positions, when those inside are enough to predict them.
fn outer_ring(samples: &[Sample], positions: &[Vec<usize>], reach: &Reach) -> Vec<usize> {
    let bounds = crate::geometry::Bounds::around(reach.positions.iter().copied());
    let Some(bounds) = bounds else {
        return Vec::new();
    };
    let (w, d) = (0.02 * bounds.width(), 0.02 * bounds.depth());
    let is_outer = |i: usize| {
        let p = samples[i].at;
        p.x < bounds.min.x + w
            || p.x > bounds.max.x - w
            || p.y < bounds.min.y + d
            || p.y > bounds.max.y - d
    };
    let outer: Vec<&Vec<usize>> = positions.iter().filter(|g| is_outer(g[0])).collect();
    if positions.len() - outer.len() < 4 {
        return Vec::new();
    }
    outer.into_iter().flatten().copied().collect()
}

/// What others say of a sample: its index and mW/cm².
pub(super) type Predicted = (usize, f64);

/// The score of a family from predictions of readings whose position was left out, the same of the
/// outer ring, and the sum of the log densities of their logarithms; `None` when nothing could be held out.
pub(super) fn score(
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
