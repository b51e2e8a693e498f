//! Drift of lamp and radiometer together over a round, from a reference position to which the detector came back.
//!
//! The logarithm of a reading is that of the field plus `D(t)`, piecewise linear in time with knots at the visits and at both
//! ends of the round, its mean over the readings 0. `D` is a straight drift plus a random walk, both with a prior: of few
//! visits noise is not taken for drift. Families with joint draws find it together with the field: its prior is a part of
//! the readings' covariance, so what is not known of it widens their bounds. All others see readings from which the drift of
//! the visits alone was taken.

use faer::Mat;

use crate::field::Sample;
use crate::field::equations::System;

/// Standard deviation of the straight drift from one end of a round to the other (a warm lamp changes by a few percent in an
/// hour; common practice, no source).
const STRAIGHT: f64 = 0.05;
/// Of the walk beside it, from one end to the other (common practice, no source).
const WALK: f64 = 0.02;
/// Relative standard deviation of a visit, before a field tells it: as a careful reading has it (from memory).
const NOISE: f64 = 0.012;

/// When the samples of a round were read, and which are visits of the reference.
#[derive(Debug, Clone, PartialEq)]
pub struct Round {
    /// One a sample, minutes or any other measure of time.
    pub at: Vec<f64>,
    /// Whether it is a reading of the reference position.
    pub visit: Vec<bool>,
}

impl Round {
    /// Of some of the samples.
    pub fn part(&self, keep: &[usize]) -> Self {
        Self {
            at: keep.iter().map(|&i| self.at[i]).collect(),
            visit: keep.iter().map(|&i| self.visit[i]).collect(),
        }
    }
}

/// Relative drift at a visit against the mean of the round.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Visit {
    /// Which sample.
    pub sample: usize,
    /// When, as the round says it.
    pub at: f64,
    /// Natural logarithm: what lamp and radiometer gave then over what they gave in the mean of the round.
    pub drift: f64,
    /// Standard uncertainty (k = 1).
    pub uncertainty: f64,
}

/// The drift of a round.
#[derive(Debug, Clone, PartialEq)]
pub struct Drift {
    /// In the order of time.
    pub visits: Vec<Visit>,
    /// From the first visit to the last, natural logarithm, and its standard uncertainty (k = 1).
    pub overall: (f64, f64),
    /// For each sample: the drift in its logarithm.
    pub taken: Vec<f64>,
    /// Whether it was found together with the field; otherwise from the visits alone.
    pub with_field: bool,
}

impl Drift {
    /// From the visits alone. `None`: fewer than two, or all at one time.
    pub fn of_visits(samples: &[Sample], round: &Round, resolution: f64) -> Option<Self> {
        let drifting = Drifting::of(samples, round, resolution)?;
        Some(drifting.told(&drifting.alone, false))
    }
}

/// What is known of the amounts of the errors that columns stand for.
#[derive(Debug, Clone)]
pub(in crate::field) struct Amounts {
    /// In standard deviations of the prior.
    pub mean: Vec<f64>,
    /// Symmetric.
    pub covariance: Mat<f64>,
}

impl Amounts {
    /// As a solved system tells them that has the columns in its covariance.
    pub fn of(columns: &Mat<f64>, system: &System) -> Self {
        let (n, k) = (columns.nrows(), columns.ncols());
        let mean = (0..k).map(|j| {
            let pull = (0..n).map(|i| columns[(i, j)] * system.pull[i]);
            pull.sum()
        });
        let mut own = columns.clone();
        system.factor.whiten(own.as_mut());
        // P S: what the trend takes is not told by the readings
        let mut trend = system.whitened_trend.transpose() * &own;
        system.trend_factor.whiten(trend.as_mut());
        let told = own.transpose() * &own - trend.transpose() * &trend;
        Self {
            mean: mean.collect(),
            covariance: Mat::<f64>::identity(k, k) - told,
        }
    }

    /// The mean of several by their shares, with the law of total covariance.
    pub fn mixed(parts: &[(f64, Self)]) -> Option<Self> {
        let total: f64 = parts.iter().map(|p| p.0).sum();
        let k = parts.first()?.1.mean.len();
        let mean: Vec<f64> = (0..k)
            .map(|j| parts.iter().map(|(w, a)| w * a.mean[j]).sum::<f64>() / total)
            .collect();
        let covariance = Mat::from_fn(k, k, |i, j| {
            let each = parts.iter().map(|(w, a)| {
                let apart = (a.mean[i] - mean[i]) * (a.mean[j] - mean[j]);
                w / total * (a.covariance[(i, j)] + apart)
            });
            each.sum()
        });
        Some(Self { mean, covariance })
    }
}

/// A round whose drift is looked for.
#[derive(Debug, Clone)]
pub(in crate::field) struct Drifting {
    round: Round,
    knots: Vec<f64>,
    /// Mean over the samples of each column.
    middle: Vec<f64>,
    /// What one standard deviation of each part of the drift does to the logarithm of each sample: a column a part.
    pub columns: Mat<f64>,
    /// As the visits alone tell it.
    alone: Amounts,
    /// By that, what is in the logarithm of each sample.
    pub taken: Vec<f64>,
}

impl Drifting {
    /// `None` without two visits at different times.
    pub fn of(samples: &[Sample], round: &Round, resolution: f64) -> Option<Self> {
        let n = samples.len();
        if round.at.len() != n || round.visit.len() != n || round.at.iter().any(|t| !t.is_finite())
        {
            return None;
        }
        let visits: Vec<usize> = (0..n).filter(|&i| round.visit[i]).collect();
        let ends = |of: &mut dyn Iterator<Item = f64>| {
            of.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), t| {
                (a.min(t), b.max(t))
            })
        };
        let (first, last) = ends(&mut visits.iter().map(|&i| round.at[i]));
        let (begin, end) = ends(&mut round.at.iter().copied());
        if first >= last {
            return None;
        }
        let mut knots: Vec<f64> = visits.iter().map(|&i| round.at[i]).collect();
        knots.extend([begin, end]);
        knots.sort_by(f64::total_cmp);
        knots.dedup();
        let raw = |t: f64| parts(&knots, t);
        let k = knots.len();
        let mut middle = vec![0.0; k];
        for &t in &round.at {
            middle.iter_mut().zip(raw(t)).for_each(|(m, p)| *m += p);
        }
        middle.iter_mut().for_each(|m| *m /= n as f64);
        let mut columns = Mat::<f64>::zeros(n, k);
        for (i, &t) in round.at.iter().enumerate() {
            for (j, p) in raw(t).into_iter().enumerate() {
                columns[(i, j)] = p - middle[j];
            }
        }
        // the visits by themselves, about a level that nobody knows
        let seen = Mat::from_fn(visits.len(), k, |i, j| columns[(visits[i], j)]);
        let mut v = &seen * seen.transpose();
        for (i, &sample) in visits.iter().enumerate() {
            let rounding = (resolution / samples[sample].irradiance).powi(2) / 12.0;
            v[(i, i)] += NOISE * NOISE + rounding;
        }
        let level = Mat::from_fn(visits.len(), 1, |_, _| 1.0);
        let logs: Vec<f64> = visits.iter().map(|&i| samples[i].irradiance.ln()).collect();
        let system = System::solve(v.as_ref(), &level, &logs).ok()?;
        let alone = Amounts::of(&seen, &system);
        let taken = (0..n)
            .map(|i| (0..k).map(|j| columns[(i, j)] * alone.mean[j]).sum())
            .collect();
        Some(Self {
            round: round.clone(),
            knots,
            middle,
            columns,
            alone,
            taken,
        })
    }

    /// Samples as they would have been read without the drift that the visits tell.
    pub fn without(&self, samples: &[Sample]) -> Vec<Sample> {
        let each = samples.iter().zip(&self.taken);
        each.map(|(s, by)| Sample {
            irradiance: s.irradiance * (-by).exp(),
            ..*s
        })
        .collect()
    }

    /// Whether a sample is a visit of the reference.
    pub fn is_visit(&self, sample: usize) -> bool {
        self.round.visit[sample]
    }

    /// Of samples that were taken together: the mean of each group.
    pub fn together(&self, groups: &[Vec<usize>]) -> Self {
        let mean = |of: &dyn Fn(usize) -> f64, group: &[usize]| {
            group.iter().map(|&i| of(i)).sum::<f64>() / group.len() as f64
        };
        Self {
            columns: Mat::from_fn(groups.len(), self.columns.ncols(), |g, j| {
                mean(&|i| self.columns[(i, j)], &groups[g])
            }),
            taken: groups.iter().map(|g| mean(&|i| self.taken[i], g)).collect(),
            ..self.clone()
        }
    }

    /// The drift as amounts of its parts say it; those of the visits alone where no field tells them.
    pub fn drift(&self, amounts: Option<&Amounts>) -> Drift {
        self.told(amounts.unwrap_or(&self.alone), amounts.is_some())
    }

    fn told(&self, amounts: &Amounts, with_field: bool) -> Drift {
        let part = |t: f64| -> Vec<f64> {
            let raw = parts(&self.knots, t).into_iter();
            raw.zip(&self.middle).map(|(p, m)| p - m).collect()
        };
        let of = |by: &[f64]| {
            let drift = by.iter().zip(&amounts.mean).map(|(b, m)| b * m).sum();
            let pairs = (0..by.len()).flat_map(|i| (0..by.len()).map(move |j| (i, j)));
            let variance: f64 = pairs
                .map(|(i, j)| by[i] * amounts.covariance[(i, j)] * by[j])
                .sum();
            (drift, variance.max(0.0).sqrt())
        };
        let mut order: Vec<usize> = (0..self.round.at.len())
            .filter(|&i| self.round.visit[i])
            .collect();
        order.sort_by(|&a, &b| self.round.at[a].total_cmp(&self.round.at[b]));
        let visits: Vec<Visit> = order
            .iter()
            .map(|&sample| {
                let at = self.round.at[sample];
                let (drift, uncertainty) = of(&part(at));
                Visit {
                    sample,
                    at,
                    drift,
                    uncertainty,
                }
            })
            .collect();
        let (first, last) = match &visits[..] {
            [first, .., last] => (first.at, last.at),
            _ => (0.0, 0.0),
        };
        let across: Vec<f64> = (part(last).iter().zip(part(first)))
            .map(|(l, f)| l - f)
            .collect();
        Drift {
            visits,
            overall: of(&across),
            taken: (self.round.at.iter()).map(|&t| of(&part(t)).0).collect(),
            with_field,
        }
    }
}

/// One standard deviation of each part of the drift at a time: the straight one, then a step of the walk from each knot to
/// the next.
fn parts(knots: &[f64], t: f64) -> Vec<f64> {
    let (begin, end) = (knots[0], knots[knots.len() - 1]);
    let whole = end - begin;
    let mut out = vec![STRAIGHT * (t - begin) / whole];
    out.extend(knots.windows(2).map(|w| {
        let length = w[1] - w[0];
        let along = ((t - w[0]) / length).clamp(0.0, 1.0);
        WALK * (length / whole).sqrt() * along
    }));
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Place;
    use crate::numeric::random::Normals;

    /// Readings of one place, one a minute; every fifth is a visit.
    fn round(drift: impl Fn(f64) -> f64, noise: f64, seed: u64) -> (Vec<Sample>, Round) {
        let mut normals = Normals::new(seed, 1);
        let at: Vec<f64> = (0..41).map(f64::from).collect();
        let samples = at.iter().map(|&t| Sample {
            at: Place::new(10.0, 10.0, 5.0),
            irradiance: 80.0 * (drift(t) + noise * normals.draw()).exp(),
            position: 0,
            minute: None,
        });
        let samples = samples.collect();
        let visit = (0..41).map(|i| i % 10 == 0).collect();
        (samples, Round { at, visit })
    }

    #[test]
    fn a_straight_drift_is_taken_out_nearly_whole() {
        let (samples, round) = round(|t| 0.04 * t / 40.0, 0.0, 1);
        let drift = Drift::of_visits(&samples, &round, 0.0).expect("five visits");
        assert_eq!(drift.visits.len(), 5);
        assert!((drift.overall.0 - 0.04).abs() < 0.004, "{drift:?}");
        // the mean over the round is no drift
        let middle = drift.visits[2];
        assert!(middle.drift.abs() < 1e-3, "{middle:?}");
        let left = Drifting::of(&samples, &round, 0.0)
            .expect("visits")
            .without(&samples);
        let (low, high) = left.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), s| {
            (a.min(s.irradiance), b.max(s.irradiance))
        });
        assert!(high / low - 1.0 < 0.005, "{low} to {high}");
    }

    #[test]
    fn noise_is_not_taken_for_drift_and_the_uncertainty_is_as_it_says() {
        let (mut squares, mut claimed) = (0.0, 0.0);
        const ROUNDS: u64 = 400;
        for seed in 0..ROUNDS {
            let (samples, round) = round(|_| 0.0, NOISE, seed);
            let drift = Drift::of_visits(&samples, &round, 0.0).expect("visits");
            squares += drift.overall.0.powi(2);
            claimed += drift.overall.1.powi(2);
        }
        let of = |sum: f64| (sum / ROUNDS as f64).sqrt();
        // below what the first and the last visit by themselves would say, and no surer than it is
        assert!(of(squares) < NOISE * 2f64.sqrt(), "{}", of(squares));
        assert!(of(squares) < of(claimed) && of(claimed) < 2.0 * of(squares));
    }

    #[test]
    fn without_two_visits_apart_there_is_none() {
        let (samples, mut round) = round(|_| 0.0, 0.0, 1);
        round.visit.fill(false);
        round.visit[3] = true;
        assert_eq!(Drift::of_visits(&samples, &round, 0.0), None);
        round.visit[7] = true;
        assert!(Drift::of_visits(&samples, &round, 0.0).is_some());
        round.at[7] = round.at[3];
        assert_eq!(Drift::of_visits(&samples, &round, 0.0), None);
    }
}
