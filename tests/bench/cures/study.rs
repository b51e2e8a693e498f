//! Cure trials with known truth: how often what is found is wrong. The same runs for the benchmark, which
//! prints many, and for a test, which makes few.

use evenfield::numeric::distributions::normal_above;
use evenfield::numeric::random::Normals;
use evenfield::station::trials::{Better, Confirmation, Margin, Property, Trial, Trials};
use evenfield::trials::posterior::{Data, Posterior};
use evenfield::trials::rise::Prior;
use evenfield::trials::{Found, TAIL, analyse, dose};

use crate::intervals::clopper_pearson;

#[path = "left_out.rs"]
mod left_out;

/// How often something happened.
#[derive(Debug, Clone, Copy)]
pub struct Rate {
    pub hits: usize,
    pub n: usize,
}

impl Rate {
    pub fn share(self) -> f64 {
        self.hits as f64 / self.n as f64
    }

    /// Two-sided 95 % interval (Clopper & Pearson 1934).
    pub fn interval(self) -> (f64, f64) {
        clopper_pearson(self.hits, self.n)
    }
}

impl std::fmt::Display for Rate {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (low, high) = self.interval();
        write!(
            f,
            "{:5.1} ({:4.1} to {:4.1})",
            100.0 * self.share(),
            100.0 * low,
            100.0 * high
        )
    }
}

/// How the response really goes with the level: part of the plateau.
#[derive(Debug, Clone, Copy)]
pub enum Truth {
    /// `1 - exp(-x/τ)`.
    FirstOrder(f64),
    /// `1 - (1 + x/2τ)⁻²`.
    SecondOrder(f64),
    /// Nothing below x0, then `1 - exp(-(x - x0)/τ)`.
    Threshold(f64, f64),
    /// A half of one rate and a half of another: no curve of the program's.
    TwoRates(f64, f64),
    /// `Φ(ln(x/x0)/σ)`: no curve of the program's.
    LogNormal(f64, f64),
    /// 90 % at a level, the plateau above it, far less below: the step of a test.
    TenShort(f64),
    /// A part of one rate, the rest of another: no curve of the program's.
    Rates(f64, f64, f64),
    /// `1 - (1 + x/nτ)⁻ⁿ`: of a higher order.
    Order(f64, f64),
    /// `1/(1 + (x/x0)^-s)`: a sigmoid in the logarithm of the level.
    LogLogistic(f64, f64),
    /// `exp(-(x0/x)^s)`: slow at its end; no curve of the program's.
    Frechet(f64, f64),
    /// `erf(x/τ)`: no curve of the program's.
    Erf(f64),
    /// `1 - exp(-(x/τ)^s)`.
    Stretched(f64, f64),
    /// `exp(-b exp(-x/τ))`: no curve of the program's.
    Gompertz(f64, f64),
    /// A rise to 60 % and, about a level, a step to the plateau: no curve of the program's.
    TwoSteps(f64),
    /// A straight line up to the plateau: no curve of the program's.
    Ramp(f64),
}

impl Truth {
    pub fn at(self, x: f64) -> f64 {
        match self {
            Self::FirstOrder(tau) => 1.0 - (-x / tau).exp(),
            Self::SecondOrder(tau) => 1.0 - (1.0 + 0.5 * x / tau).powi(-2),
            Self::Threshold(from, tau) => (1.0 - (-(x - from) / tau).exp()).max(0.0),
            Self::TwoRates(a, b) => 1.0 - 0.5 * (-x / a).exp() - 0.5 * (-x / b).exp(),
            Self::LogNormal(middle, width) => normal_above(-(x / middle).ln() / width),
            Self::Rates(a, b, part) => 1.0 - part * (-x / a).exp() - (1.0 - part) * (-x / b).exp(),
            Self::Order(tau, n) => 1.0 - (1.0 + x / (n * tau)).powf(-n),
            Self::LogLogistic(middle, s) => 1.0 / (1.0 + (x / middle).powf(-s)),
            Self::Frechet(x0, s) => (-(x0 / x).powf(s)).exp(),
            Self::Erf(tau) => 2.0 * normal_above(-x / tau * std::f64::consts::SQRT_2) - 1.0,
            Self::Stretched(tau, s) => 1.0 - (-(x / tau).powf(s)).exp(),
            Self::Gompertz(b, tau) => (-b * (-x / tau).exp()).exp(),
            Self::TwoSteps(at) => {
                0.6 * (1.0 - (-x / 8.0).exp()) + 0.4 * normal_above(-(x / at).ln() / 0.15)
            }
            Self::Ramp(to) => (x / to).min(1.0),
            Self::TenShort(level) => {
                if x > level {
                    1.0
                } else if x == level {
                    0.9
                } else {
                    0.9 * x / level
                }
            }
        }
    }

    /// Where so much of the plateau is reached.
    pub fn reaches(self, part: f64) -> f64 {
        let (mut low, mut high) = (1e-3f64, 1e6f64);
        for _ in 0..200 {
            let middle = (low * high).sqrt();
            if self.at(middle) < part {
                low = middle;
            } else {
                high = middle;
            }
        }
        high
    }
}

/// A way to make trials.
#[derive(Debug, Clone, Copy)]
pub struct Design {
    pub name: &'static str,
    pub truth: Truth,
    pub levels: &'static [f64],
    pub parts: usize,
    /// Standard deviation of a part, percent of the plateau.
    pub scatter: f64,
    /// What is added to it where nothing is cured yet, less the nearer to the plateau.
    pub rough: f64,
    /// Percent of the plateau.
    pub margin: f64,
}

const WIDE: &[f64] = &[10.0, 20.0, 40.0, 60.0, 80.0, 120.0, 160.0];
const FINE: &[f64] = &[30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 100.0, 120.0, 150.0];
const SHORT: &[f64] = &[20.0, 30.0, 40.0, 60.0];

/// Kinds of truths by which the weights of shapes were found, each with the weights that leaving out the kind gives
/// (`tests/reference/cure_prior.py`), and the designs of it whose ladder reaches the plateau.
pub const REACHING: &[(&str, Prior, &[Design])] = &[
    (
        "first order",
        left_out::FIRST_ORDER,
        &[
            design("first order", Truth::FirstOrder(22.0), WIDE, 5, 5.0),
            design(
                "first order, 3 parts",
                Truth::FirstOrder(22.0),
                WIDE,
                3,
                5.0,
            ),
            design("first order, noisy", Truth::FirstOrder(22.0), WIDE, 8, 10.0),
            design("first order, fine", Truth::FirstOrder(25.0), FINE, 4, 4.0),
        ],
    ),
    (
        "second order",
        left_out::SECOND_ORDER,
        &[
            design("second order", Truth::SecondOrder(14.0), WIDE, 5, 5.0),
            design("second order, fine", Truth::SecondOrder(14.0), FINE, 4, 4.0),
            design("order 1.33", Truth::Order(17.0, 3.0), WIDE, 5, 5.0),
        ],
    ),
    (
        "threshold",
        left_out::THRESHOLD,
        &[
            design("threshold", Truth::Threshold(15.0, 15.0), WIDE, 5, 5.0),
            design(
                "threshold, fine",
                Truth::Threshold(30.0, 10.0),
                FINE,
                4,
                4.0,
            ),
        ],
    ),
    (
        "two rates",
        left_out::TWO_RATES,
        &[
            design("two rates", Truth::TwoRates(10.0, 28.0), WIDE, 5, 5.0),
            design("two rates, fine", Truth::TwoRates(10.0, 32.0), FINE, 4, 4.0),
            design(
                "two rates, far apart",
                Truth::Rates(10.0, 50.0, 0.75),
                WIDE,
                5,
                5.0,
            ),
        ],
    ),
    (
        "log-normal",
        left_out::LOG_NORMAL,
        &[
            design("log-normal", Truth::LogNormal(30.0, 0.5), WIDE, 5, 5.0),
            design("error function", Truth::Erf(40.0), WIDE, 5, 5.0),
        ],
    ),
    (
        "log-logistic",
        left_out::LOG_LOGISTIC,
        &[
            design("log-logistic", Truth::LogLogistic(24.0, 2.5), WIDE, 5, 5.0),
            design(
                "log-logistic, steep",
                Truth::LogLogistic(35.0, 4.0),
                WIDE,
                5,
                5.0,
            ),
        ],
    ),
    (
        "Frechet",
        left_out::FRECHET,
        &[
            design("Frechet", Truth::Frechet(22.0, 2.5), WIDE, 5, 5.0),
            design("Frechet, steep", Truth::Frechet(30.0, 4.0), WIDE, 5, 5.0),
        ],
    ),
];

/// Designs of which nothing was found by: whose ladder reaches the plateau.
pub const UNSEEN: &[Design] = &[
    rough("slow, rough start", Truth::Rates(8.0, 40.0, 0.6), 3.0, 8.0),
    rough("second order, rough", Truth::SecondOrder(12.0), 2.0, 15.0),
    rough("first order, rough end", Truth::FirstOrder(22.0), 6.0, -5.0),
    design(
        "rates far apart",
        Truth::Rates(5.0, 35.0, 0.5),
        WIDE,
        5,
        5.0,
    ),
    design("stretched", Truth::Stretched(18.0, 0.8), WIDE, 5, 5.0),
    design("Gompertz", Truth::Gompertz(3.0, 18.0), WIDE, 5, 5.0),
    design("step", Truth::LogNormal(51.0, 0.05), WIDE, 5, 5.0),
    design(
        "step below a level",
        Truth::LogNormal(55.0, 0.05),
        WIDE,
        5,
        5.0,
    ),
    design("two steps", Truth::TwoSteps(47.0), WIDE, 5, 5.0),
    design("ramp", Truth::Ramp(60.0), WIDE, 5, 5.0),
];

/// Designs whose highest level is short of full cure.
pub const SHORT_OF_IT: &[Design] = &[
    design("first order", Truth::FirstOrder(40.0), SHORT, 5, 5.0),
    design("second order", Truth::SecondOrder(25.0), SHORT, 5, 5.0),
    design("two rates", Truth::TwoRates(15.0, 60.0), SHORT, 5, 5.0),
    design("threshold", Truth::Threshold(15.0, 22.0), SHORT, 5, 5.0),
    design("log-logistic", Truth::LogLogistic(30.0, 2.5), SHORT, 5, 5.0),
    design("Gompertz", Truth::Gompertz(3.0, 20.0), SHORT, 5, 5.0),
];

/// Designs with a level that is 10 % short of the plateau, levels on the plateau above it.
pub const TEN_SHORT: &[Design] = &[
    design("margin 10 %", Truth::TenShort(60.0), WIDE, 5, 5.0),
    design(
        "margin 10 %, 10 parts",
        Truth::TenShort(60.0),
        WIDE,
        10,
        5.0,
    ),
    Design {
        margin: 5.0,
        ..design("margin 5 %", Truth::TenShort(60.0), WIDE, 5, 3.0)
    },
];

const fn design(
    name: &'static str,
    truth: Truth,
    levels: &'static [f64],
    parts: usize,
    scatter: f64,
) -> Design {
    Design {
        name,
        truth,
        levels,
        parts,
        scatter,
        rough: 0.0,
        margin: 10.0,
    }
}

const fn rough(name: &'static str, truth: Truth, scatter: f64, rough: f64) -> Design {
    Design {
        rough,
        ..design(name, truth, WIDE, 5, scatter)
    }
}

impl Design {
    fn part(&self, level: f64, normals: &mut Normals) -> Trial {
        let mean = self.truth.at(level);
        let scatter = 0.01 * (self.scatter + self.rough * (1.0 - mean));
        let result = 20.0 * (mean + scatter * normals.draw());
        Trial::new(level, 10.0, (100.0 * result.max(0.0)).round() / 100.0)
    }

    fn draw(&self, normals: &mut Normals) -> Trials {
        let mut trials = Trials {
            margin: Margin::Percent(self.margin),
            ..Trials::default()
        };
        for &level in self.levels {
            for _ in 0..self.parts {
                trials.parts.push(self.part(level, normals));
            }
        }
        trials
    }
}

/// What a design's runs gave.
#[derive(Debug, Clone)]
pub struct Outcome {
    pub name: &'static str,
    /// The true least level.
    pub truth: f64,
    /// How often a level was given.
    pub given: Rate,
    /// How often, of all runs, a level below the true one was given.
    pub wrong: Rate,
    /// Bound over truth, median where one was given.
    pub over: f64,
    /// The last two with other weights of the shapes, where those are asked for.
    pub other: Option<(Rate, f64)>,
}

/// Makes the runs of a design.
pub fn outcome(design: &Design, other: Option<&Prior>, runs: usize, seed: u64) -> Outcome {
    let truth = design.truth.reaches(1.0 - 0.01 * design.margin) * (1.0 - 1e-9);
    let (mut given, mut wrong, mut wrong_other) = (0, 0, 0);
    let (mut over, mut over_other) = (Vec::new(), Vec::new());
    for run in 0..runs {
        let trials = design.draw(&mut Normals::new(seed, run as u64));
        let found = analyse(&trials, Default::default()).expect("a ladder");
        if let Ok(least) = found.least {
            given += 1;
            wrong += usize::from(least.irradiance < truth);
            over.push(least.irradiance / truth);
        }
        if let (Some(prior), Found::Measured(measured)) = (other, &found.found) {
            let data = Data::of(&found.ladder.levels, found.ladder.grain);
            let bound = Posterior::of(&data, measured.goal, prior)
                .and_then(|p| p.quantile(1.0 - 0.05 * TAIL));
            if let Some(bound) = bound.filter(|&b| b <= found.ladder.top().value) {
                wrong_other += usize::from(bound < truth);
                over_other.push(bound / truth);
            }
        }
    }
    let rate = |hits, n| Rate { hits, n };
    let middle = |list: &[f64]| evenfield::numeric::quantile::median(list).unwrap_or(f64::NAN);
    Outcome {
        name: design.name,
        truth,
        given: rate(given, runs),
        wrong: rate(wrong, runs),
        over: middle(&over),
        other: other.map(|_| (rate(wrong_other, runs), middle(&over_other))),
    }
}

/// What became of further parts that were proposed and cured.
#[derive(Debug, Clone)]
pub struct Furthered {
    /// Runs in which some were proposed.
    pub proposed: Rate,
    /// Of those, how often a level was given then.
    pub given: Rate,
    /// How often, of those, one below the true one.
    pub wrong: Rate,
    /// The bound before and after over the truth, and after over expected: medians.
    pub before: f64,
    pub after: f64,
    pub as_expected: f64,
}

/// Cures the further parts that each run proposes.
pub fn furthered(design: &Design, runs: usize, seed: u64) -> Furthered {
    let truth = design.truth.reaches(1.0 - 0.01 * design.margin) * (1.0 - 1e-9);
    let (mut proposed, mut given, mut wrong) = (0, 0, 0);
    let (mut before, mut after, mut as_expected) = (Vec::new(), Vec::new(), Vec::new());
    for run in 0..runs {
        let mut normals = Normals::new(seed, run as u64);
        let mut trials = design.draw(&mut normals);
        let found = analyse(&trials, Default::default()).expect("a ladder");
        let Found::Measured(measured) = &found.found else {
            continue;
        };
        let Some(last) = measured.further.last() else {
            continue;
        };
        proposed += 1;
        before.push(measured.upper.unwrap_or(f64::INFINITY) / truth);
        for further in &measured.further {
            for _ in 0..further.parts {
                trials.parts.push(design.part(further.level, &mut normals));
            }
        }
        let then = analyse(&trials, Default::default())
            .expect("a ladder")
            .least;
        let bound = then.map_or(f64::INFINITY, |least| least.irradiance);
        given += usize::from(bound.is_finite());
        wrong += usize::from(bound < truth);
        after.push(bound / truth);
        as_expected.push(bound / last.bound);
    }
    let rate = |hits, n| Rate { hits, n };
    let middle = |list: &[f64]| evenfield::numeric::quantile::median(list).unwrap_or(f64::NAN);
    Furthered {
        proposed: rate(proposed, runs),
        given: rate(given, proposed.max(1)),
        wrong: rate(wrong, proposed.max(1)),
        before: middle(&before),
        after: middle(&after),
        as_expected: middle(&as_expected),
    }
}

/// How often the level that is 10 % short, or one below it, is called full cure.
pub fn ten_short(design: &Design, runs: usize, seed: u64) -> Rate {
    let Truth::TenShort(short) = design.truth else {
        return Rate { hits: 0, n: runs };
    };
    let called = |run: usize| {
        let trials = design.draw(&mut Normals::new(seed, run as u64));
        let found = analyse(&trials, Default::default()).expect("a ladder");
        found.least.is_ok_and(|least| least.irradiance <= short)
    };
    let hits = (0..runs).filter(|&run| called(run)).count();
    Rate { hits, n: runs }
}

/// Pass and fail: name, truth (share that passes at a level), parts a level.
pub const JUDGED: &[(&str, Truth, usize)] = &[
    ("log-normal", Truth::LogNormal(35.0, 0.25), 10),
    ("log-normal, wide", Truth::LogNormal(35.0, 0.5), 20),
    ("steep", Truth::LogNormal(50.0, 0.08), 10),
    ("threshold", Truth::Threshold(20.0, 12.0), 10),
];

/// A search, the bound of its curves confirmed by a run of 59 parts: how often a level comes of it, how often, of all
/// runs, fewer than 95 % pass there, and how often the bound of the curves lies below the true level.
pub fn judged(truth: Truth, parts: usize, runs: usize, seed: u64) -> (Rate, Rate, Rate) {
    let level = truth.reaches(0.95) * (1.0 - 1e-9);
    let (mut given, mut wrong, mut curves) = (0, 0, 0);
    for run in 0..runs {
        let mut normals = Normals::new(seed, run as u64);
        let mut passes = |e: f64| normal_above(normals.draw()) < truth.at(e);
        let mut trials = Trials {
            property: Property {
                better: Better::Pass,
                ..Property::default()
            },
            ..Trials::default()
        };
        for &e in WIDE {
            for _ in 0..parts {
                let result = f64::from(u8::from(passes(e)));
                trials.parts.push(Trial::new(e, 10.0, result));
            }
        }
        let Found::Judged(Some(curve)) = analyse(&trials, Default::default())
            .expect("a ladder")
            .found
        else {
            continue;
        };
        let Some(chosen) = curve.upper else { continue };
        curves += usize::from(chosen < level);
        let passed = (0..59).filter(|_| passes(chosen)).count() as u32;
        trials.confirmation = Some(Confirmation {
            irradiance: chosen,
            exposure: 10.0,
            passed,
            failed: 59 - passed,
        });
        if let Ok(least) = analyse(&trials, Default::default())
            .expect("a ladder")
            .least
        {
            given += 1;
            wrong += usize::from(least.irradiance < level);
        }
    }
    let rate = |hits| Rate { hits, n: runs };
    (rate(given), rate(wrong), rate(curves))
}

/// How often the 95 % interval of the power p of `E^p t` holds the true one.
pub fn power_held(power: f64, truth: Truth, runs: usize, seed: u64) -> Rate {
    let holds = |run: usize| {
        let mut normals = Normals::new(seed, run as u64);
        let mut trials = Trials {
            held: Some(10.0),
            ..Trials::default()
        };
        for time in [5.0, 10.0, 20.0] {
            for e in [15.0, 30.0, 60.0, 120.0f64] {
                let level = 30.0 * (e / 30.0).powf(power) * time / 10.0;
                for _ in 0..3 {
                    let result = 20.0 * (truth.at(level) + 0.05 * normals.draw());
                    trials.parts.push(Trial::new(e, time, result.max(0.0)));
                }
            }
        }
        let law = dose(&trials).expect("a law");
        law.lower.is_none_or(|l| l <= power) && law.upper.is_none_or(|u| u >= power)
    };
    let hits = (0..runs).filter(|&run| holds(run)).count();
    Rate { hits, n: runs }
}

/// As [`power_held`], where parts pass or fail and the truth is the share that passes.
pub fn judged_power_held(power: f64, truth: Truth, runs: usize, seed: u64) -> Rate {
    let holds = |run: usize| {
        let mut normals = Normals::new(seed, run as u64);
        let mut trials = Trials {
            property: Property {
                better: Better::Pass,
                ..Property::default()
            },
            ..Trials::default()
        };
        for time in [5.0, 10.0, 20.0] {
            for e in [15.0, 30.0, 60.0, 120.0f64] {
                let share = truth.at(30.0 * (e / 30.0).powf(power) * time / 10.0);
                for _ in 0..8 {
                    let passes = normal_above(normals.draw()) < share;
                    let part = Trial::new(e, time, f64::from(u8::from(passes)));
                    trials.parts.push(part);
                }
            }
        }
        // where all did the same nothing is said, and so nothing wrong
        dose(&trials).is_none_or(|law| {
            law.lower.is_none_or(|l| l <= power) && law.upper.is_none_or(|u| u >= power)
        })
    };
    let hits = (0..runs).filter(|&run| holds(run)).count();
    Rate { hits, n: runs }
}
