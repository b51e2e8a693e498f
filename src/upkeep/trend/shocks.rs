//! Sudden changes and single readings that stand out, told apart from fading.
//!
//! For every time the statistic of a step that begins there, and of a single reading, comes of one pass back (de Jong & Penzer
//! 1998). The best step is then taken in earnest: what is known of noise and fading is worked out again with it, and it counts
//! where the evidence grows by more than [`EVIDENCE`], which simulations set to [`super::FALSE_STEPS`].

use super::belief::{self, Belief, Cell, NoiseBelief};
use super::design::{Design, Events, SlopePrior};
use super::filter;
use super::series::Series;
use crate::progress::{Cancelled, Progress};

/// Steps found where there are none, in a year of daily readings, at most: the rate that the evidence asked for was set to. What
/// simulated years gave, kind by kind, and which were counted before it was last raised: `tests/bench/upkeep.md`.
pub const FALSE_STEPS: f64 = 0.1;
/// How far the logarithm of the evidence has to grow for a step.
pub const EVIDENCE: f64 = 4.0;
/// A single reading stands out where it is further off than so many standard deviations.
pub const STANDS_OUT: f64 = 4.2;
/// A step needs so many readings on either side, up to the next change.
pub const LEAST_ASIDE: usize = 3;
/// Square of a statistic from which a step is taken in earnest.
const EARNEST: f64 = 9.0;
/// No more steps in one lamp, and no larger share of readings that stand out.
const MOST_STEPS: usize = 8;
const MOST_OUT: f64 = 0.1;
/// Dates of a step: so many times to either side are looked at, and so much probability is in the window.
const ABOUT: usize = 40;
const WINDOW: f64 = 0.95;

/// A step that was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// The first time that has it.
    pub from: usize,
    /// First times that it may begin at, with 95 % confidence: first and last.
    pub window: (usize, usize),
}

/// What a series holds beside fading and noise.
#[derive(Debug, Clone)]
pub struct Found {
    /// In the order of time.
    pub steps: Vec<Step>,
    /// Times that stand out, in order.
    pub outliers: Vec<usize>,
    /// The design with them.
    pub design: Design,
    /// What is believed then.
    pub belief: Belief,
}

/// What a search needs beside the series.
#[derive(Debug, Clone, Copy)]
pub struct Given<'a> {
    /// What a slope is believed to be.
    pub slope: Option<SlopePrior>,
    /// Uncertainties of conversions.
    pub conversions: &'a [f64],
    /// The display's step, mW/cm².
    pub resolution: f64,
    /// What noise is believed to be.
    pub noise: &'a NoiseBelief,
}

impl Given<'_> {
    fn design(&self, series: &Series, events: &Events) -> Design {
        Design::of(
            series,
            events,
            self.slope,
            self.conversions,
            self.resolution,
        )
    }
}

/// The statistics of each time in one cell: of a step that begins there, of a single reading; 0 where there is none.
struct Looked {
    steps: Vec<f64>,
    singles: Vec<f64>,
}

fn look(design: &Design, belief: &Belief, cell: &Cell) -> Looked {
    let kept = belief::kept(design, belief, cell);
    let c = design.factors();
    let deviation = (cell.scale / cell.shape).sqrt();
    let statistic = |seen: &[f64], weight: f64| {
        let own: f64 = (0..c).map(|j| seen[j] * cell.factors[j]).sum();
        let left = weight - cell.form(&seen[..c], &seen[..c]);
        if left > 1e-9 * weight && weight > 0.0 {
            (seen[c] - own) / left.sqrt() / deviation
        } else {
            0.0
        }
    };
    let smoothed = filter::smooth(&belief.times, &kept);
    Looked {
        steps: (smoothed.iter())
            .map(|s| statistic(&s.step, s.step_weight))
            .collect(),
        singles: (smoothed.iter())
            .map(|s| statistic(&s.single, s.single_weight))
            .collect(),
    }
}

fn greatest(values: &[f64], may: impl Fn(usize) -> bool) -> Option<(usize, f64)> {
    let squares = values.iter().map(|v| v * v).enumerate();
    squares
        .filter(|(i, _)| may(*i))
        .max_by(|a, b| a.1.total_cmp(&b.1))
}

/// Whether a step may begin at each time: enough readings that count on either side, up to the next change.
fn room(series: &Series, events: &Events) -> Vec<bool> {
    let n = series.times.len();
    let mut edges: Vec<usize> = (series.known.iter().map(|k| k.from))
        .chain(events.steps.iter().copied())
        .chain([0, n])
        .collect();
    edges.sort_unstable();
    let mut may = vec![false; n];
    for pair in edges.windows(2) {
        let counting: Vec<usize> = (pair[0]..pair[1])
            .filter(|t| !events.outliers.contains(t))
            .collect();
        for at in counting.iter().skip(LEAST_ASIDE) {
            let after = counting.iter().filter(|t| *t >= at).count();
            may[*at] = after >= LEAST_ASIDE;
        }
    }
    may
}

/// Finds steps and single readings that stand out.
///
/// # Errors
/// [`Cancelled`].
pub fn search(series: &Series, given: &Given<'_>, progress: &Progress) -> Result<Found, Cancelled> {
    let mut events = Events::default();
    let mut steps: Vec<Step> = Vec::new();
    let n = series.times.len();
    let mut design = given.design(series, &events);
    let mut belief = Belief::of(&design, given.noise, None, progress)?;
    loop {
        progress.check()?;
        let looked = look(&design, &belief, &belief.cells[0]);
        let stiff = look(&design, &belief, &belief.stiff);
        let may = room(series, &events);
        let step = if steps.len() < MOST_STEPS {
            let found = [&looked, &stiff].map(|l| greatest(&l.steps, |t| may[t]));
            better(series, given, &design, &belief, &events, found, progress)?
        } else {
            None
        };
        let counts = |t: usize| design.times[t].counts;
        let out = greatest(&looked.singles, counts).filter(|(_, square)| {
            *square > STANDS_OUT * STANDS_OUT
                && n >= 2 * LEAST_ASIDE
                && (events.outliers.len() as f64) < MOST_OUT * n as f64
        });
        match (step, out) {
            (Some(step), out) if out.is_none_or(|o| o.1 <= step.square) => {
                events.steps.push(step.at.from);
                steps.push(step.at);
                (design, belief) = (step.design, step.belief);
            }
            (_, Some((at, _))) => {
                events.outliers.push(at);
                design = given.design(series, &events);
                belief = Belief::of(&design, given.noise, None, progress)?;
            }
            _ => break,
        }
    }
    steps.sort_by_key(|s| s.from);
    events.outliers.sort_unstable();
    Ok(Found {
        steps,
        outliers: events.outliers,
        design,
        belief,
    })
}

struct Better {
    at: Step,
    square: f64,
    design: Design,
    belief: Belief,
}

/// The candidate whose evidence grows most, if by enough.
fn better(
    series: &Series,
    given: &Given<'_>,
    without: &Design,
    before: &Belief,
    events: &Events,
    candidates: [Option<(usize, f64)>; 2],
    progress: &Progress,
) -> Result<Option<Better>, Cancelled> {
    let mut best: Option<(f64, Better)> = None;
    let mut seen = Vec::new();
    for (from, square) in candidates.into_iter().flatten() {
        if square < EARNEST || seen.contains(&from) {
            continue;
        }
        seen.push(from);
        let mut with = events.clone();
        with.steps.push(from);
        let design = given.design(series, &with);
        let belief = Belief::of(&design, given.noise, Some(before.about), progress)?;
        let grown = belief.log_evidence - before.log_evidence;
        if grown > EVIDENCE && best.as_ref().is_none_or(|b| grown > b.0) {
            let at = Step {
                from,
                window: (from, from),
            };
            best = Some((
                grown,
                Better {
                    at,
                    square,
                    design,
                    belief,
                },
            ));
        }
    }
    let Some((_, mut best)) = best else {
        return Ok(None);
    };
    best.at.window = window(without, given, before, &best);
    // the noise anew, without what the step made of it
    best.belief = Belief::of(&best.design, given.noise, None, progress)?;
    Ok(Some(best))
}

/// The times that a step may begin at.
fn window(without: &Design, given: &Given<'_>, before: &Belief, best: &Better) -> (usize, usize) {
    let found = &best.belief.cells[0];
    let mut cell = belief::same_process(without, given.noise, &best.belief, found);
    (cell.shape, cell.scale) = (found.shape, found.scale);
    let looked = look(without, before, &cell);
    let from = best.at.from;
    let near = from.saturating_sub(ABOUT)..(from + ABOUT).min(looked.steps.len());
    let log = |t: usize| 0.5 * looked.steps[t] * looked.steps[t];
    let top = near.clone().map(log).fold(f64::NEG_INFINITY, f64::max);
    let mut weights: Vec<(usize, f64)> = near.map(|t| (t, (log(t) - top).exp())).collect();
    let all: f64 = weights.iter().map(|w| w.1).sum();
    weights.sort_by(|a, b| b.1.total_cmp(&a.1));
    let (mut held, mut window) = (0.0, (from, from));
    for (t, weight) in weights {
        if held >= WINDOW * all {
            break;
        }
        held += weight;
        window = (window.0.min(t), window.1.max(t));
    }
    window
}
