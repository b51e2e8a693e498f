//! Cure trials: from parts cured at a ladder of levels to the least level of full cure, with the upper
//! confidence bound that a lower limit is built on, or the sentence of why there is none.
//!
//! Full cure is the plateau. Where a property is measured the bound is a quantile over curves of every likely shape
//! ([`rise`], [`posterior`]), and [`mod@further`] says what further parts would bring; levels compared from the highest
//! down ([`sequence`]) say why there is none, and one fitted curve is drawn ([`curves`]). Where parts pass or
//! fail a curve says where to look ([`pass_fail`]), and only a confirmation run apart from the search makes a level
//! ([`mod@reliability`]), unless it contradicts its trials ([`agreement`]).
//!
//! The bound is over some hundred shapes of a rise at all scales, each weighed by how well it follows the parts and by how
//! much it is believed beforehand; those weights were found on simulated trials (`tests/reference/cure_prior.py`). Before, of
//! two bounds, levels compared and curves fitted, the higher counted: never too low, and far too high.

pub mod agreement;
mod bound;
pub mod curves;
pub mod dose;
pub mod exposure;
pub mod further;
pub mod ladder;
mod measured;
pub mod pass_fail;
pub mod picture;
pub mod posterior;
pub mod profile;
pub mod reliability;
pub mod rise;
pub mod sequence;
pub mod words;

use crate::station::trials::{Better, Confirmation, Margin, Varied};
use crate::station::{Station, Trials};
use crate::units::IrradianceUnit;
use agreement::{Misfit, Passed, full_cure_fails, misfit};
use bound::Bound;
use dose::{DoseLaw, dose_law, judged_dose_law};
use ladder::Ladder;
pub use measured::{Measured, TAIL};
use pass_fail::PassCurve;
use profile::{Goal, Short};
use reliability::{reliability, run_length};

/// The least level of full cure, as a lower limit may be built on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Least {
    /// mW/cm². Where irradiance was varied the upper confidence bound of the least one; where time was,
    /// the irradiance of the trials.
    pub irradiance: f64,
    /// s. Where time was varied the upper confidence bound of the least one; where irradiance was, the
    /// exposure of the trials.
    pub exposure_s: f64,
    /// Which of the two is the bound.
    pub varied: Varied,
    /// What the fitted curves say of what was varied, without a margin for chance; `None` where that lies
    /// below all that was tried.
    pub at_least_estimate: Option<f64>,
    /// Of the bound, one-sided, between 0 and 1.
    pub confidence: f64,
    /// How the bound was found, in words.
    pub method: String,
    /// What further parts would bring, in words.
    pub further: Option<String>,
    /// What to think of before it is used, each a sentence.
    pub warnings: Vec<String>,
}

impl Least {
    /// The bound: mW/cm² or s.
    pub fn level(&self) -> f64 {
        match self.varied {
            Varied::Irradiance => self.irradiance,
            Varied::Time => self.exposure_s,
        }
    }
}

/// A confirmation run, weighed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Confirmed {
    /// The run.
    pub run: Confirmation,
    /// At least this share of all parts passes, with the confidence; between 0 and 1.
    pub share: f64,
    /// That is as much as was wanted.
    pub proven: bool,
    /// Parts that must all pass to prove it.
    pub needed: u32,
    /// What contradicts the trials.
    pub misfit: Option<Misfit>,
}

/// What was found on the ladder.
#[derive(Debug, Clone, PartialEq)]
pub enum Found {
    /// A property was measured.
    Measured(Box<Measured>),
    /// Parts passed or failed; `None` where all did the same.
    Judged(Option<PassCurve>),
}

/// All that the trials tell.
#[derive(Debug, Clone, PartialEq)]
pub struct Analysis {
    /// The levels.
    pub ladder: Ladder,
    /// What was found on them.
    pub found: Found,
    /// The confirmation run, where there was one.
    pub confirmed: Option<Confirmed>,
    /// The least level, or the sentence of why there is none.
    pub least: Result<Least, String>,
}

/// Why there is no least level without trials.
pub const NO_TRIALS: &str =
    "There are no cure trials yet; type them in, or type a least irradiance with its origin";

/// The least level of full cure of a station's trials.
///
/// # Errors
/// Why there is none and what to do, as a sentence.
pub fn least(station: &Station, unit: IrradianceUnit) -> Result<Least, String> {
    match &station.trials {
        Some(trials) => analyse(trials, unit)?.least,
        None => Err(NO_TRIALS.into()),
    }
}

/// All that the trials tell, irradiances in its sentences in a unit.
///
/// # Errors
/// Why they are no ladder and what to do, as a sentence.
pub fn analyse(trials: &Trials, unit: IrradianceUnit) -> Result<Analysis, String> {
    let ladder = Ladder::of(trials, unit)?;
    let confidence = trials.confidence_percent / 100.0;
    let mut confirmed = trials
        .confirmation
        .map(|run| confirmed(trials, &ladder, run));
    let (found, least) = match trials.property.better {
        Better::Pass => {
            let (curve, least) = judged(trials, &ladder, confirmed.as_ref(), unit);
            (Found::Judged(curve), least)
        }
        better => {
            let goal = Goal {
                margin: match trials.margin {
                    Margin::Percent(p) => Short::Part(p / 100.0),
                    Margin::Absolute(by) => Short::By(by),
                },
                rises: better == Better::Larger,
            };
            let measured = Measured::of(&ladder, goal, confidence);
            let mut least = measured.least(trials, &ladder, unit);
            if let (Ok((bound, ..)), Some(run)) = (&least, &mut confirmed)
                && let Some(level) = run_level(&ladder, run.run)
                && level >= 0.99 * bound
            {
                let share = trials.reliability_percent / 100.0;
                let (passed, failed) = (run.run.passed, run.run.failed);
                run.misfit = full_cure_fails(passed, failed, share, confidence);
                if let Some(misfit) = run.misfit {
                    least = Err(contradiction(trials, &ladder, run.run, misfit, unit));
                }
            }
            (Found::Measured(Box::new(measured)), least)
        }
    };
    let least = least.map(|(bound, estimate, method)| {
        let (irradiance, exposure_s) = match ladder.varied {
            Varied::Irradiance => (bound, ladder.held),
            Varied::Time => (ladder.held, bound),
        };
        let mut least = Least {
            irradiance,
            exposure_s,
            varied: ladder.varied,
            at_least_estimate: estimate,
            confidence,
            method,
            further: match &found {
                Found::Measured(measured) => further::sentence(&measured.further, |level| {
                    words::level(ladder.varied, level, unit)
                }),
                Found::Judged(_) => None,
            },
            warnings: Vec::new(),
        };
        least.warnings = warnings(trials, &ladder, &found, confirmed.as_ref(), &least, unit);
        least
    });
    Ok(Analysis {
        ladder,
        found,
        confirmed,
        least,
    })
}

/// The level of a run, mW/cm² or s, where it was made at what was held in the trials.
fn run_level(ladder: &Ladder, run: Confirmation) -> Option<f64> {
    let (level, held) = match ladder.varied {
        Varied::Irradiance => (run.irradiance, run.exposure),
        Varied::Time => (run.exposure, run.irradiance),
    };
    ((held - ladder.held).abs() <= 0.01 * ladder.held).then_some(level)
}

/// A run that contradicts its trials, as a sentence.
fn contradiction(
    trials: &Trials,
    ladder: &Ladder,
    run: Confirmation,
    misfit: Misfit,
    unit: IrradianceUnit,
) -> String {
    let said = |level: f64| words::level(ladder.varied, level, unit);
    let level = said(run_level(ladder, run).unwrap_or(f64::NAN));
    let all = u64::from(run.passed) + u64::from(run.failed);
    let of_run = format!("{} of {all} parts of the run passed at {level}", run.passed);
    let mend =
        "find out whether irradiance, exposure and judging were the same, and repeat what was not";
    let of_trials = |t: Passed| format!("{} of {}", t.passed, t.of);
    let rarely = |chance: f64| {
        if chance < 1e-6 {
            "hardly ever by chance".to_owned()
        } else {
            format!("once in {:.0} times by chance", 1.0 / chance)
        }
    };
    let what = match misfit {
        Misfit::TrialsWorseAbove {
            up_to,
            trials,
            chance,
        } => format!(
            "{of_run}, but only {} of the trials at that level up to {}, which more light should not make worse: that happens {}",
            of_trials(trials),
            said(up_to),
            rarely(chance)
        ),
        Misfit::TrialsBetterBelow {
            down_to,
            trials,
            chance,
        } => format!(
            "{of_run}, but {} of the trials at that level down to {}, which less light should not make better: that happens {}",
            of_trials(trials),
            said(down_to),
            rarely(chance)
        ),
        Misfit::FullCureFails { at_most } => format!(
            "the trials call {level} full cure, but {of_run}: with {} % confidence at most {:.1} % of all parts pass there, and {} % must",
            words::number(trials.confidence_percent),
            (1000.0 * at_most).ceil() / 10.0,
            words::number(trials.reliability_percent)
        ),
    };
    format!("The confirmation run does not fit the trials: {what}; {mend}")
}

/// Whether equal dose means equal cure, where there are parts that tell; slower than [`analyse`]. The interval
/// is two-sided at the trials' confidence.
pub fn dose(trials: &Trials) -> Option<DoseLaw> {
    let confidence = trials.confidence_percent / 100.0;
    if trials.property.better == Better::Pass {
        return judged_dose_law(trials, confidence);
    }
    let families = measured::families(trials.property.better == Better::Larger);
    let grain = Ladder::of(trials, IrradianceUnit::default()).map_or(0.0, |ladder| ladder.grain);
    dose_law(trials, families, grain, confidence)
}

fn confirmed(trials: &Trials, ladder: &Ladder, run: Confirmation) -> Confirmed {
    let wanted = trials.reliability_percent / 100.0;
    let confidence = trials.confidence_percent / 100.0;
    let share = reliability(run.passed, run.failed, confidence);
    Confirmed {
        run,
        share,
        // the last part of a run that is just long enough must not be lost to rounding
        proven: share >= wanted - 1e-12,
        needed: run_length(wanted, confidence),
        misfit: run_level(ladder, run)
            .filter(|_| trials.property.better == Better::Pass)
            .and_then(|level| {
                let (passed, failed) = (u64::from(run.passed), u64::from(run.failed));
                let of = passed + failed;
                misfit(ladder, level, Passed { passed, of })
            }),
    }
}

fn judged(
    trials: &Trials,
    ladder: &Ladder,
    confirmed: Option<&Confirmed>,
    unit: IrradianceUnit,
) -> (Option<PassCurve>, Result<Bound, String>) {
    let (share, confidence) = (
        trials.reliability_percent / 100.0,
        trials.confidence_percent / 100.0,
    );
    let curve = PassCurve::of(ladder, share, confidence);
    let needed = run_length(share, confidence);
    let said = |level: f64| words::level(ladder.varied, level, unit);
    let passed: usize = ladder.levels.iter().map(|l| l.passed()).sum();
    let estimate = (curve.as_ref())
        .map(|c| c.level)
        .filter(|&level| level >= ladder.bottom().value);
    let name = &trials.property.name;
    let why = if passed == 0 {
        format!(
            "Every part failed, up to {}; cure parts at higher levels, or for longer",
            said(ladder.top().value)
        )
    } else if pass_fail::falls(ladder, confidence) {
        format!(
            "Parts fail more often the higher the {}; check how {name} was judged, or start lower",
            words::name(ladder.varied)
        )
    } else if let Some(run) = confirmed {
        let (level, held) = match ladder.varied {
            Varied::Irradiance => (run.run.irradiance, run.run.exposure),
            Varied::Time => (run.run.exposure, run.run.irradiance),
        };
        if let Some(misfit) = run.misfit {
            contradiction(trials, ladder, run.run, misfit, unit)
        } else if run_level(ladder, run.run).is_none() {
            format!(
                "The confirmation run was made at {}, the trials at {}; confirm at the same",
                words::held(ladder.varied, held, unit),
                words::held(ladder.varied, ladder.held, unit)
            )
        } else if run.proven {
            let method = format!(
                "confirmation run: {} of {} parts passed",
                run.run.passed,
                u64::from(run.run.passed) + u64::from(run.run.failed)
            );
            return (curve, Ok((level, estimate, method)));
        } else {
            format!(
                "The confirmation run at {} shows with {} % confidence that {:.1} % of all parts pass, not {} %; {}",
                said(level),
                words::number(trials.confidence_percent),
                (1000.0 * run.share).floor() / 10.0,
                words::number(trials.reliability_percent),
                if run.run.failed > 0 {
                    "confirm a higher level".to_owned()
                } else {
                    format!("let {needed} parts pass without a failure")
                }
            )
        }
    } else {
        match &curve {
            None => format!(
                "Every part passed, down to {}; start lower, so that some fail, or confirm one level with {needed} parts",
                said(ladder.bottom().value)
            ),
            Some(curve) if curve.upper.is_none_or(|u| u > ladder.top().value) => format!(
                "That {} % of parts pass is not shown up to the highest level tried, {}: by the curves it may take {}; cure parts at higher levels, or confirm one level with {needed} parts",
                words::number(trials.reliability_percent),
                said(ladder.top().value),
                curve
                    .upper
                    .map_or("far more".to_owned(), |u| format!("up to {}", said(u)))
            ),
            // a share near one hangs on the shape of the curve where hardly a part fails
            Some(curve) => format!(
                "Parts that pass or fail show where to look, and a run proves it: by the curves {} % pass at {}, at {} with {} % confidence; choose a level there or above it and confirm it with {needed} parts, none of which may fail",
                words::number(trials.reliability_percent),
                said(curve.level),
                curve.upper.map_or("far more".to_owned(), said),
                words::number(trials.confidence_percent)
            ),
        }
    };
    (curve, Err(why))
}

/// Part temperatures that differ by more may have helped the cure, K (common practice, no source).
const WARM: f64 = 20.0;

fn warnings(
    trials: &Trials,
    ladder: &Ladder,
    found: &Found,
    confirmed: Option<&Confirmed>,
    least: &Least,
    unit: IrradianceUnit,
) -> Vec<String> {
    let mut list = Vec::new();
    match found {
        Found::Measured(measured) => measured.warnings(ladder, unit, &mut list),
        Found::Judged(_) => {}
    }
    if let (Found::Measured(_), Some(run)) = (found, confirmed)
        && run.run.failed > 0
    {
        list.push(format!(
            "{} of {} parts of the confirmation run failed; find out why before this level is used",
            run.run.failed,
            u64::from(run.run.passed) + u64::from(run.run.failed)
        ));
    }
    if let Some(step) = trials.slowest_step
        && least.exposure_s > step
    {
        list.push(format!(
            "The exposure of {} s takes longer than the slowest other step of the line, {} s: curing becomes the bottleneck; try more irradiance",
            words::number(least.exposure_s),
            words::number(step)
        ));
    }
    if !trials.cooled {
        list.push("That the parts had cooled to room temperature before they were judged is not confirmed: a warm part is softer than it will be; let parts cool, and tick it in the step Limits".into());
    }
    if trials.radiometer.is_none() {
        list.push("No radiometer is named for the irradiance of the trials, and the level holds for one pair alone; choose it in the step Limits".into());
    }
    let temperatures = || trials.parts.iter().filter_map(|p| p.part_temperature);
    let (cold, hot) = (
        temperatures().fold(f64::INFINITY, f64::min),
        temperatures().fold(f64::NEG_INFINITY, f64::max),
    );
    if hot - cold > WARM {
        list.push(format!(
            "The parts were from {} to {} °C warm: heat may have cured as well as light",
            words::number(cold),
            words::number(hot)
        ));
    }
    if ladder.elsewhere > 0 {
        list.push(format!(
            "{} cured at another {} than {} do not count towards the least level",
            parts(ladder.elsewhere),
            match ladder.varied {
                Varied::Irradiance => "exposure",
                Varied::Time => "irradiance",
            },
            words::held(ladder.varied, ladder.held, unit)
        ));
    }
    if ladder.excluded > 0 {
        list.push(format!(
            "{} excluded; the level was found without them",
            match ladder.excluded {
                1 => "1 part is".to_owned(),
                n => format!("{n} parts are"),
            }
        ));
    }
    list
}

fn parts(count: usize) -> String {
    match count {
        1 => "1 part".into(),
        n => format!("{n} parts"),
    }
}
