//! Parts anywhere on beds with things standing on them: what the usual search finds, over the bound and over the best that a
//! search twenty times as long finds.

use std::process::ExitCode;
use std::sync::Arc;

use evenfield::field::{Face, FitSettings, Fitted, Sample, fit};
use evenfield::geometry::{Footprint, Place, Point, Shape};
use evenfield::placement::{Bars, Bed, Kind, Part, Passes, Surely, ToPlace, Wish};
use evenfield::progress::Progress;

use crate::chance::Chance;

/// Any field: no limit is held against it.
fn field() -> Option<Arc<Fitted>> {
    let samples: Vec<Sample> = (0..27)
        .map(|i| Sample {
            at: Place::new(
                50.0 * f64::from(i % 3),
                50.0 * f64::from(i / 3 % 3),
                10.0 * f64::from(i / 9),
            ),
            irradiance: 100.0 + f64::from(i * 7 % 5),
            position: i as usize % 9,
            minute: None,
        })
        .collect();
    let settings = FitSettings {
        face: Some(Face {
            height: 80.0,
            outline: None,
        }),
        ..FitSettings::default()
    };
    fit(&settings, &samples, &Progress::new())
        .ok()
        .map(Into::into)
}

/// A bed of 150 to 250 mm, round in one case of four, with up to five things on it; a part of 14 to 40 mm.
fn question(field: Arc<Fitted>, chance: &mut Chance) -> ToPlace {
    let (w, d) = (
        chance.between(150.0, 250.0).round(),
        chance.between(120.0, 200.0).round(),
    );
    let middle = Point::new(0.5 * w, 0.5 * d);
    let outline = if chance.happens(0.25) {
        Footprint::new(Shape::Circle { diameter: d }, Point::new(0.5 * d, 0.5 * d))
    } else {
        Footprint::new(Shape::Rectangle { width: w, depth: d }, middle)
    };
    let barred = (0..chance.whole(0, 5))
        .map(|_| {
            let at = Point::new(chance.between(0.0, w), chance.between(0.0, d));
            Footprint::new(
                Shape::Circle {
                    diameter: chance.between(8.0, 40.0),
                },
                at,
            )
        })
        .collect();
    let side = |chance: &mut Chance| chance.between(14.0, 40.0).round();
    let (a, b) = (side(chance), side(chance));
    ToPlace {
        field,
        part: Part {
            shape: if chance.happens(0.25) {
                Shape::Circle { diameter: a }
            } else {
                Shape::Rectangle { width: a, depth: b }
            },
            may_turn: chance.happens(0.6),
            clearance: chance.between(0.0, 3.0),
            tolerance: 0.0,
        },
        bed: Bed {
            outline,
            rim: chance.between(0.0, 4.0),
            barred,
            height: 10.0,
        },
        bars: Bars::none(),
        kind: Kind::Free,
        wish: Wish::Most,
        surely: Surely::AllAtOnce,
        effort: 1,
        passes: Passes::once(),
    }
}

pub fn packing(beds: usize) -> ExitCode {
    let Some(field) = field() else {
        eprintln!("no field");
        return ExitCode::FAILURE;
    };
    let (mut of_bound, mut of_best, mut optimal) = (Vec::new(), Vec::new(), 0);
    for bed in 0..beds {
        let mut chance = Chance::new(3_000_000 + bed as u64, 0x9ac);
        let mut ask = question(field.clone(), &mut chance);
        let usual = ask.place(&mut |_| {}, &Progress::new());
        ask.effort = 20;
        let long = ask.place(&mut |_| {}, &Progress::new());
        ask.kind = Kind::Rows { shifted: true };
        let rows = ask.place(&mut |_| {}, &Progress::new());
        let (Ok(usual), Ok(long), Ok(rows)) = (usual, long, rows) else {
            continue;
        };
        let (n, most) = (usual.sites.len(), long.sites.len());
        let bound = usual
            .bound
            .map_or(n, |b| b.count)
            .min(long.bound.map_or(most, |b| b.count));
        println!(
            "{bed}: {:?} turn {} on {:?}: rows {}, usual {n}, long {most}, bound {bound} {:?}",
            ask.part.shape,
            ask.part.may_turn,
            ask.bed.outline.shape,
            rows.sites.len(),
            usual.bound.map(|b| b.method)
        );
        of_bound.push(n as f64 / bound.max(1) as f64);
        of_best.push(n as f64 / most.max(1) as f64);
        optimal += usize::from(n == bound);
    }
    let told = |name: &str, all: &mut Vec<f64>| {
        all.sort_by(f64::total_cmp);
        let mean = all.iter().sum::<f64>() / all.len().max(1) as f64;
        let least = all.first().copied().unwrap_or(0.0);
        println!(
            "{name}: mean {:.1} %, least {:.1} %",
            100.0 * mean,
            100.0 * least
        );
    };
    told("of the bound", &mut of_bound);
    told("of the best known", &mut of_best);
    println!("proven optimal: {optimal} of {}", of_best.len());
    ExitCode::SUCCESS
}
