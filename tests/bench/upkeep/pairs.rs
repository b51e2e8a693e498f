//! Two radiometers side by side, simulated: how often the ratio's interval holds it.

use evenfield::upkeep::beside::{Beside, Pair};

use crate::chance::Chance;
use crate::share;

/// Settings of the light, repeats at each, and what the stand-in reads too much whatever the light, mW/cm².
const DESIGNS: [(&str, usize, usize, f64); 5] = [
    ("3 settings, once", 3, 1, 0.0),
    ("3 settings, 3 repeats", 3, 3, 0.0),
    ("5 settings, 3 repeats", 5, 3, 0.0),
    ("8 settings, 2 repeats", 8, 2, 0.0),
    ("5 settings, 3 repeats, zero off by 0.5", 5, 3, 0.5),
];

/// Levels from 15 to 90 mW/cm²; detectors put down anew at each setting differ by 0.6 %, readings scatter by 0.4 %; shown to 0.1.
pub fn report(comparisons: usize, offset: u64) {
    println!(
        "| design | interval holds the ratio | depends on level, said | a converted reading held |"
    );
    println!("| --- | --- | --- | --- |");
    for (name, settings, repeats, zero) in DESIGNS {
        let (mut held, mut depends, mut converted) = (0, 0, 0);
        for n in 0..comparisons {
            let mut chance = Chance::new(offset + n as u64, 7);
            let ratio = chance.between(0.9, 1.1);
            let mut pairs = Vec::new();
            for setting in 0..settings {
                let along = setting as f64 / (settings - 1) as f64;
                let level = 15.0 * 6f64.powf(along);
                let placed = (0.006 * chance.normal()).exp();
                for _ in 0..repeats {
                    let mut read = |light: f64| {
                        let shown = light * (0.004 * chance.normal()).exp();
                        (shown * 10.0).round() / 10.0
                    };
                    let main = read(level * placed);
                    let stand_in = read(level / ratio + zero);
                    pairs.push(Pair {
                        setting,
                        main,
                        stand_in,
                    });
                }
            }
            let Ok(found) = Beside::of(&pairs, None, 0.0) else {
                continue;
            };
            held += usize::from(found.ratio.holds(ratio));
            depends += usize::from(found.dependence.as_ref().is_some_and(|d| d.depends));
            // a light between the levels, read without noise
            let light = chance.between(20.0, 80.0);
            let told = found.convert(light / ratio + zero);
            converted += usize::from(
                told.is_some_and(|t| (t.irradiance / light).ln().abs() <= 1.959_964 * t.added),
            );
        }
        println!(
            "| {name} | {} | {} | {} |",
            share(held, comparisons),
            share(depends, comparisons),
            share(converted, comparisons)
        );
    }
}
