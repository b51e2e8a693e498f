//! What came of it, case by case.

use std::fmt::Write;

use crate::intervals::wilson;
use crate::kinds::Group;
use crate::pairs::{Case, Outcome};

/// All, and each case with one group of kinds left out.
pub fn table(all: &[Outcome], cases: &[Case]) -> String {
    let mut out = String::new();
    for &case in cases {
        let of: Vec<&Outcome> = all.iter().filter(|o| o.case == case).collect();
        lines(&mut out, case, "all", &of);
        for group in Group::ALL {
            let without: Vec<&Outcome> = of.iter().copied().filter(|o| o.group != group).collect();
            if without.len() < of.len() && !without.is_empty() {
                lines(
                    &mut out,
                    case,
                    &format!("without {}", group.name()),
                    &without,
                );
            }
        }
        for group in Group::ALL {
            let only: Vec<&Outcome> = of.iter().copied().filter(|o| o.group == group).collect();
            if only.len() < of.len() && !only.is_empty() {
                lines(&mut out, case, &format!("only {}", group.name()), &only);
            }
        }
    }
    out
}

/// A line a pair, to look closer at.
pub fn each(all: &[Outcome]) -> String {
    let mut out = String::new();
    for o in all {
        let _ = writeln!(
            out,
            "{},{},{},{},{},{},{:.2},{:.5},{:.2},{},{},{},{}",
            o.case.name(),
            o.group.name(),
            o.zones.0,
            o.zones.1,
            o.found,
            o.named,
            o.off,
            o.unsure,
            o.depth_off,
            o.common,
            o.covers,
            o.misnamed,
            o.harm,
        );
    }
    out
}

fn lines(out: &mut String, case: Case, of: &str, all: &[&Outcome]) {
    let count = |test: &dyn Fn(&Outcome) -> bool| all.iter().filter(|o| test(o)).count();
    let n = all.len();
    let cold = count(&|o| o.zones.0 > 0);
    let _ = write!(
        out,
        "| {} | {of} | {n} | cold zone said {} | hot zone said {} ",
        case.name(),
        share(cold, n),
        share(count(&|o| o.zones.1 > 0), n)
    );
    let _ = match case {
        Case::Zone | Case::Narrow | Case::Patch => {
            let found = count(&|o| o.found);
            let covers = count(&|o| o.found && o.covers);
            let there = count(&|o| o.found && o.there);
            write!(
                out,
                "| found within a pitch {} | depth covered {} | depth beside the stated common change covered {} | more than one cold {} ",
                share(found, n),
                share(covers, found),
                share(there, found),
                share(count(&|o| o.zones.0 > 1), n)
            )
        }
        Case::Pair => write!(
            out,
            "| common change said to be proven {} ",
            share(count(&|o| o.blamed), n)
        ),
        Case::Height | Case::Tilt | Case::Shift => {
            write!(
                out,
                "| named {} | something else named too {} | no zone or named {} ",
                share(count(&|o| o.named), n),
                share(count(&|o| o.misnamed), n),
                share(count(&|o| o.named || o.zones == (0, 0)), n)
            )
        }
        Case::Short => {
            let mut shares: Vec<f64> = all.iter().map(|o| o.share).collect();
            shares.sort_by(f64::total_cmp);
            let median = shares.get(shares.len() / 2).copied().unwrap_or(f64::NAN);
            let each = ["zone", "height", "shift", "tilt"].map(|harm| {
                let drawn = count(&|o| o.harm == harm);
                let found = count(&|o| o.harm == harm && o.named);
                format!("{harm} {}", share(found, drawn))
            });
            write!(
                out,
                "| what was promised is found {} | {} | of the readings, median {:.0} % ",
                share(count(&|o| o.named), n),
                each.join(" | "),
                100.0 * median
            )
        }
        Case::Aged => write!(
            out,
            "| something named {} ",
            share(count(&|o| o.misnamed), n)
        ),
    };
    let mut smallest: Vec<f64> = all
        .iter()
        .map(|o| o.smallest)
        .filter(|s| s.is_finite())
        .collect();
    smallest.sort_by(f64::total_cmp);
    let median = smallest
        .get(smallest.len() / 2)
        .copied()
        .unwrap_or(f64::NAN);
    let _ = writeln!(
        out,
        "| common change covered {} | smallest {:.1} % |",
        share(count(&|o| o.common), n),
        100.0 * median
    );
}

/// A share with the interval that holds it with 95 % confidence (Wilson 1927).
pub fn share(hits: usize, n: usize) -> String {
    if n == 0 {
        return "0/0".into();
    }
    let (low, high) = wilson(hits, n);
    format!(
        "{hits}/{n} {:.1} % ({:.1} to {:.1})",
        100.0 * hits as f64 / n as f64,
        100.0 * low,
        100.0 * high
    )
}
