//! The methods that are held against the truth.

use std::time::Instant;

use evenfield::assess::fit_settings;
use evenfield::assess::limits::Bending;
use evenfield::field::thin_plate::ThinPlate;
use evenfield::field::{
    Area, Estimate, Extreme, Family, FitError, FitSettings, Fitted, Sample, extremum, fit,
    next_positions,
};
use evenfield::geometry::{Place, Point};
use evenfield::numeric::quantile::quantile;
use evenfield::progress::{Cancelled, Progress};
use evenfield::station::SourceKind;

use crate::splines::Bicubic;
use crate::station::{Station, least};

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// The coldest reading.
    Reading,
    /// A bicubic spline of irradiance at each height.
    Bicubic,
    /// A thin plate on log irradiance at each height.
    Plate,
    /// The program's own field; `None`: the family that it chooses itself.
    Field(Option<Family>),
    /// The same, not told what kind of lamp it is.
    Untold,
    /// The program's own field, once three further positions were read.
    Further(Which),
}

/// Which further positions.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// Those that the program proposes.
    Proposed,
    /// In the middle of the largest gaps.
    LargestGaps,
}

/// The names that `--methods` takes. A further family is a further line.
const NAMES: [(&str, Method); 14] = [
    ("reading", Method::Reading),
    ("bicubic", Method::Bicubic),
    ("plate", Method::Plate),
    ("kriging", Method::Field(Some(Family::OrdinaryKriging))),
    ("round", Method::Field(Some(Family::RoundFace))),
    ("open", Method::Field(Some(Family::RoundOpen))),
    ("leaning", Method::Field(Some(Family::LeaningFace))),
    ("thin", Method::Field(Some(Family::ThinPlate))),
    ("natural", Method::Field(Some(Family::NaturalNeighbour))),
    ("inverse", Method::Field(Some(Family::InverseDistance))),
    ("auto", Method::Field(None)),
    ("untold", Method::Untold),
    ("next3", Method::Further(Which::Proposed)),
    ("gaps3", Method::Further(Which::LargestGaps)),
];

/// What a method says of a station, mW/cm².
pub struct Answer {
    /// At the places of the station's map; none for a method without a field.
    pub map: Option<Vec<f64>>,
    pub coldest: f64,
    /// The relative assured minimum.
    pub assured: Option<f64>,
    /// What only the program's own fields say.
    pub more: Option<More>,
    pub fit_seconds: f64,
}

pub struct More {
    /// Of the coldest spot that was found.
    pub at: Point,
    /// Standard uncertainty there.
    pub uncertainty: Option<f64>,
    /// Some places of the station's map, by their number in it.
    pub places: Vec<(usize, Estimate)>,
    /// From the outermost positions to the true coldest spot, mm.
    pub beyond: f64,
    /// Root mean square of (predicted / read - 1) over the families with their shares, percent: positions left out one
    /// at a time, and the outer ring left out.
    pub left_out: Option<f64>,
    pub ring: Option<f64>,
    pub noise: Option<f64>,
    /// What errors that all readings share do to the coldest place.
    pub bending: Bending,
    /// Family, share, positions left out and ring left out, percent.
    pub families: Vec<(Family, f64, f64, Option<f64>)>,
}

/// Places of the map at which uncertainty is looked at, about.
const LOOKED_AT: usize = 150;

/// Places of a joint draw, at most.
const MOST_PLACES: usize = 350;
const DRAWS: usize = 400;
const FINDING_STEP: f64 = 3.0;

impl Method {
    pub fn all() -> Vec<Self> {
        NAMES.iter().map(|(_, method)| *method).collect()
    }

    pub fn named(name: &str) -> Option<Self> {
        let found = NAMES.iter().find(|(known, _)| *known == name);
        found.map(|(_, method)| *method)
    }

    pub fn name(self) -> &'static str {
        let found = NAMES.iter().find(|(_, method)| *method == self);
        found.map_or("unnamed", |(name, _)| name)
    }

    /// # Errors
    /// In words, when there is no answer.
    pub fn answer(self, station: &Station) -> Result<Answer, String> {
        let start = Instant::now();
        match self {
            Self::Reading => {
                let positions = 0..station.columns * station.rows;
                let readings = positions.map(|position| {
                    let logs = station
                        .heights
                        .iter()
                        .map(|&h| station.mean_reading(position, h).ln())
                        .collect::<Vec<f64>>();
                    between_heights(station, &logs).exp()
                });
                Ok(Answer {
                    map: None,
                    coldest: readings.fold(f64::INFINITY, f64::min),
                    assured: None,
                    more: None,
                    fit_seconds: start.elapsed().as_secs_f64(),
                })
            }
            Self::Bicubic => {
                let layers = station.heights.iter().map(|&h| {
                    let (xs, ys) = station.along();
                    Bicubic::through(xs, ys, &station.layer(h))
                });
                let layers: Vec<Bicubic> = layers.collect::<Option<_>>().ok_or("no spline")?;
                let seconds = start.elapsed().as_secs_f64();
                Ok(layered(station, seconds, |p| {
                    layers.iter().map(|l| l.log(p)).collect()
                }))
            }
            Self::Plate => {
                let (xs, ys) = station.along();
                let place = |y: &f64, x: &f64| Place::new(*x, *y, 0.0);
                let places: Vec<Place> = ys
                    .iter()
                    .flat_map(|y| xs.iter().map(move |x| place(y, x)))
                    .collect();
                let layers = station.heights.iter().map(|&h| {
                    let logs: Vec<f64> = station.layer(h).iter().map(|e| e.ln()).collect();
                    ThinPlate::new(&places, &logs, 0.0, 0.0)
                });
                let layers: Vec<ThinPlate> = layers.collect::<Option<_>>().ok_or("no plate")?;
                let seconds = start.elapsed().as_secs_f64();
                Ok(layered(station, seconds, |p| {
                    layers.iter().map(|l| l.at(p.at_height(0.0))).collect()
                }))
            }
            Self::Field(family) => {
                let settings = settings(station, family);
                let fitted = fitted(&settings, &station.samples)?;
                let seconds = start.elapsed().as_secs_f64();
                of_field(station, &fitted, seconds).map_err(|Cancelled| "cancelled".into())
            }
            Self::Untold => {
                let untold = Station {
                    told: SourceKind::Other,
                    ..station.clone()
                };
                let settings = settings(&untold, None);
                let fitted = fitted(&settings, &station.samples)?;
                let seconds = start.elapsed().as_secs_f64();
                of_field(station, &fitted, seconds).map_err(|Cancelled| "cancelled".into())
            }
            Self::Further(which) => {
                let positions = match which {
                    Which::LargestGaps => largest_gaps(station),
                    Which::Proposed => {
                        let fitted = fitted(&settings(station, None), &station.samples)?;
                        proposed(station, &fitted).map_err(|Cancelled| "cancelled".to_owned())?
                    }
                };
                let samples = station.with_read(&positions);
                let samples = samples.ok_or("nobody can read on here")?;
                let fitted = fitted(&settings(station, None), &samples)?;
                let seconds = start.elapsed().as_secs_f64();
                of_field(station, &fitted, seconds).map_err(|Cancelled| "cancelled".into())
            }
        }
    }
}

/// Further positions.
const FURTHER: usize = 3;
/// Between free positions, mm.
const FREE_STEP: f64 = 12.0;

/// As the program makes them of a document that says what the station is told.
pub fn settings(station: &Station, family: Option<Family>) -> FitSettings {
    let document = station.document();
    FitSettings {
        family,
        // a general method, as anybody has it
        bare: family == Some(Family::OrdinaryKriging),
        scatter: None,
        ..fit_settings(&document, &document.surveys[0], None)
    }
}

pub fn fitted(settings: &FitSettings, samples: &[Sample]) -> Result<Fitted, String> {
    fit(settings, samples, &Progress::new()).map_err(|error: FitError| format!("{error:?}"))
}

fn proposed(station: &Station, fitted: &Fitted) -> Result<Vec<Point>, Cancelled> {
    let free = station.free_positions(FREE_STEP);
    let places = |p: &Point| station.heights.iter().map(|&h| p.at_height(h)).collect();
    let candidates: Vec<Vec<Place>> = free.iter().map(places).collect();
    let found = next_positions(
        fitted,
        &draw_places(station),
        &[],
        &candidates,
        FURTHER,
        station.seed,
        &Progress::new(),
    )?;
    let chosen = found.map_or_else(Vec::new, |(_, chosen)| chosen);
    Ok(chosen.iter().map(|next| free[next.candidate]).collect())
}

/// One after the other the free position furthest from all that are read.
fn largest_gaps(station: &Station) -> Vec<Point> {
    let mut read: Vec<Point> = station.samples.iter().map(|s| s.at.point()).collect();
    let free = station.free_positions(0.25 * FREE_STEP);
    let gap = |p: &Point, read: &[Point]| {
        let each = read.iter().map(|r| r.distance(*p));
        each.fold(f64::INFINITY, f64::min)
    };
    let known = read.len();
    for _ in 0..FURTHER {
        let widest = free
            .iter()
            .max_by(|a, b| gap(a, &read).total_cmp(&gap(b, &read)));
        read.extend(widest.copied());
    }
    read.split_off(known)
}

/// The polynomial through log irradiance over height, at the assessed height.
fn between_heights(station: &Station, logs: &[f64]) -> f64 {
    let heights = &station.heights;
    (0..logs.len())
        .map(|i| {
            let others = (0..logs.len()).filter(|&j| j != i);
            let weight: f64 = others
                .map(|j| (station.assessed - heights[j]) / (heights[i] - heights[j]))
                .product();
            weight * logs[i]
        })
        .sum()
}

/// The answer of a method that has a surface of log irradiance at each height.
fn layered(station: &Station, fit_seconds: f64, logs: impl Fn(Point) -> Vec<f64>) -> Answer {
    let value = |p: Point| between_heights(station, &logs(p)).exp();
    let points = station.fixture.lattice(FINDING_STEP);
    let nodes = points.into_iter().map(|p| (p, value(p))).collect();
    Answer {
        map: Some(
            station
                .map
                .iter()
                .map(|(at, _)| value(at.point()))
                .collect(),
        ),
        coldest: least(&station.fixture, FINDING_STEP, nodes, value).1,
        assured: None,
        more: None,
        fit_seconds,
    }
}

pub fn of_field(station: &Station, fitted: &Fitted, fit_seconds: f64) -> Result<Answer, Cancelled> {
    let progress = Progress::new();
    let places: Vec<Place> = station.map.iter().map(|(at, _)| *at).collect();
    let map = fitted.irradiance(&places, &progress)?;
    let area = Area {
        outline: station.fixture.clone(),
        height: station.assessed,
    };
    let (_, at) = extremum(fitted, &[area], Extreme::Coldest, &progress)?.expect("one area");
    let spot = fitted.at(&[at], &progress)?[0];
    let mut looked_at = draw_places(station);
    looked_at.push(at);
    let draws = fitted.joint(&looked_at, station.seed, DRAWS, &progress)?;
    let in_the_open: Vec<(Place, f64)> = looked_at.iter().map(|p| (*p, 1.0)).collect();
    let bending = Bending::of(fitted, &in_the_open, false, &progress)?;
    let assured = draws.and_then(|draws| {
        let minima = draws.values.chunks(draws.places);
        let minima = minima.map(|d| d.iter().copied().fold(f64::INFINITY, f64::min));
        quantile(&minima.collect::<Vec<f64>>(), 0.05)
    });
    let step = (places.len() / LOOKED_AT).max(1);
    // not a divisor of a row, or whole columns would be left out
    let looked_at: Vec<usize> = (0..places.len()).step_by(step | 1).collect();
    let some: Vec<Place> = looked_at.iter().map(|&i| places[i]).collect();
    let estimates = fitted.at(&some, &progress)?;
    let scores = fitted.scores();
    let used = scores.iter().filter(|s| s.weight > 0.0);
    let families: Vec<_> = used
        .map(|s| (s.family, s.weight, s.rms_percent, s.outer_ring_rms_percent))
        .collect();
    #[allow(clippy::type_complexity)] // said once
    let blended = |of: &dyn Fn(&(Family, f64, f64, Option<f64>)) -> Option<f64>| {
        let squares = families.iter().map(|f| Some(f.1 * of(f)?.powi(2)));
        let sum = squares.sum::<Option<f64>>().filter(|s| *s > 0.0)?;
        Some((sum / families.iter().map(|f| f.1).sum::<f64>()).sqrt())
    };
    let more = More {
        at: at.point(),
        uncertainty: spot.uncertainty,
        places: looked_at.into_iter().zip(estimates).collect(),
        beyond: fitted.beyond_positions(station.coldest_at),
        left_out: blended(&|f| Some(f.2)),
        ring: blended(&|f| f.3),
        noise: fitted.noise(),
        bending,
        families,
    };
    Ok(Answer {
        map: Some(map),
        coldest: spot.irradiance,
        assured,
        more: Some(more),
        fit_seconds,
    })
}

/// As fine a lattice as the number of places allows.
fn draw_places(station: &Station) -> Vec<Place> {
    let mut step = 6.0;
    loop {
        let points = station.fixture.lattice(step);
        if points.len() <= MOST_PLACES {
            let lifted = points.iter().map(|p| p.at_height(station.assessed));
            return lifted.collect();
        }
        step *= 1.05;
    }
}
