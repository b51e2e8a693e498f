//! Fading lines, two instruments and lives of lamps against published values and against statsmodels and SciPy
//! (`tests/reference/upkeep.py`).

use evenfield::numeric::line::Line;
use evenfield::upkeep::Figure;
use evenfield::upkeep::beside::{Beside, Certificate, Pair, Recalibration, of_ratio, recalibrated};
use evenfield::upkeep::life::{Curve, Lived, NotProven, life};
use evenfield::upkeep::trend::{Exponential, Reaches};
use serde_json::Value;

pub fn near(what: &str, got: f64, expected: f64, relative: f64) {
    assert!(
        (got - expected).abs() <= relative * expected.abs(),
        "{what}: {got}, expected {expected}"
    );
}

pub fn reference() -> Value {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/reference/data/upkeep.json"
    );
    serde_json::from_str(&std::fs::read_to_string(path).expect("the file")).expect("json")
}

pub fn numbers(value: &Value) -> Vec<f64> {
    let each = value.as_array().expect("a list").iter();
    each.map(|v| v.as_f64().expect("a number")).collect()
}

fn at(reaches: Reaches) -> Figure {
    match reaches {
        Reaches::At(figure) => figure,
        Reaches::Unbounded(_) => panic!("the interval has ends"),
    }
}

/// Made for these tests: 0, 200, ... hours, mW/cm².
pub const AGEING: [f64; 11] = [
    52.3, 49.3, 47.2, 44.5, 42.8, 40.5, 38.4, 36.9, 34.7, 33.3, 31.3,
];

fn ageing() -> Vec<(f64, f64)> {
    let each = AGEING.iter().enumerate();
    each.map(|(i, e)| (200.0 * i as f64, e.ln())).collect()
}

/// statsmodels 0.15.0, OLS; Fieller's interval by SciPy's root finder.
#[test]
fn the_exponential_fit_of_another_library() {
    let fit = Exponential::through(&ageing()).expect("a fit");
    near("ln B", fit.ln_b, 3.953_273_283_884, 1e-12);
    near("its error", fit.ln_b_error, 0.002_999_595_690, 1e-9);
    near("alpha", fit.alpha, 2.519_253_018_197_45e-4, 1e-12);
    near("its error", fit.alpha_error, 2.535_121_059_646e-6, 1e-9);
    near(
        "covariance",
        fit.covariance,
        -6.426_838_787_060_145e-9,
        1e-9,
    );
    near("scatter", fit.scatter, 0.005_317_714_797, 1e-9);
    let reached = at(fit.reaches(25.0));
    near("25 mW/cm²", reached.value, 2_915.139_741, 1e-9);
    near("not before", reached.low, 2_870.197_930, 1e-9);
    near("not after", reached.high, 2_962.067_440, 1e-9);
    let (log, error, new) = fit.at(3000.0);
    near("ln E at 3000 h", log, 3.197_497_378_425, 1e-12);
    near("its error", error, 0.005_317_714_797, 1e-9);
    let half = 2.262_157_162_854 * new;
    near("a new reading, lower", log - half, 3.180_485_087_017, 1e-9);
    near("a new reading, upper", log + half, 3.214_509_669_833, 1e-9);
    let of_b = at(fit.reaches(0.7 * fit.ln_b.exp()));
    near("70 % of B", of_b.value, 1_415.796_434, 1e-9);
}

/// The projection of IES TM-21-11 in the slides of the US DOE Solid-State Lighting Program: averages of 20 units at 1000 to 6000 h
/// (fit by statsmodels), and the interpolation at 70 °C, whose time to 70 % is printed: 130,131 h.
#[test]
fn the_projection_of_tm_21() {
    let averages = [0.9680, 0.9719, 0.9667, 0.9599, 0.9553, 0.9542_f64];
    let hours = [1000.0, 2000.0, 3000.0, 4000.0, 5000.0, 6000.0];
    let points: Vec<(f64, f64)> = hours.into_iter().zip(averages.map(f64::ln)).collect();
    let fit = Exponential::through(&points).expect("a fit");
    near("B", fit.ln_b.exp(), 0.975_292_145_157_368, 1e-12);
    near("alpha", fit.alpha, 3.729_586_907_837e-6, 1e-9);
    near("its error", fit.alpha_error, 7.656_155e-7, 1e-6);
    let reached = at(fit.reaches(0.7));
    near("70 %", reached.value, 88_925.861_048, 1e-9);
    let expected = numbers(&reference()["tm21"]["reaches"]);
    near("not before", reached.low, expected[1], 1e-9);
    near("not after", reached.high, expected[2], 1e-9);
    let exact = |b: f64, alpha: f64| Exponential {
        ln_b: b.ln(),
        ln_b_error: 0.0,
        alpha,
        alpha_error: 0.0,
        covariance: 0.0,
        scatter: 0.0,
        dof: 4.0,
    };
    let hours = at(exact(0.958_183_046, 2.412_639_564e-6).reaches(0.7)).value;
    assert_eq!(hours.round(), 130_131.0);
    near(
        "70 % of 1.02",
        at(exact(1.02, 5e-6).reaches(0.7)).value,
        75_295.514_247,
        1e-9,
    );
    near(
        "90 % of 1.02",
        at(exact(1.02, 5e-6).reaches(0.9)).value,
        25_032.628_591,
        1e-9,
    );
}

/// JCGM 100:2008, H.3: a line beyond its data. Published: -0.1712 (0.0029), 0.002 18 (0.000 67), at 30 °C -0.1494 (0.0041).
#[test]
fn the_thermometer_of_the_gum() {
    let t = [
        21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511,
    ];
    let b = [
        -0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160,
    ];
    let points: Vec<(f64, f64)> = t.into_iter().map(|t| t - 20.0).zip(b).collect();
    let line = Exponential::through(&points).expect("a line");
    near("intercept", line.ln_b, -0.171_203_790_131, 1e-9);
    near("its error", line.ln_b_error, 0.002_877_597_835, 1e-9);
    near("slope", -line.alpha, 0.002_182_697_740, 1e-8);
    near("its error", line.alpha_error, 0.000_667_938_773, 1e-8);
    let (value, error, _) = line.at(10.0);
    assert_eq!((1e4 * value).round(), -1494.0);
    assert_eq!((1e4 * error).round(), 41.0);
}

/// A fade that is not significant has an interval without end.
#[test]
fn no_end_without_significant_fading() {
    let flat = [(0.0, 3.9), (100.0, 3.91), (200.0, 3.895), (300.0, 3.905)];
    let fit = Exponential::through(&flat).expect("a fit");
    assert!(matches!(fit.reaches(40.0), Reaches::Unbounded(_)));
    assert!(matches!(fit.reaches(f64::NAN), Reaches::Unbounded(None)));
    assert!(matches!(fit.reaches(0.0), Reaches::Unbounded(None)));
}

/// NIST StRD Norris as two instruments: the relatively weighted line and the ratio by statsmodels (WLS) and SciPy.
#[test]
fn norris_as_two_instruments() {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/reference/data/norris.json"
    );
    let data: Value =
        serde_json::from_str(&std::fs::read_to_string(path).expect("the file")).expect("json");
    let pairs: Vec<Pair> = (numbers(&data["y"])
        .into_iter()
        .zip(numbers(&data["x"]))
        .enumerate())
    .map(|(setting, (main, stand_in))| Pair {
        setting,
        main,
        stand_in,
    })
    .collect();
    let found = Beside::of(&pairs, None, 0.0).expect("a comparison");
    let expected = &reference()["instruments"];
    let ratio = numbers(&expected["ratio"]);
    near("ratio", found.ratio.value, ratio[0], 1e-9);
    near("lower", found.ratio.low, ratio[1], 1e-7);
    near("upper", found.ratio.high, ratio[2], 1e-7);
    near("uncertainty", found.uncertainty, ratio[3], 1e-9);
    let line = found.dependence.expect("many levels");
    let of = |i: usize| numbers(&expected["line"][i]);
    near("intercept", line.intercept.value, of(0)[0], 1e-7);
    near("factor", line.factor.value, of(0)[1], 1e-9);
    near(
        "intercept, lower",
        line.intercept.low,
        numbers(&expected["line"][2][0])[0],
        1e-6,
    );
    near(
        "factor, upper",
        line.factor.high,
        numbers(&expected["line"][2][1])[1],
        1e-7,
    );
    near(
        "p",
        line.p,
        expected["line"][3].as_f64().expect("a number"),
        1e-7,
    );
    assert!(!line.depends);
    // the certified fit, unweighted: NIST StRD, to 11 digits
    let points: Vec<(f64, f64)> = pairs.iter().map(|p| (p.stand_in, p.main)).collect();
    let certified = Line::through(&points).expect("a line");
    near("B1", certified.slope, 1.002_116_818_020_45, 1e-12);
}

/// JCGM 100:2008, H.2: impedance as a ratio of voltage and current that are correlated. Published: 254.260 with 0.236.
#[test]
fn a_ratio_of_correlated_quantities() {
    let (voltage, current) = (0.003_209_361_4 / 4.999, 9.471_008_4e-6 / 0.019_661);
    let relative = of_ratio(voltage, current, -0.355_311_2 * voltage * current);
    near("u(Z)", 254.259_701_948 * relative, 0.236_336_130, 1e-5);
}

/// En = (x - X) / sqrt(U² + U²), |En| <= 1 agrees (ISO/IEC 17043; ISO 13528:2022, 9.6, from memory). By hand.
#[test]
fn agreement_with_certificates() {
    let pair = |setting: usize, main: f64| Pair {
        setting,
        main,
        stand_in: 50.0,
    };
    let six = Certificate {
        expanded: 0.06,
        k: 2.0,
    };
    let eight = Certificate {
        expanded: 0.08,
        k: 2.0,
    };
    let same: Vec<Pair> = (0..4).map(|s| pair(s, 54.0)).collect();
    let of = |common: f64| {
        let found = Beside::of(&same, Some((six, eight)), common).expect("a comparison");
        found.agreement.expect("certificates")
    };
    // ln 1.08 over a tenth
    near("En", of(0.0).en, 1.08_f64.ln() / 0.1, 1e-12);
    assert!(of(0.0).agrees);
    // both scales from one laboratory: 2.5 % is in both, what is left is sqrt(0.03² + 0.04² - 2 · 0.025²), twice
    near(
        "En",
        of(0.025).en,
        1.08_f64.ln() / (2.0 * 0.00125_f64.sqrt()),
        1e-12,
    );
    assert!(!of(0.025).agrees);
    // what a certificate shares is no more than it has
    assert!(Beside::of(&same, Some((six, eight)), 0.031).is_err());
    // by certificates: a factor of 1.00 becomes 0.95, so the same light reads more by 1/0.95
    let shift =
        recalibrated(Recalibration::Factors(1.0, 0.95), Some((six, six)), 0.0).expect("a shift");
    near("shift", shift.shift.value, 1.0 / 0.95 - 1.0, 1e-12);
    near("uncertainty", shift.uncertainty, 0.03 * 2f64.sqrt(), 1e-12);
    assert!(shift.agreement.expect("certificates").agrees);
    // by readings: Student's t of three differences
    let read = [(50.0, 51.0), (40.0, 41.2), (30.0, 30.3)];
    let shift = recalibrated(Recalibration::Readings(&read), None, 0.0).expect("a shift");
    let logs = read.map(|(a, b): (f64, f64)| (b / a).ln());
    let mean = logs.iter().sum::<f64>() / 3.0;
    let deviation = (logs.iter().map(|l| (l - mean).powi(2)).sum::<f64>() / 2.0).sqrt();
    let half = 4.302_652_729_696 * deviation / 3f64.sqrt();
    near("lower", shift.shift.low, (mean - half).exp_m1(), 1e-7);
}

/// SciPy 1.16.3: posterior of a lognormal life on a fine grid, two of six lamps changed before; Student's t for the four alone.
#[test]
fn lives_of_lamps_in_another_library() {
    let expected = &reference()["lives"];
    // straight curves that pass 0.7 at a life
    let curve = |life: f64, until: f64| Curve {
        points: (0..=40)
            .map(|i| until * f64::from(i) / 40.0)
            .map(|t| (t, 1.0 - 0.3 * t / life))
            .collect(),
        changed: true,
    };
    let mut curves: Vec<Curve> = numbers(&expected["reached"])
        .iter()
        .map(|l| curve(*l, 1.2 * l))
        .collect();
    let alone = life(&curves, 0.7);
    curves.extend(
        numbers(&expected["longer"])
            .iter()
            .map(|l| curve(1.5 * l, *l)),
    );
    let all = life(&curves, 0.7);
    for (got, names, tolerance) in [
        (
            alone.next.expect("four lives"),
            ["alone", "alone_next"],
            3e-3,
        ),
        (all.next.expect("four lives"), ["median", "next"], 3e-3),
    ] {
        for (figure, name) in [(got.median, names[0]), (got.next, names[1])] {
            let known = numbers(&expected[name]);
            near(name, figure.value, known[0], tolerance);
            near(name, figure.low, known[1], tolerance);
            near(name, figure.high, known[2], tolerance);
        }
    }
    assert_eq!(
        (
            all.next.expect("lives").reached,
            all.next.expect("lives").longer
        ),
        (4, 2)
    );
    assert_eq!(all.lives[5], Lived::Longer(900.0));
    assert_eq!(life(&curves[..1], 0.7).next, Err(NotProven::Few(1)));
    assert_eq!(life(&[], 0.7).next, Err(NotProven::Few(0)));
    assert_eq!(life(&curves, 1.0).next, Err(NotProven::BadShare));
}
