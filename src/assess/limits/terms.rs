//! Which limits hold: what the station says, made into a lower and an upper limit.

use super::pair::cancels;
use crate::station::limits::{Figure, Least, Limits, Origin};
use crate::station::{Exposure, Radiometer, Station, Survey};
use crate::trials;
use crate::units::Units;

/// Which bound of the field is held against a limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scale {
    /// The relative one: the limit was found with the pair that judges, and its calibration error cancels.
    Relative,
    /// The absolute one: the calibration error of the radiometer counts in full.
    Absolute,
}

impl Scale {
    fn of(scale_error_cancels: bool) -> Self {
        if scale_error_cancels {
            Self::Relative
        } else {
            Self::Absolute
        }
    }
}

/// A limit as it holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// mW/cm², unrounded: what the field is held against.
    pub value: f64,
    /// As it is written: a lower limit rounded up, an upper one rounded down.
    pub written: f64,
    /// Which bound is held against it.
    pub scale: Scale,
}

/// The limits that hold.
#[derive(Debug, Clone, PartialEq)]
pub struct Terms {
    /// Least irradiance for full cure, mW/cm².
    pub least: f64,
    /// Where it comes from, in words.
    pub least_from: String,
    /// How long parts are exposed, s.
    pub exposure_s: Option<f64>,
    /// How long they are at full irradiance in effect, s: what a dose is made with.
    pub effective_s: Option<f64>,
    /// Percent on top of the least irradiance.
    pub safety_factor_percent: f64,
    /// Lower limit.
    pub lower: Line,
    /// Upper limit, where one is held.
    pub upper: Option<Line>,
    /// What to be careful about: plain sentences.
    pub warnings: Vec<String>,
}

/// Significant digits of a limit as it is written: 112.5 mW/cm² is written 113 (common practice, no
/// source).
const DIGITS: i32 = 3;

/// Rounded up to three significant digits: a lower limit as it is written. A value that has no more
/// digits stays as it is.
pub fn rounded_up(value: f64) -> f64 {
    written(value, f64::ceil, -1.0)
}

/// Rounded down to three significant digits: an upper limit as it is written.
pub fn rounded_down(value: f64) -> f64 {
    written(value, f64::floor, 1.0)
}

fn written(value: f64, round: fn(f64) -> f64, slack: f64) -> f64 {
    if !value.is_finite() || value <= 0.0 {
        return value;
    }
    let decimals = DIGITS - 1 - value.log10().floor() as i32;
    let step = 10f64.powi(decimals.abs());
    let scaled = if decimals >= 0 {
        value * step
    } else {
        value / step
    };
    // what floating point adds to a whole number (1.1 * 100) is not a digit
    let whole = round(scaled + slack * 1e-9 * scaled);
    if decimals >= 0 {
        whole / step
    } else {
        whole * step
    }
}

/// All that limits follow from, beside the survey that is judged by them.
#[derive(Debug, Clone, PartialEq)]
pub struct ToLimit {
    /// As they are typed.
    pub limits: Limits,
    /// How one exposure runs in time.
    pub exposure: Option<Exposure>,
    /// The slowest other step of the line, s.
    pub slowest_step: Option<f64>,
    /// What the cure trials tell, where the least irradiance comes from them, and the pair that judged them.
    pub trials: Option<(Result<trials::Least, String>, Option<Radiometer>)>,
    /// The station's radiometers that typed figures name: of those its list says the serials and the band.
    pub named: Vec<Radiometer>,
}

impl ToLimit {
    /// Of a station with limits; `least` is asked what the cure trials tell where they count.
    pub fn of(
        station: &Station,
        least: impl FnOnce() -> Result<trials::Least, String>,
    ) -> Option<Self> {
        let limits = Limits::clone(station.limits.as_deref()?);
        let of_trials = station.trials.as_ref();
        let radiometer = || of_trials.and_then(|t| t.radiometer.clone());
        let counts = limits.least == Least::FromTrials;
        let typed = match &limits.least {
            Least::Typed(figure) => Some(figure),
            Least::FromTrials => None,
        };
        let figures = typed
            .into_iter()
            .chain(limits.upper.as_ref().map(|u| &u.figure));
        let names: Vec<&str> = figures.map(|f| f.pair.trim()).collect();
        let listed = station.radiometers.iter();
        Some(Self {
            named: (listed.filter(|r| names.contains(&r.name.trim())).cloned()).collect(),
            trials: counts.then(|| (least(), radiometer())),
            limits,
            exposure: station.exposure.clone(),
            slowest_step: of_trials.and_then(|t| t.slowest_step),
        })
    }
}

/// What the limits of a station follow from, where some are set.
pub fn limits_of(station: &Station, units: Units) -> Option<ToLimit> {
    ToLimit::of(station, || trials::least(station, units.irradiance))
}

/// The limits that hold for a station judged by a survey; `None`: no survey yet.
///
/// # Errors
/// A sentence of why there is no lower limit, and what to do.
pub fn terms(station: &Station, survey: Option<&Survey>) -> Result<Terms, String> {
    let units = Units::default();
    limits_of(station, units)
        .ok_or("No limits are set; set them in the step Limits")?
        .terms(survey, units)
}

impl ToLimit {
    /// The limits that hold, judged by a survey; `None`: no survey yet. Its sentences are said in the units.
    ///
    /// # Errors
    /// A sentence of why there is no lower limit, and what to do.
    pub fn terms(&self, survey: Option<&Survey>, units: Units) -> Result<Terms, String> {
        let limits = &self.limits;
        let mut warnings = Vec::new();
        let found = self.least(&mut warnings)?;
        let lower = found.irradiance * (1.0 + limits.safety_factor_percent / 100.0);
        let listed = |figure: &Figure| {
            let name = figure.pair.trim();
            self.named.iter().find(|r| r.name.trim() == name)
        };
        let of_trials = self.trials.as_ref().and_then(|(_, judge)| judge.as_ref());
        let with = of_trials.or_else(|| listed(&found.figure));
        let scale = Scale::of(cancels(
            (&found.figure, with),
            survey,
            "least irradiance",
            &mut warnings,
        ));
        let mut upper = None;
        if let Some(most) = &limits.upper {
            match most.figure.irradiance {
            Some(value) => {
                let with = listed(&most.figure);
                let held = cancels((&most.figure, with), survey, "upper limit", &mut warnings);
                let scale = Scale::of(held);
                upper = Some(Line {
                    value,
                    written: rounded_down(value),
                    scale,
                });
            }
            None => warnings.push(
                "The upper limit has no irradiance and is not held; type it or remove the upper limit"
                    .to_owned(),
            ),
        }
            if let (Some(survey), false) = (survey, most.drive.trim().is_empty()) {
                let drive = survey.state.drive.trim();
                if !drive.is_empty() && drive != most.drive.trim() {
                    warnings.push(format!(
                    "The upper limit holds for the drive '{}', and the survey was read at '{drive}'; heat and ultraviolet change differently with drive, find it again",
                    most.drive.trim()
                ));
                }
            }
        }
        if let Some(upper) = upper.as_ref().filter(|u| u.value <= lower) {
            warnings.push(format!(
            "The upper limit {} is not above the lower limit {}: nothing can lie between them; look at both figures and the safety factor",
                units.irradiance.show_with_unit(upper.value, None),
                units.irradiance.show_with_unit(lower, None)
        ));
        }
        if limits.safety_factor_percent == 0.0 {
            warnings.push(
                "The safety factor is 0 %: the lower limit is the least irradiance itself"
                    .to_owned(),
            );
        }
        let exposure_s = limits.exposure_s.or(found.exposure_s);
        if let (Some(typed), Some(of_trials)) = (limits.exposure_s, found.exposure_s)
            && (typed / of_trials - 1.0).abs() > 1e-3
        {
            warnings.push(format!(
            "The cure trials found the least irradiance at {of_trials} s, and the limits say {typed} s of exposure; equal dose need not mean equal cure, expose as in the trials"
        ));
        }
        if let (Some(typed), Some(step)) = (limits.exposure_s, self.slowest_step)
        && typed > step
        // the trials say it themselves of their own exposure
        && found.exposure_s.is_none_or(|s| s <= step)
        {
            warnings.push(format!(
            "The exposure of {typed} s takes longer than the slowest other step of the line, {step} s: curing becomes the bottleneck"
        ));
        }
        let effective_s = effective(self.exposure.as_ref(), exposure_s, &mut warnings);
        warnings.extend(record(limits));
        Ok(Terms {
            least: found.irradiance,
            least_from: found.from,
            exposure_s,
            effective_s,
            safety_factor_percent: limits.safety_factor_percent,
            lower: Line {
                value: lower,
                written: rounded_up(lower),
                scale,
            },
            upper,
            warnings,
        })
    }

    fn least(&self, warnings: &mut Vec<String>) -> Result<Found, String> {
        match (&self.limits.least, &self.trials) {
            (Least::Typed(figure), _) => {
                let irradiance = figure.irradiance.ok_or(
                "No least irradiance for full cure is given; type it with its origin in the step Limits, or take it from cure trials",
            )?;
                Ok(Found {
                    irradiance,
                    figure: figure.clone(),
                    exposure_s: None,
                    from: origin(figure),
                })
            }
            (Least::FromTrials, None) => Err(trials::NO_TRIALS.to_owned()),
            (Least::FromTrials, Some((least, judge))) => {
                let least = least.as_ref().map_err(String::clone)?;
                let judge = judge.as_ref();
                warnings.extend(least.warnings.iter().cloned());
                Ok(Found {
                    irradiance: least.irradiance,
                    figure: Figure {
                        irradiance: Some(least.irradiance),
                        // a pair that nobody named can't be the one that judges
                        origin: judge.map_or(Origin::OtherPair, |_| Origin::SamePair),
                        pair: judge.map_or_else(String::new, |r| r.name.clone()),
                        calibrated_on: judge.and_then(|r| r.calibrated_on),
                        note: String::new(),
                    },
                    exposure_s: Some(least.exposure_s),
                    from: format!(
                        "from cure trials, {} % upper bound; {}{}",
                        100.0 * least.confidence,
                        least.method,
                        (least.further.as_ref()).map_or_else(String::new, |f| format!("; {f}"))
                    ),
                })
            }
        }
    }
}

/// A least irradiance with where it comes from.
struct Found {
    irradiance: f64,
    figure: Figure,
    exposure_s: Option<f64>,
    from: String,
}

/// How long parts are at full irradiance in effect, s.
fn effective(
    course: Option<&Exposure>,
    exposure_s: Option<f64>,
    warnings: &mut Vec<String>,
) -> Option<f64> {
    let Some(course) = course else {
        return exposure_s;
    };
    match trials::exposure::effective(course) {
        Ok(effective) => {
            warnings.extend(effective.warnings);
            if let (Exposure::Model(model), Some(set)) = (course, exposure_s)
                && (model.time / set - 1.0).abs() > 1e-3
            {
                warnings.push(format!(
                    "The course of the exposure is one of {} s, and the limits say {set} s; describe the one in use",
                    model.time
                ));
            }
            Some(effective.time_s)
        }
        Err(why) => {
            warnings.push(why);
            exposure_s
        }
    }
}

/// Where a typed figure comes from, in words.
fn origin(figure: &Figure) -> String {
    let with = |what: &str| match figure.pair.trim() {
        "" => what.to_owned(),
        pair => format!("{what} ({pair})"),
    };
    match figure.origin {
        Origin::SamePair => with("typed, found with the same radiometer pair"),
        Origin::OtherPair => with("typed, found with another radiometer pair or calibration"),
        Origin::DataSheet => "typed, from a data sheet".to_owned(),
    }
}

/// What was frozen and changed since.
fn record(limits: &Limits) -> Vec<String> {
    let frozen_after = limits.frozen.filter(|f| f.readings > 0).map(|f| {
        format!(
            "Rule and limits were frozen when {} readings had been entered already",
            f.readings
        )
    });
    let changed = (!limits.record.is_empty()).then(|| {
        let on = |day: Option<jiff::civil::Date>| {
            day.map_or_else(String::new, |day| format!(" on {day}"))
        };
        let all: Vec<String> = limits
            .record
            .iter()
            .map(|c| format!("{}{}", c.what, on(c.on)))
            .collect();
        format!(
            "Changed after rule and limits were frozen: {}",
            all.join("; ")
        )
    });
    frozen_after.into_iter().chain(changed).collect()
}

#[cfg(test)]
mod tests;
