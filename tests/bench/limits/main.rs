//! How often a verdict is wrong, on simulated lamps whose truth is known.
//!
//! `cargo bench --no-default-features --bench limits -- --stations 40 --threads 2` draws 40 stations of each kind
//! of lamp of the study, sets limits around their true coldest and hottest spot, and prints, with the interval
//! that holds each share with 95 % confidence:
//!
//! - `meets`, `fails`, `open`: how often each was said;
//! - `holds`: how often the relative assured minimum is at or below the truth;
//! - `meets wrong`: of those that were said to meet, how many do not;
//! - `fails wrong`: of those that were said to fail, how many do not;
//! - `at limit`: how often `meets` was said of a lower limit a hair above the truth, the hardest question.
//!
//! `--kinds led_many,linear` takes only these, `--from N` begins at another number, `--foreign FOLDER` takes stations that
//! somebody else simulated. `--read inside,rim,around` says where the outermost positions are, `--wrong face,drift` (or
//! `all`) what is told or read wrong; then each warning is listed with how often it was said.

#[path = "../study/chance.rs"]
#[allow(dead_code)]
mod chance;
#[path = "../study/foreign.rs"]
mod foreign;
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
mod study_station;
mod trial;

use std::collections::BTreeMap;
use std::path::Path;
use std::process::ExitCode;

use evenfield::assess::limits::Verdict;
use foreign::Foreign;
use intervals::wilson;
use jobs::listed;
use kinds::Kind;
use study_station::{self as station, Condition, Drawn, Plan, Seeds, Wrong};
use trial::{Outcome, judged};

/// What is looked at.
enum Subject {
    Drawn(Kind, u64),
    Foreign(Box<Foreign>),
}

/// One station as read by one plan with one thing wrong.
struct Row {
    kind: String,
    plan: Plan,
    wrong: Wrong,
    came: Result<(Outcome, Vec<String>), String>,
}

impl Subject {
    fn kind(&self) -> String {
        match self {
            Self::Drawn(kind, _) => kind.name().into(),
            Self::Foreign(foreign) => foreign.kind(),
        }
    }

    fn rows(&self, plans: &[Plan], wrongs: &[Wrong]) -> Vec<Row> {
        let drawn = match self {
            Self::Drawn(kind, seed) => Some(Drawn::new(*kind, Condition::Main, *seed)),
            Self::Foreign(_) => None,
        };
        let stream = match self {
            Self::Drawn(kind, _) => 0x11_417 + *kind as u64,
            Self::Foreign(_) => 0x11_417,
        };
        let mut rows = Vec::new();
        for &wrong in wrongs {
            for &plan in plans {
                let station = match (self, &drawn) {
                    (Self::Foreign(foreign), _) => foreign.station(plan, wrong),
                    (_, Some(Ok(drawn))) => Ok(drawn.station(plan, wrong)),
                    (_, Some(Err(why))) => Err(why.clone()),
                    (Self::Drawn(..), None) => Err("nothing was drawn".into()),
                };
                rows.push(Row {
                    kind: self.kind(),
                    plan,
                    wrong,
                    came: station.and_then(|station| judged(&station, stream)),
                });
            }
        }
        rows
    }
}

struct Asked {
    stations: usize,
    from: usize,
    threads: usize,
    kinds: Vec<Kind>,
    foreign: Option<String>,
    plans: Vec<Plan>,
    wrongs: Vec<Wrong>,
}

impl Asked {
    fn from_arguments(mut arguments: impl Iterator<Item = String>) -> Result<Self, String> {
        let mut asked = Self {
            stations: 20,
            from: 0,
            threads: 2,
            kinds: Kind::ALL.to_vec(),
            foreign: None,
            plans: vec![Plan::Inside],
            wrongs: vec![Wrong::Nothing],
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
                "--kinds" => asked.kinds = listed(&value, Kind::named)?,
                "--foreign" => asked.foreign = Some(value),
                "--read" if value == "all" => asked.plans = Plan::ALL.to_vec(),
                "--read" => asked.plans = listed(&value, Plan::named)?,
                "--wrong" if value == "all" => asked.wrongs = Wrong::ALL.to_vec(),
                "--wrong" => asked.wrongs = listed(&value, Wrong::named)?,
                _ => return Err(unknown()),
            }
        }
        Ok(asked)
    }

    fn subjects(&self) -> Result<Vec<Subject>, String> {
        let wanted = self.from..self.from + self.stations;
        if let Some(folder) = &self.foreign {
            let mut seen: BTreeMap<String, usize> = BTreeMap::new();
            let all = foreign::read(Path::new(folder))?.into_iter();
            let some = all.filter(|foreign| {
                let count = seen.entry(foreign.kind()).or_default();
                *count += 1;
                wanted.contains(&(*count - 1))
            });
            return Ok(some.map(|f| Subject::Foreign(Box::new(f))).collect());
        }
        let of = |kind: &Kind| {
            let kind = *kind;
            let seeds = wanted.clone().map(|i| Seeds::Report.seed(i));
            seeds.map(move |seed| Subject::Drawn(kind, seed)).collect()
        };
        Ok(self
            .kinds
            .iter()
            .flat_map(|k| -> Vec<_> { of(k) })
            .collect())
    }
}

fn main() -> ExitCode {
    let ready = Asked::from_arguments(std::env::args().skip(1))
        .and_then(|asked| asked.subjects().map(|subjects| (asked, subjects)));
    let (asked, subjects) = match ready {
        Ok(ready) => ready,
        Err(what) => {
            eprintln!("{what}");
            return ExitCode::from(2);
        }
    };
    let rows: Vec<Row> = jobs::done(asked.threads, &subjects, |_, subject| {
        subject.rows(&asked.plans, &asked.wrongs)
    })
    .into_iter()
    .flatten()
    .collect();
    println!(
        "{:<10} {:<7} {:<15} {:>5} {:>6} {:>6} {:>6} | {:>24} | {:>22} | {:>22} | {:>22}",
        "wrong",
        "read",
        "kind",
        "n",
        "meets",
        "fails",
        "open",
        "holds, %",
        "meets wrong, %",
        "fails wrong, %",
        "met at limit, %"
    );
    let mut kinds: Vec<String> = Vec::new();
    for subject in &subjects {
        if !kinds.contains(&subject.kind()) {
            kinds.push(subject.kind());
        }
    }
    for &wrong in &asked.wrongs {
        for &plan in &asked.plans {
            for kind in std::iter::once(None).chain(kinds.iter().map(Some)) {
                let outcomes: Vec<Outcome> = rows
                    .iter()
                    .filter(|r| r.wrong == wrong && r.plan == plan)
                    .filter(|r| kind.is_none_or(|kind| *kind == r.kind))
                    .filter_map(|r| Some(r.came.as_ref().ok()?.0))
                    .collect();
                line(wrong, plan, kind.map_or("all", |k| k), &outcomes);
            }
        }
    }
    if asked.wrongs != [Wrong::Nothing] {
        warnings(&rows, &asked);
    }
    let failures = rows
        .iter()
        .filter_map(|r| Some((r, r.came.as_ref().err()?)));
    let mut bad = false;
    for (row, why) in failures {
        bad = true;
        let (plan, wrong) = (row.plan.name(), row.wrong.name());
        eprintln!("{} {plan} {wrong}: {why}", row.kind);
    }
    if bad {
        ExitCode::FAILURE
    } else {
        ExitCode::SUCCESS
    }
}

fn line(wrong: Wrong, plan: Plan, kind: &str, all: &[Outcome]) {
    let count = |test: &dyn Fn(&Outcome) -> bool| all.iter().filter(|o| test(o)).count();
    let share = |hits: usize, n: usize| {
        let (low, high) = wilson(hits, n);
        let percent = if n == 0 {
            0.0
        } else {
            100.0 * hits as f64 / n as f64
        };
        format!(
            "{hits}/{n} {percent:.1} ({:.1} to {:.1})",
            100.0 * low,
            100.0 * high
        )
    };
    let (meets, fails) = (
        count(&|o| o.said == Verdict::Meets),
        count(&|o| o.said == Verdict::Fails),
    );
    println!(
        "{:<10} {:<7} {kind:<15} {:>5} {meets:>6} {fails:>6} {:>6} | {:>24} | {:>22} | {:>22} | {:>22}",
        wrong.name(),
        plan.name(),
        all.len(),
        all.len() - meets - fails,
        share(count(&|o| o.holds), all.len()),
        share(count(&|o| o.said == Verdict::Meets && !o.inside), meets),
        share(count(&|o| o.said == Verdict::Fails && o.inside), fails),
        share(count(&|o| o.met_at_the_limit), all.len()),
    );
    if kind == "all" {
        let failed = count(&|o| o.failed_at_the_limit);
        println!(
            "{:<10} {:<7} fails said of a lower limit just met: {} %",
            wrong.name(),
            plan.name(),
            share(failed, all.len())
        );
    }
}

/// How often each sentence was said, figures left out: of all stations, of those whose bound does not hold, and of those of
/// which `meets` was said wrongly.
fn warnings(rows: &[Row], asked: &Asked) {
    println!("\nwarnings: of all, where the bound does not hold, where `meets` is wrong");
    for &wrong in &asked.wrongs {
        for &plan in &asked.plans {
            let some: Vec<&(Outcome, Vec<String>)> = rows
                .iter()
                .filter(|r| r.wrong == wrong && r.plan == plan)
                .filter_map(|r| r.came.as_ref().ok())
                .collect();
            let falls = |o: &Outcome| !o.holds;
            let errs = |o: &Outcome| o.said == Verdict::Meets && !o.inside;
            let count =
                |test: &dyn Fn(&Outcome) -> bool| some.iter().filter(|s| test(&s.0)).count();
            println!(
                "{} {}: {} stations, {}, {}",
                wrong.name(),
                plan.name(),
                some.len(),
                count(&falls),
                count(&errs)
            );
            let mut said: BTreeMap<String, [usize; 3]> = BTreeMap::new();
            for (outcome, sentences) in some {
                for sentence in sentences {
                    let counts = said.entry(without_figures(sentence)).or_default();
                    counts[0] += 1;
                    counts[1] += usize::from(falls(outcome));
                    counts[2] += usize::from(errs(outcome));
                }
            }
            for (sentence, [all, fallen, erred]) in said {
                println!("  {all:>4} {fallen:>4} {erred:>4}  {sentence}");
            }
        }
    }
}

/// A sentence's beginning with one sign for each figure, so that the same sentence is counted as one.
fn without_figures(sentence: &str) -> String {
    let mut plain = String::new();
    for c in sentence.chars().take(110) {
        if c.is_ascii_digit() {
            if !plain.ends_with('#') {
                plain.push('#');
            }
        } else if !(c == '.' && plain.ends_with('#')) {
            plain.push(c);
        }
    }
    plain
}
