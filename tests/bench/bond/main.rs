//! Whether bounds of the light at bonds hold, on simulated lamps whose light is traced beam by beam.
//!
//! `cargo bench --no-default-features --bench bond -- --stations 40 --seeds report` draws 40 stations of each kind of lamp of the
//! study that tells its beams (panels and facets), read on a plate around the parts, and assesses the same parts in the open,
//! beside a clamp, within a rim, in pockets, tilted, and behind glass. Truth is `lamps::Shadowed`, which shares nothing with the
//! field. Printed a case, with the interval that holds each share with 95 % confidence (Clopper and Pearson 1934):
//!
//! - `holds`: how often the assured minimum is at or below the truth, and how far `below` it is in the median, percent;
//! - `e`: of the coldest spot, percent of the truth: median of its size, 95th percentile on the optimistic side;
//! - `in the open`: how often the bound without anything in the way would be more than 2 % too high;
//! - `said`: of the bounds that do not hold how many come with the sentence of what they hang on.
//!
//! `--wrong` tells all heights a sixth too low (what stands there is 20 % higher), `--kinds a,b` takes only these, `--csv FILE`
//! writes a row a station and case, `--threads N` takes so many at once, `--from N` begins at another number.

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
mod speed;
#[path = "../study/station/mod.rs"]
#[allow(dead_code)]
mod study_station;
mod trial;

use std::process::ExitCode;

use intervals::clopper_pearson;
use jobs::listed;
use kinds::Kind;
use study_station::Seeds;
use trial::{Case, Row};

/// Kinds whose lamps tell their beams.
const KINDS: [Kind; 9] = [
    Kind::LedMany,
    Kind::LedFew,
    Kind::LedDead,
    Kind::LedSmall,
    Kind::LedSparse,
    Kind::LedModules,
    Kind::FacetsSquare,
    Kind::FacetsRound,
    Kind::FacetsHexagon,
];

fn asked() -> Result<Asked, String> {
    let mut asked = Asked {
        stations: 10,
        from: 0,
        threads: 1,
        seeds: Seeds::Tune,
        kinds: KINDS.to_vec(),
        wrong: false,
        speed: false,
        csv: None,
    };
    let mut arguments = std::env::args().skip(1);
    while let Some(flag) = arguments.next() {
        match flag.as_str() {
            "--bench" => continue,
            "--wrong" => {
                asked.wrong = true;
                continue;
            }
            "--speed" => {
                asked.speed = true;
                continue;
            }
            _ => {}
        }
        let value = arguments.next().ok_or(format!("{flag} needs a value"))?;
        let number = || value.parse::<usize>().map_err(|e| format!("{flag}: {e}"));
        match flag.as_str() {
            "--stations" => asked.stations = number()?,
            "--from" => asked.from = number()?,
            "--threads" => asked.threads = number()?.max(1),
            "--kinds" => asked.kinds = listed(&value, Kind::named)?,
            "--csv" => asked.csv = Some(value.into()),
            "--seeds" => {
                asked.seeds = match value.as_str() {
                    "tune" => Seeds::Tune,
                    "report" => Seeds::Report,
                    _ => return Err(format!("--seeds is tune or report, not {value}")),
                }
            }
            _ => return Err(format!("{flag} is not known")),
        }
    }
    Ok(asked)
}

struct Asked {
    stations: usize,
    from: usize,
    threads: usize,
    seeds: Seeds,
    kinds: Vec<Kind>,
    wrong: bool,
    speed: bool,
    csv: Option<std::path::PathBuf>,
}

fn main() -> ExitCode {
    let asked = match asked() {
        Ok(asked) => asked,
        Err(what) => {
            eprintln!("{what}");
            return ExitCode::FAILURE;
        }
    };
    if asked.speed {
        speed::measure();
        return ExitCode::SUCCESS;
    }
    let mut jobs = Vec::new();
    for number in asked.from..asked.from + asked.stations {
        for &kind in &asked.kinds {
            jobs.push((kind, asked.seeds.seed(number)));
        }
    }
    let found = jobs::done(asked.threads, &jobs, |_, &(kind, seed)| {
        let rows = trial::trial(kind, seed, asked.wrong);
        if let Err(what) = &rows {
            eprintln!("{} {seed}: {what}", kind.name());
        }
        rows
    });
    let failed = found.iter().filter(|f| f.is_err()).count();
    let rows: Vec<Row> = found.into_iter().flatten().flatten().collect();
    if let Some(path) = &asked.csv {
        let lines: Vec<String> = rows.iter().map(Row::line).collect();
        if let Err(what) = std::fs::write(path, lines.join("\n")) {
            eprintln!("{}: {what}", path.display());
            return ExitCode::FAILURE;
        }
    }
    println!(
        "| case | stations | holds | below, median | e, median | e, 95th | open bound > 2 % too high | said |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- | --- |");
    let facets = |r: &&Row| r.kind.group() == kinds::Group::Facets;
    for (what, under_mirrors) in [("panels of LEDs", false), ("facets", true)] {
        for case in Case::ALL {
            let of = rows.iter().filter(|r| r.case == case);
            let of: Vec<&Row> = of.filter(|r| facets(r) == under_mirrors).collect();
            if !of.is_empty() {
                println!("{}", line(what, case, &of));
            }
        }
    }
    if failed > 0 {
        eprintln!("{failed} stations failed");
        return ExitCode::FAILURE;
    }
    ExitCode::SUCCESS
}

fn sorted(values: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    values
}

fn at(sorted: &[f64], share: f64) -> f64 {
    sorted[((sorted.len() - 1) as f64 * share).round() as usize]
}

fn line(what: &str, case: Case, rows: &[&Row]) -> String {
    let n = rows.len();
    let broken: Vec<&&Row> = rows.iter().filter(|r| r.bound > r.truth).collect();
    let holds = n - broken.len();
    let (low, high) = clopper_pearson(holds, n);
    let below = sorted(rows.iter().map(|r| 100.0 * (1.0 - r.bound / r.truth)));
    let size = sorted(
        rows.iter()
            .map(|r| 100.0 * (r.estimate / r.truth - 1.0).abs()),
    );
    let optimistic = sorted(rows.iter().map(|r| 100.0 * (r.estimate / r.truth - 1.0)));
    let open = rows
        .iter()
        .filter(|r| r.open_bound > 1.02 * r.truth)
        .count();
    let said = broken.iter().filter(|r| r.said).count();
    format!(
        "| {what}, {} | {n} | {:.1} % ({:.1} to {:.1}) | {:.1} % | {:.1} % | {:+.1} % | {:.0} % | {said} of {} |",
        case.name(),
        100.0 * holds as f64 / n as f64,
        100.0 * low,
        100.0 * high,
        at(&below, 0.5),
        at(&size, 0.5),
        at(&optimistic, 0.95),
        100.0 * open as f64 / n as f64,
        broken.len()
    )
}
