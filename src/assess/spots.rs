//! Coldest and hottest spot with their bounds, per site and over all.

mod bounds;

use bounds::{Bounds, bounds};

use super::area::{Assessed, assessed_area};
use super::limits;
use super::warnings::{Seen, beyond_under_a_reflector, warnings};
use super::{
    Answer, ColdestReading, Governing, Leaning, Lies, NoAnswer, Request, SiteAnswer, Spot,
    SurveyFit, Uniformity,
};
use crate::field::{Area, Extreme, Fitted, extremum};
use crate::geometry::Place;
use crate::numeric::random::Normals;
use crate::progress::Progress;
use crate::station::{GoverningRule, Station, Survey};

/// Draws of the field. The 5th percentile of so many has a standard error of about 0.06 of the
/// spread it is taken from.
const DRAWS: usize = 1200;
/// Places in one joint draw: what two cores draw in well under a second.
const PLACES: usize = 900;
/// Fixed, so that the same station gives the same figures.
const SEED: u64 = 0x0e7e_f1e1d;
/// Readings this near to an assessed height count as read at it, mm.
const SAME_HEIGHT: f64 = 0.5;
/// One-sided 95 %.
const TAIL: f64 = 0.05;

/// The answer from a field that was fitted before.
///
/// # Errors
/// [`NoAnswer`] with what is missing.
pub fn answer_with(
    fit: &SurveyFit,
    station: &Station,
    request: &Request,
    progress: &Progress,
) -> Result<Answer, NoAnswer> {
    let survey = station
        .surveys
        .get(fit.survey)
        .ok_or_else(|| NoAnswer::Missing("That survey is not there; choose another one".into()))?;
    let request = Request {
        survey: Some(fit.survey),
        ..*request
    };
    let assessed = assessed_area(station, &request)?;
    let calibration = calibration(survey);
    let scale = calibration.map(|u| scale_draws(u, DRAWS));
    let field = &fit.field;

    let mut parts = Vec::with_capacity(assessed.areas.len());
    for (i, area) in assessed.areas.iter().enumerate() {
        progress.check()?;
        progress.set(0.5 * i as f64 / assessed.areas.len() as f64);
        let through = through(station, &assessed, i);
        parts.push(Part::of(
            field,
            area,
            through,
            assessed.areas.len(),
            progress,
        )?);
    }
    let bounds = bounds(field, &parts, scale.as_deref(), progress)?;

    let site_name = |i: usize| assessed.sites.get(i).map(|site| site.name.clone());
    let coldest_part = least(&parts, |part| part.coldest.1);
    let hottest_part = least(&parts, |part| -part.hottest.1);
    let spot =
        |(at, _): (Place, f64), bounds: Bounds, site| spot(field, at, bounds, site, progress);
    let coldest = spot(
        parts[coldest_part].coldest,
        bounds.coldest,
        site_name(coldest_part),
    )?;
    let hottest = spot(
        parts[hottest_part].hottest,
        bounds.hottest,
        site_name(hottest_part),
    )?;

    let mut sites = Vec::with_capacity(assessed.sites.len());
    for (i, site) in assessed.sites.iter().enumerate() {
        let (cold, hot) = bounds.parts[i];
        sites.push(SiteAnswer {
            site: site.name.clone(),
            coldest: spot(parts[i].coldest, cold, Some(site.name.clone()))?,
            mean: parts[i].mean,
            hottest: spot(parts[i].hottest, hot, Some(site.name.clone()))?,
            through: parts[i].through,
        });
    }
    sites.sort_by(|a, b| a.coldest.irradiance.total_cmp(&b.coldest.irradiance));

    let coldest_reading = coldest_reading(fit, survey, &assessed)?;
    let uniformity = uniformity(&parts, coldest.irradiance, hottest.irradiance);
    let leave_one_out = fit
        .rows
        .iter()
        .copied()
        .zip(field.leave_one_out().iter().copied())
        .collect::<Vec<_>>();
    let seen = Seen {
        station,
        survey_index: fit.survey,
        survey,
        fit,
        assessed: &assessed,
        coldest: &coldest,
        hottest: &hottest,
        calibration,
    };
    let mut warnings = warnings(&seen);
    let bond = match bounds.bond {
        None => (coldest.clone(), hottest.clone()),
        Some((cold, hot)) => {
            let cold_part = least(&parts, |part| part.through * part.coldest.1);
            let hot_part = least(&parts, |part| -part.through * part.hottest.1);
            let behind = |bounds, part: usize, (at, e)| -> Result<Spot, NoAnswer> {
                let there = spot((at, e), bounds, site_name(part))?;
                let through = parts[part].through;
                Ok(Spot {
                    irradiance: through * there.irradiance,
                    uncertainty: there.uncertainty.map(|u| through * u),
                    ..there
                })
            };
            (
                behind(cold, cold_part, parts[cold_part].coldest)?,
                behind(hot, hot_part, parts[hot_part].hottest)?,
            )
        }
    };
    let judged = station.limits.is_some().then(|| {
        limits::judge(&limits::Seen {
            station,
            survey,
            coldest: &bond.0,
            hottest: &bond.1,
            reading: &coldest_reading,
            mean: mean_at_bond(&parts),
            noise: field.noise(),
            calibration,
            sites: sites
                .iter()
                .map(|s| (s.through, &s.coldest, &s.hottest))
                .collect(),
            through_at_reading: through_at(&parts, &assessed, coldest_reading.at),
            less_sure: beyond_under_a_reflector(&seen),
        })
    });
    let governing = governing(
        station.settings.rule,
        &coldest,
        &coldest_reading,
        judged.as_ref().and_then(|j| j.as_ref().ok()),
    );
    if let Some(Ok(judged)) = &judged {
        warnings.extend(judged.terms.warnings.iter().cloned());
    }
    Ok(Answer {
        judged,
        survey: fit.survey,
        height: assessed.height,
        family: field.family().into(),
        scores: field.scores().to_vec(),
        leaning: Leaning::of(fit, &coldest),
        coldest,
        hottest,
        coldest_reading,
        governing,
        uniformity,
        sites,
        noise: field.noise(),
        calibration,
        leave_one_out,
        warnings,
    })
}

/// Standard uncertainty of the calibration, relative.
fn calibration(survey: &Survey) -> Option<f64> {
    let radiometer = survey.radiometer.as_ref()?;
    let expanded = radiometer.expanded_uncertainty_percent?;
    let u = expanded / 100.0 / radiometer.coverage_factor;
    (u.is_finite() && u >= 0.0).then_some(u)
}

/// Factors that the radiometer's scale may be off by: one for each drawn field, common to all places
/// of it.
fn scale_draws(relative: f64, n: usize) -> Vec<f64> {
    let mut normals = Normals::new(SEED, u64::MAX);
    (0..n).map(|_| 1.0 + relative * normals.draw()).collect()
}

/// One area of the assessed area: what the field is there.
struct Part {
    /// How much of the light reaches the bond, 0 to 1.
    through: f64,
    /// Where it is coldest and how much, mW/cm².
    coldest: (Place, f64),
    /// Where it is hottest and how much.
    hottest: (Place, f64),
    /// Mean over the outline, mW/cm².
    mean: f64,
    /// mm².
    area: f64,
    /// Places that stand for the part in a joint draw; both spots are among them.
    places: Vec<Place>,
}

impl Part {
    fn of(
        field: &Fitted,
        area: &Area,
        through: f64,
        parts: usize,
        progress: &Progress,
    ) -> Result<Self, NoAnswer> {
        let only = [area.clone()];
        let extreme = |which| -> Result<(Place, f64), NoAnswer> {
            let (_, at) = extremum(field, &only, which, progress)?.ok_or_else(|| {
                NoAnswer::Missing("The assessed area is empty; check the sites".into())
            })?;
            let there = field.irradiance(&[at], progress)?;
            Ok((at, there[0]))
        };
        let coldest = extreme(Extreme::Coldest)?;
        let hottest = extreme(Extreme::Hottest)?;

        // As fine as the number of places allows: the field is smooth between them, and the refined
        // spots are added.
        let share = (PLACES / parts).saturating_sub(2).max(4) as f64;
        let mut step = (area.outline.area() / share).sqrt();
        let mut lattice = area.outline.lattice(step);
        while lattice.len() as f64 > share && lattice.len() > 9 {
            step *= 1.15;
            lattice = area.outline.lattice(step);
        }
        let mut places: Vec<Place> = vec![coldest.0, hottest.0];
        places.extend(
            lattice
                .into_iter()
                .map(|p| p.at_height(area.height))
                .filter(|p| *p != coldest.0 && *p != hottest.0),
        );

        let cells: Vec<Place> = area
            .outline
            .cells(step.min(area.outline.area().sqrt() / 6.0))
            .into_iter()
            .map(|p| p.at_height(area.height))
            .collect();
        let values = field.irradiance(&cells, progress)?;
        let mean = values.iter().sum::<f64>() / values.len().max(1) as f64;
        Ok(Self {
            through,
            coldest,
            hottest,
            mean: if values.is_empty() { coldest.1 } else { mean },
            area: area.outline.area(),
            places,
        })
    }
}

/// How much of the light over an area reaches the bond there.
fn through(station: &Station, assessed: &Assessed, area: usize) -> f64 {
    let (Some(limits), Some(site)) = (station.limits.as_deref(), assessed.sites.get(area)) else {
        return 1.0;
    };
    let group = station.sites.get(site.group).map_or("", |g| &g.name);
    limits.through(&site.name, group)
}

/// How much of the light reaches the bond of the part at a place; 1 where there is none.
fn through_at(parts: &[Part], assessed: &Assessed, at: Place) -> f64 {
    let here = |area: &Area| {
        (area.height - at.height).abs() <= SAME_HEIGHT && area.outline.contains(at.point())
    };
    let area = assessed.areas.iter().position(here);
    area.and_then(|i| parts.get(i)).map_or(1.0, |p| p.through)
}

/// Mean of what reaches the bonds, mW/cm².
fn mean_at_bond(parts: &[Part]) -> f64 {
    let area: f64 = parts.iter().map(|p| p.area).sum();
    parts
        .iter()
        .map(|p| p.through * p.mean * p.area)
        .sum::<f64>()
        / area
}

fn spot(
    field: &Fitted,
    at: Place,
    bounds: Bounds,
    site: Option<String>,
    progress: &Progress,
) -> Result<Spot, NoAnswer> {
    let there = field.at(&[at], progress)?;
    let there = there
        .first()
        .ok_or_else(|| NoAnswer::Missing("The field has no value at its extreme".into()))?;
    Ok(Spot {
        at,
        irradiance: there.irradiance,
        uncertainty: there.uncertainty,
        at_least: bounds.at_least,
        at_most: bounds.at_most,
        at_least_absolute: bounds.at_least_absolute,
        at_most_absolute: bounds.at_most_absolute,
        extrapolated: there.extrapolated,
        site,
    })
}

/// Index of the part with the least key.
fn least(parts: &[Part], key: impl Fn(&Part) -> f64) -> usize {
    (0..parts.len())
        .min_by(|&a, &b| key(&parts[a]).total_cmp(&key(&parts[b])))
        .unwrap_or(0)
}

fn coldest_reading(
    fit: &SurveyFit,
    survey: &Survey,
    assessed: &Assessed,
) -> Result<ColdestReading, NoAnswer> {
    let near = |place| lies(assessed, place) != Lies::AtAnotherHeight;
    let any_near = fit
        .rows
        .iter()
        .any(|&row| near(survey.readings[row].place()));
    fit.rows
        .iter()
        .map(|&row| (row, &survey.readings[row]))
        .filter(|(_, r)| !any_near || near(r.place()))
        .filter_map(|(row, r)| Some((row, r, r.counted()?)))
        .min_by(|a, b| a.2.total_cmp(&b.2))
        .map(|(row, r, irradiance)| ColdestReading {
            row,
            position: if r.position.is_empty() {
                format!("{}, {}", r.x, r.y)
            } else {
                r.position.clone()
            },
            at: r.place(),
            irradiance,
            lies: lies(assessed, r.place()),
        })
        .ok_or_else(|| NoAnswer::Missing("No reading counts; enter readings".into()))
}

fn lies(assessed: &Assessed, place: Place) -> Lies {
    let mut here = (assessed.areas.iter())
        .filter(|area| (area.height - place.height).abs() <= SAME_HEIGHT)
        .peekable();
    if here.peek().is_none() {
        Lies::AtAnotherHeight
    } else if here.any(|area| area.outline.contains(place.point())) {
        Lies::Within
    } else {
        Lies::Beside
    }
}

/// The one figure that is called governing, wherever it is shown.
fn governing(
    rule: GoverningRule,
    coldest: &Spot,
    reading: &ColdestReading,
    judged: Option<&limits::Judged>,
) -> Governing {
    let is_bound = rule == GoverningRule::AssuredMinimum;
    let scale = judged.map_or(limits::Scale::Relative, |j| j.coldest.limit.scale);
    let irradiance = match (judged, rule) {
        (Some(judged), _) => judged.governing,
        (None, GoverningRule::AssuredMinimum) => coldest.assured(scale),
        (None, GoverningRule::LowerOfReadingAndSpot) => {
            Some(coldest.irradiance.min(reading.irradiance))
        }
        (None, GoverningRule::ColdestReading) => Some(reading.irradiance),
    };
    Governing {
        rule,
        irradiance,
        scale: is_bound.then_some(scale),
        can_prove: irradiance.is_some() && rule != GoverningRule::ColdestReading,
    }
}

fn uniformity(parts: &[Part], least: f64, greatest: f64) -> Uniformity {
    let area: f64 = parts.iter().map(|p| p.area).sum();
    let mean = parts.iter().map(|p| p.mean * p.area).sum::<f64>() / area;
    Uniformity::of(mean, least, greatest)
}

impl Uniformity {
    /// The figures from mean, least and greatest irradiance, mW/cm².
    pub fn of(mean: f64, least: f64, greatest: f64) -> Self {
        Self {
            mean,
            min_over_mean: least / mean,
            min_over_max: least / greatest,
            nonuniformity_percent: 100.0 * (greatest - least) / (greatest + least),
        }
    }
}
