//! Whether parts that were placed lie inside the limits, on simulated lamps whose truth is known.
//!
//! `cargo bench --no-default-features --bench place -- --stations 20 --threads 2` draws 20 stations of each kind of lamp of
//! the study, read with the outermost positions on the rim, and asks for as many parts as fit between limits that are drawn
//! out of the true field. Each part is held against the *true* field, every millimetre and a half of it. Printed, for rows
//! and for parts anywhere, with the interval that holds each share with 95 % confidence (Clopper and Pearson 1934):
//!
//! - `all at once`: arrangements given as 95 %, and how many of them have any part outside;
//! - `each alone`: as many as fit when each part alone is asked to be sure; `plain`: when the field is taken for the truth;
//! - parts: how many were placed in the mean.
//!
//! `--kinds led_many,linear` takes only these, `--from N` begins at another number, `--read inside,rim` says where the
//! outermost positions are, `--arranged rows,free` and `--surely all,alone,plain` which ways are asked. `--speed` measures
//! how long a 200 x 150 mm fixture takes instead, `--packing` holds the search for parts anywhere against its bound and a
//! search twenty times as long, on so many beds with things standing on them, without limits.

#[path = "../study/chance.rs"]
mod chance;
#[path = "../intervals.rs"]
#[allow(dead_code)]
mod intervals;
#[path = "../jobs.rs"]
mod jobs;
#[path = "../study/kinds/mod.rs"]
#[allow(dead_code)]
mod kinds;
mod packing;
mod speed;
#[path = "../study/station/mod.rs"]
#[allow(dead_code)]
mod study_station;
mod trial;

use std::process::ExitCode;

use evenfield::placement::{Kind as Arrangement, Surely};
use intervals::clopper_pearson;
use jobs::listed;
use kinds::Kind;
use study_station::{Plan, Seeds};
use trial::{Arranged, Row, Way};

struct Asked {
    stations: usize,
    from: usize,
    threads: usize,
    kinds: Vec<Kind>,
    plans: Vec<Plan>,
    arranged: Vec<Arrangement>,
    surely: Vec<Surely>,
    speed: bool,
    packing: bool,
}

impl Asked {
    fn from_arguments(mut arguments: impl Iterator<Item = String>) -> Result<Self, String> {
        let mut asked = Self {
            stations: 20,
            from: 0,
            threads: 2,
            kinds: Kind::ALL.to_vec(),
            plans: vec![Plan::Rim],
            arranged: listed("rows,free", trial::arrangement)?,
            surely: listed("all,plain", trial::surely)?,
            speed: false,
            packing: false,
        };
        while let Some(flag) = arguments.next() {
            if flag == "--bench" {
                continue;
            }
            if flag == "--packing" {
                asked.packing = true;
                continue;
            }
            if flag == "--speed" {
                asked.speed = true;
                continue;
            }
            let value = arguments.next().ok_or(format!("{flag} needs a value"))?;
            let unknown = || format!("{flag} {value} is not understood");
            let number = || value.parse::<usize>().map_err(|_| unknown());
            match flag.as_str() {
                "--stations" => asked.stations = number()?,
                "--from" => asked.from = number()?,
                "--threads" => asked.threads = number()?.max(1),
                "--kinds" => asked.kinds = listed(&value, Kind::named)?,
                "--arranged" => asked.arranged = listed(&value, trial::arrangement)?,
                "--surely" => asked.surely = listed(&value, trial::surely)?,
                "--read" => asked.plans = listed(&value, Plan::named)?,
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
    if asked.packing {
        return packing::packing(asked.stations);
    }
    if asked.speed {
        return speed::speed();
    }
    let of = |&arranged: &Arrangement| asked.surely.iter().map(move |&surely| (arranged, surely));
    let ways: Vec<Way> = asked.arranged.iter().flat_map(of).collect();
    let jobs: Vec<(usize, Kind)> = (asked.from..asked.from + asked.stations)
        .flat_map(|i| asked.kinds.iter().map(move |kind| (i, *kind)))
        .collect();
    let rows: Vec<Row> = jobs::done(asked.threads, &jobs, |_, &(i, kind)| {
        let of_plan = |&plan: &Plan| match trial::trial(kind, Seeds::Report.seed(i), plan, &ways) {
            Ok(row) => {
                eprintln!("{}", row.line());
                Some(row)
            }
            Err(why) => {
                eprintln!("{} {i} {}: {why}", kind.name(), plan.name());
                None
            }
        };
        asked.plans.iter().filter_map(of_plan).collect::<Vec<Row>>()
    })
    .into_iter()
    .flatten()
    .collect();
    for &plan in &asked.plans {
        let of_plan: Vec<&Row> = rows.iter().filter(|r| r.plan == plan).collect();
        println!("\nread {}: {} stations", plan.name(), of_plan.len());
        println!(
            "{:<6} {:<12} {:<15} {:>5} {:>28} {:>7} {:>9}",
            "kind", "asked", "lamp", "given", "with a part outside, %", "parts", "seconds"
        );
        for (i, &(kind, surely)) in ways.iter().enumerate() {
            let lamps = std::iter::once(None).chain(asked.kinds.iter().map(Some));
            for lamp in lamps {
                // kinds of lamps one by one only where it is what is promised
                if lamp.is_some() && surely != Surely::AllAtOnce {
                    continue;
                }
                let some: Vec<&Arranged> = (of_plan.iter())
                    .filter(|r| lamp.is_none_or(|lamp| *lamp == r.kind))
                    .map(|r| &r.ways[i])
                    .collect();
                line(kind, surely, lamp.map_or("all", |k| k.name()), &some);
            }
        }
    }
    ExitCode::SUCCESS
}

fn line(kind: Arrangement, surely: Surely, lamp: &str, all: &[&Arranged]) {
    let given: Vec<&&Arranged> = all.iter().filter(|a| a.given && a.count > 0).collect();
    let wrong = given.iter().filter(|a| a.outside > 0).count();
    let (low, high) = clopper_pearson(wrong, given.len());
    let mean = |of: &dyn Fn(&Arranged) -> f64| {
        all.iter().map(|a| of(a)).sum::<f64>() / all.len().max(1) as f64
    };
    let kind = match kind {
        Arrangement::Rows { .. } => "rows",
        Arrangement::Free => "free",
    };
    let surely = match surely {
        Surely::AllAtOnce => "all at once",
        Surely::EachAlone => "each alone",
        Surely::PlainField => "plain",
    };
    println!(
        "{kind:<6} {surely:<12} {lamp:<15} {:>5} {:>28} {:>7.1} {:>9.2}",
        given.len(),
        format!(
            "{wrong}: {:.1} ({:.1} to {:.1})",
            100.0 * wrong as f64 / given.len().max(1) as f64,
            100.0 * low,
            100.0 * high
        ),
        mean(&|a| a.count as f64),
        mean(&|a| a.seconds),
    );
}
