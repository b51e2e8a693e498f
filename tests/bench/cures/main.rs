//! How often what cure trials are said to show is wrong, on trials whose truth is known.
//!
//! `cargo bench --no-default-features --bench cures -- 1000` makes 1,000 runs of each design and prints
//! rates in percent of all runs with their 95 % interval (Clopper & Pearson).

#[path = "../intervals.rs"]
#[allow(dead_code)]
mod intervals;
mod study;

use evenfield::trials::rise::Prior;
use study::{JUDGED, REACHING, SHORT_OF_IT, TEN_SHORT, Truth, UNSEEN};

fn main() {
    let runs = std::env::args()
        .filter_map(|a| a.parse::<usize>().ok())
        .next()
        .unwrap_or(200);
    let seed = 20_261;
    println!("{runs} runs each; rates in percent of all runs (95 % interval)\n");
    println!("Bound of the least level, stated to be too low in at most 5 %");
    println!("Left out: with weights of the shapes that were found without the truths of its kind");
    println!(
        "{:<24} {:>7} {:>22} {:>22} {:>6} {:>22} {:>6}",
        "truth", "level", "level given", "too low", "over", "left out: too low", "over"
    );
    let line = |design: &study::Design, prior: Option<&Prior>| {
        let o = study::outcome(design, prior, runs, seed);
        let (wrong, over) = match o.other {
            Some((wrong, over)) => (wrong.to_string(), format!("{over:.2}")),
            None => Default::default(),
        };
        println!(
            "{:<24} {:>7.1} {:>22} {:>22} {:>6.2} {wrong:>22} {over:>6}",
            o.name,
            o.truth,
            o.given.to_string(),
            o.wrong.to_string(),
            o.over,
        );
    };
    for (_, prior, designs) in REACHING {
        designs.iter().for_each(|d| line(d, Some(prior)));
    }
    println!("nothing was found by these");
    UNSEEN.iter().for_each(|d| line(d, None));
    println!("highest level short of full cure");
    SHORT_OF_IT.iter().for_each(|d| line(d, None));
    println!(
        "\nFurther parts, as proposed: bound over truth before and after, and after over expected (medians)"
    );
    for (_, _, designs) in REACHING {
        let f = study::furthered(&designs[0], runs / 2, seed);
        println!(
            "{:<24} proposed {}, then given {}, too low {}: {:.2} to {:.2}, {:.2} of expected",
            designs[0].name, f.proposed, f.given, f.wrong, f.before, f.after, f.as_expected
        );
    }
    println!("\nA level 10 % short of the plateau is called full cure");
    for design in TEN_SHORT {
        println!(
            "{:<24} {}",
            design.name,
            study::ten_short(design, runs, seed)
        );
    }
    println!(
        "\nPass and fail: the bound of the curves confirmed by 59 parts; fewer than 95 % pass there"
    );
    for &(name, truth, parts) in JUDGED {
        let (given, wrong, curves) = study::judged(truth, parts, runs, seed);
        println!("{name:<24} confirmed {given}, too low {wrong}; curves alone too low {curves}");
    }
    println!("\nThe 95 % interval of p in E^p t holds it");
    for (power, truth) in [
        (1.0, Truth::FirstOrder(30.0)),
        (0.7, Truth::FirstOrder(30.0)),
        (1.0, Truth::LogNormal(25.0, 0.5)),
    ] {
        println!(
            "p = {power}, {truth:?}: {}",
            study::power_held(power, truth, runs, seed)
        );
    }
    println!("\nThe same of parts that pass or fail");
    for (power, truth) in [
        (1.0, Truth::LogNormal(30.0, 0.5)),
        (0.7, Truth::LogNormal(30.0, 0.5)),
        (1.0, Truth::FirstOrder(30.0)),
    ] {
        println!(
            "p = {power}, {truth:?}: {}",
            study::judged_power_held(power, truth, runs, seed)
        );
    }
}
