//! The answer from a field and its spots: named, held against the limits, with what to be careful about. Soon made, and
//! made anew with every limit that is typed.

use std::sync::Arc;

use super::area::Assessed;
use super::limits::{self, ToLimit};
use super::spots::{PartSpots, Spots, ToSearch};
use super::warnings::{WarningGrounds, beyond_all_positions, warnings};
use super::{
    Answer, ColdestReading, Governing, Lies, NoAnswer, OfBond, OfDetector, SiteAnswer, Spot,
    SurveyFit, Uniformity,
};
use crate::field::Area;
use crate::geometry::Place;
use crate::station::{Finding, GoverningRule, Shared, Station, Survey};
use crate::units::Units;

/// Readings this near to an assessed height count as read at it, mm.
const SAME_HEIGHT: f64 = 0.5;

/// All that an answer is made from, beside the field and its spots.
#[derive(Debug, Clone, PartialEq)]
pub struct ToJudge {
    /// The survey that the field was made from.
    pub survey: Shared<Survey>,
    /// Where the spots were looked for.
    pub assessed: Assessed,
    /// Standard uncertainty of the radiometer's calibration, relative, where it is known.
    pub calibration: Option<f64>,
    /// How the governing minimum is picked.
    pub rule: GoverningRule,
    /// What the limits follow from; `None`: none are set.
    pub limits: Option<ToLimit>,
    /// What is odd about the station.
    pub findings: Arc<Vec<Finding>>,
    /// In which its sentences are said.
    pub units: Units,
}

impl ToJudge {
    /// Of a survey of a station; `limits` where they are set.
    pub fn of(
        station: &Station,
        survey: &Shared<Survey>,
        assessed: &Assessed,
        search: &ToSearch,
        limits: Option<ToLimit>,
        findings: Arc<Vec<Finding>>,
        units: Units,
    ) -> Self {
        Self {
            survey: survey.clone(),
            assessed: assessed.clone(),
            calibration: search.calibration,
            rule: station.settings.rule,
            limits,
            findings,
            units,
        }
    }

    /// The answer from a fit and its spots.
    ///
    /// # Errors
    /// [`NoAnswer::Missing`] when no reading counts.
    pub fn answer(&self, fit: &SurveyFit, spots: &Spots) -> Result<Answer, NoAnswer> {
        let (survey, assessed, field) = (&*self.survey, &self.assessed, &fit.field);
        let named = |(part, spot): &(usize, Spot)| Spot {
            site: assessed.sites.get(*part).map(|site| site.name.clone()),
            ..spot.clone()
        };
        let (coldest, hottest) = (named(&spots.coldest), named(&spots.hottest));
        let of_sites = assessed.sites.iter().zip(&spots.parts).enumerate();
        let mut sites: Vec<SiteAnswer> = of_sites
            .map(|(i, (site, part))| SiteAnswer {
                site: site.name.clone(),
                coldest: named(&(i, part.coldest.clone())),
                mean: part.mean,
                hottest: named(&(i, part.hottest.clone())),
                through: part.through,
                open: part.open,
            })
            .collect();
        sites.sort_by(|a, b| a.coldest.irradiance.total_cmp(&b.coldest.irradiance));
        let coldest_reading = coldest_reading(fit, survey, assessed)?;
        let seen = WarningGrounds {
            units: self.units,
            rule: self.rule,
            survey_index: fit.survey,
            survey,
            fit,
            assessed,
            findings: &self.findings,
            coldest: &coldest,
            hottest: &hottest,
            beyond: spots.beyond,
            bond: spots.bond.as_ref(),
            thrown_back: spots.thrown_back,
            calibration: self.calibration,
        };
        let mut warnings = warnings(&seen);
        let judged = self.limits.as_ref().map(|limits| {
            let [cold, hot] = &spots.at_bond;
            limits::judge(&limits::VerdictGrounds {
                limits,
                units: self.units,
                rule: self.rule,
                family: field.family().into(),
                survey,
                coldest: &named(cold),
                hottest: &named(hot),
                reading: &coldest_reading,
                mean: mean_at_bond(&spots.parts),
                noise: field.noise(),
                calibration: self.calibration,
                sites: sites
                    .iter()
                    .map(|s| (s.through, &s.coldest, &s.hottest))
                    .collect(),
                through_at_reading: through_at(&spots.parts, assessed, coldest_reading.at),
                misses: field.misses(),
                less_sure: beyond_all_positions(&seen),
                unproven_at_bond: seen.bond.is_some_and(OfBond::is_unproven),
            })
        });
        let governing = governing(
            self.rule,
            &coldest,
            &coldest_reading,
            judged.as_ref().and_then(|j| j.as_ref().ok()),
        );
        if let Some(Ok(judged)) = &judged {
            warnings.extend(judged.terms.warnings.iter().cloned());
        }
        let detector = OfDetector::of(field, survey.radiometer.as_ref(), &coldest, &sites);
        let say = |mm| self.units.length.show_with_unit(mm);
        warnings.extend(detector.warnings(field.family().into(), &say));
        Ok(Answer {
            detector,
            judged,
            survey: fit.survey,
            height: assessed.height,
            family: field.family().into(),
            scores: field.scores().to_vec(),
            bond: spots.bond.clone(),
            leaning: spots.leaning,
            uniformity: uniformity(&spots.parts, coldest.irradiance, hottest.irradiance),
            coldest,
            hottest,
            coldest_reading,
            governing,
            sites,
            noise: field.noise(),
            drift: field.drift().cloned(),
            calibration: self.calibration,
            counted: fit.rows.len(),
            warnings,
        })
    }
}

/// How much of the light reaches the bond of the part at a place; 1 where there is none.
fn through_at(parts: &[PartSpots], assessed: &Assessed, at: Place) -> f64 {
    let here = |area: &Area| {
        (area.height - at.height).abs() <= SAME_HEIGHT && area.outline.contains(at.point())
    };
    let area = assessed.areas.iter().position(here);
    area.and_then(|i| parts.get(i)).map_or(1.0, |p| p.through)
}

/// Mean of what reaches the bonds, mW/cm².
fn mean_at_bond(parts: &[PartSpots]) -> f64 {
    let area: f64 = parts.iter().map(|p| p.area).sum();
    parts
        .iter()
        .map(|p| p.through * p.mean * p.area)
        .sum::<f64>()
        / area
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

fn uniformity(parts: &[PartSpots], least: f64, greatest: f64) -> Uniformity {
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
