//! How long a field takes: medians and least times of repeated runs.
//!
//! `cargo bench --bench field` prints a table, `cargo bench --bench field -- --json` one JSON line a case; a
//! further argument keeps the cases whose name contains it. Measured are the fit (families made, scored
//! and chosen between), the fit with a map of 200 x 150 nodes without and with uncertainty, and such a map with
//! uncertainty of a field that is fitted already. `tests/reference/kriging_speed.py`, `source_speed.py` and
//! `scan_speed.py` compare
//! with reference libraries, turn by turn.

use std::hint::black_box;
use std::time::{Duration, Instant};

use evenfield::field::{Directional, Face, FitSettings, Fitted, Raster, Sample, fit};
use evenfield::geometry::{Footprint, Place, Point, Shape};
use evenfield::progress::Progress;

const SETTINGS: FitSettings = FitSettings {
    family: None,
    resolution: 0.01,
    face: None,
    aperture: 0.0,
    directional: Directional {
        power: 0.0,
        doubt: 0.0,
    },
    mirrors: false,
    bare: false,
    scatter: None,
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
            minute: None,
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
                minute: None,
            });
        }
    }
    samples
}

/// What a scan would read without errors, mW/cm²: twelve Lambertian points 50 mm up.
fn scanned(x: f64, y: f64) -> f64 {
    let points = (0..12).map(|i| {
        let (px, py) = (
            30.0 + 40.0 * f64::from(i % 4),
            20.0 + 40.0 * f64::from(i / 4),
        );
        let away = (x - px).powi(2) + (y - py).powi(2);
        (2500.0 / (2500.0 + away)).powi(2)
    });
    20.0 * points.sum::<f64>()
}

/// A machine's scan of 180 x 120 mm at one height: places spread evenly (the golden ratio's sequence), 1 % noise that
/// any language makes alike. `tests/reference/scan_speed.py` makes the same.
fn scan(n: usize) -> Vec<Sample> {
    (0..n)
        .map(|i| {
            let t = i as f64;
            let x = 180.0 * (t * 0.618_033_988_749_895).fract();
            let y = 120.0 * (t * 0.754_877_666_246_693).fract();
            let even = ((t * 12.9898).sin() * 43_758.545_3).rem_euclid(1.0);
            let noise = 12f64.sqrt() * (even - 0.5);
            Sample {
                at: Place::new(x, y, 30.0),
                irradiance: scanned(x, y) * (1.0 + 0.01 * noise),
                position: i,
                minute: None,
            }
        })
        .collect()
}

/// How far the map of a scan is from the truth within the readings, percent.
fn accuracy(samples: &[Sample]) -> f64 {
    let raster = map(&fitted(samples, Some(&face())), false);
    let (mut squares, mut count) = (0.0, 0.0_f64);
    for row in 0..raster.rows {
        for column in 0..raster.columns {
            let at = raster.node(column, row);
            if (0.0..=180.0).contains(&at.x) && (0.0..=120.0).contains(&at.y) {
                let value = raster.irradiance[row * raster.columns + column];
                squares += (value / scanned(at.x, at.y) - 1.0).powi(2);
                count += 1.0;
            }
        }
    }
    100.0 * (squares / count).sqrt()
}

/// Median and least time of some runs, after one that is not counted.
fn time(times: usize, mut run: impl FnMut()) -> (Duration, Duration) {
    run();
    let mut taken: Vec<Duration> = (0..times)
        .map(|_| {
            let start = Instant::now();
            run();
            start.elapsed()
        })
        .collect();
    taken.sort_unstable();
    (taken[times / 2], taken[0])
}

fn fitted(samples: &[Sample], face: Option<&Face>) -> Fitted {
    let face = face.cloned();
    let settings = FitSettings { face, ..SETTINGS };
    fit(&settings, samples, &Progress::new()).expect("a field")
}

/// A face over the dome.
fn face() -> Face {
    Face {
        height: 110.0,
        outline: Some(Footprint::new(
            Shape::Rectangle {
                width: 200.0,
                depth: 130.0,
            },
            Point::new(90.0, 60.0),
        )),
    }
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
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let json = arguments.iter().any(|a| a == "--json");
    let kept = arguments.iter().find(|a| !a.starts_with("--"));
    let report = |case: String, times: usize, run: &mut dyn FnMut()| {
        if kept.is_some_and(|kept| !case.contains(kept.as_str())) {
            return;
        }
        let (median, least) = time(times, run);
        let [median, least] = [median, least].map(|t| t.as_secs_f64() * 1e3);
        if json {
            println!("{{\"case\":\"{case}\",\"median_ms\":{median:.3},\"least_ms\":{least:.3}}}");
        } else {
            println!("{case:<52} {median:>9.2} ms, least {least:>9.2} ms");
        }
    };
    let face = face();
    let (one, three, many) = (forty_nine(), dome(7, 7), dome(25, 20));
    let (scan_20, scan_100) = (scan(20_000), scan(100_000));
    if kept.is_some_and(|kept| kept == "accuracy") {
        let off = accuracy(&scan_20);
        println!("20000 readings at one height: {off:.3} % off within them (root mean square)");
        return;
    }
    for (name, samples, face, times) in [
        ("49 readings at one height", &one, None, 31),
        ("147 readings at three heights", &three, None, 11),
        ("147 readings, source-aware", &three, Some(&face), 11),
        ("1500 readings at three heights", &many, None, 3),
        ("1500 readings, source-aware", &many, Some(&face), 1),
        ("20000 readings at one height", &scan_20, Some(&face), 7),
        ("100000 readings at one height", &scan_100, Some(&face), 3),
    ] {
        report(format!("{name}: fit"), times, &mut || {
            black_box(fitted(samples, face));
        });
        report(format!("{name}: fit and map"), times, &mut || {
            black_box(map(&fitted(samples, face), false));
        });
        report(
            format!("{name}: fit and map with uncertainty"),
            times,
            &mut || {
                black_box(map(&fitted(samples, face), true));
            },
        );
        let mut field = None;
        report(
            format!("{name}: map with uncertainty"),
            times.min(5),
            &mut || {
                let field = field.get_or_insert_with(|| fitted(samples, face));
                black_box(map(field, true));
            },
        );
    }
}
