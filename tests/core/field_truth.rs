//! The field against a known truth that is not made of the model's own covariance.

use evenfield::field::{
    Area, Directional, Estimate, Extreme, Face, Family, FitSettings, Raster, Sample, extremum, fit,
};
use evenfield::geometry::{Footprint, Place, Point, Shape};
use evenfield::numeric::random::Normals;
use evenfield::progress::Progress;

/// Irradiance over exitance opposite the corner of a Lambertian rectangle `a` by `b` at distance `c`
/// (Tregenza & Sharples, Daylight Algorithms 3.14, after Siegel & Howell).
fn corner(a: f64, b: f64, c: f64) -> f64 {
    let (a, b) = (a / c, b / c);
    let (ra, rb) = ((1.0 + a * a).sqrt(), (1.0 + b * b).sqrt());
    (a / ra * (b / ra).atan() + b / rb * (a / rb).atan()) / std::f64::consts::TAU
}

/// A face of 200 x 120 mm and 100 mW/cm² centred over `(90, 60)`, its plane 120 mm above the base: corner
/// rectangles are added and subtracted.
fn truth(p: Place) -> f64 {
    let (x, y, c) = (p.x - 90.0, p.y - 60.0, 120.0 - p.height);
    let along = |at: f64, half: f64| [half - at, half + at];
    along(x, 100.0)
        .iter()
        .flat_map(|&a| {
            along(y, 60.0).map(|b| a.signum() * b.signum() * corner(a.abs(), b.abs(), c))
        })
        .sum::<f64>()
        * 100.0
}

fn fixture() -> Footprint {
    Footprint::new(
        Shape::Rectangle {
            width: 180.0,
            depth: 120.0,
        },
        Point::new(90.0, 60.0),
    )
}

/// 5 x 5 positions, the outer ones 6 mm inside the rim, at three heights, read with 1.2 % noise.
fn readings(seed: u64) -> Vec<Sample> {
    let mut noise = Normals::new(seed, 0);
    (0..25)
        .flat_map(|i| [10.0, 30.0, 50.0].map(|h| (i, h)))
        .map(|(i, h)| {
            let at = Place::new(6.0 + 42.0 * (i % 5) as f64, 6.0 + 27.0 * (i / 5) as f64, h);
            Sample {
                at,
                irradiance: truth(at) * (1.0 + 0.012 * noise.draw()),
                position: i,
                minute: None,
            }
        })
        .collect()
}

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
    bare: true, // what families say, on lamps that are of their kind
    scatter: None,
};

#[test]
fn the_closed_form_is_the_published_one() {
    // checks of the closed form: 200 x 120 at 100 mm, above the middle and above (50, 30)
    let middle = truth(Place::new(90.0, 60.0, 20.0)) / 100.0;
    assert!((middle - 0.412792914383412).abs() < 1e-12);
    let aside = truth(Place::new(140.0, 90.0, 20.0)) / 100.0;
    assert!((aside - 0.341794965903909).abs() < 1e-12);
}

#[test]
fn maps_are_near_the_truth_and_their_bands_hold() {
    let progress = Progress::new();
    let (mut squares, mut within, mut nodes) = (0.0, 0, 0);
    let mut worst: f64 = 0.0;
    for seed in 0..12 {
        let field = fit(&SETTINGS, &readings(seed), &progress).expect("a field");
        let noise = field.noise().expect("kriging has one");
        assert!((0.006..0.02).contains(&noise), "{noise}");
        for height in [10.0, 25.0, 40.0] {
            let raster = Raster::of(&field, &fixture(), height, 6.0, &progress).expect("a raster");
            for i in 0..raster.irradiance.len() {
                let at = raster
                    .node(i % raster.columns, i / raster.columns)
                    .at_height(height);
                let error = raster.irradiance[i] / truth(at) - 1.0;
                squares += error * error;
                worst = worst.max(error.abs());
                let band = 1.96 * raster.uncertainty[i] / raster.irradiance[i];
                within += usize::from((raster.irradiance[i] / truth(at)).ln().abs() <= band);
                nodes += 1;
            }
        }
    }
    let rms = (squares / nodes as f64).sqrt();
    let coverage = within as f64 / nodes as f64;
    println!(
        "rms {:.2} %, worst {:.1} %, 95 % bands hold {:.1} %",
        100.0 * rms,
        100.0 * worst,
        100.0 * coverage
    );
    assert!(rms < 0.012, "rms error {rms}");
    assert!((0.88..0.995).contains(&coverage), "coverage {coverage}");
}

#[test]
fn the_extremes_are_found_between_the_nodes() {
    let progress = Progress::new();
    let field = fit(&SETTINGS, &readings(3), &progress).expect("a field");
    let site = |x: f64, y: f64, height: f64| Area {
        outline: Footprint::new(Shape::Circle { diameter: 30.0 }, Point::new(x, y)),
        height,
    };
    let whole = Area {
        outline: fixture(),
        height: 30.0,
    };
    let find = |areas: &[Area], extreme| {
        extremum(&field, areas, extreme, &progress)
            .expect("not cancelled")
            .expect("areas")
    };
    let (_, hot) = find(std::slice::from_ref(&whole), Extreme::Hottest);
    assert!(
        hot.point().distance(Point::new(90.0, 60.0)) < 12.0,
        "{hot:?}"
    );
    let (_, cold) = find(std::slice::from_ref(&whole), Extreme::Coldest);
    let corner = whole
        .outline
        .outline()
        .iter()
        .map(|c| c.distance(cold.point()))
        .fold(f64::INFINITY, f64::min);
    assert!(
        corner < 1e-6,
        "the coldest place of a flood is a corner: {cold:?}"
    );
    // no place of a fine lattice is colder or hotter
    let value = |p: Place| field.irradiance(&[p], &progress).expect("a value")[0];
    let sites = [
        site(90.0, 60.0, 40.0),
        site(30.0, 30.0, 20.0),
        site(150.0, 60.0, 20.0),
    ];
    let (coldest, cold) = find(&sites, Extreme::Coldest);
    let (hottest, hot) = find(&sites, Extreme::Hottest);
    assert_eq!((coldest, hottest), (1, 0));
    for s in &sites {
        for p in s.outline.lattice(0.5) {
            let e = value(p.at_height(s.height));
            assert!(e >= value(cold) - 1e-9 && e <= value(hot) + 1e-9);
        }
    }
    assert!(sites[coldest].outline.contains(cold.point()) && cold.height == 20.0);
    assert_eq!(extremum(&field, &[], Extreme::Coldest, &progress), Ok(None));
}

/// Many readings: parameters come from a part of them, the field from all.
#[test]
fn hundreds_of_readings_still_fit() {
    let mut noise = Normals::new(11, 0);
    let samples: Vec<Sample> = (0..600)
        .map(|i| {
            let at = Place::new(
                9.0 * (i % 20) as f64 + 4.0,
                11.0 * ((i / 20) % 10) as f64 + 8.0,
                20.0 * (i / 200) as f64 + 10.0,
            );
            Sample {
                at,
                irradiance: truth(at) * (1.0 + 0.012 * noise.draw()),
                position: i % 200,
                minute: None,
            }
        })
        .collect();
    let progress = Progress::new();
    let field = fit(&SETTINGS, &samples, &progress).expect("a field");
    for p in fixture().lattice(15.0) {
        let at = p.at_height(25.0);
        let e = field.at(&[at], &progress).expect("an estimate")[0].irradiance;
        assert!(
            (e / truth(at) - 1.0).abs() < 0.03,
            "{at:?}: {e} {}",
            truth(at)
        );
    }
}

/// The lamp of [`truth`], as the document would describe it.
fn face() -> Face {
    Face {
        height: 120.0,
        outline: Some(Footprint::new(
            Shape::Rectangle {
                width: 200.0,
                depth: 120.0,
            },
            Point::new(90.0, 60.0),
        )),
    }
}

/// Against the closed form of the rectangle (Tregenza & Sharples), from readings without noise: over the fixture, its
/// corners and heights between.
#[test]
fn a_lambertian_panel_is_found_from_its_readings() {
    let samples: Vec<Sample> = readings(0)
        .into_iter()
        .map(|s| Sample {
            irradiance: truth(s.at),
            ..s
        })
        .collect();
    let settings = FitSettings {
        face: Some(face()),
        resolution: 0.0,
        ..SETTINGS
    };
    let progress = Progress::new();
    let field = fit(&settings, &samples, &progress).expect("a field");
    assert_eq!(field.family(), Family::SourceAware);
    let places: Vec<Place> = [10.0, 18.0, 30.0, 41.0, 50.0]
        .iter()
        .flat_map(|&h| {
            fixture()
                .lattice(9.0)
                .into_iter()
                .map(move |p| p.at_height(h))
        })
        .collect();
    let values = field.irradiance(&places, &progress).expect("values");
    let worst = values
        .iter()
        .zip(&places)
        .map(|(e, &p)| (e / truth(p) - 1.0).abs())
        .fold(0.0, f64::max);
    println!("worst error {:.3} %", 100.0 * worst);
    assert!(worst < 0.005, "{worst}");
}

/// Corners 20 mm beyond the outermost positions, in 6 rounds of noise: near the truth, and as near as their
/// uncertainties claim: squared errors in standard uncertainties average to no more than 3.
#[test]
fn corners_beyond_all_positions_keep_their_bands() {
    let progress = Progress::new();
    let (mut squares, mut claimed) = (Vec::new(), Vec::new());
    for seed in 0..6 {
        let mut noise = Normals::new(seed, 1);
        let samples: Vec<Sample> = (0..25)
            .flat_map(|i| [10.0, 30.0, 50.0].map(|h| (i, h)))
            .map(|(position, h)| {
                let (column, row) = ((position % 5) as f64, (position / 5) as f64);
                let at = Place::new(20.0 + 35.0 * column, 20.0 + 20.0 * row, h);
                Sample {
                    at,
                    irradiance: truth(at) * (1.0 + 0.012 * noise.draw()),
                    position,
                    minute: None,
                }
            })
            .collect();
        let corners = [(0.0, 0.0), (180.0, 0.0), (0.0, 120.0), (180.0, 120.0)]
            .map(|(x, y)| Place::new(x, y, 20.0));
        let settings = FitSettings {
            face: Some(face()),
            ..SETTINGS
        };
        let field = fit(&settings, &samples, &progress).expect("a field");
        let estimates = field.at(&corners, &progress).expect("estimates");
        for (e, &p) in estimates.iter().zip(&corners) {
            let in_units = (e.irradiance - truth(p)) / e.uncertainty.expect("has one");
            claimed.push(in_units * in_units);
            squares.push((e.irradiance / truth(p) - 1.0).powi(2));
        }
    }
    let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
    let (rms, excess) = (mean(&squares).sqrt(), mean(&claimed));
    println!(
        "corners: {:.2} %, {excess:.2} of what is claimed",
        100.0 * rms
    );
    assert!(rms < 0.04 && excess < 3.0, "{rms} {excess}");
}

/// Readings that tell little still give a field with an honest band, and nothing panics.
#[test]
fn too_little_to_tell_is_still_answered() {
    let progress = Progress::new();
    let all = readings(2);
    let on_one_line: Vec<Sample> = all.iter().filter(|s| s.at.y < 7.0).copied().collect();
    let one_height: Vec<Sample> = all
        .iter()
        .filter(|s| s.at.height == 30.0)
        .copied()
        .collect();
    let at_one_place: Vec<Sample> = (0..6)
        .map(|i| Sample {
            irradiance: 20.0 + 0.1 * f64::from(i),
            ..all[0]
        })
        .collect();
    let above: Vec<Sample> = all
        .iter()
        .map(|s| Sample {
            at: Place {
                height: s.at.height + 90.0,
                ..s.at
            },
            ..*s
        })
        .collect();
    let whole = fit(
        &FitSettings {
            face: Some(face()),
            ..SETTINGS
        },
        &all,
        &progress,
    )
    .expect("a field");
    for samples in [
        &all[..1],
        &all[..3],
        &all[..7],
        &on_one_line,
        &one_height,
        &at_one_place,
        &above,
    ] {
        for outline in [face().outline, None] {
            let settings = FitSettings {
                face: Some(Face { outline, ..face() }),
                ..SETTINGS
            };
            let field = fit(&settings, samples, &progress).expect("a field");
            let corner = [Place::new(180.0, 120.0, 20.0)];
            let here = field.at(&corner, &progress).expect("an estimate")[0];
            let sure = whole.at(&corner, &progress).expect("an estimate")[0];
            let relative = |e: Estimate| e.uncertainty.expect("has one") / e.irradiance;
            assert!(here.irradiance > 0.0 && here.irradiance.is_finite());
            assert!(
                relative(here) > relative(sure),
                "{} readings",
                samples.len()
            );
            let draws = field
                .joint(&corner, 1, 50, &progress)
                .expect("not cancelled");
            assert!(draws.is_some_and(|d| d.values.iter().all(|v| v.is_finite() && *v > 0.0)));
        }
    }
}
