//! One exposure in time: how long it would last at full irradiance.
//!
//! The effective time is the dose over the irradiance that the radiometer calls the exposure's, with a
//! standard uncertainty put together as JCGM 100 does.

use super::words;
use crate::numeric::combine::{Component, combined};
use crate::numeric::quantile::median;
use crate::station::Exposure;
use crate::station::trials::ExposureModel;

/// An exposure, summed up.
#[derive(Debug, Clone, PartialEq)]
pub struct Effective {
    /// Dose over irradiance, s.
    pub time_s: f64,
    /// Its standard uncertainty (k = 1), s.
    pub uncertainty_s: f64,
    /// What the uncertainty is made of: a name and its part, s.
    pub budget: Vec<(&'static str, f64)>,
    /// The irradiance that was taken for full, in the unit of the points; 1 for a model.
    pub reference: f64,
    /// What to think of, each a sentence.
    pub warnings: Vec<String>,
}

impl Effective {
    /// Dose in mJ/cm² where the radiometer reads so many mW/cm², and the part of its standard uncertainty that
    /// comes from the time.
    pub fn dose(&self, irradiance: f64) -> (f64, f64) {
        (irradiance * self.time_s, irradiance * self.uncertainty_s)
    }

    fn new(time_s: f64, reference: f64, budget: Vec<(&'static str, f64)>) -> Self {
        let components: Vec<Component> = (budget.iter()).map(|b| Component::stated(b.1)).collect();
        Self {
            time_s,
            uncertainty_s: combined(&components).uncertainty,
            budget: budget.into_iter().filter(|b| b.1 > 0.0).collect(),
            reference,
            warnings: Vec::new(),
        }
    }
}

/// Parts by which the dose may differ from irradiance times set time before it is said.
const WORTH_SAYING: f64 = 0.02;

/// The effective time of an exposure.
///
/// # Errors
/// Why there is none and what to do, as a sentence.
pub fn effective(exposure: &Exposure) -> Result<Effective, String> {
    exposure
        .sound()
        .map_err(|(_, (what, mend))| format!("In the exposure {what}; {mend}"))?;
    match exposure {
        Exposure::Model(model) => Ok(modelled(model)),
        Exposure::Measured { points, reference } => measured(points, *reference),
    }
}

/// The irradiance at a time after the command to open, over full irradiance; ripple left out, which has
/// no mean.
pub fn course(model: &ExposureModel, t: f64) -> f64 {
    let shutter = if t < model.opening {
        t / model.opening
    } else if t <= model.time {
        1.0
    } else if t < model.time + model.closing {
        1.0 - (t - model.time) / model.closing
    } else {
        0.0
    };
    let lamp = if model.switch_on > 0.0 {
        1.0 - (-t / model.switch_on).exp()
    } else {
        1.0
    };
    shutter * lamp * (1.0 - 0.01 * model.droop_percent * (t / model.time).min(1.0))
}

/// By Simpson's rule between the kinks, and in steps that follow the lamp as it comes up.
fn integral(model: &ExposureModel) -> f64 {
    const PIECES: usize = 64;
    let end = model.time + model.closing;
    let lamp = [0.3, 1.0, 3.0, 8.0, 20.0].map(|n| n * model.switch_on);
    let mut kinks: Vec<f64> = ([0.0, model.opening, model.time, end].into_iter())
        .chain(lamp)
        .filter(|t| (0.0..=end).contains(t))
        .collect();
    kinks.sort_by(f64::total_cmp);
    // just inside each piece, so that a jump at its end belongs to one side
    kinks
        .windows(2)
        .filter(|w| w[1] > w[0])
        .map(|w| {
            let h = (w[1] - w[0]) / PIECES as f64;
            let at = |i: usize| {
                let t = w[0] + h * i as f64;
                let inside = 1e-12 * (w[1] - w[0]);
                course(model, t.clamp(w[0] + inside, w[1] - inside))
            };
            let inner: f64 = (1..PIECES)
                .map(|i| if i % 2 == 1 { 4.0 } else { 2.0 } * at(i))
                .sum();
            h / 3.0 * (at(0) + inner + at(PIECES))
        })
        .sum()
}

fn modelled(model: &ExposureModel) -> Effective {
    let time = integral(model);
    // what one standard uncertainty more or less of an input does (JCGM 100, 5.1.3, note 2)
    let swing = |change: &dyn Fn(&mut ExposureModel, f64), u: f64| {
        let at = |by: f64| {
            let mut other = model.clone();
            change(&mut other, by);
            integral(&other)
        };
        0.5 * (at(u) - at(-u)).abs()
    };
    let amplitude = 0.01 * model.ripple_percent;
    let ripple = if amplitude > 0.0 {
        // at any phase: the integral of a sine over a time that is no multiple of its period
        let most = amplitude / (std::f64::consts::PI * model.ripple_hz);
        most.min(amplitude * model.time) / std::f64::consts::SQRT_2
    } else {
        0.0
    };
    // without a shutter its travel is not uncertain
    let travel = |time: f64| {
        if time > 0.0 {
            model.travel_uncertainty
        } else {
            0.0
        }
    };
    let budget = vec![
        (
            "exposure time",
            swing(
                &|m, by| m.time = (m.time + by).max(m.opening.max(1e-9)),
                model.time_uncertainty,
            ),
        ),
        (
            "opening of the shutter",
            swing(
                &|m, by| m.opening = (m.opening + by).clamp(0.0, m.time),
                travel(model.opening),
            ),
        ),
        (
            "closing of the shutter",
            swing(
                &|m, by| m.closing = (m.closing + by).max(0.0),
                travel(model.closing),
            ),
        ),
        ("ripple at an unknown phase", ripple),
    ];
    let mut all = Effective::new(time, 1.0, budget);
    let short = 1.0 - time / model.time;
    if short.abs() > WORTH_SAYING {
        all.warnings.push(format!(
            "The dose is {:.1} % {} than irradiance times the set time of {} s; use the effective time of {} s",
            100.0 * short.abs(),
            if short > 0.0 { "less" } else { "more" },
            words::number(model.time),
            words::number(time)
        ));
    }
    all
}

fn measured(points: &[(f64, f64)], reference: Option<f64>) -> Result<Effective, String> {
    if points.len() < 4 {
        return Err("The course of the exposure needs four points or more; read more".into());
    }
    let highest = points.iter().map(|p| p.1).fold(f64::NEG_INFINITY, f64::max);
    if highest <= 0.0 {
        return Err("The course of the exposure has no irradiance above zero; check the column that it was read from".into());
    }
    if let Some(point) = points.iter().find(|p| p.1 < -0.02 * highest) {
        return Err(format!(
            "The irradiance at {} s is negative, {}; take the dark reading off first",
            words::number(point.0),
            words::number(point.1)
        ));
    }
    let bright: Vec<f64> = (points.iter())
        .map(|p| p.1)
        .filter(|&e| e > 0.5 * highest)
        .collect();
    let reference = match reference {
        Some(reference) => reference,
        None => median(&bright).unwrap_or(highest),
    };
    let dose = trapezoids(points.iter().copied());
    let mut all = Effective::new(
        dose / reference,
        reference,
        vec![
            (
                "noise of the points",
                noise(points, 0.5 * highest) / reference,
            ),
            ("points too far apart", sampling(points, dose) / reference),
        ],
    );
    let sampled = all.budget.iter().find(|b| b.0 == "points too far apart");
    if sampled.is_some_and(|b| b.1 > WORTH_SAYING * all.time_s) {
        all.warnings.push(
            "The points lie too far apart for the rise and the fall; read the course more often"
                .into(),
        );
    }
    let ends = [points[0].1, points[points.len() - 1].1];
    if ends.iter().any(|e| e.abs() > 0.05 * highest) {
        all.warnings.push("The course does not begin and end in the dark; what lies outside the points is missing from the dose".into());
    }
    Ok(all)
}

fn trapezoids(points: impl Iterator<Item = (f64, f64)> + Clone) -> f64 {
    let later = points.clone().skip(1);
    points
        .zip(later)
        .map(|(a, b)| 0.5 * (a.1 + b.1) * (b.0 - a.0))
        .sum()
}

/// Standard uncertainty of the dose from noise of single points, told by how neighbours on the bright part
/// differ beside their slope (second differences, variance 6 σ²).
fn noise(points: &[(f64, f64)], bright: f64) -> f64 {
    let seconds: Vec<f64> = (points.windows(3))
        .filter(|w| w.iter().all(|p| p.1 > bright))
        .map(|w| {
            let part = (w[1].0 - w[0].0) / (w[2].0 - w[0].0);
            let between = w[0].1 + part * (w[2].1 - w[0].1);
            let weight = 1.0 + part * part + (1.0 - part) * (1.0 - part);
            (w[1].1 - between).powi(2) / weight
        })
        .collect();
    if seconds.is_empty() {
        return 0.0;
    }
    let variance = seconds.iter().sum::<f64>() / seconds.len() as f64;
    let weights: f64 = (0..points.len())
        .map(|i| {
            let before = points[i.saturating_sub(1)].0;
            let after = points[(i + 1).min(points.len() - 1)].0;
            (0.5 * (after - before)).powi(2)
        })
        .sum();
    (variance * weights).sqrt()
}

/// What every second point alone would say differently, over 3 (Richardson): the error of the trapezoids. The
/// even or the odd ones, whichever say it more differently.
fn sampling(points: &[(f64, f64)], dose: f64) -> f64 {
    let last = points.len() - 1;
    let of = |parity: usize| {
        let coarse = (points.iter().enumerate())
            .filter(|(i, _)| i % 2 == parity || *i == 0 || *i == last)
            .map(|(_, p)| *p);
        (trapezoids(coarse) - dose).abs() / 3.0
    };
    of(0).max(of(1))
}
