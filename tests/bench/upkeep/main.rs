//! How often what the trend of the irradiance log says is true, on simulated years of daily readings whose truth is known.
//!
//! `cargo bench --no-default-features --bench upkeep -- --years 400 --threads 1` draws for each kind of year (`year.rs`) so many
//! years: three lamps that lose 30 % in 140 to 500 days, each in its kind's way and none like the other, two re-adjustments, two
//! calibrations (the shift of one known to 0.8 %, that of the other not at all), one step of 2, 4 or 8 % in turn, a twelfth of
//! the days not read, hours known in half of the years; cut at a random day. The limit lies 2 to 22 % below the true level then.
//!
//! `date`: how often the 95 % interval of the day on which the level reaches the limit holds the true day, `not in sight` and
//! `reached already` counted as what they say; with the interval that holds that share with 95 % confidence (Clopper & Pearson
//! 1934). `false` and `found` are steps found wrongly in a year of readings, and steps found of those that lie at least five
//! readings from the next change, by their size.
//!
//! `--kinds even-0.6,slowing-0.6` takes only these, `--from N` begins at another number, `--seeds tune` takes the years that
//! constants were chosen on, `--list 1` says what is said of each year. `--speed N` times logs of 365 to 10 000 readings N times
//! instead; `--beside N` draws N comparisons of two radiometers (`pairs.rs`).

#[path = "../study/chance.rs"]
#[allow(dead_code)]
mod chance;
#[path = "../intervals.rs"]
#[allow(dead_code)]
mod intervals;
#[path = "../jobs.rs"]
mod jobs;
mod pairs;
mod year;

use std::process::ExitCode;
use std::time::Instant;

use evenfield::numeric::quantile::quantile;
use evenfield::progress::Progress;
use evenfield::upkeep::trend::{Asked, Cause, Mark, Marked, Outlook, Reading, Trend, trend};
use intervals::clopper_pearson;
use year::{KINDS, Kind, TUNING, Year};

const SIZES: [f64; 3] = [0.02, 0.04, 0.08];

/// How a predicted day stands to the true one.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Said {
    Day {
        held: bool,
        bounded: bool,
        off: f64,
        width: f64,
    },
    NotInSight {
        right: bool,
        held: bool,
        believed: f64,
    },
    Reached,
    Nothing,
}

/// A step that is there and was found.
#[derive(Debug, Clone, Copy)]
struct StepFound {
    /// Days.
    off: f64,
    window_holds: bool,
    size_holds: bool,
}

struct Result {
    said: Said,
    slope_held: Option<bool>,
    /// Steps found that are none.
    wrong: usize,
    years: f64,
    /// Size of the step, and what was found of it.
    step: Option<(f64, Option<StepFound>)>,
    outliers: usize,
    ahead: f64,
}

fn ask(year: &Year, seed: u64) -> Option<Trend> {
    let asked = Asked {
        readings: &year.readings,
        marks: &year.marks,
        conversions: &[],
        limit: Some(year.limit),
        resolution: year.resolution,
        seed,
    };
    trend(&asked, &Progress::new()).ok()?.ok()
}

fn said(year: &Year, outlook: Option<Outlook>) -> Said {
    let truth = year.reached.unwrap_or(f64::INFINITY);
    match outlook {
        None | Some(Outlook::TooLittle(_)) => Said::Nothing,
        Some(Outlook::Reached { .. }) => Said::Reached,
        Some(Outlook::Reaches(p)) => Said::Day {
            held: p.earliest <= truth && p.latest.is_none_or(|l| truth <= l),
            bounded: p.latest.is_some(),
            off: ((p.day - year.cut) / (truth - year.cut)).ln(),
            width: p
                .latest
                .map_or(f64::NAN, |l| (l - p.earliest) / (p.day - year.cut).max(1.0)),
        },
        Some(Outlook::NotInSight {
            until,
            earliest,
            probability,
            ..
        }) => Said::NotInSight {
            believed: 1.0 - probability,
            right: truth > until,
            held: earliest.is_none_or(|e| e <= truth) && (earliest.is_some() || truth > until),
        },
    }
}

fn result(year: &Year, trend: &Trend) -> Result {
    let found: Vec<_> = trend
        .lamps
        .iter()
        .flat_map(|l| &l.offsets)
        .filter(|o| o.cause == Cause::Found)
        .collect();
    let own = year.step.map(|(step, _, _)| step);
    let near = |day: f64| own.is_some_and(|s| (day - s.day).abs() < 7.0);
    let lamp = trend.lamps.last();
    let days: f64 = trend
        .lamps
        .iter()
        .map(|l| l.levels.last().map_or(0.0, |e| e.day) - l.levels[0].day)
        .sum();
    Result {
        said: said(year, trend.outlook),
        slope_held: lamp
            .and_then(|l| l.slope.ok())
            .map(|s| s.per_month.holds((year.slope * 30.4375).exp_m1())),
        wrong: found.iter().filter(|o| !near(o.day)).count(),
        years: days / 365.0,
        step: year
            .step
            .filter(|s| s.1 >= 5 && s.2 >= 5)
            .map(|(step, _, _)| {
                let at = found.iter().filter(|o| near(o.day)).min_by(|a, b| {
                    (a.day - step.day)
                        .abs()
                        .total_cmp(&(b.day - step.day).abs())
                });
                let told = at.map(|o| StepFound {
                    off: o.day - step.day,
                    window_holds: o.window.0 <= step.day && step.day - 0.5 <= o.window.1,
                    size_holds: o.size.holds(step.size.exp_m1()),
                });
                (step.size.abs(), told)
            }),
        outliers: trend.lamps.iter().map(|l| l.outliers.len()).sum(),
        ahead: year.reached.map_or(f64::INFINITY, |r| r - year.cut),
    }
}

/// Hits of so many, as a share with its interval.
fn share(hits: usize, n: usize) -> String {
    if n == 0 {
        return "none".into();
    }
    let (low, high) = clopper_pearson(hits, n);
    let percent = 100.0 * hits as f64 / n as f64;
    format!(
        "{hits}/{n} {percent:.1} % ({:.1} to {:.1})",
        100.0 * low,
        100.0 * high
    )
}

fn report(kinds: &[Kind], results: &[Vec<Result>]) {
    println!(
        "| kind | date | slope | days named, with an end held | day, median off, % | width, median | not in sight, right | reached | nothing |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- | --- | --- |");
    for (kind, results) in kinds.iter().zip(results) {
        let (mut held, mut asked, mut days, mut bounded) = (0, 0, 0, 0);
        let (mut out, mut right, mut reached, mut nothing) = (0, 0, 0, 0);
        let (mut off, mut width) = (Vec::new(), Vec::new());
        let (mut ended, mut believed) = (0, 0.0);
        for result in results {
            match result.said {
                Said::Nothing => {
                    nothing += 1;
                    continue;
                }
                Said::Day {
                    held: h,
                    bounded: b,
                    off: o,
                    width: w,
                } => {
                    (held, days, bounded) =
                        (held + usize::from(h), days + 1, bounded + usize::from(b));
                    off.push(100.0 * o);
                    if b {
                        ended += usize::from(h);
                        width.push(w);
                    }
                }
                Said::NotInSight {
                    right: r,
                    held: h,
                    believed: b,
                } => {
                    believed += b;
                    (held, out, right) = (held + usize::from(h), out + 1, right + usize::from(r));
                }
                Said::Reached => reached += 1,
            }
            asked += 1;
        }
        let slopes: Vec<bool> = results.iter().filter_map(|r| r.slope_held).collect();
        println!(
            "| `{}` | {} | {} | {days}, with an end {} | {:+.1} | {:.2} | {right}/{out}, {believed:.0} expected | {reached} | {nothing} |",
            kind.name,
            share(held, asked),
            share(slopes.iter().filter(|h| **h).count(), slopes.len()),
            share(ended, bounded),
            quantile(&off, 0.5).unwrap_or(f64::NAN),
            quantile(&width, 0.5).unwrap_or(f64::NAN),
        );
    }
    println!(
        "\n| kind | false a year | found, 2 % | 4 % | 8 % | day off by at most 1 | window holds | size holds | outliers a year |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- | --- | --- |");
    for (kind, results) in kinds.iter().zip(results) {
        let wrong: usize = results.iter().map(|r| r.wrong).sum();
        let years: f64 = results.iter().map(|r| r.years).sum();
        let out: usize = results.iter().map(|r| r.outliers).sum();
        let of = |size: f64| {
            let own: Vec<_> = results
                .iter()
                .filter_map(|r| r.step)
                .filter(|s| s.0 == size)
                .collect();
            share(own.iter().filter(|s| s.1.is_some()).count(), own.len())
        };
        let told: Vec<_> = results
            .iter()
            .filter_map(|r| r.step.and_then(|s| s.1))
            .collect();
        let of_told =
            |f: fn(&StepFound) -> bool| share(told.iter().filter(|t| f(t)).count(), told.len());
        // counts are Poisson's: the interval by chi-square
        let low = if wrong == 0 {
            0.0
        } else {
            0.5 * evenfield::numeric::distributions::chi_square_quantile(0.025, 2.0 * wrong as f64)
        };
        let high = 0.5
            * evenfield::numeric::distributions::chi_square_quantile(
                0.975,
                2.0 * wrong as f64 + 2.0,
            );
        println!(
            "| `{}` | {wrong} in {years:.0}: {:.3} ({:.3} to {:.3}) | {} | {} | {} | {} | {} | {} | {:.2} |",
            kind.name,
            wrong as f64 / years,
            low / years,
            high / years,
            of(SIZES[0]),
            of(SIZES[1]),
            of(SIZES[2]),
            of_told(|t| t.off.abs() <= 1.01),
            of_told(|t| t.window_holds),
            of_told(|t| t.size_holds),
            out as f64 / years,
        );
    }
}

/// Logs of several lengths, each asked so often: the median time.
fn speed(times: usize) {
    println!("| readings | lamps | median, ms |");
    println!("| --- | --- | --- |");
    for (readings, lamps) in [
        (365, 3),
        (3000, 10),
        (10_000, 1),
        (10_000, 30),
        (10_000, 100),
    ] {
        let each = readings / lamps;
        let mut chance = chance::Chance::new(5, 3);
        let (mut log, mut marks) = (Vec::new(), Vec::new());
        for i in 0..readings {
            let day = i as f64;
            if i > 0 && i % each == 0 {
                marks.push(Marked {
                    day,
                    mark: Mark::NewLamp,
                });
            }
            log.push(Reading {
                day,
                hours: None,
                irradiance: 50.0
                    * (0.008 * chance.normal() - 0.001 * (i % each) as f64 * (300.0 / each as f64))
                        .exp(),
                conversion: None,
            });
        }
        let asked = Asked {
            readings: &log,
            marks: &marks,
            conversions: &[],
            limit: Some(25.0),
            resolution: 0.1,
            seed: 1,
        };
        let mut taken: Vec<f64> = (0..times.max(1))
            .map(|_| {
                let begun = Instant::now();
                let told = trend(&asked, &Progress::new());
                assert!(matches!(told, Ok(Ok(_))));
                1000.0 * begun.elapsed().as_secs_f64()
            })
            .collect();
        taken.sort_by(f64::total_cmp);
        println!(
            "| {readings} | {} | {:.0} |",
            marks.len() + 1,
            taken[taken.len() / 2]
        );
    }
}

fn main() -> ExitCode {
    let (mut years, mut threads, mut from) = (400, 1, 0);
    let (mut kinds, mut offset, mut list) = (KINDS.to_vec(), 1_000_000, false);
    let mut arguments = std::env::args().skip(1).filter(|a| a != "--bench");
    while let Some(flag) = arguments.next() {
        let value = arguments.next().unwrap_or_default();
        let number = value.parse::<usize>();
        match (flag.as_str(), number) {
            ("--years", Ok(n)) => years = n,
            ("--threads", Ok(n)) => threads = n.max(1),
            ("--from", Ok(n)) => from = n,
            ("--list", Ok(n)) => list = n > 0,
            ("--beside", Ok(n)) => {
                pairs::report(n, 0);
                return ExitCode::SUCCESS;
            }
            ("--speed", Ok(n)) => {
                speed(n);
                return ExitCode::SUCCESS;
            }
            ("--seeds", _) if value == "tune" => (kinds, offset) = (TUNING.to_vec(), 0),
            ("--kinds", _) => {
                let all = [KINDS, TUNING].concat();
                let named = |n: &str| all.iter().copied().find(|k| k.name == n);
                match jobs::listed(&value, named) {
                    Ok(named) => kinds = named,
                    Err(why) => {
                        eprintln!("{why}");
                        return ExitCode::from(2);
                    }
                }
            }
            _ => {
                eprintln!("{flag} {value} is not understood");
                return ExitCode::from(2);
            }
        }
    }
    let begun = Instant::now();
    let results: Vec<Vec<Result>> = kinds
        .iter()
        .map(|kind| {
            let seeds: Vec<usize> = (from..from + years).collect();
            jobs::done(threads, &seeds, |_, &n| {
                let seed = offset + n as u64;
                let year = Year::of(*kind, seed, SIZES[n % SIZES.len()]);
                let trend = ask(&year, seed).expect("sound");
                let result = result(&year, &trend);
                if list {
                    println!(
                        "{} {n} cut {} limit in {:.0}: {:?}; slope {:?} held {:?}; step {:?} {:?}",
                        kind.name,
                        year.cut,
                        result.ahead,
                        trend.outlook,
                        trend.lamps.last().map(|l| l.slope.map(|s| s.per_month)),
                        result.slope_held,
                        year.step,
                        trend
                            .lamps
                            .iter()
                            .flat_map(|l| &l.offsets)
                            .filter(|o| o.cause == Cause::Found)
                            .map(|o| (o.day, o.window, o.size.value))
                            .collect::<Vec<_>>(),
                    );
                }
                result
            })
        })
        .collect();
    report(&kinds, &results);
    println!("\n{:.1} s", begun.elapsed().as_secs_f64());
    ExitCode::SUCCESS
}
