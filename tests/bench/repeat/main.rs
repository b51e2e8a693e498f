//! How often the intervals of a repeat study hold what is true, on simulated studies whose components are known.
//!
//! `cargo bench --no-default-features --bench repeat -- --studies 2000` draws for each design so many studies of 48 positions
//! at three heights: a field between 40 and 90 mW/cm², and in the logarithm of each reading what the round has in common (5 %),
//! people all positions alike and each for itself, settings of the pallet each position for itself, and noise, all normal. Each
//! is made a station, entered and asked as in the program. It prints how often each 95 % interval holds the component, with the
//! interval that holds the share with 95 % confidence (Clopper & Pearson 1934), the mean of the estimates (of the variance, its
//! root) and the median width of the interval.
//!
//! | design | rounds |
//! | --- | --- |
//! | `2x2` | two people, two rounds each, the pallet not touched |
//! | `3x3` | three people, three rounds each, the pallet not touched |
//! | `crossed` | two people, four rounds each, the pallet put back after two rounds of each |
//! | `nested` | three people, four rounds each, each puts the pallet back before their first and third |
//! | `days` | one person, two rounds on each of three days |
//! | `uneven` | two people, three and two rounds, the pallet put back once among them, a tenth of the positions left out in one |

#[path = "../intervals.rs"]
#[allow(dead_code)]
mod intervals;

use std::process::ExitCode;

use evenfield::geometry::{Place, Shape};
use evenfield::numeric::quantile::quantile;
use evenfield::numeric::random::Normals;
use evenfield::repeat::{Found, Study};
use evenfield::station::{Reading, RepeatStudy, Round, Station};
use intervals::clopper_pearson;
use jiff::civil::date;

const NOISE: f64 = 0.012;
const RELOAD: f64 = 0.008;
const BY_PLACE: f64 = 0.006;
const ALIKE: f64 = 0.015;
const COMMON: f64 = 0.05;

/// Who read a round, on which day, and whether the pallet was put back before it.
struct Design {
    name: &'static str,
    rounds: Vec<(usize, i8, bool)>,
    /// Every so many positions one is not read in the last round; 0: all are.
    missing: usize,
}

fn designs() -> Vec<Design> {
    let design = |name, rounds: Vec<(usize, i8, bool)>, missing| Design {
        name,
        rounds,
        missing,
    };
    let plain = |people: usize, each: usize| -> Vec<(usize, i8, bool)> {
        (0..people * each).map(|i| (i / each, 1, false)).collect()
    };
    vec![
        design("2x2", plain(2, 2), 0),
        design("3x3", plain(3, 3), 0),
        design(
            "crossed",
            (0..8).map(|i| (i / 2 % 2, 1, i == 4)).collect(),
            0,
        ),
        design(
            "nested",
            (0..12).map(|i| (i / 4, 1, i % 2 == 0)).collect(),
            0,
        ),
        design(
            "days",
            (0..6).map(|i| (0, (i / 2) as i8, false)).collect(),
            0,
        ),
        design(
            "uneven",
            vec![
                (0, 1, false),
                (1, 1, false),
                (0, 1, true),
                (1, 1, false),
                (0, 1, false),
            ],
            10,
        ),
    ]
}

fn station(design: &Design, seed: u64) -> Station {
    let mut normals = Normals::new(seed, 1);
    let mut draw = |spread: f64| spread * normals.draw();
    let mut station = Station::new(
        "Study",
        Shape::Rectangle {
            width: 240.0,
            depth: 180.0,
        },
        120.0,
    );
    let places: Vec<Place> = (0..144)
        .map(|i| {
            let (column, row, level) = (i % 8, i / 8 % 6, i / 48);
            Place::new(
                15.0 + 30.0 * column as f64,
                15.0 + 30.0 * row as f64,
                10.0 + 10.0 * level as f64,
            )
        })
        .collect();
    let groups = |of: &dyn Fn(&(usize, i8, bool)) -> usize| {
        design.rounds.iter().map(of).max().unwrap_or(0) + 1
    };
    let by_days = design.name == "days";
    let group = |round: &(usize, i8, bool)| if by_days { round.1 as usize } else { round.0 };
    let people = groups(&group);
    let resets = design.rounds.iter().filter(|r| r.2).count() + 1;
    let mut table = |rows: usize, spread: f64| -> Vec<Vec<f64>> {
        (0..rows)
            .map(|_| (0..144).map(|_| draw(spread)).collect())
            .collect()
    };
    let by_place = table(people, BY_PLACE);
    let reload = table(resets, RELOAD);
    let noise = table(design.rounds.len(), NOISE);
    let alike: Vec<f64> = (0..people).map(|_| draw(ALIKE)).collect();
    let mut setting = 0;
    let mut rounds = Vec::new();
    for (i, round) in design.rounds.iter().enumerate() {
        setting += usize::from(round.2 && i > 0);
        let common = draw(COMMON);
        let who = group(round);
        let mut survey =
            station.new_survey(&format!("Round {}", i + 1), date(2026, 3, 9 + round.1));
        survey.operator = if by_days {
            "A".into()
        } else {
            format!("P{}", round.0)
        };
        let last = i + 1 == design.rounds.len();
        let each = places.iter().enumerate();
        let read = each.filter(|(p, _)| !(last && design.missing > 0 && p % design.missing == 0));
        survey.readings = read
            .map(|(p, at)| {
                let field = 65.0 + 25.0 * (at.x / 60.0).sin() * (at.y / 50.0).cos();
                let log = field.ln()
                    + common
                    + alike[who]
                    + by_place[who][p]
                    + reload[setting][p]
                    + noise[i][p];
                Reading {
                    position: format!("P{}", p % 48 + 1),
                    ..Reading::new(*at, Some(log.exp()))
                }
            })
            .collect();
        rounds.push(Round {
            survey: survey.name.clone(),
            reset: round.2,
        });
        station.surveys.push(survey.into());
    }
    station.repeat = Some(RepeatStudy { rounds });
    station
}

fn main() -> ExitCode {
    let mut studies = 1000;
    let mut arguments = std::env::args().skip(1).filter(|a| a != "--bench");
    while let Some(flag) = arguments.next() {
        match (flag.as_str(), arguments.next().map(|v| v.parse::<usize>())) {
            ("--studies", Some(Ok(n))) => studies = n,
            _ => {
                eprintln!("{flag} is not understood; give --studies N");
                return ExitCode::from(2);
            }
        }
    }
    println!("| design | component | true, % | mean, % | interval holds it | median interval, % |");
    println!("| --- | --- | --- | --- | --- | --- |");
    for design in designs() {
        let mut all: Vec<Study> = Vec::with_capacity(studies);
        for seed in 0..studies {
            match Study::of(&station(&design, seed as u64)) {
                Ok(study) => all.push(study),
                Err(why) => {
                    eprintln!("{}: {why:?}", design.name);
                    return ExitCode::FAILURE;
                }
            }
        }
        let both = (BY_PLACE.powi(2) + ALIKE.powi(2)).sqrt();
        let reset = design.rounds.iter().skip(1).any(|r| r.2);
        let whole =
            (NOISE.powi(2) + both.powi(2) + if reset { RELOAD.powi(2) } else { 0.0 }).sqrt();
        #[allow(clippy::type_complexity)] // a table
        let components: [(&str, f64, &dyn Fn(&Study) -> Option<Found>); 7] = [
            ("repeatability", NOISE, &|s| Some(s.repeatability)),
            ("reload", RELOAD, &|s| s.reload.ok()),
            ("between, by position", BY_PLACE, &|s| s.by_place.ok()),
            ("between, alike", ALIKE, &|s| s.alike.ok()),
            ("reproducibility", both, &|s| s.reproducibility.ok()),
            ("whole", whole, &|s| Some(s.whole)),
            ("round to round", COMMON, &|s| s.from_round_to_round),
        ];
        for (name, truth, of) in components {
            let found: Vec<Found> = all.iter().filter_map(of).collect();
            if found.is_empty() {
                println!(
                    "| `{}` | {name} | {:.2} | not told | | |",
                    design.name,
                    100.0 * truth
                );
                continue;
            }
            let holds = |f: &&Found| (f.interval.0..=f.interval.1).contains(&truth);
            let hits = found.iter().filter(holds).count();
            let (low, high) = clopper_pearson(hits, found.len());
            let n = found.len() as f64;
            let mean = (found.iter().map(|f| f.deviation.powi(2)).sum::<f64>() / n).sqrt();
            let median = |end: fn(&Found) -> f64| {
                let ends: Vec<f64> = found.iter().map(end).collect();
                100.0 * quantile(&ends, 0.5).unwrap_or(f64::NAN)
            };
            println!(
                "| `{}` | {name} | {:.2} | {:.2} | {hits}/{} {:.1} % ({:.1} to {:.1}) | {:.2} to {:.2} |",
                design.name,
                100.0 * truth,
                100.0 * mean,
                found.len(),
                100.0 * hits as f64 / n,
                100.0 * low,
                100.0 * high,
                median(|f| f.interval.0),
                median(|f| f.interval.1)
            );
        }
    }
    ExitCode::SUCCESS
}
