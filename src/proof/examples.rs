//! The examples. Data are facts that their sources publish.

use super::example::Example;
use crate::field::kernel::{Covariance, Kernel};
use crate::field::kriging::Kriging;
use crate::field::trend::Trend;
use crate::geometry::{Place, Point};
use crate::lamps::{Lamp, UniformDisk, UniformPanel};
use crate::numeric::line::Line;
use crate::trials::curves::{Family, Fit, Shape, Start};
use crate::trials::reliability::run_length;
use crate::upkeep::trend::{Exponential, Reaches};

/// Examples that share their data.
pub(super) const GROUPS: [fn() -> Vec<Example>; 7] =
    [kriging, disk, rectangle, curve, line, thermometer, fading];

/// What is computed nowhere is no number, and does not hold.
fn or_none(value: Option<f64>) -> f64 {
    value.unwrap_or(f64::NAN)
}

fn kriging() -> Vec<Example> {
    let samples = [
        (61.0, 139.0, 477.0),
        (63.0, 140.0, 696.0),
        (64.0, 129.0, 227.0),
        (68.0, 128.0, 646.0),
        (71.0, 140.0, 606.0),
        (73.0, 141.0, 791.0),
        (75.0, 128.0, 783.0),
    ];
    let places = samples.map(|(x, y, _)| Place::new(x, y, 0.0));
    let values = samples.map(|(.., v)| v);
    let covariance = Covariance {
        kernel: Kernel::Exponential,
        sill: 10.0,
        lengths: [1.0 / 0.3; 3],
    };
    let told = Kriging::new(covariance, Trend::constant(), &places, &values, &[0.0; 7])
        .ok()
        .and_then(|kriging| {
            kriging
                .predict(&[Place::new(65.0, 137.0, 0.0)])
                .first()
                .map(|told| (told.mean, told.variance))
        });
    let example = |figure, published, computed, within| Example {
        what: "Ordinary kriging of seven samples",
        source: "Isaaks & Srivastava 1989, figure 12.3",
        figure,
        published,
        computed,
        within,
    };
    vec![
        example("estimate", 593.0, or_none(told.map(|t| t.0)), 0.5),
        example("variance", 8.96, or_none(told.map(|t| t.1)), 0.005),
    ]
}

fn disk() -> Vec<Example> {
    let at = |radius: f64, height: f64, offset: f64| {
        UniformDisk {
            centre: Point::new(0.0, 0.0),
            diameter: 2.0 * radius,
            face_height: height,
            exitance: 1.0,
        }
        .irradiance(Place::new(offset, 0.0, 0.0))
    };
    let example = |figure, published, computed| Example {
        what: "Irradiance under an even disk, over its exitance",
        source: "Siegel & Howell, element to disk",
        figure,
        published,
        computed,
        within: 1e-12,
    };
    vec![
        example("radius 1, height 1, on the axis", 0.5, at(1.0, 1.0, 0.0)),
        example(
            "radius 1, height 1, 0.5 off the axis",
            0.437_982_632_705_396,
            at(1.0, 1.0, 0.5),
        ),
        example(
            "radius 50, height 100, 150 off the axis",
            0.025_658_350_974_743_1,
            at(50.0, 100.0, 150.0),
        ),
    ]
}

fn rectangle() -> Vec<Example> {
    let at = |width: f64, depth: f64, height: f64| {
        UniformPanel {
            centre: Point::new(0.0, 0.0),
            width,
            depth,
            turn: 0.0,
            face_height: height,
            exitance: 1.0,
        }
        .irradiance(Place::new(0.5 * width, 0.5 * depth, 0.0))
    };
    let example = |figure, published, computed| Example {
        what: "Irradiance under the corner of an even rectangle, over its exitance",
        source: "Howell, catalogue of configuration factors",
        figure,
        published,
        computed,
        within: 1e-12,
    };
    vec![
        example("1 x 1, height 1", 0.138_531_605_994_893, at(1.0, 1.0, 1.0)),
        example(
            "100 x 60, height 80",
            0.129_452_780_738_447,
            at(100.0, 60.0, 80.0),
        ),
    ]
}

fn curve() -> Vec<Example> {
    let points = [
        (77.6, 10.07),
        (114.9, 14.73),
        (141.1, 17.94),
        (190.8, 23.93),
        (239.9, 29.61),
        (289.0, 35.18),
        (332.8, 40.02),
        (378.4, 44.82),
        (434.8, 50.76),
        (477.3, 55.05),
        (536.8, 61.01),
        (593.1, 66.40),
        (689.1, 75.47),
        (760.0, 81.78),
    ];
    let family = Family {
        shape: Shape::Exponential,
        start: Start::Zero,
    };
    let fit = Fit::to(&points, family, None);
    let of = |value: &dyn Fn(&Fit) -> f64| fit.as_ref().map_or(f64::NAN, value);
    let example = |figure, published: f64, computed| Example {
        what: "The curve of cure: plateau and rate",
        source: "NIST StRD, Misra1a",
        figure,
        published,
        computed,
        within: 1e-8 * published,
    };
    vec![
        example("b1", 2.389_421_291_8e2, of(&|f| f.plateau)),
        example(
            "standard deviation of b1",
            2.707_007_524_1,
            of(&Fit::plateau_uncertainty),
        ),
        example("b2", 5.501_564_318_1e-4, of(&|f| f.rate)),
        example(
            "standard deviation of b2",
            7.266_868_843_6e-6,
            of(&Fit::rate_uncertainty),
        ),
        Example {
            what: "Parts without a failure for 95 % at 95 % confidence",
            source: "binomial, n = ln 0.05 / ln 0.95",
            figure: "parts",
            published: 59.0,
            computed: run_length(0.95, 0.95) as f64,
            within: 0.0,
        },
    ]
}

/// y, x.
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

fn line() -> Vec<Example> {
    let points = NORRIS.map(|(y, x)| (x, y));
    let line = Line::through(&points);
    let of = |value: fn(&Line) -> f64| line.as_ref().map_or(f64::NAN, value);
    let example = |figure, published: f64, computed| Example {
        what: "One instrument against another, as a line",
        source: "NIST StRD, Norris",
        figure,
        published,
        computed,
        within: 1e-9 * published.abs(),
    };
    vec![
        example("intercept", -0.262_323_073_774_029, of(|l| l.intercept)),
        example("slope", 1.002_116_818_020_45, of(|l| l.slope)),
        example(
            "standard deviation of the slope",
            0.429_796_848_199_937e-3,
            of(|l| l.slope_uncertainty),
        ),
        example(
            "residual standard deviation",
            0.884_796_396_144_373,
            of(|l| l.scatter),
        ),
    ]
}

fn thermometer() -> Vec<Example> {
    let points = [
        (1.521, -0.171),
        (2.012, -0.169),
        (2.512, -0.166),
        (3.003, -0.159),
        (3.507, -0.164),
        (3.999, -0.165),
        (4.513, -0.156),
        (5.002, -0.157),
        (5.503, -0.159),
        (6.010, -0.161),
        (6.511, -0.160),
    ];
    let at_30 = Line::through(&points).map(|line| line.at(10.0));
    let example = |figure, published, computed| Example {
        what: "A calibration line beyond its data",
        source: "JCGM 100:2008 (GUM), H.3",
        figure,
        published,
        computed,
        within: 5e-5,
    };
    vec![
        example(
            "correction at 30 \u{b0}C",
            -0.1494,
            or_none(at_30.map(|t| t.0)),
        ),
        example("its uncertainty", 0.0041, or_none(at_30.map(|t| t.1))),
    ]
}

fn fading() -> Vec<Example> {
    let exact = Exponential {
        ln_b: 0.958_183_046_f64.ln(),
        ln_b_error: 0.0,
        alpha: 2.412_639_564e-6,
        alpha_error: 0.0,
        covariance: 0.0,
        scatter: 0.0,
        dof: 4.0,
    };
    let reached = match exact.reaches(0.7) {
        Reaches::At(figure) => figure.value,
        Reaches::Unbounded(at) => or_none(at),
    };
    vec![Example {
        what: "A lamp that fades exponentially, hours to 70 %",
        source: "US DOE Solid-State Lighting Program, TM-21 example",
        figure: "hours",
        published: 130_131.0,
        computed: reached,
        within: 0.5,
    }]
}
