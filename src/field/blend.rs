//! Several fields that start from the lamp, weighted by how well each predicts what it has not seen.

use super::fitted::drawn;
use super::hold_out::score;
use super::reach::Reach;
use super::source::{self, Extent, Lobe, SourceField};
use super::{Estimate, Face, Family, FitError, HoldOutScore, LeaveOneOut, Sample};
use crate::geometry::Place;
use crate::progress::{Cancelled, Progress};

/// Shares below this are not worth their time.
const LEAST_SHARE: f64 = 0.02;

/// Fields and their shares, which sum to 1.
#[derive(Debug, Clone)]
pub(super) struct Blend {
    parts: Vec<(f64, SourceField)>,
}

/// A blend with what its making found.
pub(super) struct MadeBlend {
    pub blend: Blend,
    pub scores: Vec<HoldOutScore>,
    pub leave_one_out: Vec<LeaveOneOut>,
}

const PARTS: [(Family, Lobe, Extent); 4] = [
    (Family::RoundFace, Lobe::Round, Extent::OfFace),
    (Family::RoundOpen, Lobe::Round, Extent::Open),
    (Family::LeaningFace, Lobe::Leaning, Extent::OfFace),
    (Family::LeaningOpen, Lobe::Leaning, Extent::Open),
];

impl Blend {
    /// Makes all families, or the one asked for; `None` when readings cannot tell enough for any.
    pub fn make(
        asked: Option<Family>,
        face: &Face,
        samples: &[Sample],
        positions: &[Vec<usize>],
        reach: &Reach,
        errors: (f64, f64),
        progress: &Progress,
    ) -> Result<Option<MadeBlend>, FitError> {
        let mut made = Vec::new();
        for (family, lobe, extent) in PARTS {
            if PARTS.iter().any(|p| Some(p.0) == asked) && asked != Some(family) {
                continue;
            }
            match source::make(
                lobe, extent, face, samples, positions, reach, errors, progress,
            ) {
                Ok(part) => made.push((family, part)),
                Err(FitError::Singular) => {}
                Err(error) => return Err(error),
            }
        }
        if made.is_empty() {
            return Ok(None);
        }
        let densities: Vec<&[Option<f64>]> = made.iter().map(|m| &m.1.densities[..]).collect();
        let shares = shares(&densities);
        let scores = made
            .iter()
            .zip(&shares)
            .filter_map(|((family, part), &share)| {
                let total = part.densities.iter().flatten().sum();
                let mut score = score(*family, samples, &part.predicted, Some(total))?;
                score.weight = share;
                Some(score)
            })
            .collect();
        let best = (0..made.len())
            .max_by(|&a, &b| shares[a].total_cmp(&shares[b]))
            .unwrap_or(0);
        let leave_one_out = made[best].1.leave_one_out.clone();
        let parts = made
            .into_iter()
            .zip(shares)
            .filter(|(_, share)| *share > 0.0)
            .map(|((_, part), share)| (share, part.field))
            .collect();
        Ok(Some(MadeBlend {
            blend: Self { parts },
            scores,
            leave_one_out,
        }))
    }

    /// The length over which the field changes at a height, mm.
    pub fn smooth_over(&self, height: f64) -> f64 {
        let lengths = self.parts.iter().map(|(_, part)| part.smooth_over(height));
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
            part.medians(places, &mut one);
            out.iter_mut().zip(&one).for_each(|(o, e)| *o += share * e);
        }
    }

    /// Joint draws: each part gives its share of them.
    pub fn draws(
        &self,
        places: &[Place],
        seed: u64,
        n: usize,
        progress: &Progress,
    ) -> Result<Option<Vec<f64>>, Cancelled> {
        let mut values = Vec::with_capacity(n * places.len());
        let (mut from, mut share_so_far) = (0, 0.0);
        for (share, part) in &self.parts {
            share_so_far += share;
            let to = ((share_so_far * n as f64).round() as usize).min(n);
            if to > from {
                match drawn(part.joint(places), seed, from..to, progress)? {
                    Some(more) => values.extend(more),
                    None => return Ok(None),
                }
            }
            from = to;
        }
        Ok(Some(values))
    }

    /// Relative standard deviation of a reading about the field.
    pub fn noise(&self) -> f64 {
        self.parts
            .iter()
            .map(|(share, part)| share * part.noise)
            .sum()
    }
}

/// Shares that make the blend's predictive density of the left-out positions greatest (stacking; Yao et al. 2018),
/// by expectation-maximisation; small ones go to the others.
fn shares(densities: &[&[Option<f64>]]) -> Vec<f64> {
    let k = densities.len();
    let mut shares = vec![1.0 / k as f64; k];
    let rows: Vec<Vec<f64>> = (0..densities[0].len())
        .filter_map(|i| densities.iter().map(|d| d[i]).collect::<Option<Vec<f64>>>())
        .map(|row| {
            let top = row.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            row.iter().map(|d| (d - top).exp()).collect()
        })
        .collect();
    if rows.is_empty() {
        return shares;
    }
    for _ in 0..200 {
        let mut next = vec![0.0; k];
        for row in &rows {
            let total: f64 = row.iter().zip(&shares).map(|(p, w)| p * w).sum();
            for ((n, p), w) in next.iter_mut().zip(row).zip(&shares) {
                *n += p * w / total / rows.len() as f64;
            }
        }
        shares = next;
    }
    shares
        .iter_mut()
        .filter(|s| **s < LEAST_SHARE)
        .for_each(|s| *s = 0.0);
    let total: f64 = shares.iter().sum();
    shares.iter_mut().for_each(|s| *s /= total);
    shares
}
