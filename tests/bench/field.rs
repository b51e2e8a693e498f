//! How long a field takes: medians of repeated runs on one thread.
//!
//! `cargo bench --bench field` prints a table, `cargo bench --bench field -- --json` one JSON line a case.
//! `tests/reference/kriging_speed.py` compares the first case with a reference library.

use std::hint::black_box;
use std::time::{Duration, Instant};

use evenfield::field::{FitSettings, Fitted, Raster, Sample, fit};
use evenfield::geometry::{Footprint, Place, Point, Shape};
use evenfield::progress::Progress;

const SETTINGS: FitSettings = FitSettings {
    family: None,
    resolution: 0.01,
};

/// 49 positions at one height, shared with the script.
fn forty_nine() -> Vec<Sample> {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/reference/data/readings_7x7.csv"
    );
    let text = std::fs::read_to_string(path).expect("the readings are in the repository");
    let rows = text.lines().skip(1).enumerate();
    rows.map(|(position, line)| {
        let row: Vec<f64> = line
            .split(',')
            .map(|cell| cell.parse().expect("a number"))
            .collect();
        Sample {
            at: Place::new(row[0], row[1], row[2]),
            irradiance: row[3],
            position,
        }
    })
    .collect()
}

/// A dome over 180 x 120 mm at `columns` by `rows` positions and three heights, with a ripple of 1.5 %
/// as noise.
fn dome(columns: usize, rows: usize) -> Vec<Sample> {
    let mut samples = Vec::new();
    for position in 0..columns * rows {
        let x = 6.0 + 168.0 * (position % columns) as f64 / (columns - 1) as f64;
        let y = 6.0 + 108.0 * (position / columns) as f64 / (rows - 1) as f64;
        for height in [10.0, 30.0, 50.0] {
            let fall =
                ((x - 90.0).powi(2) + 2.0 * (y - 60.0).powi(2)) / (25_000.0 - 200.0 * height);
            let ripple = 1.0 + 0.021 * (samples.len() as f64 * 2.399).sin();
            samples.push(Sample {
                at: Place::new(x, y, height),
                irradiance: 40.0 * (0.01 * height - fall).exp() * ripple,
                position,
            });
        }
    }
    samples
}

fn median(times: usize, mut run: impl FnMut()) -> Duration {
    run();
    let mut taken: Vec<Duration> = (0..times)
        .map(|_| {
            let start = Instant::now();
            run();
            start.elapsed()
        })
        .collect();
    taken.sort_unstable();
    taken[times / 2]
}

fn fitted(samples: &[Sample]) -> Fitted {
    fit(&SETTINGS, samples, &Progress::new()).expect("a field")
}

/// 200 x 150 nodes over the whole fixture.
fn map(field: &Fitted, uncertainty: bool) -> Raster {
    let outline = Footprint::new(
        Shape::Rectangle {
            width: 199.0,
            depth: 149.0,
        },
        Point::new(90.0, 60.0),
    );
    let progress = Progress::new();
    let make = if uncertainty {
        Raster::of
    } else {
        Raster::of_irradiance
    };
    let raster = make(field, &outline, 30.0, 1.0, &progress).expect("not cancelled");
    assert_eq!((raster.columns, raster.rows), (200, 150));
    raster
}

fn main() {
    let json = std::env::args().any(|a| a == "--json");
    let report = |case: &str, took: Duration| {
        let ms = took.as_secs_f64() * 1e3;
        if json {
            println!("{{\"case\":\"{case}\",\"median_ms\":{ms:.3}}}");
        } else {
            println!("{case:<52} {ms:>9.2} ms");
        }
    };
    let (one, three, many) = (forty_nine(), dome(7, 7), dome(25, 20));
    for (name, samples, times) in [
        ("49 readings at one height", &one, 31),
        ("147 readings at three heights", &three, 11),
        ("1500 readings at three heights", &many, 3),
    ] {
        let fit_only = median(times, || {
            black_box(fitted(samples));
        });
        report(&format!("{name}: fit"), fit_only);
        let both = median(times, || {
            black_box(map(&fitted(samples), false));
        });
        report(&format!("{name}: fit and map"), both);
        let field = fitted(samples);
        let sure = median(times.min(5), || {
            black_box(map(&field, true));
        });
        report(&format!("{name}: map with uncertainty"), sure);
    }
}
