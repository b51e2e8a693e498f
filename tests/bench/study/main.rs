//! How well methods find the field and its coldest spot under simulated lamps whose truth is known.
//!
//! `cargo bench --no-default-features --bench study -- --stations 40 --seeds tune --threads 2` draws 40
//! stations of each kind of lamp and prints a table. Errors are in percent of the truth:
//!
//! - `map`: root mean square over the fixture, rim included, median and 90th percentile of the stations;
//! - `e`: of the coldest spot, positive where the method is optimistic: median of its size, 95th
//!   percentile and the worst on the optimistic side;
//! - `holds`: how often the relative assured minimum is at or below the truth, with the interval that
//!   holds the share with 95 % confidence, and how far below it is in the median.
//!
//! | flag | what |
//! | --- | --- |
//! | `--stations N` | stations of each kind |
//! | `--seeds tune` or `report` | which set: methods are tuned on the one and reported on the other |
//! | `--kinds all` or `led_many,bowl_worn` | kinds of lamps; `walls` is never used for tuning |
//! | `--methods all` or `kriging,auto` | methods |
//! | `--condition main`, `wide` or `scan` | how carefully is read |
//! | `--threads N` | stations at once |
//! | `--from N` | number of the first station |
//! | `--csv FILE` | a row a station and method |
//! | `--floors` | ends with status 1 when `auto` does worse than it did, with some room for few stations |
//!
//! The same seed is the same station whatever else is asked for. It ends with status 1 when a station or
//! a fit failed.

mod chance;
mod kinds;
mod methods;
mod report;
mod score;
mod splines;
mod station;

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

use kinds::Kind;
use methods::Method;
use report::{About, Row};
use station::{Condition, Seeds, Station};

struct Asked {
    stations: usize,
    from: usize,
    seeds: Seeds,
    kinds: Vec<Kind>,
    methods: Vec<Method>,
    condition: Condition,
    threads: usize,
    csv: Option<PathBuf>,
    floors: bool,
}

impl Asked {
    fn from_arguments(mut arguments: impl Iterator<Item = String>) -> Result<Self, String> {
        let mut asked = Self {
            stations: 40,
            from: 0,
            seeds: Seeds::Tune,
            kinds: Kind::ALL.to_vec(),
            methods: Method::all(),
            condition: Condition::Main,
            threads: 2,
            csv: None,
            floors: false,
        };
        let mut all_kinds = true;
        while let Some(flag) = arguments.next() {
            // cargo adds it to what it runs
            if flag == "--bench" {
                continue;
            }
            if flag == "--floors" {
                asked.floors = true;
                continue;
            }
            let value = arguments.next().ok_or(format!("{flag} needs a value"))?;
            let number = || {
                value
                    .parse::<usize>()
                    .map_err(|e| format!("{flag} {value}: {e}"))
            };
            match flag.as_str() {
                "--stations" => asked.stations = number()?,
                "--from" => asked.from = number()?,
                "--threads" => asked.threads = number()?.max(1),
                "--csv" => asked.csv = Some(PathBuf::from(&value)),
                "--seeds" => {
                    asked.seeds = match value.as_str() {
                        "tune" => Seeds::Tune,
                        "report" => Seeds::Report,
                        _ => return Err(format!("--seeds is tune or report, not {value}")),
                    }
                }
                "--condition" => {
                    asked.condition = match value.as_str() {
                        "main" => Condition::Main,
                        "wide" => Condition::Wide,
                        "scan" => Condition::Scan,
                        _ => return Err(format!("--condition is main, wide or scan, not {value}")),
                    }
                }
                "--kinds" if value == "all" => {}
                "--kinds" => {
                    asked.kinds = listed(&value, Kind::named)?;
                    all_kinds = false;
                }
                "--methods" if value == "all" => {}
                "--methods" => asked.methods = listed(&value, Method::named)?,
                _ => return Err(format!("{flag} is not known")),
            }
        }
        if asked.seeds == Seeds::Tune {
            if !all_kinds && asked.kinds.iter().any(|k| k.is_untouched()) {
                return Err("walls is kept out of tuning: take --seeds report".into());
            }
            asked.kinds.retain(|k| !k.is_untouched());
        }
        Ok(asked)
    }
}

fn listed<T>(value: &str, named: impl Fn(&str) -> Option<T>) -> Result<Vec<T>, String> {
    let each = value.split(',');
    each.map(|name| named(name).ok_or(format!("{name} is not known")))
        .collect()
}

/// A panic is a failure of one station, not of the study.
fn caught<T>(work: impl FnOnce() -> Result<T, String>) -> Result<T, String> {
    catch_unwind(AssertUnwindSafe(work)).unwrap_or_else(|cause| {
        let said = cause.downcast_ref::<String>().map(String::as_str);
        let said = said.or_else(|| cause.downcast_ref::<&str>().copied());
        Err(format!("panic: {}", said.unwrap_or("without a word")))
    })
}

fn study(asked: &Asked, kind: Kind, index: usize) -> Vec<Row> {
    let seed = asked.seeds.seed(asked.from + index);
    let start = Instant::now();
    let station = caught(|| Station::draw(kind, asked.condition, seed));
    let draw_seconds = start.elapsed().as_secs_f64();
    let about = station.as_ref().ok().map(|s| About {
        columns: s.columns,
        rows: s.rows,
        heights: s.heights.len(),
        readings: s.samples.len(),
        rim_percent: s.rim_percent,
        coldest: s.coldest,
        draw_seconds,
    });
    let each = asked.methods.iter().map(|&method| Row {
        kind,
        seed,
        method,
        station: about,
        outcome: match &station {
            Ok(station) => caught(|| score::score(station, &method.answer(station)?)),
            Err(failure) => Err(failure.clone()),
        },
    });
    each.collect()
}

fn main() -> ExitCode {
    let asked = match Asked::from_arguments(std::env::args().skip(1)) {
        Ok(asked) => asked,
        Err(what) => {
            eprintln!("{what}");
            return ExitCode::from(2);
        }
    };
    let jobs = asked.kinds.len() * asked.stations;
    let (next, done, start) = (AtomicUsize::new(0), AtomicUsize::new(0), Instant::now());
    let collected: Mutex<Vec<(usize, Vec<Row>)>> = Mutex::new(Vec::with_capacity(jobs));
    std::thread::scope(|scope| {
        for _ in 0..asked.threads {
            scope.spawn(|| {
                loop {
                    let job = next.fetch_add(1, Ordering::Relaxed);
                    if job >= jobs {
                        break;
                    }
                    let kind = asked.kinds[job / asked.stations];
                    let rows = study(&asked, kind, job % asked.stations);
                    for row in &rows {
                        if let Err(failure) = &row.outcome {
                            let (kind, method) = (kind.name(), row.method.name());
                            eprintln!("{kind} {} {method}: {failure}", row.seed);
                        }
                    }
                    let mut all = collected
                        .lock()
                        .expect("no thread panics while it holds it");
                    all.push((job, rows));
                    let finished = done.fetch_add(1, Ordering::Relaxed) + 1;
                    if finished * 20 / jobs > (finished - 1) * 20 / jobs {
                        let seconds = start.elapsed().as_secs();
                        eprintln!("{finished} of {jobs} stations after {seconds} s");
                    }
                }
            });
        }
    });
    let mut collected = collected.into_inner().expect("all threads have ended");
    collected.sort_by_key(|(job, _)| *job);
    let rows: Vec<Row> = collected.into_iter().flat_map(|(_, rows)| rows).collect();
    print!("{}", report::table(&rows, &asked.kinds, &asked.methods));
    for (i, &first) in asked.methods.iter().enumerate() {
        for &second in &asked.methods[i + 1..] {
            if let Some(text) = report::pair(&rows, first, second) {
                print!("{text}");
            }
        }
    }
    if let Some(path) = &asked.csv
        && let Err(error) = std::fs::write(path, report::csv(&rows))
    {
        eprintln!("{}: {error}", path.display());
        return ExitCode::FAILURE;
    }
    let breaches = if asked.floors {
        report::below_floors(&rows)
    } else {
        Vec::new()
    };
    breaches.iter().for_each(|breach| eprintln!("{breach}"));
    if !breaches.is_empty() || rows.iter().any(|row| row.outcome.is_err()) {
        return ExitCode::FAILURE;
    }
    ExitCode::SUCCESS
}
