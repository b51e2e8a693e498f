//! What holds for any readings.

use evenfield::field::hold_out::HoldOut;
use evenfield::field::kernel::{Covariance, Kernel};
use evenfield::field::kriging::Kriging;
use evenfield::field::trend::Trend;
use evenfield::field::{Family, FitError, FitSettings, Fitted, Raster, Sample, Shortcoming, fit};
use evenfield::geometry::{Footprint, Place, Point, Shape};
use evenfield::progress::Progress;
use proptest::prelude::*;

fn sample(x: f64, y: f64, height: f64, irradiance: f64, position: usize) -> Sample {
    Sample {
        at: Place::new(x, y, height),
        irradiance,
        position,
        minute: None,
    }
}

fn made(samples: &[Sample], family: Option<Family>) -> Fitted {
    let settings = FitSettings {
        family,
        resolution: 0.01,
        ..FitSettings::default()
    };
    fit(&settings, samples, &Progress::new()).expect("a field")
}

/// `n` by `n` positions 30 mm apart about the origin.
fn grid(n: i32, heights: &[f64], f: impl Fn(Place) -> f64) -> Vec<Sample> {
    let middle = 0.5 * f64::from(n - 1);
    (0..n * n)
        .flat_map(|i| {
            let (x, y) = (f64::from(i % n) - middle, f64::from(i / n) - middle);
            heights
                .iter()
                .map(move |&h| (i, Place::new(30.0 * x, 30.0 * y, h)))
        })
        .map(|(i, at)| Sample {
            at,
            irradiance: f(at),
            position: i as usize,
            minute: None,
        })
        .collect()
}

fn dome(p: Place) -> f64 {
    40.0 * (-(p.x * p.x + 1.5 * p.y * p.y) / 9000.0).exp() * (0.01 * p.height).exp()
}

/// Places between and around the readings.
fn places() -> Vec<Place> {
    (0..60)
        .map(|i| {
            let t = f64::from(i);
            Place::new(
                80.0 * (1.7 * t).sin(),
                80.0 * (2.3 * t).cos(),
                10.0 + t % 25.0,
            )
        })
        .collect()
}

const FAMILIES: [Family; 5] = [
    Family::OrdinaryKriging,
    Family::UniversalKriging,
    Family::ThinPlate,
    Family::NaturalNeighbour,
    Family::InverseDistance,
];

#[test]
fn a_constant_stays_constant() {
    let samples = grid(5, &[10.0, 30.0], |_| 25.0);
    for family in FAMILIES {
        let at = made(&samples, Some(family))
            .at(&places(), &Progress::new())
            .expect("estimates");
        for e in at {
            assert!((e.irradiance - 25.0).abs() < 1e-6, "{family:?} {e:?}");
        }
    }
}

#[test]
fn symmetric_readings_give_a_symmetric_field() {
    let samples = grid(5, &[10.0, 30.0], dome);
    for family in FAMILIES {
        let field = made(&samples, Some(family));
        let seen = |sx: f64, sy: f64| {
            let mirrored: Vec<Place> = places()
                .iter()
                .map(|p| Place::new(sx * p.x, sy * p.y, p.height))
                .collect();
            field
                .irradiance(&mirrored, &Progress::new())
                .expect("values")
        };
        let plain = seen(1.0, 1.0);
        for (sx, sy) in [(-1.0, 1.0), (1.0, -1.0), (-1.0, -1.0)] {
            for (a, b) in plain.iter().zip(seen(sx, sy)) {
                assert!((a / b - 1.0).abs() < 1e-8, "{family:?}: {a} {b}");
            }
        }
    }
}

#[test]
fn the_order_of_samples_does_not_matter() {
    let samples = grid(5, &[10.0, 30.0], dome);
    let mut turned: Vec<Sample> = samples.iter().rev().copied().collect();
    turned.rotate_left(17);
    for family in FAMILIES {
        let value = |s: &[Sample]| {
            made(s, Some(family))
                .at(&places(), &Progress::new())
                .expect("estimates")
        };
        for (a, b) in value(&samples).iter().zip(value(&turned)) {
            assert!(
                (a.irradiance / b.irradiance - 1.0).abs() < 1e-6,
                "{family:?}"
            );
            if let (Some(u), Some(v)) = (a.uncertainty, b.uncertainty) {
                assert!((u / v - 1.0).abs() < 1e-3, "{family:?}: {u} {v}");
            }
        }
    }
}

#[test]
fn scaled_readings_give_a_scaled_field() {
    let samples = grid(4, &[10.0, 30.0], dome);
    for family in FAMILIES {
        let at = |factor: f64| {
            let scaled: Vec<Sample> = samples
                .iter()
                .map(|s| Sample {
                    irradiance: factor * s.irradiance,
                    ..*s
                })
                .collect();
            let settings = FitSettings {
                family: Some(family),
                resolution: 0.01 * factor,
                ..FitSettings::default()
            };
            let field = fit(&settings, &scaled, &Progress::new()).expect("a field");
            field
                .irradiance(&places(), &Progress::new())
                .expect("values")
        };
        for (one, ten) in at(1.0).iter().zip(at(10.0)) {
            assert!((ten / one / 10.0 - 1.0).abs() < 1e-6, "{family:?}");
        }
    }
}

#[test]
fn one_place_asked_alone_or_with_others_or_on_a_raster_answers_the_same() {
    let samples = grid(5, &[10.0, 30.0], dome);
    let progress = Progress::new();
    for family in FAMILIES {
        let field = made(&samples, Some(family));
        let whole = field.at(&places(), &progress).expect("estimates");
        let quick = field.irradiance(&places(), &progress).expect("values");
        for ((p, e), q) in places().iter().zip(whole).zip(quick) {
            let alone = field.at(&[*p], &progress).expect("an estimate")[0];
            assert!((alone.irradiance / e.irradiance - 1.0).abs() < 1e-9);
            assert!((q / e.irradiance - 1.0).abs() < 1e-9);
        }
        // a disk, and an L with its dent to the back right
        let corners = [
            (-60.0, -60.0),
            (60.0, -60.0),
            (60.0, 0.0),
            (-5.0, 0.0),
            (-5.0, 50.0),
            (-60.0, 50.0),
        ];
        let corners: Vec<Point> = corners.iter().map(|&(x, y)| Point::new(x, y)).collect();
        for shape in [
            Shape::Circle { diameter: 130.0 },
            Shape::Polygon {
                corners: corners.into(),
            },
        ] {
            let outline = Footprint::new(shape, Point::new(5.0, 0.0));
            let full = Raster::of(&field, &outline, 22.0, 7.0, &progress).expect("a raster");
            let first =
                Raster::of_irradiance(&field, &outline, 22.0, 7.0, &progress).expect("a raster");
            assert_eq!(full.extrapolated, first.extrapolated);
            assert!(
                full.range().is_some() && full.step_x <= 7.0 && full.bounds() == outline.bounds()
            );
            for (i, (a, b)) in full.irradiance.iter().zip(&first.irradiance).enumerate() {
                let node = full.node(i % full.columns, i / full.columns);
                assert_eq!(a.is_nan(), outline.signed_distance(node) > 1e-6);
                assert_eq!(a.is_nan(), b.is_nan());
                assert!(a.is_nan() || (a / b - 1.0).abs() < 1e-9);
            }
        }
    }
}

/// What is left out is predicted as by a fit to the others with the same parameters, one by one and
/// whole positions at a time.
#[test]
fn leaving_out_equals_refitting() {
    let samples = grid(5, &[10.0, 22.0, 30.0], |p| {
        dome(p) * (1.0 + 0.03 * (p.x * 7.0 + p.y * 3.0).sin())
    });
    let covariance = Covariance {
        kernel: Kernel::Matern52,
        sill: 0.2,
        lengths: [90.0, 70.0, 60.0],
    };
    let (places, values): (Vec<Place>, Vec<f64>) =
        samples.iter().map(|s| (s.at, s.irradiance.ln())).unzip();
    let noise: Vec<f64> = (0..samples.len())
        .map(|i| 1e-4 * (1.0 + i as f64 / 50.0))
        .collect();
    for trend in [Trend::constant(), Trend::supported_by(&places, 25)] {
        let whole =
            Kriging::new(covariance, trend.clone(), &places, &values, &noise).expect("solvable");
        let held = HoldOut::of(&whole);
        for out in [
            vec![0],
            vec![37],
            vec![0, 1, 2],
            vec![36, 37, 38],
            vec![5, 60],
        ] {
            let keep: Vec<usize> = (0..samples.len()).filter(|i| !out.contains(i)).collect();
            let pick = |v: &[f64]| keep.iter().map(|&i| v[i]).collect::<Vec<f64>>();
            let kept: Vec<Place> = keep.iter().map(|&i| places[i]).collect();
            let rest = Kriging::new(
                covariance,
                trend.clone(),
                &kept,
                &pick(&values),
                &pick(&noise),
            )
            .expect("solvable");
            let closed = held.without(&out).expect("predictable");
            let targets: Vec<Place> = out.iter().map(|&i| places[i]).collect();
            let refitted = rest.predict(&targets);
            for (k, &i) in out.iter().enumerate() {
                let error = values[i] - refitted[k].mean;
                assert!((closed.errors[k] - error).abs() < 1e-9);
                let variance = refitted[k].variance + noise[i];
                assert!((closed.variances[k] / variance - 1.0).abs() < 1e-7);
            }
            if let [i] = out[..] {
                let variance = refitted[0].variance + noise[i];
                let error = values[i] - refitted[0].mean;
                let density =
                    -0.5 * (error * error / variance + (std::f64::consts::TAU * variance).ln());
                assert!((closed.log_density - density).abs() < 1e-7);
            }
        }
    }
}

/// With noise going to nothing the kriged values are the readings.
#[test]
fn exact_at_the_data_without_noise() {
    let samples = grid(4, &[10.0, 30.0], dome);
    let (places, values): (Vec<Place>, Vec<f64>) =
        samples.iter().map(|s| (s.at, s.irradiance)).unzip();
    for kernel in [Kernel::Matern52, Kernel::Exponential, Kernel::Spherical] {
        let covariance = Covariance {
            kernel,
            sill: 100.0,
            lengths: [80.0, 80.0, 60.0],
        };
        let noise = vec![1e-10; places.len()];
        let kriging = Kriging::new(covariance, Trend::constant(), &places, &values, &noise)
            .expect("solvable");
        for (p, v) in kriging.predict(&places).iter().zip(&values) {
            assert!((p.mean - v).abs() < 1e-6 && p.variance < 1e-6);
        }
    }
}

#[test]
fn draws_have_the_mean_and_spread_of_the_field() {
    let samples = grid(4, &[10.0, 30.0], dome);
    let field = made(&samples, None);
    let progress = Progress::new();
    let places = places();
    let n = 4000;
    let draws = field
        .joint(&places, 5, n, &progress)
        .expect("not cancelled")
        .expect("draws");
    assert_eq!(draws.places, places.len());
    assert_eq!(draws.values.len(), n * places.len());
    for (i, e) in field
        .at(&places, &progress)
        .expect("estimates")
        .iter()
        .enumerate()
    {
        let logs: Vec<f64> = draws
            .values
            .chunks(places.len())
            .map(|d| d[i].ln())
            .collect();
        let mean = logs.iter().sum::<f64>() / n as f64;
        let sd = (logs.iter().map(|l| (l - mean).powi(2)).sum::<f64>() / n as f64).sqrt();
        let expected = e.uncertainty.expect("kriging has one") / e.irradiance;
        assert!((mean - e.irradiance.ln()).abs() < 4.0 * expected / (n as f64).sqrt());
        assert!((sd / expected - 1.0).abs() < 0.06, "{sd} {expected}");
    }
    let again = field
        .joint(&places, 5, 70, &progress)
        .expect("not cancelled")
        .expect("draws");
    assert_eq!(again.values[..], draws.values[..70 * places.len()]);
    let other = field
        .joint(&places, 6, 1, &progress)
        .expect("not cancelled")
        .expect("draws");
    assert_ne!(other.values[..], draws.values[..places.len()]);
}

/// Neighbours move together in a draw: their difference is far surer than each of them.
#[test]
fn draws_are_joint() {
    let samples = grid(3, &[10.0], dome);
    let field = made(&samples, None);
    let near = [Place::new(70.0, 70.0, 10.0), Place::new(70.5, 70.0, 10.0)];
    let draws = field
        .joint(&near, 1, 500, &Progress::new())
        .expect("not cancelled")
        .expect("draws");
    let spread = |values: Vec<f64>| {
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / values.len() as f64).sqrt()
    };
    let apart = spread(draws.values.chunks(2).map(|d| d[0] - d[1]).collect());
    let alone = spread(draws.values.chunks(2).map(|d| d[0]).collect());
    assert!(apart < 0.2 * alone, "{apart} {alone}");
}

/// Repeats make a place surer, and what repeats disagree about goes into the noise.
#[test]
fn repeats_are_used() {
    let single = grid(4, &[10.0], dome);
    let mut repeated = single.clone();
    for shift in [0.98, 1.02] {
        repeated.extend(single.iter().map(|s| Sample {
            irradiance: s.irradiance * shift,
            ..*s
        }));
    }
    let noisy = made(&repeated, Some(Family::OrdinaryKriging));
    let noise = noisy.noise().expect("kriging has one");
    // population spread of 0.98, 1, 1.02 is 1.63 %, sample spread 2 %
    assert!((0.013..0.022).contains(&noise), "{noise}");
    assert_eq!(noisy.leave_one_out().len(), repeated.len());
}

#[test]
fn one_reading_answers_with_a_wide_band_and_says_what_is_missing() {
    let field = made(&[sample(10.0, 20.0, 30.0, 42.0, 0)], None);
    assert_eq!(field.family(), Family::OrdinaryKriging);
    let at = |x: f64, h: f64| {
        field
            .at(&[Place::new(x, 20.0, h)], &Progress::new())
            .expect("an estimate")[0]
    };
    let (here, far) = (at(10.0, 30.0), at(200.0, 30.0));
    assert!((here.irradiance - 42.0).abs() < 1e-9 && !here.extrapolated && far.extrapolated);
    let relative = |e: evenfield::field::Estimate| e.uncertainty.expect("kriging") / e.irradiance;
    assert!(relative(here) < 0.02 && relative(far) > 0.2);
    let above = at(10.0, 40.0);
    assert!(above.extrapolated && above.irradiance > 42.0 && relative(above) > 0.04);
    assert!(field.scores().is_empty());
    for missing in [
        Shortcoming::FewReadings(1),
        Shortcoming::OnOneLine,
        Shortcoming::OneHeight(30.0),
        Shortcoming::TypicalParameters,
    ] {
        assert!(field.shortcomings().contains(&missing), "{missing:?}");
    }
}

#[test]
fn the_family_that_predicts_best_is_used_and_a_plain_one_never() {
    let field = made(&grid(5, &[10.0, 30.0], dome), None);
    let scores = field.scores();
    assert_eq!(scores.len(), FAMILIES.len());
    assert!(scores[0].weight == 1.0 && scores[0].family == field.family());
    assert!(scores.iter().filter(|s| s.weight > 0.0).count() == 1);
    assert!(scores[0].log_density >= scores[1].log_density);
    for plain in &scores[2..] {
        assert!(!plain.family.has_draws() && plain.log_density.is_none());
    }
    let few = grid(2, &[10.0], dome);
    assert_eq!(made(&few[..3], None).family(), Family::OrdinaryKriging);
}

#[test]
fn bad_samples_are_refused_by_their_index_and_stopping_stops() {
    let settings = FitSettings {
        family: None,
        resolution: 0.0,
        ..FitSettings::default()
    };
    let progress = Progress::new();
    let refused = |s: &[Sample]| fit(&settings, s, &progress).expect_err("refused");
    assert_eq!(refused(&[]), FitError::NoReadings);
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let s = [sample(0.0, 0.0, 0.0, 1.0, 0), sample(1.0, 0.0, 0.0, bad, 1)];
        assert_eq!(refused(&s), FitError::BadSample(1));
    }
    assert_eq!(
        refused(&[sample(f64::NAN, 0.0, 0.0, 1.0, 0)]),
        FitError::BadSample(0)
    );
    progress.cancel();
    assert_eq!(refused(&grid(3, &[1.0], dome)), FitError::Cancelled);
}

fn any_samples() -> impl Strategy<Value = Vec<Sample>> {
    // few distinct coordinates, so that places coincide, lie on lines and repeat
    let coordinate = prop_oneof![Just(0.0), Just(30.0), Just(60.0), -200.0..200.0];
    let height = prop_oneof![Just(10.0), Just(12.0), Just(40.0)];
    let irradiance = prop_oneof![Just(20.0), 1e-3..1e4];
    let one = (
        coordinate.clone(),
        coordinate,
        height,
        irradiance,
        0..5_usize,
    )
        .prop_map(|(x, y, h, e, p)| sample(x, y, h, e, p));
    proptest::collection::vec(one, 1..12)
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 60,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn any_readings_give_finite_answers(samples in any_samples(), choice in 0..6_usize) {
        let settings = FitSettings {
            family: FAMILIES.get(choice).copied(),
            resolution: 0.01,
            ..FitSettings::default()
        };
        let field = match fit(&settings, &samples, &Progress::new()) {
            Ok(field) => field,
            Err(error) => {
                prop_assert_eq!(error, FitError::NotPossible(Family::NaturalNeighbour));
                return Ok(());
            }
        };
        let progress = Progress::new();
        let mut asked = places();
        asked.extend(samples.iter().map(|s| s.at));
        asked.push(Place::new(1e5, -1e5, 1e4));
        for e in field.at(&asked, &progress).expect("estimates") {
            prop_assert!(e.irradiance.is_finite() && e.irradiance >= 0.0);
            prop_assert!(e.uncertainty.is_none_or(|u| u.is_finite() && u >= 0.0));
        }
        for out in field.leave_one_out() {
            prop_assert!(out.predicted.is_finite());
            prop_assert!(out.standardised.is_none_or(f64::is_finite));
        }
        for score in field.scores() {
            prop_assert!(score.rms_percent.is_finite());
            prop_assert!(score.log_density.is_none_or(f64::is_finite));
        }
        let draws = field.joint(&asked, 3, 5, &progress).expect("not cancelled");
        prop_assert_eq!(draws.is_some(), field.family().has_draws());
        if let Some(draws) = draws {
            prop_assert!(draws.values.iter().all(|v| v.is_finite() && *v >= 0.0));
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Sibson 1981: a linear function comes back exactly inside the hull, wherever positions are.
    #[test]
    fn natural_neighbours_keep_a_linear_function(
        points in prop::collection::vec((0.0..200.0, 0.0..120.0), 4..60),
        (along, across) in (-0.2..0.2, -0.3..0.3),
        inside in prop::collection::vec((0.0..1.0, 0.0..1.0), 20),
    ) {
        let plane = |x: f64, y: f64| 100.0 + along * x + across * y;
        let corners = [(0.0, 0.0), (200.0, 0.0), (200.0, 120.0), (0.0, 120.0)];
        let samples: Vec<Sample> = corners
            .iter()
            .chain(&points)
            .enumerate()
            .map(|(i, &(x, y))| sample(x, y, 20.0, plane(x, y), i))
            .collect();
        let field = made(&samples, Some(Family::NaturalNeighbour));
        prop_assert_eq!(field.family(), Family::NaturalNeighbour);
        let places: Vec<Place> = inside
            .iter()
            .map(|(u, v)| Place::new(200.0 * u, 120.0 * v, 20.0))
            .collect();
        let values = field.irradiance(&places, &Progress::new()).expect("values");
        for (p, value) in places.iter().zip(values) {
            let wanted = plane(p.x, p.y);
            prop_assert!((value / wanted - 1.0).abs() < 1e-9, "{:?}: {} {}", p, value, wanted);
        }
        prop_assert_eq!(field.joint(&places, 1, 5, &Progress::new()), Ok(None));
    }
}

#[test]
fn no_family_without_draws_is_chosen_and_each_is_listed() {
    // A plane: natural neighbours and the thin plate miss nothing of it.
    let samples = grid(6, &[10.0], |p| 100.0 + 0.1 * p.x + 0.2 * p.y);
    let field = made(&samples, None);
    assert!(field.family().has_draws());
    let listed: Vec<Family> = field.scores().iter().map(|s| s.family).collect();
    for family in FAMILIES {
        assert!(listed.contains(&family), "{family:?} in {listed:?}");
    }
    for score in field.scores() {
        assert!(
            score.outer_ring_rms_percent.is_some_and(|e| e < 30.0),
            "{score:?}"
        );
        assert!(score.family.has_draws() || score.weight == 0.0);
    }
}

#[test]
fn readings_on_a_line_have_every_family_but_natural_neighbours() {
    let line: Vec<Sample> = (0..9)
        .map(|i| {
            sample(
                20.0 * f64::from(i),
                10.0 * f64::from(i),
                5.0,
                40.0 + f64::from(i),
                i as usize,
            )
        })
        .collect();
    for family in FAMILIES {
        let settings = FitSettings {
            family: Some(family),
            ..FitSettings::default()
        };
        match fit(&settings, &line, &Progress::new()) {
            Ok(field) => {
                let at = field.at(&places(), &Progress::new()).expect("estimates");
                assert!(at.iter().all(|e| e.irradiance.is_finite()), "{family:?}");
            }
            Err(error) => assert_eq!(error, FitError::NotPossible(Family::NaturalNeighbour)),
        }
    }
}

/// A scan as a machine makes it: `n` places over the fixture, with 1 % noise.
fn scan(n: usize, heights: &[f64]) -> Vec<Sample> {
    let mut normals = evenfield::numeric::random::Normals::new(11, 0);
    (0..n)
        .map(|i| {
            // Spread evenly (the golden ratio's sequence).
            let t = i as f64;
            let p = Place::new(
                200.0 * (t * 0.618_033_988_749_895).fract(),
                120.0 * (t * 0.754_877_666_246_693).fract(),
                heights[i % heights.len()],
            );
            let e = dome(Place::new(p.x - 100.0, p.y - 60.0, p.height));
            sample(p.x, p.y, p.height, e * (0.01 * normals.draw()).exp(), i)
        })
        .collect()
}

#[test]
fn many_readings_are_taken_together_and_have_draws() {
    let samples = scan(6000, &[10.0, 30.0]);
    let field = made(&samples, None);
    assert!(field.family().has_draws());
    let together = field.shortcomings().iter().find_map(|s| match s {
        Shortcoming::TakenTogether { cells, side } => Some((*cells, *side)),
        _ => None,
    });
    let (cells, side) = together.expect("so many are taken together");
    assert!(cells <= 1500 && side < 25.0, "{cells} {side}");
    assert_eq!(field.leave_one_out().len(), samples.len());
    let noise = field.noise().expect("kriging has one");
    assert!((noise - 0.01).abs() < 0.002, "{noise}");
    let probe: Vec<Place> = (0..30)
        .map(|i| Place::new(10.0 + 6.0 * f64::from(i), 15.0 + 3.0 * f64::from(i), 20.0))
        .collect();
    let at = field.at(&probe, &Progress::new()).expect("estimates");
    for (p, e) in probe.iter().zip(at) {
        let truth = dome(Place::new(p.x - 100.0, p.y - 60.0, p.height));
        assert!(
            (e.irradiance / truth - 1.0).abs() < 0.006,
            "{p:?} {e:?} {truth}"
        );
        let u = e.uncertainty.expect("kriging has one");
        assert!(u < 0.01 * e.irradiance, "{e:?}");
    }
    let draws = field
        .joint(&probe, 1, 20, &Progress::new())
        .expect("not cancelled");
    assert!(draws.is_some());
    for family in FAMILIES {
        let field = made(&samples, Some(family));
        assert_eq!(field.family(), family);
        assert_eq!(field.leave_one_out().len(), samples.len());
    }
}

#[test]
fn many_readings_at_one_place_or_on_a_line_are_no_panic() {
    for samples in [
        vec![sample(20.0, 30.0, 10.0, 50.0, 0); 2000],
        (0..2000)
            .map(|i| {
                sample(
                    0.1 * f64::from(i),
                    0.05 * f64::from(i),
                    10.0,
                    50.0,
                    i as usize,
                )
            })
            .collect(),
    ] {
        let field = made(&samples, None);
        let at = field.at(&places(), &Progress::new()).expect("estimates");
        assert!(at.iter().all(|e| e.irradiance.is_finite()));
    }
}
