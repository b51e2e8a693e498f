//! What a drift of 4 % over the round does to a field, left in and taken out, on simulated lamps whose truth is known.
//!
//! `cargo bench --no-default-features --bench drift -- --stations 5 --threads 2` draws 5 stations of each kind of lamp of the
//! study, reads each in one round (5x5 to 7x7 positions at three heights, 1.2 % noise, 0.7 mm placement error, row by row and
//! height by height, one reading after the other), with the reference, the position in the middle at the middle height, read at
//! the start, at each change of height, after every 12 readings and at the end. Lamp and radiometer drift by 4 % from the first
//! reading to the last, up or down, `straight` or `settling` (four fifths of it in the first third). Each round is mapped
//!
//! - `steady`: without any drift, for comparison;
//! - `left in`: with drift, as without a reference;
//! - `taken out`: with drift, by the visits of the reference.
//!
//! Errors are against the lamp in the mean of the round, in percent: `map` root mean square over the fixture, rim included,
//! median and 90th percentile of the stations; `coldest` median of the size at the coldest place of the map; `within` how many
//! places of the map are within 1.96 standard uncertainties, mean over the stations. `better` says in how many rounds the map
//! is nearer to the truth taken out than left in, with the interval that holds the share with 95 % confidence (Wilson 1927).
//! `drift` says how far the drift that was found from the first visit to the last is off, and how often it is within 1.96 of its
//! uncertainty.
//!
//! `--kinds led_many,linear` takes only these, `--from N` begins at another number, `--seeds tune` takes the other stations.

#[path = "../study/chance.rs"]
#[allow(dead_code)]
mod chance;
#[path = "../intervals.rs"]
#[allow(dead_code)]
mod intervals;
#[path = "../jobs.rs"]
mod jobs;
#[path = "../study/kinds/mod.rs"]
#[allow(dead_code)]
mod kinds;
#[path = "../study/station/mod.rs"]
#[allow(dead_code)]
mod station;

use std::process::ExitCode;
use std::sync::atomic::{AtomicUsize, Ordering};

use chance::Chance;
use evenfield::assess::fit_settings;
use evenfield::field::{Drift, Round, Sample, fit_round};
use evenfield::geometry::Place;
use evenfield::lamps::Reader;
use evenfield::numeric::quantile::quantile;
use evenfield::progress::Progress;
use intervals::wilson;
use jobs::listed;
use kinds::Kind;
use station::{Condition, Drawn, Plan, Seeds, Station, Wrong};

/// From the first reading to the last.
const DRIFT: f64 = 0.04;
/// Readings between visits.
const EVERY: usize = 12;

#[derive(Clone, Copy, PartialEq, Eq)]
enum Form {
    Straight,
    Settling,
}

impl Form {
    /// Part of the drift after a part of the round.
    fn at(self, along: f64) -> f64 {
        match self {
            Self::Straight => along,
            // four fifths in the first third
            Self::Settling => (1.0 - (-4.83 * along).exp()) / (1.0 - (-4.83_f64).exp()),
        }
    }

    fn name(self) -> &'static str {
        match self {
            Self::Straight => "straight",
            Self::Settling => "settling",
        }
    }
}

/// What one way of mapping a round gives, percent.
#[derive(Clone, Copy)]
struct Map {
    rms: f64,
    coldest: f64,
    within: f64,
}

struct Outcome {
    form: Form,
    steady: Map,
    left_in: Map,
    taken_out: Map,
    /// Error of the drift found, natural logarithm, and its standard uncertainty.
    drift: (f64, f64),
}

/// Places of a round in their order, and which are visits.
fn route(station: &Station) -> (Vec<(Place, usize)>, Vec<bool>) {
    let middle = station.columns * (station.rows / 2) + station.columns / 2;
    let height = station.heights[station.heights.len() / 2];
    let reference = station
        .samples
        .iter()
        .find(|s| s.position == middle && s.at.height == height);
    let reference = reference.expect("each position is read at each height").at;
    let (mut places, mut visit) = (vec![(reference, middle)], vec![true]);
    let mut since = 0;
    for pair in station.samples.windows(2) {
        places.push((pair[0].at, pair[0].position));
        visit.push(false);
        since += 1;
        if since == EVERY || pair[0].at.height != pair[1].at.height {
            places.push((reference, middle));
            visit.push(true);
            since = 0;
        }
    }
    let last = station.samples.last().expect("there are samples");
    places.extend([(last.at, last.position), (reference, middle)]);
    visit.extend([false, true]);
    (places, visit)
}

fn outcomes(kind: Kind, seed: u64) -> Result<Vec<Outcome>, String> {
    let drawn = Drawn::new(kind, Condition::Main, seed)?;
    let station = drawn.station(Plan::Inside, Wrong::Nothing);
    let (lamp, errors) = drawn.read_by();
    let (places, visit) = route(&station);
    let mut chance = Chance::new(seed, 7000 + kind as u64);
    let mut out = Vec::new();
    for form in [Form::Straight, Form::Settling] {
        let sign = if chance.happens(0.5) { 1.0 } else { -1.0 };
        let last = (places.len() - 1) as f64;
        let drift: Vec<f64> = (0..places.len())
            .map(|i| sign * (1.0 + DRIFT).ln() * form.at(i as f64 / last))
            .collect();
        // the truth that a field is held against is that of the round's mean
        let mean = drift.iter().sum::<f64>() / drift.len() as f64;
        let mut reader = Reader::new(errors, chance.seed());
        let steady: Vec<Sample> = places
            .iter()
            .map(|&(at, position)| {
                let placed = reader.set_down(at);
                Sample {
                    at,
                    irradiance: reader.read(lamp.as_ref(), placed, 0.0),
                    position,
                    minute: None,
                }
            })
            .collect();
        let drifted: Vec<Sample> = (steady.iter().zip(&drift))
            .map(|(s, d)| Sample {
                irradiance: s.irradiance * (d - mean).exp(),
                ..*s
            })
            .collect();
        let round = Round {
            at: (0..places.len()).map(|i| i as f64).collect(),
            visit: visit.clone(),
        };
        let (steady, _) = mapped(&station, &steady, None)?;
        let (left_in, _) = mapped(&station, &drifted, None)?;
        let (taken_out, found) = mapped(&station, &drifted, Some(&round))?;
        let found = found.ok_or("no drift was found")?;
        let true_overall = drift[drift.len() - 1] - drift[0];
        out.push(Outcome {
            form,
            steady,
            left_in,
            taken_out,
            drift: (found.overall.0 - true_overall, found.overall.1),
        });
    }
    Ok(out)
}

fn mapped(
    station: &Station,
    samples: &[Sample],
    round: Option<&Round>,
) -> Result<(Map, Option<Drift>), String> {
    let progress = Progress::new();
    let document = station.document();
    let settings = fit_settings(&document, &document.surveys[0], None);
    let field = fit_round(&settings, samples, round, &progress).map_err(|e| format!("{e:?}"))?;
    let places: Vec<Place> = station.map.iter().map(|(at, _)| *at).collect();
    let said = field.at(&places, &progress).map_err(|_| "cancelled")?;
    let n = said.len() as f64;
    let pairs = || said.iter().zip(&station.map);
    let squares: f64 = pairs()
        .map(|(e, (_, truth))| (e.irradiance / truth - 1.0).powi(2))
        .sum();
    let within = pairs().filter(|(e, (_, truth))| {
        e.uncertainty
            .is_some_and(|u| (e.irradiance - truth).abs() <= 1.96 * u)
    });
    let least = said
        .iter()
        .map(|e| e.irradiance)
        .fold(f64::INFINITY, f64::min);
    let truth = station
        .map
        .iter()
        .map(|m| m.1)
        .fold(f64::INFINITY, f64::min);
    let map = Map {
        rms: 100.0 * (squares / n).sqrt(),
        coldest: 100.0 * (least / truth - 1.0).abs(),
        within: 100.0 * within.count() as f64 / n,
    };
    Ok((map, field.drift().cloned()))
}

fn table(name: &str, all: &[&Outcome]) {
    let q = |of: &dyn Fn(&Outcome) -> f64, p: f64| {
        let values: Vec<f64> = all.iter().map(|o| of(o)).collect();
        quantile(&values, p).unwrap_or(f64::NAN)
    };
    let n = all.len() as f64;
    let row = |of: &dyn Fn(&Outcome) -> Map| {
        format!(
            "{:.2} ({:.2}) | {:.2} | {:.0}",
            q(&|o| of(o).rms, 0.5),
            q(&|o| of(o).rms, 0.9),
            q(&|o| of(o).coldest, 0.5),
            all.iter().map(|o| of(o).within).sum::<f64>() / n
        )
    };
    let better = all
        .iter()
        .filter(|o| o.taken_out.rms < o.left_in.rms)
        .count();
    let (low, high) = wilson(better, all.len());
    let held = all
        .iter()
        .filter(|o| o.drift.0.abs() <= 1.96 * o.drift.1)
        .count();
    let (from, to) = wilson(held, all.len());
    let off = (all.iter().map(|o| o.drift.0.powi(2)).sum::<f64>() / n).sqrt();
    println!(
        "| {name} | {} | {} | {} | {better}/{} {:.0} % ({:.0} to {:.0}) | {:.2} % | {held}/{} ({:.0} to {:.0} %) |",
        row(&|o| o.steady),
        row(&|o| o.left_in),
        row(&|o| o.taken_out),
        all.len(),
        100.0 * better as f64 / n,
        100.0 * low,
        100.0 * high,
        100.0 * off,
        all.len(),
        100.0 * from,
        100.0 * to
    );
}

fn main() -> ExitCode {
    let (mut stations, mut from, mut threads) = (5, 0, 2);
    let (mut seeds, mut kinds) = (Seeds::Report, Kind::ALL.to_vec());
    let mut arguments = std::env::args().skip(1).filter(|a| a != "--bench");
    while let Some(flag) = arguments.next() {
        let value = arguments.next().unwrap_or_default();
        match (flag.as_str(), value.parse::<usize>(), value.as_str()) {
            ("--stations", Ok(n), _) => stations = n,
            ("--from", Ok(n), _) => from = n,
            ("--threads", Ok(n), _) => threads = n.max(1),
            ("--seeds", _, "tune") => seeds = Seeds::Tune,
            ("--seeds", _, "report") => seeds = Seeds::Report,
            ("--kinds", ..) if listed(&value, Kind::named).is_ok() => {
                kinds = listed(&value, Kind::named).unwrap_or_default();
            }
            _ => {
                eprintln!("{flag} {value} is not understood");
                return ExitCode::from(2);
            }
        }
    }
    let numbers: Vec<u64> = (from..from + stations).map(|i| seeds.seed(i)).collect();
    let jobs: Vec<(Kind, u64)> = kinds
        .iter()
        .flat_map(|&kind| numbers.iter().map(move |&seed| (kind, seed)))
        .collect();
    let done = AtomicUsize::new(0);
    let found = jobs::done(threads, &jobs, |_, &(kind, seed)| {
        let came = outcomes(kind, seed);
        let n = done.fetch_add(1, Ordering::Relaxed) + 1;
        match &came {
            Ok(_) if n.is_multiple_of(5) => eprintln!("{n} of {}", jobs.len()),
            Ok(_) => {}
            Err(why) => eprintln!("{} {seed}: {why}", kind.name()),
        }
        came
    });
    let failed = found.iter().any(Result::is_err);
    let all: Vec<Outcome> = found.into_iter().flatten().flatten().collect();
    println!(
        "| rounds | steady: map, % | coldest, % | within, % | left in: map, % | coldest, % | within, % | taken out: map, % | coldest, % | within, % | better | drift off by | drift within |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |");
    for form in [Form::Straight, Form::Settling] {
        let of: Vec<&Outcome> = all.iter().filter(|o| o.form == form).collect();
        table(form.name(), &of);
    }
    table("all", &all.iter().collect::<Vec<_>>());
    if failed {
        ExitCode::FAILURE
    } else {
        ExitCode::SUCCESS
    }
}
