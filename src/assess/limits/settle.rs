//! What would settle a verdict that is not proven: which position, how many repeats, which calibration.
//!
//! It is the normal theory of one more place read n times, on the joint draws of its field and the extreme; planned
//! positions and the nearest seat of the detector are asked.

use super::Z95;
use super::sampled::Sampled;
use super::terms::Scale;
use super::verdict::{Judged, Side, Verdict, down, up};
use crate::geometry::Place;
use crate::numeric::quantile::median;
use crate::station::{GoverningRule, named};
use crate::units::LengthUnit;

/// No more repeats than this are asked of one position.
const MOST_REPEATS: u32 = 30;

/// Readings that would settle it.
#[derive(Debug, Clone, PartialEq)]
pub struct MoreReadings {
    /// Name of the position; empty where it has none.
    pub position: String,
    /// Of the sensing plane.
    pub at: Place,
    /// How many, the detector set down anew for each.
    pub repeats: u32,
}

/// What would settle one side that is not proven.
#[derive(Debug, Clone, PartialEq)]
pub struct Settle {
    /// Whether it is the lower limit; otherwise the upper.
    pub of_lower: bool,
    /// What to do, in plain sentences, what helps most first.
    pub sentences: Vec<String>,
    /// The readings, where readings can do it.
    pub readings: Option<MoreReadings>,
    /// The expanded uncertainty (k = 2) that the calibration would need, percent, where that alone would do
    /// it.
    pub calibration_percent: Option<f64>,
}

/// A place where more could be read, its draws among [`Sampled::beside`] at the same index.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Candidate {
    pub name: String,
    pub at: Place,
}

/// What is known where it is asked what would settle the verdict.
pub(super) struct SettleGrounds<'a> {
    /// In which places are said.
    pub length: LengthUnit,
    pub judged: &'a Judged,
    pub sampled: &'a Sampled,
    /// Offset of the candidates among the sampled places beside the parts.
    pub first: usize,
    pub candidates: &'a [Candidate],
    /// Relative scatter of a reading.
    pub noise: f64,
    pub calibration: Option<f64>,
}

/// What would settle each side that is not proven; nothing where the verdict stands.
pub(super) fn settle(seen: &SettleGrounds<'_>, show: &dyn Fn(f64) -> String) -> Vec<Settle> {
    let judged = seen.judged;
    if judged.verdict != Verdict::NotProven {
        return Vec::new();
    }
    let mut all = Vec::new();
    let c = &judged.coldest;
    let left = down(judged.allowances);
    if c.bounds.at_least.is_none_or(|e| e * left < c.limit.value) {
        // in logarithms, upwards: how far the coldest is above what it must reach
        let margin = seen
            .sampled
            .coldest
            .iter()
            .map(|e| (e * left / c.limit.value).ln());
        all.push(side(seen, c, true, margin.collect(), 1.0, show));
    }
    if let Some(h) = &judged.hottest {
        let grown = up(judged.allowances);
        if h.bounds.at_most.is_none_or(|e| e * grown > h.limit.value) {
            let margin = seen
                .sampled
                .hottest
                .iter()
                .map(|e| -(e * grown / h.limit.value).ln());
            all.push(side(seen, h, false, margin.collect(), -1.0, show));
        }
    }
    if all.is_empty() && judged.rule == GoverningRule::ColdestReading {
        all.push(Settle {
            of_lower: true,
            sentences: vec![
                "Both bounds lie inside the limits: choose the assured minimum as the governing rule, and the verdict is 'meets'"
                    .to_owned(),
            ],
            readings: None,
            calibration_percent: None,
        });
    }
    all
}

/// One side: `margin` are draws of the logarithm of how far the extreme lies inside its limit; `sign` is 1
/// where more light is a larger margin.
///
/// To prove it, the median margin must be at least 1.645 standard deviations. More readings at a place p take
/// cov(margin, ln E(p))² / (var ln E(p) + s²/n) off the variance, as for jointly normal quantities.
fn side(
    seen: &SettleGrounds<'_>,
    side: &Side,
    of_lower: bool,
    margin: Vec<f64>,
    sign: f64,
    show: &dyn Fn(f64) -> String,
) -> Settle {
    let mut out = Settle {
        of_lower,
        sentences: Vec::new(),
        readings: None,
        calibration_percent: None,
    };
    let (which, limit) = if of_lower {
        ("coldest", "lower")
    } else {
        ("hottest", "upper")
    };
    let middle = median(&margin).unwrap_or(f64::NAN);
    if middle.is_nan() || middle <= 0.0 {
        let change = 100.0 * (middle.exp().recip() - 1.0);
        let (beyond, more, evener) = if of_lower {
            ("not above", "more", "more light at the coldest part")
        } else {
            ("not below", "less", "less light at the hottest part")
        };
        out.sentences.push(format!(
            "More readings would not prove it: the {which} spot is estimated at {}{}, {beyond} the {limit} limit. It takes {change:.1} % {more} light there: {evener}, another working distance, or another limit",
            show(side.estimate),
            if down(seen.judged.allowances) < 1.0 { ", before allowances" } else { "" },
        ));
        return out;
    }
    let absolute = side.limit.scale == Scale::Absolute;
    let scale = match (absolute, seen.calibration) {
        (false, _) => 0.0,
        (true, Some(u)) => u,
        (true, None) => {
            let needed = calibration_needed(middle, variance(&margin));
            out.calibration_percent = needed;
            out.sentences.push(match needed {
                Some(u) => format!(
                    "Enter the uncertainty of the radiometer's calibration from its certificate: {u:.1} % (k = 2) or less would prove it"
                ),
                None => "Enter the uncertainty of the radiometer's calibration from its certificate; it needs more readings as well".to_owned(),
            });
            return out;
        }
    };
    let of_field = variance(&margin);
    let allowed = (middle / Z95).powi(2) - scale * scale;
    let best = best_readings(seen, &margin, sign, of_field, allowed);
    if let Some(more) = &best {
        let place = place_words(&more.position, more.at, seen.length);
        let take = match more.repeats {
            1 => format!("Take one reading {place}: if it is"),
            n => format!(
                "Take {n} readings {place}, the detector set down anew for each: if they are"
            ),
        };
        out.sentences.push(format!(
            "{take} what the field says there, the {limit} limit is proven"
        ));
    } else if allowed > 0.0 {
        out.sentences.push(match nearest_best(seen, &margin, sign) {
            Some(at) => format!(
                "No one position settles it: {MOST_REPEATS} readings {} would not be enough; read there and at several places around the {which} spot",
                place_words(&at.name, at.at, seen.length)
            ),
            None => format!("Read at several places around the {which} spot"),
        });
    }
    out.readings = best;
    if absolute {
        let needed = calibration_needed(middle, of_field);
        out.calibration_percent = needed;
        if allowed <= 0.0 {
            out.sentences.push(format!(
                "No number of readings is enough with a calibration of {:.1} % (k = 2)",
                200.0 * scale
            ));
        }
        match needed {
            Some(u) => out.sentences.push(format!(
                "A calibration of {u:.1} % (k = 2) or better{}, instead of {:.1} %, would prove it",
                if out.readings.is_some() { " by itself" } else { "" },
                200.0 * scale
            )),
            None if out.readings.is_none() => out.sentences.push(
                "No calibration alone is good enough: the field itself is not known well enough yet".to_owned(),
            ),
            None => {}
        }
        if allowed <= 0.0 {
            out.sentences.push(
                "Or find the limit with the very pair that judges: its calibration error is in both then, and cancels".to_owned(),
            );
        }
    }
    if out.sentences.is_empty() {
        out.sentences
            .push(format!("Read nearer to the {which} spot"));
    }
    out
}

pub(super) fn place_words(name: &str, at: Place, length: LengthUnit) -> String {
    let here = format!(
        "x {}, y {}, height {}",
        length.show(at.x),
        length.show(at.y),
        length.show_with_unit(at.height)
    );
    if name.is_empty() {
        format!("at {here}")
    } else {
        format!("at {} ({here})", named("position", name))
    }
}

/// Expanded (k = 2), percent; `None` when the field's own spread is too much already.
fn calibration_needed(margin: f64, of_field: f64) -> Option<f64> {
    let left = (margin / Z95).powi(2) - of_field;
    (left > 0.0).then(|| 200.0 * left.sqrt())
}

/// The candidate and the least number of repeats that bring the variance to what is allowed.
fn best_readings(
    seen: &SettleGrounds<'_>,
    margin: &[f64],
    sign: f64,
    of_field: f64,
    allowed: f64,
) -> Option<MoreReadings> {
    if allowed <= 0.0 {
        return None;
    }
    let to_lose = of_field - allowed;
    let noise = (seen.noise * seen.noise).max(1e-8);
    let mut best: Option<(u32, f64, usize)> = None;
    for i in 0..seen.candidates.len() {
        let (own, shared) = shared(seen, margin, sign, i)?;
        // shared² / (own + noise / n) >= to_lose
        let room = shared * shared / to_lose - own;
        if to_lose > 0.0 && room <= 0.0 {
            continue;
        }
        let n = if to_lose <= 0.0 {
            1.0
        } else {
            (noise / room).ceil().max(1.0)
        };
        if n > f64::from(MOST_REPEATS) {
            continue;
        }
        let n = n as u32;
        let gain = shared * shared / (own + noise / f64::from(n));
        if best.is_none_or(|(least, most, _)| n < least || (n == least && gain > most)) {
            best = Some((n, gain, i));
        }
    }
    best.map(|(repeats, _, i)| MoreReadings {
        position: seen.candidates[i].name.clone(),
        at: seen.candidates[i].at,
        repeats,
    })
}

/// The candidate that says most.
fn nearest_best<'a>(seen: &SettleGrounds<'a>, margin: &[f64], sign: f64) -> Option<&'a Candidate> {
    let noise = (seen.noise * seen.noise).max(1e-8) / f64::from(MOST_REPEATS);
    let gain = |i: usize| {
        shared(seen, margin, sign, i).map_or(0.0, |(own, shared)| shared * shared / (own + noise))
    };
    (0..seen.candidates.len())
        .max_by(|&a, &b| gain(a).total_cmp(&gain(b)))
        .map(|i| &seen.candidates[i])
}

/// Variance of the logarithm at a candidate, and its covariance with the margin.
fn shared(seen: &SettleGrounds<'_>, margin: &[f64], sign: f64, i: usize) -> Option<(f64, f64)> {
    let draws = seen.sampled.beside.get(seen.first + i)?;
    let logs: Vec<f64> = draws.iter().map(|e| sign * e.ln()).collect();
    Some((variance(&logs), covariance(&logs, margin)))
}

fn variance(values: &[f64]) -> f64 {
    covariance(values, values)
}

fn covariance(a: &[f64], b: &[f64]) -> f64 {
    let n = a.len().min(b.len()).max(2) as f64;
    let (mean_a, mean_b) = (a.iter().sum::<f64>() / n, b.iter().sum::<f64>() / n);
    a.iter()
        .zip(b)
        .map(|(x, y)| (x - mean_a) * (y - mean_b))
        .sum::<f64>()
        / (n - 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::random::Normals;

    /// The formula against the exact posterior: margin m and place p jointly normal, n readings of p with
    /// noise s; the posterior variance of m is v - c² / (w + s²/n) (Bayes for normal quantities).
    #[test]
    fn repeats_are_as_many_as_normal_theory_asks_for() {
        let (w, c, v, s): (f64, f64, f64, f64) = (4e-4, 3e-4, 5e-4, 0.02);
        let mut z = Normals::new(3, 0);
        let draws: Vec<(f64, f64)> = (0..40_000)
            .map(|_| {
                let (a, b) = (z.draw(), z.draw());
                let p = w.sqrt() * a;
                let m = c / w.sqrt() * a + (v - c * c / w).sqrt() * b;
                (p, m)
            })
            .collect();
        let sampled = Sampled {
            coldest: Vec::new(),
            hottest: Vec::new(),
            beside: vec![draws.iter().map(|d| d.0.exp()).collect()],
        };
        let candidates = [Candidate {
            name: "P".into(),
            at: Place::new(0.0, 0.0, 0.0),
        }];
        let margin: Vec<f64> = draws.iter().map(|d| d.1).collect();
        let judged = super::super::verdict::Judged::for_tests();
        let seen = SettleGrounds {
            length: LengthUnit::Mm,
            judged: &judged,
            sampled: &sampled,
            first: 0,
            candidates: &candidates,
            noise: s,
            calibration: None,
        };
        // v - c²/(w + s²/n) = 3.5e-4 at n: c²/1.5e-4 = 6e-4 = w + s²/n, so n = 4e-4 / 2e-4 = 2
        let more = best_readings(&seen, &margin, 1.0, variance(&margin), 3.4e-4).expect("possible");
        assert_eq!(more.repeats, 3, "a little more than two");
        let more = best_readings(&seen, &margin, 1.0, variance(&margin), 3.6e-4).expect("possible");
        assert_eq!(more.repeats, 2);
        // v - c²/w = 2.75e-4 is left however often p is read
        assert!(best_readings(&seen, &margin, 1.0, variance(&margin), 2.6e-4).is_none());
    }
}
