//! Two radiometers side by side, and one before and after its calibration.

use std::collections::BTreeMap;

use super::figure::Figure;
use crate::numeric::combine::{coverage_factor, mean_and_variance};
use crate::numeric::distributions::student_above;
use crate::numeric::line::Line;

/// Both radiometers at the same place, one after the other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// Which setting of the light (distance, drive): repeats at one setting share what the places of two detectors differ in.
    pub setting: usize,
    /// mW/cm² by the main radiometer.
    pub main: f64,
    /// mW/cm² by the stand-in.
    pub stand_in: f64,
}

/// What a certificate says of a radiometer's scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Certificate {
    /// Expanded uncertainty, a part of 1.
    pub expanded: f64,
    /// Its coverage factor.
    pub k: f64,
}

/// Two radiometers side by side.
#[derive(Debug, Clone, PartialEq)]
pub struct Beside {
    /// Main over stand-in: what a reading of the stand-in is multiplied by. Geometric mean over the settings.
    pub ratio: Figure,
    /// Relative standard uncertainty of the ratio.
    pub uncertainty: f64,
    /// Degrees of freedom of it.
    pub dof: f64,
    /// Settings, and pairs.
    pub counts: (usize, usize),
    /// Relative standard deviation of the ratio from setting to setting.
    pub between: f64,
    /// Whether the ratio depends on the level; `None`: too few settings (four are needed) or all of one level.
    pub dependence: Option<Dependence>,
    /// Against the certificates; `None` where one is missing.
    pub agreement: Option<Agreement>,
    /// Stand-in readings between which the ratio was found, mW/cm².
    pub range: (f64, f64),
}

/// `main = intercept + factor × stand-in`, by least squares with relative weights.
#[derive(Debug, Clone, PartialEq)]
pub struct Dependence {
    /// mW/cm².
    pub intercept: Figure,
    /// Without unit.
    pub factor: Figure,
    /// The probability of an intercept as far from 0 or further, were the ratio the same at all levels.
    pub p: f64,
    /// Whether that is below [`DEPENDS`]: readings then go through the line.
    pub depends: bool,
    /// Of `main / stand-in` over `1 / stand-in`: its intercept is the factor, its slope the line's intercept.
    line: Line,
}

/// The ratio depends on the level where a constant one would look so with a lower probability.
pub const DEPENDS: f64 = 0.05;
/// One comparison in twenty shows a dependence that is none, so a reading that goes through the line is no surer than that so much
/// of its distance from the plain ratio is a standard uncertainty too: twice it reaches the ratio.
const NOT_RULED_OUT: f64 = 0.6;
/// Settings that tell of a dependence: with three a line fits by chance.
const LEAST_SETTINGS: usize = 4;
/// Levels whose logarithms lie closer together than this are one level.
const LEAST_SPREAD: f64 = 0.1;

/// A ratio against what certificates allow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Agreement {
    /// `En`: the logarithm of the ratio over its expanded uncertainty, k = 2 (ISO/IEC 17043; ISO 13528:2022, 9.6, clause from
    /// memory), what both certificates share left out of both.
    pub en: f64,
    /// The furthest that the ratio may be from 1 with |En| = 1, a part of 1.
    pub allowed: f64,
    /// |En| is not above 1.
    pub agrees: bool,
}

/// A reading of the stand-in on the main radiometer's scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Converted {
    /// mW/cm².
    pub irradiance: f64,
    /// The relative standard uncertainty that converting adds, shared by all readings converted with the same comparison.
    pub added: f64,
    /// Whether the reading lies outside the levels that were compared.
    pub outside: bool,
}

/// Why there is no comparison.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoComparison {
    /// Fewer than two pairs: how many.
    FewPairs(usize),
    /// A pair (its index; for factors 0 before, 1 after) with a reading that is zero, negative or no number.
    NotPositive(usize),
    /// A certificate without sense: an uncertainty below zero, k not above zero, or no number.
    BadCertificate,
}

/// Relative standard uncertainty of a ratio of two quantities from their own and the covariance of both (JCGM 100:2008, 5.2.2).
pub fn of_ratio(first: f64, second: f64, covariance: f64) -> f64 {
    (first * first + second * second - 2.0 * covariance)
        .max(0.0)
        .sqrt()
}

impl Beside {
    /// Compares. `common` is the relative standard uncertainty that both certificates have from the same source (the same
    /// laboratory's standard); 0 where they have none.
    ///
    /// # Errors
    /// [`NoComparison`].
    pub fn of(
        pairs: &[Pair],
        certificates: Option<(Certificate, Certificate)>,
        common: f64,
    ) -> Result<Self, NoComparison> {
        if let Some(i) = pairs
            .iter()
            .position(|p| !(positive(p.main) && positive(p.stand_in)))
        {
            return Err(NoComparison::NotPositive(i));
        }
        let mut settings: BTreeMap<usize, Vec<(f64, f64)>> = BTreeMap::new();
        for pair in pairs {
            let logs = (pair.main.ln() - pair.stand_in.ln(), pair.stand_in.ln());
            settings.entry(pair.setting).or_default().push(logs);
        }
        // at each setting the mean ratio and the mean level
        let means: Vec<(f64, f64)> = (settings.values())
            .map(|own| {
                let n = own.len() as f64;
                let sum = |of: fn(&(f64, f64)) -> f64| own.iter().map(of).sum::<f64>() / n;
                (sum(|p| p.0), sum(|p| p.1))
            })
            .collect();
        let few = NoComparison::FewPairs(pairs.len());
        let ratios: Vec<f64> = match &means[..] {
            [] => return Err(few),
            // one setting: its repeats are all there is
            [_] => settings.values().flatten().map(|p| p.0).collect(),
            means => means.iter().map(|m| m.0).collect(),
        };
        let (mean, half, dof) = mean_and_half(&ratios).ok_or(few)?;
        let n = ratios.len() as f64;
        let uncertainty = half / coverage_factor(0.95, dof);
        let levels = pairs.iter().map(|p| p.stand_in);
        Ok(Self {
            ratio: Figure::about(mean, half).through(f64::exp),
            uncertainty,
            dof,
            counts: (means.len(), pairs.len()),
            between: uncertainty * n.sqrt(),
            dependence: Dependence::of(&means),
            agreement: agreement(mean, half, certificates, common)?,
            range: (
                levels.clone().fold(f64::INFINITY, f64::min),
                levels.fold(0.0, f64::max),
            ),
        })
    }

    /// A reading of the stand-in on the main radiometer's scale: by the ratio, by the line where the ratio depends on the level.
    /// `None` for a reading that is not above zero.
    pub fn convert(&self, stand_in: f64) -> Option<Converted> {
        if !positive(stand_in) {
            return None;
        }
        let outside = stand_in < self.range.0 || stand_in > self.range.1;
        // as wide as a normal one that holds as often as the t interval
        let wide = |uncertainty: f64, dof: f64| {
            uncertainty * coverage_factor(0.95, dof) / coverage_factor(0.95, f64::INFINITY)
        };
        let mut ratio = self.ratio.value;
        let mut added = wide(self.uncertainty, self.dof);
        if let Some(line) = self
            .dependence
            .as_ref()
            .filter(|d| d.depends)
            .map(|d| &d.line)
        {
            let (own, uncertainty) = line.at(1.0 / stand_in);
            if own > 0.0 && own.is_finite() {
                added = wide(uncertainty / own, line.dof).hypot(NOT_RULED_OUT * (own / ratio).ln());
                ratio = own;
            }
        }
        Some(Converted {
            irradiance: ratio * stand_in,
            added,
            outside,
        })
    }
}

impl Dependence {
    /// Of the mean ratio and the mean level of the stand-in at each setting, logarithms.
    fn of(means: &[(f64, f64)]) -> Option<Self> {
        let points: Vec<(f64, f64)> = means.iter().map(|m| ((-m.1).exp(), m.0.exp())).collect();
        // nearly one level tells nothing
        let levels = means.iter().map(|m| m.1);
        let spread =
            levels.clone().fold(f64::NEG_INFINITY, f64::max) - levels.fold(f64::INFINITY, f64::min);
        if means.len() < LEAST_SETTINGS || spread < LEAST_SPREAD {
            return None;
        }
        let line = Line::through(&points)?;
        let p = if line.slope_uncertainty > 0.0 {
            2.0 * student_above((line.slope / line.slope_uncertainty).abs(), line.dof)
        } else {
            f64::from(u8::from(line.slope == 0.0))
        };
        let k = coverage_factor(0.95, line.dof);
        Some(Self {
            intercept: Figure::about(line.slope, k * line.slope_uncertainty),
            factor: Figure::about(line.intercept, k * line.intercept_uncertainty),
            p,
            depends: p < DEPENDS,
            line,
        })
    }
}

fn positive(x: f64) -> bool {
    x.is_finite() && x > 0.0
}

/// Mean, half the width of its 95 % interval and degrees of freedom; `None` for fewer than two values.
fn mean_and_half(values: &[f64]) -> Option<(f64, f64, f64)> {
    let (mean, variance) = mean_and_variance(values)?;
    let n = values.len() as f64;
    let half = coverage_factor(0.95, n - 1.0) * (variance? / n).sqrt();
    Some((mean, half, n - 1.0))
}

/// The standard uncertainty by which two certified scales may differ, what both share left out.
fn allowed((one, other): (Certificate, Certificate), common: f64) -> Result<f64, NoComparison> {
    let standard = |c: Certificate| c.expanded / c.k;
    let sound = |c: Certificate| c.expanded.is_finite() && c.expanded >= 0.0 && positive(c.k);
    let own = common.is_finite() && common >= 0.0;
    if !(sound(one) && sound(other) && own && common <= standard(one).min(standard(other))) {
        return Err(NoComparison::BadCertificate);
    }
    Ok(of_ratio(standard(one), standard(other), common * common))
}

fn agreement(
    log: f64,
    half: f64,
    certificates: Option<(Certificate, Certificate)>,
    common: f64,
) -> Result<Option<Agreement>, NoComparison> {
    let Some(both) = certificates else {
        return Ok(None);
    };
    let expanded = (2.0 * allowed(both, common)?).hypot(half);
    let en = log / expanded;
    Ok(en.is_finite().then_some(Agreement {
        en,
        allowed: expanded.exp_m1(),
        agrees: en.abs() <= 1.0,
    }))
}

/// A radiometer's scale before and after a calibration.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Recalibration<'a> {
    /// Readings of the same light as found and as left, mW/cm², pairs that belong together.
    Readings(&'a [(f64, f64)]),
    /// Factors by the certificates that what it shows is multiplied by, before and after.
    Factors(f64, f64),
}

/// What a calibration changed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shift {
    /// How much more the radiometer reads since, a part of 1.
    pub shift: Figure,
    /// Its relative standard uncertainty: what the trend asks for.
    pub uncertainty: f64,
    /// Against the certificates; `None` where one is missing.
    pub agreement: Option<Agreement>,
}

/// The shift at a calibration. For factors the interval is that of both certificates, so it needs them.
///
/// # Errors
/// [`NoComparison`]; for factors, [`NoComparison::BadCertificate`] without certificates too.
pub fn recalibrated(
    what: Recalibration<'_>,
    certificates: Option<(Certificate, Certificate)>,
    common: f64,
) -> Result<Shift, NoComparison> {
    let k = coverage_factor(0.95, f64::INFINITY);
    let (log, half, agreement) = match what {
        Recalibration::Readings(pairs) => {
            if let Some(i) = pairs.iter().position(|p| !(positive(p.0) && positive(p.1))) {
                return Err(NoComparison::NotPositive(i));
            }
            let logs: Vec<f64> = pairs.iter().map(|p| p.1.ln() - p.0.ln()).collect();
            let few = NoComparison::FewPairs(pairs.len());
            let (log, half, _) = mean_and_half(&logs).ok_or(few)?;
            (log, half, agreement(log, half, certificates, common)?)
        }
        Recalibration::Factors(before, after) => {
            if !(positive(before) && positive(after)) {
                return Err(NoComparison::NotPositive(usize::from(positive(before))));
            }
            let both = certificates.ok_or(NoComparison::BadCertificate)?;
            // the same light: shown × factor stays, so what is shown goes with the factor before over that after
            let log = before.ln() - after.ln();
            (
                log,
                k * allowed(both, common)?,
                agreement(log, 0.0, certificates, common)?,
            )
        }
    };
    Ok(Shift {
        shift: Figure::about(log, half).through(f64::exp_m1),
        uncertainty: half / k,
        agreement,
    })
}
