//! How long it takes: a 200 x 150 mm fixture and parts of 24 x 18 mm.

use std::process::ExitCode;
use std::time::Instant;

use evenfield::assess::limits::Scale;
use evenfield::field::{Face, FitSettings, Sample, fit};
use evenfield::geometry::{Footprint, Place, Point, Shape};
use evenfield::lamps::{Emitter, Emitters, Errors, Lamp, Lobe, Reader};
use evenfield::placement::{Bar, Bars, Bed, Kind, Part, Passes, Surely, ToPlace, Wish};
use evenfield::progress::Progress;

const SIZE: (f64, f64) = (200.0, 150.0);

/// A panel of 7 x 5 LEDs, 7 x 7 positions at three heights.
pub fn speed() -> ExitCode {
    let emitters = (0..35)
        .map(|i| Emitter {
            at: Point::new(
                10.0 + 30.0 * f64::from(i % 7),
                15.0 + 30.0 * f64::from(i / 7),
            ),
            power: 700.0,
        })
        .collect();
    let squared: Vec<f64> = (0..=18)
        .map(|i| (5.0 * f64::from(i)).to_radians().cos().powi(2))
        .collect();
    let Some(lobe) = Lobe::from_table(&squared) else {
        eprintln!("no lobe");
        return ExitCode::FAILURE;
    };
    let lamp = Emitters {
        face_height: 80.0,
        lobe,
        emitters,
    };
    let mut reader = Reader::new(
        Errors {
            noise: 0.012,
            placement: 0.7,
            resolution: 0.01,
            ..Errors::default()
        },
        11,
    );
    let mut samples = Vec::new();
    for height in [10.0, 20.0, 30.0] {
        for position in 0..49 {
            let (column, row) = (position % 7, position / 7);
            let at = Place::new(
                SIZE.0 * column as f64 / 6.0,
                SIZE.1 * row as f64 / 6.0,
                height,
            );
            let placed = reader.set_down(at);
            let irradiance = reader.read(&lamp, placed, 0.0);
            samples.push(Sample {
                at,
                irradiance,
                position,
                minute: None,
            });
        }
    }
    let fixture = Footprint::new(
        Shape::Rectangle {
            width: SIZE.0,
            depth: SIZE.1,
        },
        Point::new(0.5 * SIZE.0, 0.5 * SIZE.1),
    );
    let settings = FitSettings {
        face: Some(Face {
            height: 80.0,
            outline: None,
        }),
        resolution: 0.01,
        ..FitSettings::default()
    };
    let begun = Instant::now();
    let Ok(field) = fit(&settings, &samples, &Progress::new()) else {
        eprintln!("no field");
        return ExitCode::FAILURE;
    };
    println!(
        "field {:.2} s, {:?}",
        begun.elapsed().as_secs_f64(),
        field.family()
    );
    let middle = lamp.irradiance(Place::new(100.0, 75.0, 20.0));
    let bar = |value: f64| {
        Some(Bar {
            value,
            scale: Scale::Relative,
        })
    };
    let ask = ToPlace {
        field: field.into(),
        part: Part {
            shape: Shape::Rectangle {
                width: 24.0,
                depth: 18.0,
            },
            may_turn: false,
            clearance: 2.0,
            tolerance: 0.2,
        },
        bed: Bed {
            outline: fixture,
            rim: 2.0,
            barred: Vec::new(),
            height: 20.0,
        },
        bars: Bars {
            lower: bar(0.62 * middle),
            upper: bar(1.2 * middle),
            ..Bars::none()
        },
        kind: Kind::Rows { shifted: false },
        wish: Wish::Most,
        surely: Surely::AllAtOnce,
        effort: 1,
        passes: Passes::once(),
    };
    let kinds = [
        ("rows", Kind::Rows { shifted: false }, false),
        ("rows, shifted too", Kind::Rows { shifted: true }, false),
        ("rows, turned too", Kind::Rows { shifted: true }, true),
        ("free", Kind::Free, false),
        ("free, turned too", Kind::Free, true),
    ];
    for (name, kind, may_turn) in kinds {
        let mut ask = ask.clone();
        (ask.kind, ask.part.may_turn) = (kind, may_turn);
        let begun = Instant::now();
        let mut first = None;
        let placed = ask.place(
            &mut |p| {
                first.get_or_insert((begun.elapsed().as_secs_f64(), p.sites.len()));
            },
            &Progress::new(),
        );
        let all = begun.elapsed().as_secs_f64();
        match placed {
            Ok(p) => println!(
                "{name:<20} first {:.2} s ({}), all {all:.2} s: {} parts, bound {:?}, confidence {:?}, alone {:?}, plain {:?}",
                first.map_or(0.0, |f| f.0),
                first.map_or(0, |f| f.1),
                p.sites.len(),
                p.bound,
                p.confidence,
                p.alone,
                p.plain
            ),
            Err(why) => eprintln!("{name}: {why:?}"),
        }
    }
    ExitCode::SUCCESS
}
