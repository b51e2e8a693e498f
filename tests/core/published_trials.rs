//! Fits, lines, distributions and runs against published values: NIST Statistical Reference Datasets
//! (certified to 11 digits), JCGM 100:2008 (GUM), and tables made with SciPy (`tests/reference`).

use evenfield::numeric::line::Line;
use evenfield::station::trials::{Better, Trial, Trials};
use evenfield::trials::agreement::{Passed, as_few};
use evenfield::trials::curves::{Family, Fit, Shape, Start};
use evenfield::trials::profile::{Goal, Short, weighed};
use evenfield::trials::reliability::{reliability, run_length};
use evenfield::trials::{Found, analyse, dose};

fn near(what: &str, got: f64, expected: f64, relative: f64) {
    assert!(
        (got - expected).abs() <= relative * expected.abs(),
        "{what}: {got}, expected {expected}"
    );
}

/// (y, x), NIST StRD Misra1a and Misra1b.
const MISRA: [(f64, f64); 14] = [
    (10.07, 77.6),
    (14.73, 114.9),
    (17.94, 141.1),
    (23.93, 190.8),
    (29.61, 239.9),
    (35.18, 289.0),
    (40.02, 332.8),
    (44.82, 378.4),
    (50.76, 434.8),
    (55.05, 477.3),
    (61.01, 536.8),
    (66.40, 593.1),
    (75.47, 689.1),
    (81.78, 760.0),
];

/// (y, x), NIST StRD BoxBOD.
const BOX_BOD: [(f64, f64); 6] = [
    (109.0, 1.0),
    (149.0, 2.0),
    (149.0, 3.0),
    (191.0, 5.0),
    (213.0, 7.0),
    (224.0, 10.0),
];

struct Certified {
    shape: Shape,
    /// b1 and b2, each with its standard deviation.
    plateau: (f64, f64),
    rate: (f64, f64),
    squares: f64,
    residual_sd: f64,
}

fn holds(name: &str, data: &[(f64, f64)], starts: [f64; 2], certified: &Certified) {
    let points: Vec<(f64, f64)> = data.iter().map(|&(y, x)| (x, y)).collect();
    let family = Family {
        shape: certified.shape,
        start: Start::Zero,
    };
    // b1 needs no start: it is solved for exactly
    for start in [Some(starts[0]), Some(starts[1]), None] {
        let fit = Fit::to(&points, family, start).expect("a fit");
        let what = |of: &str| format!("{name} from {start:?}: {of}");
        near(&what("b1"), fit.plateau, certified.plateau.0, 1e-9);
        near(
            &what("sd of b1"),
            fit.plateau_uncertainty(),
            certified.plateau.1,
            1e-8,
        );
        near(&what("b2"), fit.rate, certified.rate.0, 1e-9);
        near(
            &what("sd of b2"),
            fit.rate_uncertainty(),
            certified.rate.1,
            1e-8,
        );
        near(&what("squares"), fit.squares, certified.squares, 1e-9);
        near(
            &what("residual sd"),
            fit.variance().sqrt(),
            certified.residual_sd,
            1e-9,
        );
    }
}

#[test]
fn misra1a_the_curve_of_cure_itself() {
    let certified = Certified {
        shape: Shape::Exponential,
        plateau: (2.3894212918E+02, 2.7070075241E+00),
        rate: (5.5015643181E-04, 7.2668688436E-06),
        squares: 1.2455138894E-01,
        residual_sd: 1.0187876330E-01,
    };
    holds("Misra1a", &MISRA, [1e-4, 5e-4], &certified);
}

#[test]
fn misra1b_of_the_second_order() {
    let certified = Certified {
        shape: Shape::SecondOrder,
        plateau: (3.3799746163E+02, 3.1643950207E+00),
        rate: (3.9039091287E-04, 4.2547321834E-06),
        squares: 7.5464681533E-02,
        residual_sd: 7.9301471998E-02,
    };
    holds("Misra1b", &MISRA, [1e-4, 2e-4], &certified);
}

#[test]
fn box_bod_from_the_start_that_leads_others_astray() {
    let certified = Certified {
        shape: Shape::Exponential,
        plateau: (2.1380940889E+02, 1.2354515176E+01),
        rate: (5.4723748542E-01, 1.0455993237E-01),
        squares: 1.1680088766E+03,
        residual_sd: 1.7088072423E+01,
    };
    holds("BoxBOD", &BOX_BOD, [1.0, 0.75], &certified);
}

/// Levels at which 90, 95 and 99 % of the plateau are reached, from the certified parameters:
/// `-ln(1 - p) / b2`.
#[test]
fn levels_of_full_cure_from_certified_fits() {
    let cases = [
        (&MISRA[..], [4185.327954, 5445.237210, 8370.655908]),
        (&BOX_BOD[..], [0.5 * 8.415304705, 5.474281922, 8.415304705]),
    ];
    for (data, expected) in cases {
        let points: Vec<(f64, f64)> = data.iter().map(|&(y, x)| (x, y)).collect();
        let family = Family {
            shape: Shape::Exponential,
            start: Start::Zero,
        };
        let fit = Fit::to(&points, family, None).expect("a fit");
        for (part, expected) in [0.1, 0.05, 0.01].into_iter().zip(expected) {
            let goal = Goal {
                margin: Short::Part(part),
                rises: true,
            };
            near("level", goal.level(&fit), expected, 1e-9);
        }
        assert_eq!(weighed(vec![fit], 0.0).len(), 1);
    }
}

/// NIST StRD Norris: (y, x).
const NORRIS: [(f64, f64); 36] = [
    (0.1, 0.2),
    (338.8, 337.4),
    (118.1, 118.2),
    (888.0, 884.6),
    (9.2, 10.1),
    (228.1, 226.5),
    (668.5, 666.3),
    (998.5, 996.3),
    (449.1, 448.6),
    (778.9, 777.0),
    (559.2, 558.2),
    (0.3, 0.4),
    (0.1, 0.6),
    (778.1, 775.5),
    (668.8, 666.9),
    (339.3, 338.0),
    (448.9, 447.5),
    (10.8, 11.6),
    (557.7, 556.0),
    (228.3, 228.1),
    (998.0, 995.8),
    (888.8, 887.6),
    (119.6, 120.2),
    (0.3, 0.3),
    (0.6, 0.3),
    (557.6, 556.8),
    (339.3, 339.1),
    (888.0, 887.2),
    (998.5, 999.0),
    (778.9, 779.0),
    (10.2, 11.1),
    (117.6, 118.3),
    (228.9, 229.2),
    (668.4, 669.1),
    (449.2, 448.9),
    (0.2, 0.5),
];

#[test]
fn norris_and_the_thermometer_of_the_gum_as_lines() {
    let points: Vec<(f64, f64)> = NORRIS.iter().map(|&(y, x)| (x, y)).collect();
    let line = Line::through(&points).expect("a line");
    near("B0", line.intercept, -0.262323073774029, 1e-10);
    near(
        "sd of B0",
        line.intercept_uncertainty,
        0.232818234301152,
        1e-10,
    );
    near("B1", line.slope, 1.00211681802045, 1e-12);
    near(
        "sd of B1",
        line.slope_uncertainty,
        0.429796848199937E-03,
        1e-10,
    );
    near("residual sd", line.scatter, 0.884796396144373, 1e-10);
    assert_eq!(line.dof, 34.0);

    // JCGM 100:2008, H.3: correction of a thermometer about 20 °C, and at 30 °C, outside the data
    let t = [
        21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511,
    ];
    let b = [
        -0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160,
    ];
    let points: Vec<(f64, f64)> = t.iter().zip(b).map(|(t, b)| (t - 20.0, b)).collect();
    let line = Line::through(&points).expect("a line");
    let printed = |got: f64, expected: f64, half: f64| {
        assert!((got - expected).abs() <= half, "{got}, expected {expected}");
    };
    printed(line.intercept, -0.1712, 5e-5);
    printed(line.intercept_uncertainty, 0.0029, 5e-5);
    printed(line.slope, 0.00218, 5e-6);
    printed(line.slope_uncertainty, 0.00067, 5e-6);
    let (at_30, u) = line.at(10.0);
    printed(at_30, -0.1494, 5e-5);
    printed(u, 0.0041, 5e-5);
}

/// Runs without a failure: the binomial gives 59 parts for 95 % at 95 % confidence, 22 for 90/90.
#[test]
fn runs_without_a_failure() {
    assert_eq!(run_length(0.95, 0.95), 59);
    assert_eq!(run_length(0.90, 0.90), 22);
    assert!(reliability(59, 0, 0.95) >= 0.95 && reliability(58, 0, 0.95) < 0.95);
    assert!(reliability(22, 0, 0.90) >= 0.90 && reliability(21, 0, 0.90) < 0.90);
    // 0.5^(1/1): one part of one at even odds
    near("1 of 1", reliability(1, 0, 0.5), 0.5, 1e-12);
    assert_eq!(reliability(0, 5, 0.95), 0.0);
    // the bound is where so many or more would pass with probability 0.05
    let share: f64 = reliability(8, 2, 0.95);
    let (p, q) = (share, 1.0 - share);
    let at_least_8 = 45.0 * p.powi(8) * q * q + 10.0 * p.powi(9) * q + p.powi(10);
    near("8 of 10", at_least_8, 0.05, 1e-9);
}

fn reference(name: &str) -> String {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/data");
    std::fs::read_to_string(folder.join(name)).expect("reference data")
}

fn rows(name: &str) -> Vec<Vec<f64>> {
    (reference(name).lines().skip(1))
        .map(|line| {
            line.split(',')
                .map(|v| v.parse().expect("a number"))
                .collect()
        })
        .collect()
}

fn numbers(value: &serde_json::Value) -> Vec<f64> {
    let list = value.as_array().expect("a list");
    list.iter().map(|v| v.as_f64().expect("a number")).collect()
}

/// The made-up ladder of `tests/reference/data`, worked out with SciPy 1.16.3 and statsmodels 0.15.0 by
/// `tests/reference/trials.py`: Welch's t from the highest level down, sums of squares, AICc weights; and quantiles
/// over shapes that are SciPy's Burr and Weibull distributions, at five times as many scales.
#[test]
fn a_ladder_worked_out_by_other_libraries() {
    let expected: serde_json::Value =
        serde_json::from_str(&reference("cure_trials.json")).expect("json");
    let parts = (rows("cure_ladder.csv").iter())
        .map(|row| Trial::new(row[0], 10.0, row[1]))
        .collect();
    let trials = Trials {
        parts,
        ..Trials::default()
    };
    let found = analyse(&trials, Default::default()).expect("a ladder");
    let Found::Measured(measured) = &found.found else {
        panic!("bond strength is measured");
    };
    let steps = &measured.sequence.as_ref().expect("parts alike").steps;
    let theirs = expected["sequence"].as_array().expect("steps");
    assert_eq!(steps.len(), theirs.len());
    for (step, theirs) in steps.iter().zip(theirs) {
        let theirs = numbers(theirs);
        assert_eq!(
            (step.level as f64, step.against as f64),
            (theirs[0], theirs[1])
        );
        near("t", step.t, theirs[2], 1e-9);
        near("dof", step.dof, theirs[3], 1e-9);
        near("p", step.p, theirs[4], 1e-7);
    }
    assert!(!measured.fits.is_empty());
    for weighed in &measured.fits {
        let name = weighed.fit.family.name();
        let of = |what: &str| expected[what][&name].as_f64().expect("a number");
        near(&name, weighed.fit.squares, of("squares"), 1e-7);
        // curves of no weight are left out here and not there
        assert!(
            (weighed.weight - of("weights")).abs() < 2e-3,
            "{name}: {weighed:?}"
        );
    }
    let level = numbers(&expected["posterior"]);
    for (got, theirs) in [measured.lower, measured.level, measured.upper]
        .iter()
        .zip(level)
    {
        // theirs are over five times as many scales
        near("level", got.expect("a bound"), theirs, 1e-2);
    }
}

/// Fisher's exact test of SciPy.
#[test]
fn a_run_against_its_trials() {
    let expected: serde_json::Value =
        serde_json::from_str(&reference("cure_trials.json")).expect("json");
    for row in expected["fisher"].as_array().expect("rows") {
        let row = numbers(row);
        let passed = |at: usize| Passed {
            passed: row[at] as u64,
            of: row[at + 1] as u64,
        };
        near("chance", as_few(passed(0), passed(2)), row[4], 1e-9);
    }
}

#[test]
fn pass_and_fail_worked_out_by_other_libraries() {
    let expected: serde_json::Value =
        serde_json::from_str(&reference("cure_trials.json")).expect("json");
    let mut trials = Trials::default();
    trials.property.better = Better::Pass;
    for row in rows("cure_pass_fail.csv") {
        for part in 0..row[2] as u32 {
            let result = if f64::from(part) < row[1] { 1.0 } else { 0.0 };
            trials.parts.push(Trial::new(row[0], 10.0, result));
        }
    }
    let Found::Judged(Some(curve)) = analyse(&trials, Default::default())
        .expect("a ladder")
        .found
    else {
        panic!("no curve");
    };
    let theirs = numbers(&expected["judged"]);
    let logistic = curve.fits.iter().find(|f| f.shape == Shape::Hill);
    let logistic = logistic.expect("a logistic curve");
    near("level", logistic.level, theirs[0], 1e-3);
    near("steepness", logistic.power, theirs[1], 1e-3);
    near("lower", curve.lower.expect("a bound"), theirs[2], 1e-3);
    near("middle", curve.level, theirs[3], 1e-3);
    near("upper", curve.upper.expect("a bound"), theirs[4], 1e-3);
    let mut trials = Trials::default();
    trials.property.better = Better::Pass;
    for row in rows("cure_pass_fail_times.csv") {
        for part in 0..row[3] as u32 {
            let result = if f64::from(part) < row[2] { 1.0 } else { 0.0 };
            trials.parts.push(Trial::new(row[0], row[1], result));
        }
    }
    let law = dose(&trials).expect("parts that tell");
    let theirs = numbers(&expected["judged_dose"]);
    near("lower", law.lower.expect("a bound"), theirs[0], 2e-3);
    near("p", law.power, theirs[1], 2e-3);
    near("upper", law.upper.expect("a bound"), theirs[2], 2e-3);
    for run in expected["reliability"].as_array().expect("runs") {
        let run = numbers(run);
        near(
            "share",
            reliability(run[0] as u32, run[1] as u32, 0.95),
            run[2],
            1e-9,
        );
    }
}
