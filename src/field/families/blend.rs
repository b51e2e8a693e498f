//! Several fields that start from the lamp, weighted by how well each predicts what it has not seen; kriging
//! takes part, for whatever the law of light misses.
//!
//! Three families that start from the lamp and two krigings are stacked by the density of positions left out one at a time,
//! of the outer ring, and of whole heights.

use std::collections::BTreeMap;

use faer::Mat;

use super::kriging::{self, LogKriging};
use super::lamp::{self, EmitterGrid, Extent, Given, Lobe, Ratios, SourceField};
use crate::field::bond::Receiver;
use crate::field::readings::{Amounts, Groups};
use crate::field::score::{Foretold, Judged, Predicted};
use crate::field::{Estimate, Family, FitError, HoldOutScore, LeaveOneOut};
use crate::geometry::Place;
use crate::progress::Progress;

/// Shares below this are not worth their time.
const LEAST_SHARE: f64 = 0.02;

/// Fields and their shares, which sum to 1.
#[derive(Debug, Clone)]
pub(in crate::field) struct Blend {
    parts: Vec<(f64, Part)>,
}

#[derive(Debug, Clone)]
enum Part {
    Source(Box<SourceField>),
    Kriging(Box<LogKriging>),
}

impl Part {
    fn estimates(&self, places: &[Place]) -> Vec<Estimate> {
        match self {
            Self::Source(field) => field.estimates(places),
            Self::Kriging(field) => field.estimates(places),
        }
    }

    /// Expected logarithms at places and their covariance (lower triangle).
    fn joint(&self, places: &[Place]) -> (Vec<f64>, Mat<f64>) {
        match self {
            Self::Source(field) => field.joint(places),
            Self::Kriging(field) => field.joint(places),
        }
    }
}

/// A blend with what its making found.
pub(in crate::field) struct MadeBlend {
    pub blend: Blend,
    /// Of the families that start from the lamp.
    pub scores: Vec<HoldOutScore>,
    /// The shares of kriging families.
    pub shared: Vec<(Family, f64)>,
    pub leave_one_out: Vec<LeaveOneOut>,
    pub foretold: Foretold,
}

const PARTS: [(Family, Lobe, Extent); 3] = [
    (Family::RoundFace, Lobe::Round, Extent::OfFace),
    (Family::RoundOpen, Lobe::Round, Extent::Open),
    (Family::LeaningFace, Lobe::Leaning, Extent::OfFace),
];

/// One of the fields that may take part.
struct Candidate {
    family: Family,
    part: Part,
    judged: Judged,
}

impl Blend {
    /// Makes all families, or the one asked for; `None` when readings cannot tell enough for any. Of nearly the same readings
    /// as those of `near` those that have a share in it, from its parameters on.
    pub fn make<'a>(
        asked: Option<Family>,
        given: &Given<'_>,
        near: Option<&Self>,
        kriged: impl Iterator<Item = &'a kriging::Made>,
        progress: &Progress,
    ) -> Result<Option<MadeBlend>, FitError> {
        let Given {
            samples, groups, ..
        } = *given;
        let mut candidates = Vec::new();
        let only = asked.filter(|asked| PARTS.iter().any(|p| p.0 == *asked));
        // Each on a thread of its own; what a family finds depends on no other.
        // without an outline emitters reach as far as they must: the open face is the same one again
        let is_other = |extent| !matches!(extent, Extent::Open) || given.face.outline.is_some();
        let wanted = PARTS
            .iter()
            .filter(|p| only.map_or(is_other(p.2), |only| only == p.0));
        let each: Vec<(Family, Result<lamp::Made, FitError>)> = std::thread::scope(|scope| {
            let running: Vec<_> = wanted
                .filter_map(|&(family, lobe, extent)| {
                    let known = match near {
                        Some(near) => Some(near.lamp(lobe, extent)?),
                        None => None,
                    };
                    let make = move || lamp::make(lobe, extent, given, known, progress);
                    Some((family, scope.spawn(make)))
                })
                .collect();
            running
                .into_iter()
                .map(|(family, thread)| match thread.join() {
                    Ok(made) => (family, made),
                    Err(panic) => std::panic::resume_unwind(panic),
                })
                .collect()
        });
        for (family, made) in each {
            match made {
                Ok(made) => {
                    candidates.push(Candidate {
                        family,
                        part: Part::Source(Box::new(made.field)),
                        judged: made.judged,
                    });
                }
                Err(FitError::Singular) => {}
                Err(error) => return Err(error),
            }
        }
        if candidates.is_empty() {
            return Ok(None);
        }
        let lamps = candidates.len();
        if only.is_none() {
            let scored = kriged.filter(|made| made.judged.score(made.family, samples).is_some());
            candidates.extend(scored.map(|made| Candidate {
                family: made.family,
                part: Part::Kriging(Box::new(made.field.clone())),
                judged: made.judged.clone(),
            }));
        }
        let shares = shares(&candidates, groups);
        let best = (0..candidates.len())
            .max_by(|&a, &b| shares[a].total_cmp(&shares[b]))
            .unwrap_or(0);
        let leave_one_out = candidates[best].judged.leave_one_out.clone();
        let foretold = foretold(&candidates, &shares);
        let (mut parts, mut scores, mut shared) = (Vec::new(), Vec::new(), Vec::new());
        for (i, (candidate, share)) in candidates.into_iter().zip(shares).enumerate() {
            if i < lamps {
                let score = candidate.judged.score(candidate.family, samples);
                scores.extend(score.map(|s| HoldOutScore { weight: share, ..s }));
            } else {
                shared.push((candidate.family, share));
            }
            if share > 0.0 {
                parts.push((share, candidate.part));
            }
        }
        Ok(Some(MadeBlend {
            blend: Self { parts },
            foretold,
            scores,
            shared,
            leave_one_out,
        }))
    }

    /// The field of a lamp family that has a share.
    fn lamp(&self, lobe: Lobe, extent: Extent) -> Option<&SourceField> {
        self.parts.iter().find_map(|(_, part)| match part {
            Part::Source(field) if field.is_of(lobe, extent) => Some(&**field),
            _ => None,
        })
    }

    /// How bright the emitters are inferred to be: their places and their brightness relative to the mean over the
    /// face; `None` where only kriging has a share.
    pub fn brightness(&self) -> Option<EmitterGrid> {
        let lamps = self.parts.iter().filter_map(|(share, part)| match part {
            Part::Source(field) => Some((*share, field.brightness())),
            Part::Kriging(_) => None,
        });
        let mut sum: Option<EmitterGrid> = None;
        let mut total = 0.0;
        for (share, grid) in lamps {
            total += share;
            match &mut sum {
                Some(sum) => {
                    for (s, v) in sum.values.iter_mut().zip(&grid.values) {
                        *s += share * v;
                    }
                }
                None => {
                    let mut grid = grid;
                    grid.values.iter_mut().for_each(|v| *v *= share);
                    sum = Some(grid);
                }
            }
        }
        sum.map(|mut sum| {
            sum.values.iter_mut().for_each(|v| *v /= total);
            sum
        })
    }

    /// Mean logarithm of the cosine of the angle of incidence of the light at places, as the lamps that have a share say it;
    /// `None` where only kriging has one.
    pub fn log_cosines(&self, places: &[Place]) -> Option<Vec<f64>> {
        let mut sums = vec![0.0; places.len()];
        let mut total = 0.0;
        for (share, part) in &self.parts {
            if let Part::Source(field) = part {
                total += share;
                let logs = field.log_cosines(places);
                sums.iter_mut().zip(logs).for_each(|(s, l)| *s += share * l);
            }
        }
        sums.iter_mut().for_each(|s| *s /= total);
        (total > 0.0).then_some(sums)
    }

    /// What arrives at bonds, relative to level places in the open, as the lamps that have a share say it: the law of total
    /// covariance. `None` where only kriging has one.
    pub fn ratios(&self, receivers: &[&Receiver]) -> Option<Ratios> {
        let lamps = self.lamps();
        let total: f64 = lamps.iter().map(|(share, _)| share).sum();
        // each on a thread of its own
        let each: Vec<(f64, Ratios)> = std::thread::scope(|scope| {
            let running: Vec<_> = lamps
                .iter()
                .map(|&(share, lamp)| (share / total, scope.spawn(move || lamp.ratios(receivers))))
                .collect();
            running
                .into_iter()
                .map(|(share, thread)| match thread.join() {
                    Ok(ratios) => (share, ratios),
                    Err(panic) => std::panic::resume_unwind(panic),
                })
                .collect()
        });
        let m = receivers.len();
        let mean = |of: &dyn Fn(&Ratios, usize) -> f64| -> Vec<f64> {
            let at = |i| each.iter().map(|(share, r)| share * of(r, i)).sum();
            (0..m).map(at).collect()
        };
        let logs = mean(&|r, i| r.logs[i]);
        let spread = mean(&|r, i| r.spread[i]);
        let mut covariance = Mat::<f64>::zeros(m, m);
        for (share, r) in &each {
            for j in 0..m {
                for i in j..m {
                    let apart = (r.logs[i] - logs[i]) * (r.logs[j] - logs[j]);
                    covariance[(i, j)] += share * (r.covariance[(i, j)] + apart);
                }
            }
        }
        (!each.is_empty()).then_some(Ratios {
            logs,
            covariance,
            spread,
        })
    }

    /// Only the expected logarithms, of the lamp that has the largest share: where to look for extremes.
    pub fn log_ratios(&self, receivers: &[&Receiver]) -> Option<Vec<f64>> {
        let lamps = self.lamps();
        let largest = lamps.iter().max_by(|a, b| a.0.total_cmp(&b.0))?;
        Some(largest.1.log_ratios(receivers))
    }

    fn lamps(&self) -> Vec<(f64, &SourceField)> {
        let lamps = self.parts.iter().filter_map(|(share, part)| match part {
            Part::Source(field) => Some((*share, &**field)),
            Part::Kriging(_) => None,
        });
        lamps.collect()
    }

    /// The length over which the field changes at a height, mm.
    pub fn smooth_over(&self, height: f64) -> f64 {
        let lengths = self.parts.iter().map(|(_, part)| match part {
            Part::Source(field) => field.smooth_over(height),
            Part::Kriging(field) => field.smooth_over(),
        });
        lengths.fold(f64::INFINITY, f64::min)
    }

    /// The blend of expected fields and, law of total variance, of their uncertainties.
    pub fn estimates(&self, places: &[Place]) -> Vec<Estimate> {
        let mut sums = vec![(0.0, 0.0); places.len()];
        for (share, part) in &self.parts {
            for (sum, e) in sums.iter_mut().zip(part.estimates(places)) {
                let u = e.uncertainty.unwrap_or(0.0);
                sum.0 += share * e.irradiance;
                sum.1 += share * (u * u + e.irradiance * e.irradiance);
            }
        }
        sums.into_iter()
            .map(|(mean, square)| Estimate {
                irradiance: mean,
                uncertainty: Some((square - mean * mean).max(0.0).sqrt()),
                extrapolated: false,
            })
            .collect()
    }

    /// The expected field at places, mW/cm².
    pub fn medians(&self, places: &[Place], out: &mut [f64]) {
        out.fill(0.0);
        let mut one = vec![0.0; places.len()];
        for (share, part) in &self.parts {
            match part {
                Part::Source(field) => field.medians(places, &mut one),
                Part::Kriging(field) => field.medians(places, &mut one),
            }
            out.iter_mut().zip(&one).for_each(|(o, e)| *o += share * e);
        }
    }

    /// Expected logarithms at places and their covariance (lower triangle) over all parts: the law of total
    /// covariance.
    pub fn moments(&self, places: &[Place]) -> (Vec<f64>, Mat<f64>) {
        let m = places.len();
        let parts: Vec<(f64, Vec<f64>, Mat<f64>)> = self
            .parts
            .iter()
            .map(|(share, part)| {
                let (means, covariance) = part.joint(places);
                (*share, means, covariance)
            })
            .collect();
        let mean: Vec<f64> = (0..m)
            .map(|i| parts.iter().map(|(share, means, _)| share * means[i]).sum())
            .collect();
        let mut whole = Mat::<f64>::zeros(m, m);
        for (share, means, covariance) in &parts {
            for j in 0..m {
                for i in j..m {
                    let apart = (means[i] - mean[i]) * (means[j] - mean[j]);
                    whole[(i, j)] += share * (covariance[(i, j)] + apart);
                }
            }
        }
        (mean, whole)
    }

    /// What its parts say of the drift over the round, where it is looked for.
    pub fn drift(&self) -> Option<Amounts> {
        let parts = self.parts.iter().filter_map(|(share, part)| {
            let amounts = match part {
                Part::Source(field) => field.drift.clone(),
                Part::Kriging(field) => field.drift.clone(),
            };
            Some((*share, amounts?))
        });
        Amounts::mixed(&parts.collect::<Vec<_>>())
    }

    /// Relative standard deviation of a reading about the field.
    pub fn noise(&self) -> f64 {
        let noises = self.parts.iter().map(|(share, part)| {
            share
                * match part {
                    Part::Source(field) => field.noise,
                    Part::Kriging(field) => field.noise,
                }
        });
        noises.sum()
    }
}

/// What the blend says of what was left out: the mean of what its parts said, by their shares.
fn foretold(candidates: &[Candidate], shares: &[f64]) -> Foretold {
    let blended = |said: &dyn Fn(&Judged) -> &[Predicted]| {
        let mut sums: BTreeMap<usize, (f64, f64)> = BTreeMap::new();
        for (candidate, share) in candidates.iter().zip(shares).filter(|(_, s)| **s > 0.0) {
            for &(i, predicted) in said(&candidate.judged) {
                let sum = sums.entry(i).or_default();
                *sum = (sum.0 + share * predicted, sum.1 + share);
            }
        }
        let each = sums.into_iter().map(|(i, (sum, total))| (i, sum / total));
        each.collect()
    };
    Foretold {
        positions: blended(&|judged| &judged.predicted),
        ring: blended(&|judged| &judged.ring_predicted),
    }
}

/// Shares that make the blend's predictive density of what was left out greatest (stacking; Yao et al. 2018),
/// by expectation-maximisation; small ones go to the others. The outer ring, left out together, counts as
/// much as its positions do one at a time: what lies beyond all positions is what matters. The heights, each left
/// out as a whole, count together as much as all positions do.
fn shares(candidates: &[Candidate], groups: &Groups) -> Vec<f64> {
    let k = candidates.len();
    let mut shares = vec![1.0 / k as f64; k];
    let all = |density: &dyn Fn(&Judged) -> Option<f64>| -> Option<Vec<f64>> {
        let logs: Option<Vec<f64>> = candidates.iter().map(|c| density(&c.judged)).collect();
        // what is so far off that its density is no number tells nothing of shares
        logs.filter(|logs| {
            !logs.iter().any(|log| log.is_nan()) && logs.iter().any(|log| log.is_finite())
        })
    };
    let likelihoods = |logs: Vec<f64>| -> Vec<f64> {
        let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        logs.iter().map(|d| (d - top).exp()).collect()
    };
    // A large group left out counts as so many positions, each with its part of the density.
    let as_positions = |logs: Vec<f64>, positions: f64| -> Vec<f64> {
        likelihoods(logs.iter().map(|d| d / positions).collect())
    };
    let positions = groups.positions.len();
    let mut rows: Vec<(Vec<f64>, f64)> = (0..positions)
        .filter_map(|i| all(&|judged| judged.densities[i]))
        .map(|logs| (likelihoods(logs), 1.0))
        .collect();
    let in_ring = groups.outer_positions() as f64;
    if let Some(logs) = all(&|judged| judged.ring).filter(|_| in_ring > 0.0) {
        rows.push((as_positions(logs, in_ring), in_ring));
    }
    let readings: usize = groups.positions.iter().map(Vec::len).sum();
    for (h, group) in groups.heights.iter().enumerate() {
        let worth = group.len() as f64 * positions as f64 / readings as f64;
        if let Some(logs) = all(&|judged| judged.heights[h]) {
            rows.push((as_positions(logs, worth), worth));
        }
    }
    if rows.is_empty() {
        return shares;
    }
    let counted: f64 = rows.iter().map(|(_, times)| times).sum();
    for _ in 0..200 {
        let mut next = vec![0.0; k];
        for (row, times) in &rows {
            let total: f64 = row.iter().zip(&shares).map(|(p, w)| p * w).sum();
            // none of those that are left foresees it at all
            if total.is_nan() || total <= 0.0 {
                continue;
            }
            for ((n, p), w) in next.iter_mut().zip(row).zip(&shares) {
                *n += times * p * w / total / counted;
            }
        }
        shares = next;
    }
    shares
        .iter_mut()
        .filter(|s| **s < LEAST_SHARE)
        .for_each(|s| *s = 0.0);
    let total: f64 = shares.iter().sum();
    if total.is_nan() || total <= 0.0 {
        return vec![1.0 / k as f64; k];
    }
    shares.iter_mut().for_each(|s| *s /= total);
    shares
}
