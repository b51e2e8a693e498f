//! Where to measure next: positions that a detector can take and that would raise the assured minimum most.
//!
//! One that raises the bound by less than 0.1 %, or by less than twice the standard error of the rise between batches of
//! draws, is not proposed, nor what would follow it.

use crate::assess::{NoAnswer, Request, SurveyFit, assessed_area};
use crate::field::{Next, next_positions};
use crate::geometry::{Place, Point};
use crate::progress::Progress;
use crate::station::{Position, Station};

/// Assessed places that take part: the coldest ones, for only they can hold the minimum.
const PLACES: usize = 220;
/// Positions that are looked at, about.
const CANDIDATES: f64 = 110.0;
/// A position nearer than this to one that was read tells hardly more than a repeat, mm.
const APART: f64 = 4.0;
/// A position that raises the assured minimum by less than this part of it brings nothing that a reading could be
/// seen to bring: it is a tenth of what radiometers scatter by (our choice).
pub const LEAST_GAIN: f64 = 1e-3;
/// A rise counts from so many of its standard errors on: what is less may be chance in the possible fields.
const TOLD: f64 = 2.0;
/// Fixed, so that the same station gives the same proposal.
const SEED: u64 = 0x0eaf_1e1d;

/// What to measure next, and what for.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// The assured minimum (relative) as it is, mW/cm².
    pub assured: f64,
    /// In the order in which to read them, only those whose rise can be told from noise; empty when there are none.
    pub positions: Vec<Proposed>,
    /// The heights at which to read each, mm.
    pub heights: Vec<f64>,
}

/// One proposed position.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposed {
    /// Where, under a name that is free in the plan.
    pub position: Position,
    /// The assured minimum to expect once this position and those before it were read and were as the field says,
    /// mW/cm².
    pub expected: f64,
    /// By how much this position raises it, percent.
    pub gain_percent: f64,
}

/// Proposes up to `count` positions for a survey's field.
///
/// # Errors
/// [`NoAnswer`] with what is missing.
pub fn propose(
    fit: &SurveyFit,
    station: &Station,
    request: &Request,
    count: usize,
    progress: &Progress,
) -> Result<Proposal, NoAnswer> {
    let request = Request {
        survey: Some(fit.survey),
        ..*request
    };
    let field = &fit.field;
    let assessed = assessed_area(station, &request)?;
    let area: f64 = assessed.areas.iter().map(|a| a.outline.area()).sum();
    let step = (area / (3.0 * PLACES as f64)).sqrt();
    let all: Vec<Place> = assessed
        .areas
        .iter()
        .flat_map(|area| {
            let lattice = area.outline.lattice(step).into_iter();
            lattice.map(|p| p.at_height(area.height))
        })
        .collect();
    let values = field.irradiance(&all, progress)?;
    let mut coldest: Vec<(f64, Place)> = values.into_iter().zip(all).collect();
    coldest.sort_by(|a, b| a.0.total_cmp(&b.0));
    coldest.truncate(PLACES);
    let places: Vec<Place> = coldest.into_iter().map(|(_, p)| p).collect();

    let heights = if station.plan.heights.is_empty() {
        fit.heights.clone()
    } else {
        station.plan.heights.clone()
    };
    let free = free_positions(fit, station);
    let candidates: Vec<Vec<Place>> = free
        .iter()
        .map(|p| heights.iter().map(|&h| p.at_height(h)).collect())
        .collect();
    let planned = unread(fit, station, &heights);
    let found = next_positions(field, &places, &planned, &candidates, count, SEED, progress)?;
    let (assured, chosen) = found.ok_or_else(|| {
        NoAnswer::Missing(
            "This model has no assured minimum that a further position could raise; choose another one"
                .into(),
        )
    })?;
    let mut taken: Vec<String> = station.positions().into_iter().map(|p| p.name).collect();
    taken.extend(station.all_sites().into_iter().map(|site| site.name));
    let tells =
        |next: &&Next| next.gain >= LEAST_GAIN * assured && next.gain > TOLD * next.gain_error;
    let positions = chosen
        .iter()
        .take_while(tells)
        .map(|next| {
            let name = (1..)
                .map(|n| format!("N{n}"))
                .find(|name| !taken.contains(name))
                .unwrap_or_default();
            taken.push(name.clone());
            Proposed {
                position: Position {
                    name,
                    at: free[next.candidate],
                },
                expected: next.expected,
                gain_percent: 100.0 * next.gain / assured,
            }
        })
        .collect();
    Ok(Proposal {
        assured,
        positions,
        heights,
    })
}

/// Where readings of the survey were taken.
fn read(fit: &SurveyFit, station: &Station) -> Vec<Point> {
    let survey = station.surveys.get(fit.survey);
    let readings = survey.map_or(&[][..], |s| &s.readings);
    let rows = fit.rows.iter().filter_map(|&row| readings.get(row));
    rows.map(|r| r.place().point()).collect()
}

/// Planned places that were not read yet: they will be, whatever else is proposed. A plan of which most is not read is
/// not this survey's.
fn unread(fit: &SurveyFit, station: &Station, heights: &[f64]) -> Vec<Place> {
    const MOST: usize = 30;
    let read = read(fit, station);
    let planned: Vec<Point> = (station.positions().into_iter())
        .map(|p| p.at)
        .filter(|p| read.iter().all(|r| r.distance(*p) >= APART))
        .collect();
    if planned.len() > MOST {
        return Vec::new();
    }
    let each = planned.iter();
    each.flat_map(|p| heights.iter().map(|&h| p.at_height(h)))
        .collect()
}

/// Where the plan's detector can sit and none sat yet, on whole half millimetres: as near to the rim as its body allows
/// or, on a plate, beyond it.
fn free_positions(fit: &SurveyFit, station: &Station) -> Vec<Point> {
    let body = station
        .surveys
        .get(fit.survey)
        .and_then(|s| s.radiometer.as_ref());
    let body = body.or(station.plan_radiometer()).map(|r| &r.body);
    let (width, depth) = body.map_or((0.0, 0.0), |b| b.size());
    let bounds = (station.seats().bounds()).unwrap_or_else(|| station.fixture.footprint().bounds());
    let step = (bounds.width() * bounds.depth() / CANDIDATES)
        .sqrt()
        .max(2.0);
    let along = |from: f64, extent: f64, body: f64| -> Vec<f64> {
        let room = extent - body;
        if room < 0.0 {
            return Vec::new();
        }
        let cells = (room / step).ceil().max(1.0);
        let at = |i: usize| from + 0.5 * body + room * i as f64 / cells;
        (0..=cells as usize).map(at).collect()
    };
    let xs = along(bounds.min.x, bounds.width(), width);
    let ys = along(bounds.min.y, bounds.depth(), depth);
    let mut taken = read(fit, station);
    taken.extend(station.positions().into_iter().map(|p| p.at));
    let half = |v: f64| (v * 2.0).round() / 2.0;
    let places = ys.iter().flat_map(|&y| xs.iter().map(move |&x| (x, y)));
    places
        .map(|(x, y)| Point::new(half(x), half(y)))
        .filter(|&p| station.seats_detector(p, body))
        .filter(|p| taken.iter().all(|r| r.distance(*p) >= APART))
        .collect()
}
