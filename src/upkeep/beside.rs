//! Two radiometers side by side, and one before and after its calibration.

use super::figure::Figure;
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
    /// Whether the ratio depends on the level; `None`: too few settings (three are needed) or all of one level.
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
    pub(super) line: Line,
}

/// The ratio depends on the level where a constant one would look so with a lower probability.
pub const DEPENDS: f64 = 0.05;

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
    /// A pair (its index) with a reading that is zero, negative or no number.
    NotPositive(usize),
    /// A certificate without sense: an uncertainty below zero, k not above zero, or no number.
    BadCertificate,
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
        let _ = (pairs, certificates, common);
        todo!("insides follow")
    }

    /// A reading of the stand-in on the main radiometer's scale: by the ratio, by the line where the ratio depends on the level.
    pub fn convert(&self, stand_in: f64) -> Converted {
        let _ = stand_in;
        todo!("insides follow")
    }
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
    let _ = (what, certificates, common);
    todo!("insides follow")
}
