//! The verdict: over all parts together, and for each site by itself.

mod reasons;

use super::super::{ColdestReading, Lies, Spot};
use super::Z95;
use super::terms::{Line, Scale, Terms, ToLimit};
use crate::geometry::Place;
use crate::station::limits::{Allowances, Kept, TO_SETTLE};
use crate::station::{Family, GoverningRule, Survey};
use crate::units::Units;

/// What is said of the parts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Verdict {
    /// Both governing bounds lie inside the limits.
    Meets,
    /// A bound on the other side lies outside.
    Fails,
    /// Neither can be said with 95 % confidence.
    NotProven,
}

impl Verdict {
    /// As records and people say it.
    pub fn words(self) -> &'static str {
        match self {
            Self::Meets => "meets",
            Self::Fails => "fails",
            Self::NotProven => "not proven",
        }
    }
}

/// One-sided 95 % bounds of an extreme, mW/cm² at the bond; `None` where there is none.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Bounded {
    /// It is at least this.
    pub at_least: Option<f64>,
    /// It is at most this.
    pub at_most: Option<f64>,
}

/// What a rule adds to the bounds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in super::super) enum Ruling {
    /// Nothing.
    Bounds,
    /// This figure must not lie below the lower limit either, mW/cm².
    AndFigure(f64),
    /// It never meets; what was read is at most this with 95 % confidence, where that can be said.
    NeverMeets(Option<f64>),
}

/// The rule itself. Allowances make it harder to meet a limit and no easier to fail one.
///
/// - `meets`: the lower bound of the coldest, allowances taken off, is at or above the lower limit, and the
///   upper bound of the hottest, allowances put on, is at or below the upper one.
/// - `fails`: the upper bound of the coldest lies below the lower limit, or the lower bound of the hottest
///   above the upper one.
/// - else `not proven`; so it is without bounds.
pub fn verdict(
    rule: GoverningRule,
    coldest: Bounded,
    hottest: Bounded,
    lower: f64,
    upper: Option<f64>,
    allowances: Allowances,
) -> Verdict {
    let ruling = match rule {
        GoverningRule::ColdestReading => Ruling::NeverMeets(None),
        _ => Ruling::Bounds,
    };
    ruled(ruling, coldest, hottest, lower, upper, allowances)
}

fn ruled(
    ruling: Ruling,
    coldest: Bounded,
    hottest: Bounded,
    lower: f64,
    upper: Option<f64>,
    allowances: Allowances,
) -> Verdict {
    let too_cold = coldest.at_most.is_some_and(|e| e < lower);
    let too_hot = upper.is_some_and(|upper| hottest.at_least.is_some_and(|e| e > upper));
    let read_too_cold = matches!(ruling, Ruling::NeverMeets(Some(reading)) if reading < lower);
    if too_cold || too_hot || read_too_cold {
        return Verdict::Fails;
    }
    let warm = coldest
        .at_least
        .is_some_and(|e| e * down(allowances) >= lower);
    let cool =
        upper.is_none_or(|upper| hottest.at_most.is_some_and(|e| e * up(allowances) <= upper));
    let by_rule = match ruling {
        Ruling::Bounds => true,
        Ruling::AndFigure(figure) => figure * down(allowances) >= lower,
        Ruling::NeverMeets(_) => false,
    };
    if warm && cool && by_rule {
        Verdict::Meets
    } else {
        Verdict::NotProven
    }
}

/// What is left of an irradiance when all allowances are used up, and what one may grow to: factors.
pub fn allowed(a: Allowances) -> (f64, f64) {
    (down(a), up(a))
}

/// What is left of an irradiance when both allowances are used up.
pub(super) fn down(a: Allowances) -> f64 {
    (1.0 - a.until_check_percent / 100.0) * (1.0 - a.reload_percent / 100.0)
}

/// What an irradiance may grow to: a source only fades between checks, a reset may go up.
pub(super) fn up(a: Allowances) -> f64 {
    1.0 + a.reload_percent / 100.0
}

/// One extreme against its limit, mW/cm² at the bond.
#[derive(Debug, Clone, PartialEq)]
pub struct Side {
    /// Where the extreme is.
    pub at: Place,
    /// The field's own value.
    pub estimate: f64,
    /// Its bounds, those that the limit's origin calls for.
    pub bounds: Bounded,
    /// The limit.
    pub limit: Line,
    /// How far the assured value, allowances used up, lies inside the limit: percent of the limit,
    /// negative outside; `None` without a bound.
    pub headroom_percent: Option<f64>,
    /// As `headroom_percent`, of the field's own value and without allowances.
    pub headroom_of_estimate_percent: f64,
}

/// Dose, mJ/cm².
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dose {
    /// At the coldest spot.
    pub coldest: f64,
    /// Over the assessed area in the mean.
    pub mean: f64,
    /// At the hottest spot.
    pub hottest: f64,
}

/// How far the source may fade before the coldest spot reaches the lower limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fading {
    /// With 95 % confidence, percent; 0 when it is there already. `None` without a bound.
    pub assured_percent: Option<f64>,
    /// By the field's own value, percent.
    pub estimate_percent: f64,
    /// Hours until the assured share is used up at the typed rate.
    pub hours: Option<f64>,
}

/// The field of a survey held against the limits.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// The limits that hold.
    pub terms: Terms,
    /// By which rule.
    pub rule: GoverningRule,
    /// Which family the field is of.
    pub family: Family,
    /// The figure that the rule holds against the lower limit, at the bond, mW/cm²; `None`: it asks for an assured
    /// minimum that is not known.
    pub governing: Option<f64>,
    /// All parts together.
    pub verdict: Verdict,
    /// Coldest against the lower limit.
    pub coldest: Side,
    /// Hottest against the upper limit; `None` without one.
    pub hottest: Option<Side>,
    /// Each site by itself, in the order of the answer's sites: the confidence is that of the one site.
    pub sites: Vec<Verdict>,
    /// Where the exposure time is known.
    pub dose: Option<Dose>,
    /// How far the source may fade.
    pub fading: Fading,
    /// How the source is kept at its level.
    pub kept: Kept,
    /// The allowances that were used up for `meets`.
    pub allowances: Allowances,
    /// The coldest reading by itself would pass while the coldest spot is estimated below the lower limit.
    pub reading_flatters: bool,
    /// The coldest reading, mW/cm², and where.
    pub reading: (f64, String),
    /// Some part is cured through a substrate, so that figures at the bond differ from the field's.
    pub through_substrate: bool,
    /// The uncertainty of the radiometer's calibration is known.
    pub calibrated: bool,
    /// Why the bounds are less sure here than they say, as a sentence.
    pub less_sure: Option<String>,
    /// There are no bounds at the bond because of what stands in the light.
    pub unproven_at_bond: bool,
    /// The field misses what was left out by so many times a reading's scatter that no limit is called met.
    pub misses: Option<f64>,
    /// Readings that count and were added to settle a verdict that was not proven.
    pub added: usize,
}

/// What is judged: the answer as far as it is made, and the extremes at the bond.
pub(in super::super) struct VerdictGrounds<'a> {
    pub limits: &'a ToLimit,
    /// In which sentences are said.
    pub units: Units,
    pub rule: GoverningRule,
    pub family: Family,
    pub survey: &'a Survey,
    pub coldest: &'a Spot,
    pub hottest: &'a Spot,
    pub reading: &'a ColdestReading,
    pub mean: f64,
    pub noise: Option<f64>,
    pub calibration: Option<f64>,
    /// What each site's parts see of the light, in the order of `sites`.
    pub sites: Vec<(f64, &'a Spot, &'a Spot)>,
    /// What the parts at the reading's place see of the light.
    pub through_at_reading: f64,
    /// Why the bounds are less sure here than they say.
    pub less_sure: Option<String>,
    /// There are no bounds at the bond because of what stands in the light.
    pub unproven_at_bond: bool,
    /// By how many times a reading's scatter left-out positions are missed, where bounds can't be relied on.
    pub misses: Option<f64>,
}

impl Bounded {
    /// The bounds of a spot that a scale calls for, behind a substrate.
    fn of(spot: &Spot, scale: Scale, through: f64) -> Self {
        Self {
            at_least: spot.assured(scale).map(|e| e * through),
            at_most: spot.assured_most(scale).map(|e| e * through),
        }
    }
}

/// Holds the field against the limits. `coldest` and `hottest` of what is seen are the extremes over all
/// parts at the bond.
///
/// # Errors
/// A sentence of why there is no lower limit.
pub(in super::super) fn judge(seen: &VerdictGrounds<'_>) -> Result<Judged, String> {
    let terms = seen.limits.terms(Some(seen.survey), seen.units)?;
    let limits = &seen.limits.limits;
    let (allowances, rule) = (limits.allowances, seen.rule);
    let (lower, upper) = (terms.lower.clone(), terms.upper.clone());
    let upper_scale = upper.as_ref().map_or(Scale::Relative, |u| u.scale);
    let cold = Bounded::of(seen.coldest, lower.scale, 1.0);
    let hot = Bounded::of(seen.hottest, upper_scale, 1.0);
    let read = seen.reading.irradiance * seen.through_at_reading;
    let governing = match rule {
        GoverningRule::AssuredMinimum => cold.at_least,
        GoverningRule::LowerOfReadingAndSpot => Some(read.min(seen.coldest.irradiance)),
        GoverningRule::ColdestReading => Some(read),
    };
    let ruling = match rule {
        GoverningRule::AssuredMinimum => Ruling::Bounds,
        GoverningRule::LowerOfReadingAndSpot => {
            Ruling::AndFigure(read.min(seen.coldest.irradiance))
        }
        GoverningRule::ColdestReading => Ruling::NeverMeets(reading_at_most(seen, lower.scale)),
    };
    let most = upper.as_ref().map(|u| u.value);
    // bounds of a field that visibly fails prove nothing
    let relied_on = |verdict: Verdict| match (verdict, seen.misses) {
        (Verdict::Meets, Some(_)) => Verdict::NotProven,
        (verdict, _) => verdict,
    };
    let verdict = relied_on(ruled(ruling, cold, hot, lower.value, most, allowances));
    let of_site = match rule {
        GoverningRule::ColdestReading => Ruling::NeverMeets(None),
        _ => Ruling::Bounds,
    };
    let sites = seen.sites.iter().map(|&(through, coldest, hottest)| {
        let cold = Bounded::of(coldest, lower.scale, through);
        let hot = Bounded::of(hottest, upper_scale, through);
        relied_on(ruled(of_site, cold, hot, lower.value, most, allowances))
    });
    let sites: Vec<Verdict> = sites.collect();

    let percent_of = |e: f64, limit: f64| 100.0 * (e / limit - 1.0);
    let coldest = Side {
        at: seen.coldest.at,
        estimate: seen.coldest.irradiance,
        bounds: cold,
        headroom_percent: (cold.at_least).map(|e| percent_of(e * down(allowances), lower.value)),
        headroom_of_estimate_percent: percent_of(seen.coldest.irradiance, lower.value),
        limit: lower.clone(),
    };
    let hottest = upper.map(|upper| Side {
        at: seen.hottest.at,
        estimate: seen.hottest.irradiance,
        bounds: hot,
        headroom_percent: (hot.at_most).map(|e| -percent_of(e * up(allowances), upper.value)),
        headroom_of_estimate_percent: -percent_of(seen.hottest.irradiance, upper.value),
        limit: upper,
    });
    let may_fade = |e: f64| (100.0 * (1.0 - lower.value / e)).max(0.0);
    let assured_percent = cold.at_least.map(may_fade);
    let rate = limits.fading_percent_per_100_h.filter(|r| *r > 0.0);
    let fading = Fading {
        assured_percent,
        estimate_percent: may_fade(seen.coldest.irradiance),
        hours: assured_percent
            .zip(rate)
            .map(|(share, rate)| 100.0 * share / rate),
    };
    let dose = terms.effective_s.map(|s| Dose {
        coldest: s * seen.coldest.irradiance,
        mean: s * seen.mean,
        hottest: s * seen.hottest.irradiance,
    });
    let through_substrate = seen.sites.iter().any(|s| s.0 != 1.0);
    Ok(Judged {
        rule,
        family: seen.family,
        governing,
        verdict,
        coldest,
        hottest,
        sites,
        dose,
        fading,
        kept: limits.kept,
        allowances,
        reading_flatters: seen.reading.irradiance >= lower.value
            && seen.coldest.irradiance < lower.value,
        reading: (seen.reading.irradiance, seen.reading.position.clone()),
        through_substrate,
        calibrated: seen.calibration.is_some(),
        less_sure: seen.less_sure.clone(),
        unproven_at_bond: seen.unproven_at_bond,
        misses: seen.misses,
        added: (seen.survey.readings.iter())
            .filter(|r| r.counted().is_some() && r.note.trim() == TO_SETTLE)
            .count(),
        terms,
    })
}

/// What the field is at most at the coldest reading, with 95 % confidence: the reading's scatter, and the
/// calibration error where it counts. It says nothing of the parts when it was read beside them, and nothing
/// at all when the scatter is not known.
fn reading_at_most(seen: &VerdictGrounds<'_>, scale: Scale) -> Option<f64> {
    if seen.reading.lies != Lies::Within {
        return None;
    }
    let calibration = match scale {
        Scale::Relative => 0.0,
        Scale::Absolute => seen.calibration?,
    };
    let u = seen.noise?.hypot(calibration);
    Some(seen.reading.irradiance * seen.through_at_reading * (Z95 * u).exp())
}

impl Judged {
    /// Says irradiances as `show` does, but the limits themselves as `exact` does: a limit has the same digits wherever it
    /// is said.
    pub fn saying<'a>(
        &'a self,
        show: &'a dyn Fn(f64) -> String,
        exact: &'a dyn Fn(f64) -> String,
    ) -> impl Fn(f64) -> String + 'a {
        let upper = self.hottest.as_ref().map(|h| h.limit.value);
        let limits = [Some(self.coldest.limit.value), upper];
        move |e| {
            if limits.contains(&Some(e)) {
                exact(e)
            } else {
                show(e)
            }
        }
    }

    /// What is left of an irradiance when the allowances are used up, and what one may grow to: factors.
    pub fn allowed(&self) -> (f64, f64) {
        allowed(self.allowances)
    }
}

#[cfg(test)]
impl Judged {
    /// One that is not proven on its lower side.
    pub(super) fn for_tests() -> Self {
        let limit = Line {
            value: 80.0,
            written: 80.0,
            scale: Scale::Relative,
        };
        Self {
            terms: Terms {
                least: 80.0,
                least_from: String::new(),
                exposure_s: None,
                effective_s: None,
                safety_factor_percent: 0.0,
                lower: limit.clone(),
                upper: None,
                warnings: Vec::new(),
            },
            rule: GoverningRule::AssuredMinimum,
            family: Family::SourceAware,
            governing: Some(78.0),
            verdict: Verdict::NotProven,
            coldest: Side {
                at: Place::new(0.0, 0.0, 0.0),
                estimate: 82.0,
                bounds: Bounded {
                    at_least: Some(78.0),
                    at_most: Some(86.0),
                },
                limit,
                headroom_percent: Some(-2.5),
                headroom_of_estimate_percent: 2.5,
            },
            hottest: None,
            sites: Vec::new(),
            dose: None,
            fading: Fading {
                assured_percent: Some(0.0),
                estimate_percent: 2.4,
                hours: None,
            },
            kept: Kept::OnlyFades,
            allowances: Allowances::default(),
            reading_flatters: false,
            reading: (85.0, "A1".into()),
            through_substrate: false,
            calibrated: true,
            less_sure: None,
            unproven_at_bond: false,
            misses: None,
            added: 0,
        }
    }
}

#[cfg(test)]
mod tests;
