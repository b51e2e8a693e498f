//! How often one survey against another says what is true, on simulated lamps whose truth is known.
//!
//! `cargo bench --no-default-features --bench change -- --stations 20 --threads 2` draws 20 stations of each kind of lamp of the
//! study, reads each twice with fresh errors (5x5 to 7x7 positions at three heights, 1.2 % noise, 0.7 mm placement error), and
//! prints for each case, with the interval that holds each share with 95 % confidence, how often what is said is right:
//!
//! | case | second survey |
//! | --- | --- |
//! | `aged` | 15 % less, uneven by a smooth 1 % |
//! | `zone` | 15 % less, and 10 % less over one and a half pitches, somewhere within the outermost positions |
//! | `narrow` | the same over one and a half of the mean pitch, where pitches along x and y differ; `zone` is of the wider one |
//! | `patch` | 15 % less, and a part of the lamp's face dark, some width and its light up to 1.5 cosines more forward than Lambert's, so that 10 % is missing below it |
//! | `pair` | another radiometer pair that reads 2 % more or less; the lamp as it was |
//! | `height`, `tilt`, `shift` | 5 % less, and the round 5 mm off in height, tilted by 1 degree, 3 mm aside |
//! | `short` | only the positions of the short check, with each of what it promises to find |
//!
//! The common change that is true is what the figure says: the mean of the logarithms over what was read, with all that a misplaced
//! round does to it, beside the zone where one is told.
//!
//! `--kinds led_many,linear` takes only these, `--without GROUP` leaves one group out, `--cases zone,tilt` takes only these,
//! `--from N` begins at another number, `--seeds tune` takes the stations that bars were chosen on, `--each yes` prints each pair.

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
mod pairs;
#[path = "../study/station/mod.rs"]
#[allow(dead_code)]
mod station;
mod table;

use std::process::ExitCode;
use std::sync::atomic::{AtomicUsize, Ordering};

use jobs::listed;
use kinds::{Group, Kind};
use pairs::{Case, Outcome, outcomes};
use station::Seeds;

struct Asked {
    stations: usize,
    from: usize,
    threads: usize,
    seeds: Seeds,
    kinds: Vec<Kind>,
    cases: Vec<Case>,
    each: bool,
}

impl Asked {
    fn from_arguments(mut arguments: impl Iterator<Item = String>) -> Result<Self, String> {
        let mut asked = Self {
            stations: 20,
            from: 0,
            threads: 2,
            seeds: Seeds::Report,
            kinds: Kind::ALL.to_vec(),
            cases: Case::ALL.to_vec(),
            each: false,
        };
        while let Some(flag) = arguments.next() {
            if flag == "--bench" {
                continue;
            }
            let value = arguments.next().ok_or(format!("{flag} needs a value"))?;
            let unknown = || format!("{flag} {value} is not understood");
            let number = || value.parse::<usize>().map_err(|_| unknown());
            match flag.as_str() {
                "--stations" => asked.stations = number()?,
                "--from" => asked.from = number()?,
                "--threads" => asked.threads = number()?.max(1),
                "--seeds" if value == "tune" => asked.seeds = Seeds::Tune,
                "--seeds" if value == "report" => {}
                "--each" => asked.each = value == "yes",
                "--kinds" => asked.kinds = listed(&value, Kind::named)?,
                "--cases" => asked.cases = listed(&value, Case::named)?,
                "--without" => {
                    let group = Group::ALL.into_iter().find(|g| g.name() == value);
                    let group = group.ok_or_else(unknown)?;
                    asked.kinds.retain(|k| k.group() != group);
                }
                _ => return Err(unknown()),
            }
        }
        Ok(asked)
    }
}

fn main() -> ExitCode {
    let asked = match Asked::from_arguments(std::env::args().skip(1)) {
        Ok(asked) => asked,
        Err(what) => {
            eprintln!("{what}");
            return ExitCode::from(2);
        }
    };
    let numbers = asked.from..asked.from + asked.stations;
    let jobs: Vec<(Kind, u64)> = numbers
        .flat_map(|i| asked.kinds.iter().map(move |k| (*k, i)))
        .map(|(kind, i)| (kind, asked.seeds.seed(i)))
        .collect();
    let failed = AtomicUsize::new(0);
    let all: Vec<Outcome> = jobs::done(asked.threads, &jobs, |job, &(kind, seed)| {
        let rows = outcomes(kind, seed, &asked.cases).unwrap_or_else(|why| {
            failed.fetch_add(1, Ordering::Relaxed);
            eprintln!("{} {seed}: {why}", kind.name());
            Vec::new()
        });
        if (job + 1).is_multiple_of(20) {
            eprintln!("{} of {} stations", job + 1, jobs.len());
        }
        rows
    })
    .into_iter()
    .flatten()
    .collect();
    if asked.each {
        print!("{}", table::each(&all));
    }
    print!("{}", table::table(&all, &asked.cases));
    if failed.into_inner() > 0 {
        ExitCode::FAILURE
    } else {
        ExitCode::SUCCESS
    }
}
