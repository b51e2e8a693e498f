//! Mean squares and components of variance against published values: the gauge study of ten parts, three appraisers and three
//! trials of AIAG, *Measurement Systems Analysis*, 4th edition (table and analysis as five public test files quote them), and
//! one-way analyses of NIST Statistical Reference Datasets (SiRstv, AtmWtAg; certified to 15 digits).

use evenfield::repeat::interval::{Square, combined};
use evenfield::repeat::strata::Strata;

fn near(what: &str, got: f64, expected: f64, relative: f64) {
    assert!(
        (got - expected).abs() <= relative * expected.abs(),
        "{what}: {got}, expected {expected}"
    );
}

/// A row a trial, appraiser after appraiser; a column a part.
const AIAG: [[f64; 10]; 9] = [
    [
        0.29, -0.56, 1.34, 0.47, -0.8, 0.02, 0.59, -0.31, 2.26, -1.36,
    ],
    [
        0.41, -0.68, 1.17, 0.5, -0.92, -0.11, 0.75, -0.2, 1.99, -1.25,
    ],
    [
        0.64, -0.58, 1.27, 0.64, -0.84, -0.21, 0.66, -0.17, 2.01, -1.31,
    ],
    [
        0.08, -0.47, 1.19, 0.01, -0.56, -0.2, 0.47, -0.63, 1.8, -1.68,
    ],
    [0.25, -1.22, 0.94, 1.03, -1.2, 0.22, 0.55, 0.08, 2.12, -1.62],
    [0.07, -0.68, 1.34, 0.2, -1.28, 0.06, 0.83, -0.34, 2.19, -1.5],
    [
        0.04, -1.38, 0.88, 0.14, -1.46, -0.29, 0.02, -0.46, 1.77, -1.49,
    ],
    [
        -0.11, -1.13, 1.09, 0.2, -1.07, -0.67, 0.01, -0.56, 1.45, -1.77,
    ],
    [
        -0.15, -0.96, 0.67, 0.11, -1.45, -0.49, 0.21, -0.49, 1.87, -2.16,
    ],
];

/// Parts are positions, appraisers people, trials rounds. There a trial has nothing in common of its own: what this program
/// takes out for each round is in the repeatability.
#[test]
fn the_gauge_study_of_ten_parts() {
    let table: Vec<Vec<f64>> = (0..10)
        .map(|part| AIAG.iter().map(|trial| trial[part]).collect())
        .collect();
    let strata = Strata::of(&table, &[0, 0, 0, 1, 1, 1, 2, 2, 2], &[0; 9]);
    let appraiser = strata.people.common;
    let interaction = strata.people.by_place;
    let sum = |s: Square| s.mean * s.freedom;
    near("appraiser, sum", sum(appraiser), 3.167_262_222_2, 1e-9);
    assert_eq!((appraiser.freedom, interaction.freedom), (2.0, 18.0));
    near("appraiser", appraiser.mean, 1.583_631_111_1, 1e-9);
    near("interaction", interaction.mean, 0.019_943_456_8, 1e-7);
    let repeatability = Square {
        mean: (sum(strata.rest.by_place) + sum(strata.rest.common)) / 60.0,
        freedom: strata.rest.by_place.freedom + strata.rest.common.freedom,
    };
    assert_eq!(repeatability.freedom, 60.0);
    near("repeatability", repeatability.mean, 0.045_982_222_2, 1e-8);
    // published: 0.3590, 2.7589, 3.1673
    near("interaction, sum", sum(interaction), 0.358_982_222_2, 1e-8);
    near(
        "repeatability, sum",
        sum(repeatability),
        2.758_933_333_3,
        1e-9,
    );
    // the interaction dropped, as published: 0.03997, 0.05146, 0.09143
    let pooled = Square {
        mean: (sum(interaction) + sum(repeatability)) / 78.0,
        freedom: 78.0,
    };
    let variance = |terms: &[(f64, Square)]| combined(terms).expect("squares").value;
    near(
        "repeatability, pooled",
        pooled.mean,
        0.039_973_276_353,
        1e-9,
    );
    assert!(
        (strata.people.holds[0] - 3.0).abs() < 1e-12,
        "three trials each"
    );
    let of_all = 1.0 / 30.0;
    let reproducibility = variance(&[(of_all, appraiser), (-of_all, pooled)]);
    near("reproducibility", reproducibility, 0.051_455_261_159, 1e-9);
    let gauge = variance(&[(1.0 - of_all, pooled), (of_all, appraiser)]);
    near(
        "repeatability and reproducibility",
        gauge,
        0.091_428_537_512,
        1e-9,
    );
    near("their deviation", gauge.sqrt(), 0.302_373, 6e-6);
    // kept, its variance would be below zero and is none
    let third = 1.0 / 3.0;
    assert_eq!(
        variance(&[(third, interaction), (-third, repeatability)]),
        0.0
    );
}

const SI_RSTV: [[f64; 5]; 5] = [
    [196.3052, 196.1240, 196.1890, 196.2569, 196.3403],
    [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
    [196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
    [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
    [196.2119, 196.1051, 196.1850, 196.0052, 196.2090],
];

const ATM_WT_AG: [[f64; 24]; 2] = [
    [
        107.8681568,
        107.8681465,
        107.8681572,
        107.8681785,
        107.8681446,
        107.8681903,
        107.8681526,
        107.8681494,
        107.8681616,
        107.8681587,
        107.8681519,
        107.8681486,
        107.8681419,
        107.8681569,
        107.8681508,
        107.8681672,
        107.8681385,
        107.8681518,
        107.8681662,
        107.8681424,
        107.8681360,
        107.8681333,
        107.8681610,
        107.8681477,
    ],
    [
        107.8681079,
        107.8681344,
        107.8681513,
        107.8681197,
        107.8681604,
        107.8681385,
        107.8681642,
        107.8681365,
        107.8681151,
        107.8681082,
        107.8681517,
        107.8681448,
        107.8681198,
        107.8681482,
        107.8681334,
        107.8681609,
        107.8681101,
        107.8681512,
        107.8681469,
        107.8681360,
        107.8681254,
        107.8681261,
        107.8681450,
        107.8681368,
    ],
];

/// One place, read again and again by several: between, within, variance between.
fn one_way<const N: usize>(
    name: &str,
    groups: &[[f64; N]],
    certified: [f64; 3],
    freedom: [f64; 2],
    relative: f64,
) {
    let values: Vec<f64> = groups.concat();
    let people: Vec<usize> = (0..values.len()).map(|i| i / N).collect();
    let strata = Strata::of(&[values], &people, &vec![0; people.len()]);
    let (between, within) = (strata.people.common, strata.rest.common);
    assert_eq!([between.freedom, within.freedom], freedom, "{name}");
    near(name, between.mean, certified[0], relative);
    near(name, within.mean, certified[1], relative);
    assert!((strata.people.holds[0] - N as f64).abs() < 1e-9);
    let per = 1.0 / N as f64;
    let variance = combined(&[(per, between), (-per, within)]).expect("squares");
    near(name, variance.value, certified[2], relative);
    assert!(variance.interval.0 <= variance.value && variance.value <= variance.interval.1);
    // nothing is left for a single place
    assert_eq!(strata.rest.by_place.freedom, 0.0);
}

#[test]
fn one_way_analyses_are_those_of_nist() {
    one_way(
        "SiRstv",
        &SI_RSTV,
        [1.278_656_54e-2, 1.083_182_80e-2, 3.909_474_8e-4],
        [4.0, 20.0],
        1e-8,
    );
    // 107.868 with differences in the fifth decimal and after: what is left of the digits of the data
    one_way(
        "AtmWtAg",
        &ATM_WT_AG,
        [
            3.638_341_875e-9,
            2.281_559_329_710_14e-10,
            1.420_910_809_178_744e-10,
        ],
        [1.0, 46.0],
        1e-8,
    );
}
