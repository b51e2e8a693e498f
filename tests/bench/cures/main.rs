//! How often what cure trials are said to show is wrong, on trials whose truth is known.
//!
//! `cargo bench --no-default-features --bench cures -- 1000` makes 1,000 runs of each design and prints
//! rates in percent of all runs with their 95 % interval (Clopper & Pearson).

mod study;

use study::{JUDGED, REACHING, SHORT_OF_IT, TEN_SHORT, Truth};

fn main() {
    let runs = std::env::args()
        .filter_map(|a| a.parse::<usize>().ok())
        .next()
        .unwrap_or(200);
    let seed = 20_260;
    println!("{runs} runs each; rates in percent of all runs (95 % interval)\n");
    println!("Bound of the least level, stated to be too low in at most 5 %");
    println!(
        "{:<24} {:>7} {:>22} {:>22} {:>22} {:>22} {:>6}",
        "truth", "level", "level given", "too low", "levels alone", "curves alone", "over"
    );
    for (title, designs) in [
        ("", REACHING),
        ("highest level short of full cure", SHORT_OF_IT),
    ] {
        if !title.is_empty() {
            println!("{title}");
        }
        for design in designs {
            let o = study::outcome(design, runs, seed);
            println!(
                "{:<24} {:>7.1} {:>22} {:>22} {:>22} {:>22} {:>6.2}",
                o.name,
                o.truth,
                o.given.to_string(),
                o.wrong.to_string(),
                o.wrong_levels.to_string(),
                o.wrong_curves.to_string(),
                o.over
            );
        }
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
