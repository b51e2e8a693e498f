//! How often a verdict is wrong, on simulated lamps whose truth is known.
//!
//! `cargo bench --no-default-features --bench limits -- --stations 40 --threads 2` draws 40 stations of each kind
//! of lamp of the study, sets limits around their true coldest and hottest spot, and prints, with the interval
//! that holds each share with 95 % confidence:
//!
//! - `meets`, `fails`, `open`: how often each was said;
//! - `meets wrong`: of those that were said to meet, how many do not;
//! - `fails wrong`: of those that were said to fail, how many do not;
//! - `at limit`: how often `meets` was said of a lower limit a hair above the truth, the hardest question.
//!
//! `--kinds led_many,linear` takes only these, `--from N` begins at another number.

#[path = "../study/chance.rs"]
#[allow(dead_code)]
mod chance;
#[path = "../study/kinds.rs"]
#[allow(dead_code)]
mod kinds;
#[path = "../study/station.rs"]
#[allow(dead_code)]
mod study_station;
mod trial;

use std::process::ExitCode;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use evenfield::assess::limits::Verdict;
use kinds::Kind;
use trial::{Outcome, outcome, wilson};

fn main() -> ExitCode {
    let (mut stations, mut from, mut threads, mut kinds) = (20, 0, 2, Kind::ALL.to_vec());
    let mut arguments = std::env::args().skip(1);
    while let Some(flag) = arguments.next() {
        if flag == "--bench" {
            continue;
        }
        let Some(value) = arguments.next() else {
            eprintln!("{flag} needs a value");
            return ExitCode::from(2);
        };
        let number = value.parse::<usize>();
        match (flag.as_str(), number) {
            ("--stations", Ok(n)) => stations = n,
            ("--from", Ok(n)) => from = n,
            ("--threads", Ok(n)) => threads = n.max(1),
            ("--kinds", _) => kinds = value.split(',').filter_map(Kind::named).collect(),
            _ => {
                eprintln!("{flag} {value} is not understood");
                return ExitCode::from(2);
            }
        }
    }
    let jobs = kinds.len() * stations;
    let next = AtomicUsize::new(0);
    let found: Mutex<Vec<(Kind, Result<Outcome, String>)>> = Mutex::new(Vec::new());
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let job = next.fetch_add(1, Ordering::Relaxed);
                    if job >= jobs {
                        break;
                    }
                    let kind = kinds[job / stations];
                    let came = outcome(kind, from + job % stations);
                    found
                        .lock()
                        .expect("no thread panics while it holds it")
                        .push((kind, came));
                }
            });
        }
    });
    let found = found.into_inner().expect("all threads have ended");
    println!(
        "{:<12} {:>5} {:>6} {:>6} {:>6} | {:>28} | {:>28} | {:>28}",
        "kind",
        "n",
        "meets",
        "fails",
        "open",
        "meets wrong, %",
        "fails wrong, %",
        "met at limit, %"
    );
    let mut bad = false;
    for kind in std::iter::once(None).chain(kinds.iter().copied().map(Some)) {
        let of = found
            .iter()
            .filter(|(k, _)| kind.is_none_or(|kind| kind == *k));
        let (mut all, mut failed) = (Vec::new(), 0);
        for (_, came) in of {
            match came {
                Ok(outcome) => all.push(*outcome),
                Err(why) => {
                    failed += 1;
                    eprintln!("{why}");
                }
            }
        }
        bad |= failed > 0;
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
            "{:<12} {:>5} {meets:>6} {fails:>6} {:>6} | {:>28} | {:>28} | {:>28}",
            kind.map_or("all", Kind::name),
            all.len(),
            all.len() - meets - fails,
            share(count(&|o| o.said == Verdict::Meets && !o.inside), meets),
            share(count(&|o| o.said == Verdict::Fails && o.inside), fails),
            share(count(&|o| o.met_at_the_limit), all.len()),
        );
        if kind.is_none() {
            let failed = count(&|o| o.failed_at_the_limit);
            println!(
                "fails said of a lower limit just met: {} %",
                share(failed, all.len())
            );
        }
    }
    if bad {
        ExitCode::FAILURE
    } else {
        ExitCode::SUCCESS
    }
}
