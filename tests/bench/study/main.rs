//! How well methods find the field and its coldest spot under simulated lamps whose truth is known.
//!
//! `cargo bench --no-default-features --bench study -- --stations 40 --seeds tune --threads 2` draws 40
//! stations of each kind of lamp and prints a table. Errors are in percent of the truth:
//!
//! - `map`: root mean square over the fixture, rim included, median and 90th percentile of the stations;
//! - `e`: of the coldest spot, positive where the method is optimistic: median of its size, 95th
//!   percentile and the worst on the optimistic side;
//! - `holds`: how often the relative assured minimum is at or below the truth, with the interval that
//!   holds the share with 95 % confidence, and how far `below` it is in the median;
//! - `open`: of lower limits drawn evenly from 15 % below the truth up to it, how many the bound doesn't reach;
//! - `said`: of how many bounds that do not hold how many would come, at a limit that is the truth, with the sentence of how
//!   little of an error that all readings share they bear; `said 5`: how often it comes at a limit 5 % below the bound;
//! - `places`: how many places of the map are no darker than the estimate less 1.645 standard uncertainties.
//!
//! | flag | what |
//! | --- | --- |
//! | `--stations N` | stations of each kind |
//! | `--seeds tune` or `report` | which set: methods are tuned on the one and reported on the other |
//! | `--kinds all` or `led_many,bowl_worn` | kinds of lamps |
//! | `--without GROUP` | kinds but those of one group, for tuning what is reported on that group |
//! | `--foreign FOLDER` | stations that somebody else simulated, in place of lamps drawn here |
//! | `--read inside,rim,around` or `all` | where the outermost positions are, the same stations for each |
//! | `--methods all` or `kriging,auto` | methods |
//! | `--condition main`, `wide` or `scan` | how carefully is read |
//! | `--wrong nothing,face` or `all` | one thing told or read wrong, see `station/wrong.rs` |
//! | `--threads N` | stations at once |
//! | `--from N` | number of the first station |
//! | `--csv FILE` | a row a station and method |
//! | `--evidence FILE` | instead of methods: what bounds are made from, a line a station, for `tests/reference/widths.py` |
//! | `--floors` | ends with status 1 when `auto` does worse than it did, with some room for few stations |
//!
//! The same seed is the same station whatever else is asked for. It ends with status 1 when a station or
//! a fit failed.

mod chance;
mod evidence;
mod foreign;
#[path = "../intervals.rs"]
#[allow(dead_code)]
mod intervals;
#[path = "../jobs.rs"]
mod jobs;
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

use foreign::Foreign;
use jobs::listed;
use kinds::{Group, Kind};
use methods::Method;
use report::{About, Row};
use station::{Condition, Drawn, Plan, Seeds, Wrong};

struct Asked {
    stations: usize,
    from: usize,
    seeds: Seeds,
    kinds: Vec<Kind>,
    foreign: Option<PathBuf>,
    plans: Vec<Plan>,
    methods: Vec<Method>,
    condition: Condition,
    wrong: Vec<Wrong>,
    threads: usize,
    csv: Option<PathBuf>,
    evidence: Option<PathBuf>,
    floors: bool,
}

impl Asked {
    fn from_arguments(mut arguments: impl Iterator<Item = String>) -> Result<Self, String> {
        let mut asked = Self {
            stations: 40,
            from: 0,
            seeds: Seeds::Tune,
            kinds: Kind::ALL.to_vec(),
            foreign: None,
            plans: vec![Plan::Inside],
            methods: Method::all(),
            condition: Condition::Main,
            wrong: vec![Wrong::Nothing],
            threads: 2,
            csv: None,
            evidence: None,
            floors: false,
        };
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
                "--evidence" => asked.evidence = Some(PathBuf::from(&value)),
                "--foreign" => asked.foreign = Some(PathBuf::from(&value)),
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
                "--read" if value == "all" => asked.plans = Plan::ALL.to_vec(),
                "--read" => asked.plans = listed(&value, Plan::named)?,
                "--wrong" if value == "all" => asked.wrong = Wrong::ALL.to_vec(),
                "--wrong" => asked.wrong = listed(&value, Wrong::named)?,
                "--kinds" if value == "all" => asked.kinds = Kind::ALL.to_vec(),
                "--kinds" => asked.kinds = listed(&value, Kind::named)?,
                "--without" => {
                    let group = Group::ALL.into_iter().find(|g| g.name() == value);
                    let group = group.ok_or(format!("{value} is not a group of kinds"))?;
                    asked.kinds.retain(|k| k.group() != group);
                }
                "--methods" if value == "all" => {}
                "--methods" => asked.methods = listed(&value, Method::named)?,
                _ => return Err(format!("{flag} is not known")),
            }
        }
        Ok(asked)
    }
}

/// A panic is a failure of one station, not of the study.
fn caught<T>(work: impl FnOnce() -> Result<T, String>) -> Result<T, String> {
    catch_unwind(AssertUnwindSafe(work)).unwrap_or_else(|cause| {
        let said = cause.downcast_ref::<String>().map(String::as_str);
        let said = said.or_else(|| cause.downcast_ref::<&str>().copied());
        Err(format!("panic: {}", said.unwrap_or("without a word")))
    })
}

/// What is looked at.
enum Subject<'a> {
    Drawn(Kind, u64),
    Foreign(&'a Foreign),
}

fn study(asked: &Asked, subject: &Subject<'_>, lines: Option<&Mutex<Vec<String>>>) -> Vec<Row> {
    let start = Instant::now();
    let (kind, group, seed) = match subject {
        Subject::Drawn(kind, seed) => (kind.name().to_owned(), kind.group().name().into(), *seed),
        Subject::Foreign(foreign) => (foreign.kind(), foreign.kind(), foreign.seed),
    };
    let drawn = match subject {
        Subject::Drawn(kind, seed) => {
            caught(|| Drawn::new(*kind, asked.condition, *seed)).map(Some)
        }
        Subject::Foreign(_) => Ok(None),
    };
    let draw_seconds = start.elapsed().as_secs_f64();
    let mut rows = Vec::new();
    for &wrong in &asked.wrong {
        for &plan in &asked.plans {
            let station = match (&drawn, subject) {
                (Ok(Some(drawn)), _) => caught(|| Ok(drawn.station(plan, wrong))),
                (Ok(None), Subject::Foreign(foreign)) => foreign.station(plan, wrong),
                (Ok(None), Subject::Drawn(..)) => Err("nothing was drawn".into()),
                (Err(failure), _) => Err(failure.clone()),
            };
            if let Some(lines) = lines {
                let line = station.and_then(|s| caught(|| evidence::line(&kind, &group, &s)));
                let line = line.unwrap_or_else(|failure| format!("{{\"failure\":{failure:?}}}"));
                lines
                    .lock()
                    .expect("no thread panics while it holds it")
                    .push(line);
                continue;
            }
            let about = station.as_ref().ok().map(|s| About::of(s, draw_seconds));
            rows.extend(asked.methods.iter().map(|&method| Row {
                kind: kind.clone(),
                group: group.clone(),
                seed,
                plan,
                wrong,
                method,
                station: about,
                outcome: match &station {
                    Ok(station) => caught(|| score::score(station, method.answer(station)?)),
                    Err(failure) => Err(failure.clone()),
                },
            }));
        }
    }
    rows
}

fn main() -> ExitCode {
    let asked = match Asked::from_arguments(std::env::args().skip(1)) {
        Ok(asked) => asked,
        Err(what) => {
            eprintln!("{what}");
            return ExitCode::from(2);
        }
    };
    let foreign = match asked.foreign.as_deref().map(foreign::read).transpose() {
        Ok(foreign) => foreign,
        Err(what) => {
            eprintln!("{what}");
            return ExitCode::from(2);
        }
    };
    let subjects: Vec<Subject<'_>> = match &foreign {
        Some(all) => {
            let before = |i: usize| {
                all[..i]
                    .iter()
                    .filter(|f| f.kind() == all[i].kind())
                    .count()
            };
            let asked_for = asked.from..asked.from + asked.stations;
            let some = (0..all.len()).filter(|i| asked_for.contains(&before(*i)));
            some.map(|i| Subject::Foreign(&all[i])).collect()
        }
        None => {
            let numbers = asked.from..asked.from + asked.stations;
            let seeds = numbers.map(|i| asked.seeds.seed(i)).collect::<Vec<u64>>();
            let of = |kind: &Kind| seeds.iter().map(|s| Subject::Drawn(*kind, *s)).collect();
            asked
                .kinds
                .iter()
                .flat_map(|k| -> Vec<_> { of(k) })
                .collect()
        }
    };
    let (done, start) = (AtomicUsize::new(0), Instant::now());
    let lines: Mutex<Vec<String>> = Mutex::default();
    let collected = jobs::done(asked.threads, &subjects, |_, subject| {
        let rows = study(&asked, subject, asked.evidence.as_ref().map(|_| &lines));
        for row in &rows {
            if let Err(failure) = &row.outcome {
                let (plan, method) = (row.plan.name(), row.method.name());
                eprintln!("{} {} {plan} {method}: {failure}", row.kind, row.seed);
            }
        }
        let (all, finished) = (subjects.len(), done.fetch_add(1, Ordering::Relaxed) + 1);
        if finished * 20 / all > (finished - 1) * 20 / all {
            let seconds = start.elapsed().as_secs();
            eprintln!("{finished} of {all} stations after {seconds} s");
        }
        rows
    });
    if let Some(path) = &asked.evidence {
        let mut lines = lines.into_inner().expect("all threads have ended");
        lines.sort();
        return match std::fs::write(path, lines.join("\n") + "\n") {
            Ok(()) => ExitCode::SUCCESS,
            Err(error) => {
                eprintln!("{}: {error}", path.display());
                ExitCode::FAILURE
            }
        };
    }
    let rows: Vec<Row> = collected.into_iter().flatten().collect();
    print!("{}", report::table(&rows));
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
