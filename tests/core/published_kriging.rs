//! Kriging, thin plate, bicubic spline and inverse distance against published and reference-library values.

use std::path::Path;

use evenfield::field::hold_out::HoldOut;
use evenfield::field::kernel::{Covariance, Kernel};
use evenfield::field::kriging::Kriging;
use evenfield::field::thin_plate::ThinPlate;
use evenfield::field::trend::Trend;
use evenfield::field::{Family, FitSettings, Sample, fit};
use evenfield::geometry::Place;
use evenfield::progress::Progress;
use serde_json::Value;

use crate::splines::Bicubic;

fn data(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/reference/data")
        .join(name);
    std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

fn json(name: &str) -> Value {
    serde_json::from_str(&data(name)).expect("reference file is JSON")
}

/// Rows of numbers below a heading.
fn rows(name: &str) -> Vec<Vec<f64>> {
    data(name)
        .lines()
        .skip(1)
        .map(|l| {
            l.split(',')
                .map(|f| f.trim().parse().expect("number"))
                .collect()
        })
        .collect()
}

fn number(v: &Value) -> f64 {
    v.as_f64().expect("number")
}

fn close(got: f64, expected: f64, tolerance: f64, what: &str) {
    assert!(
        (got - expected).abs() <= tolerance * expected.abs().max(1.0),
        "{what}: {got}, expected {expected}"
    );
}

/// Sample places and values of Isaaks & Srivastava 1989, ch. 12.
fn isaaks() -> (Vec<Place>, Vec<f64>) {
    rows("isaaks_ch12_samples.csv")
        .iter()
        .map(|r| (Place::new(r[1], r[2], 0.0), r[3]))
        .unzip()
}

/// `x' = x cos ψ - y sin ψ`, `y' = (x sin ψ + y cos ψ) / ratio`: the isotropic model holds in x', y'.
fn rotated(p: Place, degrees: f64, ratio: f64) -> Place {
    let (sin, cos) = degrees.to_radians().sin_cos();
    Place::new(p.x * cos - p.y * sin, (p.x * sin + p.y * cos) / ratio, 0.0)
}

fn flat(kernel: Kernel, sill: f64, length: f64) -> Covariance {
    Covariance {
        kernel,
        sill,
        lengths: [length; 3],
    }
}

/// Isaaks & Srivastava 1989, figures 12.3 to 12.20 (pp. 290-315): estimate and variance as printed, and
/// weights and Lagrange parameter as recomputed by reference libraries.
#[test]
fn isaaks_and_srivastava_chapter_12() {
    let reference = json("isaaks_ch12.json");
    let (places, values) = isaaks();
    let target = Place::new(65.0, 137.0, 0.0);
    let exponential = |sill| flat(Kernel::Exponential, sill, 1.0 / 0.3);
    // key, covariance, noise (a nugget the target does not share), turn, ratio, printed estimate, printed variance
    let figures = [
        (
            "Fig12.3 exp 10exp(-.3h)",
            exponential(10.0),
            0.0,
            0.0,
            1.0,
            593.0,
            8.96,
        ),
        (
            "Fig12.6 exp 20exp(-.3h)",
            exponential(20.0),
            0.0,
            0.0,
            1.0,
            593.0,
            17.91,
        ),
        (
            "Fig12.8 gauss 10exp(-3(h/10)^2)",
            flat(Kernel::Gaussian, 10.0, 10.0 / 3f64.sqrt()),
            0.0,
            0.0,
            1.0,
            559.0,
            4.78,
        ),
        (
            "Fig12.10 nugget5+5exp(-.3h)",
            exponential(5.0),
            5.0,
            0.0,
            1.0,
            597.0,
            10.31,
        ),
        (
            "Fig12.12 exp range 20 10exp(-.15h)",
            flat(Kernel::Exponential, 10.0, 1.0 / 0.15),
            0.0,
            0.0,
            1.0,
            572.0,
            5.76,
        ),
        (
            "Fig12.16 aniso psiA=135.0 ratio 2 (phi=10/3)",
            exponential(10.0),
            0.0,
            135.0,
            2.0,
            620.0,
            6.30,
        ),
        (
            "Fig12.18 aniso psiA=45.0 ratio 2 (phi=10/3)",
            exponential(10.0),
            0.0,
            45.0,
            2.0,
            574.0,
            8.16,
        ),
        (
            "Fig12.20 aniso psiA=135.0 ratio 10 (phi=10/3)",
            exponential(10.0),
            0.0,
            135.0,
            10.0,
            654.0,
            2.83,
        ),
    ];
    for (key, covariance, noise, turn, ratio, estimate, variance) in figures {
        let turned: Vec<Place> = places.iter().map(|p| rotated(*p, turn, ratio)).collect();
        let kriging = Kriging::new(covariance, Trend::constant(), &turned, &values, &[noise; 7])
            .expect("solvable");
        let at = rotated(target, turn, ratio);
        let got = kriging.predict(&[at])[0];
        // the book's variance is that of a value with its nugget, ours that of the field beneath it
        let got_variance = got.variance + noise;
        assert_eq!(got.mean.round(), estimate, "{key}: printed estimate");
        assert_eq!(
            (got_variance * 100.0).round() / 100.0,
            variance,
            "{key}: printed variance"
        );
        let expected = &reference[key];
        close(got.mean, number(&expected["estimate"]), 1e-10, key);
        close(got_variance, number(&expected["variance"]), 1e-10, key);
        let (weights, lagrange) = kriging.weights(at);
        close(lagrange, number(&expected["lagrange"]), 1e-10, key);
        for (i, w) in weights.iter().enumerate() {
            close(*w, number(&expected["weights"][i]), 1e-10, key);
        }
        let mut mean = [0.0];
        kriging.means(&[at], &mut mean);
        close(mean[0], got.mean, 1e-12, key);
    }
}

/// Leave-one-out of the same samples with 10 exp(-0.3 h), numpy.
#[test]
fn isaaks_and_srivastava_leave_one_out() {
    let reference = json("isaaks_ch12.json");
    let (places, values) = isaaks();
    let covariance = flat(Kernel::Exponential, 10.0, 1.0 / 0.3);
    let kriging =
        Kriging::new(covariance, Trend::constant(), &places, &values, &[0.0; 7]).expect("solvable");
    let held = HoldOut::of(&kriging);
    for i in 0..7 {
        let out = held.without(&[i]).expect("predictable");
        let expected = &reference["LOO exp 10exp(-.3h)"][i];
        close(
            values[i] - out.errors[0],
            number(&expected["pred"]),
            1e-10,
            "prediction",
        );
        close(
            out.variances[0],
            number(&expected["var"]),
            1e-10,
            "variance",
        );
    }
}

/// The plane at 90 mm of the synthetic readings.
fn plane_90() -> (Vec<Place>, Vec<f64>) {
    rows("synth_probe_5x5x3.csv")
        .iter()
        .filter(|r| r[2] == 90.0)
        .map(|r| (Place::new(r[0], r[1], 90.0), r[3]))
        .unzip()
}

fn targets(entry: &Value, height: Option<f64>) -> Vec<Place> {
    entry["targets"]
        .as_array()
        .expect("targets")
        .iter()
        .map(|t| {
            Place::new(
                number(&t[0]),
                number(&t[1]),
                height.unwrap_or_else(|| number(&t[2])),
            )
        })
        .collect()
}

/// Reference libraries (PyKrige 1.7.3, GSTools 1.7.0) on the plane at 90 mm: ordinary, universal, simple.
#[test]
fn reference_libraries_on_a_plane() {
    let reference = json("synth_kriging.json");
    let (places, values) = plane_90();
    let constant = Trend::constant();
    let cases = [
        (
            "OK spherical psill=60 range=150 nugget=0",
            flat(Kernel::Spherical, 60.0, 150.0),
            constant.clone(),
            0.0,
            0.0,
        ),
        (
            "OK exponential psill=60 len=50, measurement-error variance 0.5 filtered (noise-free field)",
            flat(Kernel::Exponential, 60.0, 50.0),
            constant.clone(),
            0.5,
            0.0,
        ),
        (
            "UK linear drift spherical psill=20 range=120",
            flat(Kernel::Spherical, 20.0, 120.0),
            Trend::plane(&places, 1),
            0.0,
            0.0,
        ),
        (
            "UK quadratic drift spherical psill=5 range=100",
            flat(Kernel::Spherical, 5.0, 100.0),
            Trend::plane(&places, 2),
            0.0,
            0.0,
        ),
        (
            "SK mean=30.136 exponential psill=60 len=50",
            flat(Kernel::Exponential, 60.0, 50.0),
            Trend::none(),
            0.0,
            30.136,
        ),
    ];
    for (key, covariance, trend, noise, mean) in cases {
        let expected = &reference[key];
        let about: Vec<f64> = values.iter().map(|v| v - mean).collect();
        let kriging =
            Kriging::new(covariance, trend, &places, &about, &[noise; 25]).expect("solvable");
        for (i, p) in kriging
            .predict(&targets(expected, Some(90.0)))
            .iter()
            .enumerate()
        {
            close(p.mean + mean, number(&expected["estimate"][i]), 1e-9, key);
            close(p.variance, number(&expected["variance"][i]), 1e-9, key);
        }
    }
}

/// GSTools with a nugget that the target shares away from the samples: the field beneath has the same
/// estimate there, and its variance is less by the nugget.
#[test]
fn a_nugget_is_noise_away_from_the_samples() {
    let reference = json("synth_kriging.json");
    let (places, values) = plane_90();
    let cases = [
        (
            "OK exponential psill=60 len=50 nugget=0.5 (exact at data)",
            flat(Kernel::Exponential, 60.0, 50.0),
        ),
        (
            "OK Gaussian exp(-(h/60)^2) psill=60 nugget=0.5",
            flat(Kernel::Gaussian, 60.0, 60.0),
        ),
    ];
    for (key, covariance) in cases {
        let expected = &reference[key];
        let kriging = Kriging::new(covariance, Trend::constant(), &places, &values, &[0.5; 25])
            .expect("solvable");
        let targets = targets(expected, Some(90.0));
        for (i, p) in kriging.predict(&targets).iter().enumerate() {
            if !places.contains(&targets[i]) {
                close(p.mean, number(&expected["estimate"][i]), 1e-9, key);
                close(
                    p.variance + 0.5,
                    number(&expected["variance"][i]),
                    1e-9,
                    key,
                );
            }
        }
    }
}

/// PyKrige OrdinaryKriging3D with heights stretched by 2, GSTools the same.
#[test]
fn reference_libraries_in_three_dimensions() {
    let expected = &json("synth_kriging.json")["OK3D"];
    let (places, values): (Vec<Place>, Vec<f64>) = rows("synth_probe_5x5x3.csv")
        .iter()
        .map(|r| (Place::new(r[0], r[1], r[2]), r[3]))
        .unzip();
    let covariance = Covariance {
        kernel: Kernel::Spherical,
        sill: 200.0,
        lengths: [250.0, 250.0, 125.0],
    };
    let kriging = Kriging::new(covariance, Trend::constant(), &places, &values, &[0.0; 75])
        .expect("solvable");
    for (i, p) in kriging.predict(&targets(expected, None)).iter().enumerate() {
        close(p.mean, number(&expected["estimate"][i]), 1e-9, "estimate");
        close(
            p.variance,
            number(&expected["variance"][i]),
            1e-9,
            "variance",
        );
    }
}

/// Inverse distance, power 2, all 25 points (numpy).
#[test]
fn inverse_distance_of_the_plane() {
    let expected = &json("synth_kriging.json")["interp"];
    let (places, values) = plane_90();
    let samples: Vec<Sample> = places
        .iter()
        .zip(&values)
        .enumerate()
        .map(|(position, (&at, &irradiance))| Sample {
            at,
            irradiance,
            position,
            minute: None,
        })
        .collect();
    let settings = FitSettings {
        family: Some(Family::InverseDistance),
        resolution: 0.1,
        ..FitSettings::default()
    };
    let progress = Progress::new();
    let field = fit(&settings, &samples, &progress).expect("a field");
    assert_eq!(field.family(), Family::InverseDistance);
    let at = field
        .at(&targets(expected, Some(90.0)), &progress)
        .expect("not cancelled");
    for (i, estimate) in at.iter().enumerate() {
        close(
            estimate.irradiance,
            number(&expected["idw_p2"][i]),
            1e-12,
            "inverse distance",
        );
        assert_eq!(estimate.uncertainty, None);
    }
    let draws = field
        .joint(&places, 1, 10, &progress)
        .expect("not cancelled");
    assert_eq!(draws, None);
}

/// SciPy's `RBFInterpolator` with its default kernel, as `tests/reference/kriging.py` recomputes it.
#[test]
fn thin_plate_of_the_plane() {
    let expected = &json("synth_kriging.json")["interp"];
    let (places, values) = plane_90();
    let plate = ThinPlate::new(&places, &values, 0.0, 0.0).expect("a plate");
    for (i, &target) in targets(expected, Some(90.0)).iter().enumerate() {
        let wanted = number(&expected["thin_plate_rbf"][i]);
        close(plate.at(target), wanted, 1e-9, "thin plate");
        let smooth = number(&expected["thin_plate_smoothing_50"][i]);
        let plate = ThinPlate::new(&places, &values, 0.0, 50.0).expect("a plate");
        close(plate.at(target), smooth, 1e-9, "smoothed thin plate");
    }
}

/// SciPy's `RectBivariateSpline`: the study's bicubic spline is that one.
#[test]
fn bicubic_spline_of_the_plane() {
    let expected = &json("synth_kriging.json")["interp"];
    let (_, values) = plane_90();
    let axis = vec![-80.0, -40.0, 0.0, 40.0, 80.0];
    let spline = Bicubic::through(axis.clone(), axis, &values).expect("a spline");
    let mut inside = 0;
    for (i, target) in targets(expected, Some(90.0)).iter().enumerate() {
        if let Some(wanted) = expected["bicubic_spline"][i].as_f64() {
            close(spline.at(target.point()), wanted, 1e-12, "bicubic spline");
            inside += 1;
        }
    }
    assert_eq!(inside, 7);
}
