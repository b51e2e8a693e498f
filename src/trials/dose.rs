//! Does equal dose mean equal cure here? Where parts were cured at several irradiances and times, the
//! power p of `E^p t` says how irradiance counts beside time: 1 where only their product does.

use super::curves::{Family, Fit};
use super::pass_fail::{Exposed, power};
use super::profile::{Told, Weighed, bound, least_at, weighed};
use crate::station::Trials;

/// Powers that are looked at.
const POWERS: (f64, f64) = (0.05, 4.0);
/// Powers between these are as good as 1: over a doubling of irradiance the dose that is needed changes by
/// less than a fifth.
const AS_GOOD_AS_ONE: (f64, f64) = (0.75, 1.25);

/// The answer.
#[derive(Debug, Clone, PartialEq)]
pub struct DoseLaw {
    /// The power p; 1: equal dose, equal cure.
    pub power: f64,
    /// Two-sided bounds of it, where they lie between 0.05 and 4.
    pub lower: Option<f64>,
    /// As `lower`.
    pub upper: Option<f64>,
    /// Confidence of both together, between 0 and 1.
    pub confidence: f64,
    /// What that means.
    pub verdict: Verdict,
}

/// What a power means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Equal dose means equal cure, within what the trials tell.
    Holds,
    /// At equal dose the longer, weaker exposure cures more.
    LongerIsBetter,
    /// At equal dose the shorter, stronger exposure cures more.
    StrongerIsBetter,
    /// The trials don't tell.
    Open,
}

impl DoseLaw {
    /// The answer as a sentence.
    pub fn sentence(&self) -> String {
        let bound =
            |b: Option<f64>, beyond: &str| b.map_or(beyond.to_owned(), |b| format!("{b:.2}"));
        let figures = format!(
            "irradiance^p x time fits best with p = {:.2} ({:.0} % interval {} to {})",
            self.power,
            100.0 * self.confidence,
            bound(self.lower, "below 0.05"),
            bound(self.upper, "above 4"),
        );
        let says = match self.verdict {
            Verdict::Holds => "Equal dose means equal cure here, as far as these trials tell",
            Verdict::LongerIsBetter => {
                "Equal dose does not mean equal cure here: a longer, weaker exposure of the same dose cures more"
            }
            Verdict::StrongerIsBetter => {
                "Equal dose does not mean equal cure here: a shorter, stronger exposure of the same dose cures more"
            }
            Verdict::Open => {
                "Whether equal dose means equal cure is not settled by these trials: do not trade irradiance for time"
            }
        };
        format!("{says}; {figures}")
    }
}

/// A part: irradiance, here mostly over the geometric mean of all, exposure in s, result.
type Part = (f64, f64, f64);

fn at_power(parts: &[Part], power: f64) -> Vec<(f64, f64)> {
    (parts.iter())
        .map(|&(e, t, y)| (e.powf(power) * t, y))
        .collect()
}

struct PowerOf<'a> {
    parts: &'a [Part],
    /// For each family where its best power is.
    best: Vec<(Family, f64)>,
}

impl Told for PowerOf<'_> {
    fn best(&self, fit: &Fit) -> f64 {
        let found = self.best.iter().find(|b| b.0 == fit.family);
        found.map_or(1.0, |b| b.1)
    }

    fn squares(&self, family: Family, value: f64) -> f64 {
        Fit::to(&at_power(self.parts, value), family, None).map_or(f64::INFINITY, |f| f.squares)
    }
}

/// Fits `E^p t` to all parts that count. `None` where fewer than two irradiances or times were tried, or the two
/// went up together only, or there are too few parts. `confidence` is that of the two-sided interval.
pub fn dose_law(
    trials: &Trials,
    families: &[Family],
    grain: f64,
    confidence: f64,
) -> Option<DoseLaw> {
    let parts = parts(trials)?;
    let mut told = PowerOf {
        parts: &parts,
        best: Vec::new(),
    };
    let mut fits = Vec::new();
    for &family in families {
        let (low, high) = (POWERS.0.ln(), POWERS.1.ln());
        let (log, _) = least_at(|log| told.squares(family, log.exp()), low, high, 24);
        if let Some(mut fit) = Fit::to(&at_power(&parts, log.exp()), family, None) {
            // the power is a parameter too
            fit.dof -= 1.0;
            if fit.dof > 0.0 {
                told.best.push((family, log.exp()));
                fits.push(fit);
            }
        }
    }
    let fits: Vec<Weighed> = weighed(fits, grain);
    let at = |p: f64| bound(&fits, &told, grain, p, POWERS.0, POWERS.1);
    law(
        [
            at(0.5 - 0.5 * confidence),
            at(0.5),
            at(0.5 + 0.5 * confidence),
        ],
        confidence,
    )
}

/// As [`dose_law`] where parts pass or fail: the share that passes hangs on `E^p t`. `None` also where all passed or
/// all failed.
pub fn judged_dose_law(trials: &Trials, confidence: f64) -> Option<DoseLaw> {
    let mut alike: Vec<Exposed> = Vec::new();
    for (e, t, y) in parts(trials)? {
        match alike.iter_mut().find(|a| a.0 == e && a.1 == t) {
            Some(a) => {
                a.2 += y;
                a.3 += 1.0;
            }
            None => alike.push((e, t, y, 1.0)),
        }
    }
    law(power(&alike, POWERS, confidence)?, confidence)
}

/// The parts that count; `None` where they don't tell irradiance and time apart.
fn parts(trials: &Trials) -> Option<Vec<Part>> {
    let counted: Vec<Part> = (trials.parts.iter())
        .filter_map(|p| Some((p.irradiance, p.exposure, p.counted()?)))
        .collect();
    if !tells(&counted) {
        return None;
    }
    let mean_log = counted.iter().map(|c| c.0.ln()).sum::<f64>() / counted.len() as f64;
    let over_mean = |(e, t, y): Part| (e / mean_log.exp(), t, y);
    Some(counted.into_iter().map(over_mean).collect())
}

/// What lower bound, middle and upper bound of the power mean.
fn law([lower, power, upper]: [Option<f64>; 3], confidence: f64) -> Option<DoseLaw> {
    let power = power?;
    let lower = lower.filter(|&b| b > POWERS.0);
    let verdict = match (lower, upper) {
        (_, Some(upper)) if upper < 1.0 => Verdict::LongerIsBetter,
        (Some(lower), _) if lower > 1.0 => Verdict::StrongerIsBetter,
        (Some(lower), Some(upper)) if lower >= AS_GOOD_AS_ONE.0 && upper <= AS_GOOD_AS_ONE.1 => {
            Verdict::Holds
        }
        _ => Verdict::Open,
    };
    Some(DoseLaw {
        power,
        lower,
        upper,
        confidence,
        verdict,
    })
}

/// Whether irradiance and time were varied apart from each other: their logarithms are not on a line.
fn tells(parts: &[Part]) -> bool {
    let n = parts.len() as f64;
    let mean = |of: fn(&Part) -> f64| parts.iter().map(of).sum::<f64>() / n;
    let (e, t) = (mean(|p| p.0.ln()), mean(|p| p.1.ln()));
    let (mut ee, mut tt, mut et) = (0.0, 0.0, 0.0);
    for p in parts {
        let (a, b) = (p.0.ln() - e, p.1.ln() - t);
        ee += a * a;
        tt += b * b;
        et += a * b;
    }
    // standard deviations of 2 % at least: more than a repeat misses its setting by
    let enough = 4e-4 * n;
    ee > enough && tt > enough && et * et < 0.999 * ee * tt
}
