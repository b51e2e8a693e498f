//! What hangs on the verdict, worked out when somebody wants to know.

use super::budget::{Budget, budget};
use super::distance::{self, Distances, Slip};
use super::hanging::{Hanging, hanging};
use super::monitor::{self, MonitorAnswer};
use super::sampled::{sample, stands};
use super::settle::{self, Candidate, Settle};
use super::verdict::{Judged, Verdict};
use crate::assess::{Answer, NoAnswer, Request, SurveyFit, answer_with, fit_survey};
use crate::geometry::{Place, Point};
use crate::progress::Progress;
use crate::station::{Station, Survey};

/// Draws of the parts together with monitor and candidates.
const DRAWS: usize = 1200;
const SEED: u64 = 0x0071_00c5;
/// Planned positions that are asked whether they would settle it.
const CANDIDATES: usize = 40;
/// How far from the coldest spot the nearest seat of the detector is looked for, mm.
const SEARCH: u32 = 60;
/// The reading noise taken where it is not known: 1.2 % (common practice, no source).
const USUAL_NOISE: f64 = 0.012;

/// Figures without and with the excluded readings.
#[derive(Debug, Clone, PartialEq)]
pub struct Both {
    /// How many readings are excluded.
    pub excluded: usize,
    /// Coldest spot with them, mW/cm², and its assured minimum, relative.
    pub coldest: (f64, Option<f64>),
    /// Hottest spot with them, and its assured maximum, relative.
    pub hottest: (f64, Option<f64>),
    /// The assured minimum and maximum that are judged.
    pub judged: (Option<f64>, Option<f64>),
    /// The verdict with them; `None` without a lower limit.
    pub verdict: Option<Verdict>,
}

/// What hangs on the verdict.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    /// The monitor position; `None`: no position is planned where a detector can sit.
    pub monitor: Option<MonitorAnswer>,
    /// What would settle what is not proven.
    pub settle: Vec<Settle>,
    /// Other working distances.
    pub distances: Distances,
    /// What an error costs at the coldest spot.
    pub slip: Slip,
    /// The budget of uncertainties at the coldest spot.
    pub budget: Budget,
    /// Positions without whose readings it would not be `meets`.
    pub hanging: Vec<Hanging>,
    /// Where readings are excluded: what would be said with them.
    pub with_excluded: Option<Both>,
}

/// Works it out for an answer that was judged. `show` says irradiances in its sentences.
///
/// # Errors
/// [`NoAnswer`] with what is missing.
pub fn outlook(
    fit: &SurveyFit,
    station: &Station,
    request: &Request,
    answer: &Answer,
    judged: &Judged,
    show: &dyn Fn(f64) -> String,
    progress: &Progress,
) -> Result<Outlook, NoAnswer> {
    let gone = || NoAnswer::Missing("That survey is not there; choose another one".into());
    let survey = station.survey_at(fit.survey).ok_or_else(gone)?;
    let limits = station.limits.as_deref().cloned().unwrap_or_default();
    let field = &*fit.field;
    let stands = stands(station, request, answer)?;
    let coldest = answer.coldest.at;
    let chosen = monitor::choose(station, &limits, field, &fit.heights, coldest, progress)?;
    let candidates = if judged.verdict == Verdict::NotProven {
        candidates(station, survey, fit, answer)
    } else {
        Vec::new()
    };
    let mut beside: Vec<Place> = chosen.iter().map(|c| c.at).collect();
    let first = beside.len();
    beside.extend(candidates.iter().map(|c| c.at));
    let sampled = sample(field, &stands, &beside, DRAWS, SEED, progress)?;
    progress.set(0.4);

    let settle = match &sampled {
        Some(sampled) => settle::settle(
            &settle::Seen {
                judged,
                sampled,
                first,
                candidates: &candidates,
                noise: answer.noise.unwrap_or(USUAL_NOISE),
                calibration: answer.calibration,
            },
            show,
        ),
        None => vec![Settle {
            of_lower: true,
            sentences: vec![
                "Choose the source-aware model or a kriging: the one in use says nothing of how far off the field may be, whatever is read".to_owned(),
            ],
            readings: None,
            calibration_percent: None,
        }],
    };
    let at = chosen.as_ref().map(|c| c.at);
    let monitor = match chosen {
        None => None,
        Some(chosen) => Some(monitor::answer(
            &monitor::Seen {
                station,
                limits: &limits,
                terms: &judged.terms,
                field,
                sampled: sampled.as_ref(),
                stands: &stands,
                noise: answer.noise,
                calibration: answer.calibration,
            },
            chosen,
            progress,
        )?),
    };
    let mut distances = distance::distances(
        &distance::Seen {
            field,
            heights: &fit.heights,
            face_height: survey.face_height(station),
            stands: &stands,
            monitor: at,
            terms: &judged.terms,
            limits: &limits,
            noise: answer.noise,
            calibration: answer.calibration,
        },
        progress,
    )?;
    // the table draws its own fields: the row in use says what was judged
    for row in distances.rows.iter_mut().filter(|row| row.in_use) {
        row.judged = judged.coldest.bounds.at_least;
    }
    let slip = distance::slip(field, coldest, progress)?;
    let budget = budget(answer, fit, survey, &slip);
    let hanging = hanging(fit, station, request, answer, judged, show, progress)?;
    Ok(Outlook {
        hanging,
        monitor,
        settle,
        distances,
        slip,
        budget,
        with_excluded: with_excluded(station, request, survey, fit.survey, progress)?,
    })
}

/// The planned positions nearest to the coldest and the hottest spot at the measured height next to them,
/// and the seats of the detector that are nearest to both.
fn candidates(
    station: &Station,
    survey: &Survey,
    fit: &SurveyFit,
    answer: &Answer,
) -> Vec<Candidate> {
    let mut all = Vec::new();
    let lift = survey.radiometer.as_ref().map_or(0.0, |r| r.sensing_plane);
    for spot in [answer.coldest.at, answer.hottest.at] {
        let from = |h: &f64| (h - spot.height).abs();
        let nearest = fit
            .heights
            .iter()
            .copied()
            .min_by(|a, b| from(a).total_cmp(&from(b)));
        // the detector's plane can't be brought lower than it sits
        let height = if spot.height >= lift {
            Some(spot.height)
        } else {
            nearest
        };
        if let (Some(height), Some(at)) = (height, nearest_seat(station, spot.point())) {
            all.push(Candidate {
                name: String::new(),
                at: at.at_height(height),
            });
        }
        let Some(height) = nearest else { continue };
        let mut positions = station.positions();
        positions.retain(|p| station.can_sit(p.at));
        positions.sort_by(|a, b| {
            let away = |p: Point| p.distance(spot.point());
            away(a.at).total_cmp(&away(b.at))
        });
        all.extend(
            positions
                .into_iter()
                .take(CANDIDATES / 2)
                .map(|p| Candidate {
                    name: p.name,
                    at: p.at.at_height(height),
                }),
        );
    }
    let mut kept: Vec<Candidate> = Vec::new();
    for candidate in all {
        if kept.iter().all(|k| k.at != candidate.at) {
            kept.push(candidate);
        }
    }
    kept
}

/// The place nearest to a point where the detector can sit, to a millimetre.
fn nearest_seat(station: &Station, point: Point) -> Option<Point> {
    if station.can_sit(point) {
        return Some(point);
    }
    (1..=SEARCH).find_map(|r| {
        (0..48).find_map(|i| {
            let angle = std::f64::consts::TAU * f64::from(i) / 48.0;
            let at = Point::new(
                point.x + f64::from(r) * angle.cos(),
                point.y + f64::from(r) * angle.sin(),
            );
            let rounded = Point::new((2.0 * at.x).round() / 2.0, (2.0 * at.y).round() / 2.0);
            station.can_sit(rounded).then_some(rounded)
        })
    })
}

/// The figures with excluded readings counted, where there are any that could count.
fn with_excluded(
    station: &Station,
    request: &Request,
    survey: &Survey,
    index: usize,
    progress: &Progress,
) -> Result<Option<Both>, NoAnswer> {
    let could = |r: &&crate::station::Reading| {
        r.excluded.is_some()
            && !r.saturated
            && r.irradiance.is_some_and(|e| e.is_finite() && e > 0.0)
    };
    let excluded = survey.readings.iter().filter(could).count();
    if excluded == 0 {
        return Ok(None);
    }
    let mut all = station.clone();
    for reading in &mut all.surveys[index].readings {
        reading.excluded = None;
    }
    let request = Request {
        survey: Some(index),
        ..*request
    };
    let fit = fit_survey(&all, &request, progress)?;
    let answer = answer_with(&fit, &all, &request, progress)?;
    let judged = answer.judged();
    Ok(Some(Both {
        excluded,
        coldest: (answer.coldest.irradiance, answer.coldest.at_least),
        hottest: (answer.hottest.irradiance, answer.hottest.at_most),
        judged: (
            answer.coldest.assured(answer.scale()),
            answer.hottest.assured_most(answer.scale_of_hottest()),
        ),
        verdict: judged.map(|j| j.verdict),
    }))
}
