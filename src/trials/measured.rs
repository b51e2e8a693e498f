//! A measured property on its ladder: the bound of the least level from curves of every likely shape, what levels say
//! when they are compared, and what further parts would bring.

use super::bound::{Bound, COARSE, FEW};
use super::curves::{Family, Fit, Shape, Start};
use super::further::{Further, further};
use super::ladder::{Ladder, pooled};
use super::posterior::{Curves, Data, Posterior};
use super::profile::{Goal, Weighed, weighed};
use super::rise::Prior;
use super::sequence::{Sequence, bottom_is_below_top, falls_at_top, sequence};
use super::words;
use crate::numeric::distributions::{fisher_above, student_quantile};
use crate::numeric::line::Line;
use crate::station::Trials;
use crate::units::IrradianceUnit;

/// The part of the promised error rate that is left beyond the bound: the weights of the shapes do a little better on
/// the simulated trials by which they were found than on others (`tests/bench/cures.md`).
pub const TAIL: f64 = 0.7;

/// What was found on a ladder of measured parts.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// What counts as full cure.
    pub goal: Goal,
    /// One-sided, between 0 and 1.
    pub confidence: f64,
    /// Levels compared from the highest down; `None` where no level has two parts.
    pub sequence: Option<Sequence>,
    /// Curves to draw, the best first; empty where there are too few parts for any.
    pub fits: Vec<Weighed>,
    /// The level of full cure: the middle of its distribution, `None` where it lies beyond four times the ladder.
    pub level: Option<f64>,
    /// One-sided bounds of it at the confidence.
    pub lower: Option<f64>,
    /// As `lower`.
    pub upper: Option<f64>,
    /// What further parts would bring.
    pub further: Vec<Further>,
    /// How often parts on the best curve would scatter so much more between levels than within.
    pub lack_of_fit: Option<f64>,
    /// The response falls as the level rises.
    pub falls: bool,
    /// A level that is better than the highest.
    pub falls_at_top: Option<usize>,
    /// The lowest level is shown to be worse than the highest.
    pub rise_is_seen: bool,
    /// The highest level at which parts are not over-exposed, mW/cm² or s: no bound is given above it.
    pub highest: f64,
}

/// The curves that are tried. What is better when it is larger begins at nothing.
pub(super) fn families(rises: bool) -> &'static [Family] {
    const fn family(shape: Shape, start: Start) -> Family {
        Family { shape, start }
    }
    const RISING: &[Family] = &[
        family(Shape::Exponential, Start::Zero),
        family(Shape::SecondOrder, Start::Zero),
        family(Shape::Delayed, Start::Zero),
        family(Shape::Weibull, Start::Zero),
        family(Shape::Hill, Start::Zero),
    ];
    const FALLING: &[Family] = &[
        family(Shape::Exponential, Start::Free),
        family(Shape::SecondOrder, Start::Free),
        family(Shape::Weibull, Start::Free),
    ];
    if rises { RISING } else { FALLING }
}

impl Measured {
    /// Looks at a ladder.
    pub fn of(ladder: &Ladder, goal: Goal, confidence: f64) -> Self {
        let points = &ladder.points;
        let fits: Vec<Fit> = families(goal.rises)
            .iter()
            .filter_map(|&family| Fit::to(points, family, None))
            .filter(|fit| (fit.rise > 0.0) == goal.rises)
            .collect();
        let lack_of_fit = lack_of_fit(ladder, &fits);
        let fits = weighed(fits, ladder.grain);
        let sign = if goal.rises { 1.0 } else { -1.0 };
        let logs: Vec<(f64, f64)> = points.iter().map(|p| (p.0.ln(), sign * p.1)).collect();
        let falls = Line::through(&logs).is_some_and(|line| {
            line.slope < -student_quantile(confidence, line.dof) * line.slope_uncertainty
        });
        // over-exposed parts say nothing of the plateau
        let mut sound = ladder.clone();
        while sound.levels.len() > 2 && falls_at_top(&sound, goal.rises, confidence).is_some() {
            sound.levels.pop();
        }
        let data = Data::of(&sound.levels, ladder.grain);
        let curves = Curves::of(&data, &Prior::TUNED);
        let found = (curves.as_ref()).and_then(|c| Posterior::with(c, &data, goal, &[]));
        let at = |p: f64| found.as_ref().and_then(|f| f.quantile(p));
        let tail = TAIL * (1.0 - confidence);
        let (level, lower, upper) = (at(0.5), at(tail), at(1.0 - tail));
        let further = match (&curves, &found) {
            (Some(curves), Some(found)) => {
                further(&sound, (&data, curves, found), goal, 1.0 - tail)
            }
            _ => Vec::new(),
        };
        Self {
            goal,
            confidence,
            sequence: sequence(ladder, goal, confidence),
            level,
            lower,
            upper,
            further,
            fits,
            lack_of_fit,
            falls,
            falls_at_top: falls_at_top(ladder, goal.rises, confidence),
            rise_is_seen: bottom_is_below_top(ladder, goal.rises, confidence),
            highest: sound.top().value,
        }
    }

    /// The best curve.
    pub fn best(&self) -> Option<&Fit> {
        self.fits.first().map(|w| &w.fit)
    }

    /// The bound of the least level, the estimate, and which way it came about.
    pub(super) fn least(
        &self,
        trials: &Trials,
        ladder: &Ladder,
        unit: IrradianceUnit,
    ) -> Result<Bound, String> {
        let said = |level: f64| words::level(ladder.varied, level, unit);
        let (name, what) = (&trials.property.name, words::name(ladder.varied));
        if self.falls {
            return Err(format!(
                "{} gets worse as the {what} rises; check which way it is better, or start lower: parts may be over-exposed at every level",
                capital(name)
            ));
        }
        let Some(sequence) = &self.sequence else {
            return Err("Each level has one part only, so that scatter can't be told from cure; cure three parts or more at each level".into());
        };
        if !self.goal.rises && !self.rise_is_seen {
            return Err(format!(
                "{} does not change over the ladder; start lower, so that parts that are not cured show what full cure is",
                capital(name)
            ));
        }
        let bound = match self.upper {
            Some(upper) if upper <= self.highest => upper.max(ladder.bottom().value),
            _ if sequence.least + 1 == ladder.levels.len() => {
                return Err(self.plateau_not_seen(ladder, sequence, unit));
            }
            upper => {
                let beyond = match upper {
                    Some(upper) => format!("full cure may need up to {}", said(upper)),
                    None => "full cure may need far more".to_owned(),
                };
                return Err(format!(
                    "The ladder does not reach its plateau for sure: by curves that follow the parts {beyond}, and the highest level tried is {}; add levels above it, or more parts",
                    said(self.highest)
                ));
            }
        };
        let method = format!(
            "upper {} % bound from curves of every likely shape together, each by how well it follows the parts",
            words::number(100.0 * self.confidence)
        );
        let estimate = self.level.filter(|&level| level >= ladder.bottom().value);
        Ok((bound, estimate, method))
    }

    /// Why not even the second highest level is full cure.
    fn plateau_not_seen(
        &self,
        ladder: &Ladder,
        sequence: &Sequence,
        unit: IrradianceUnit,
    ) -> String {
        let said = |level: f64| words::level(ladder.varied, level, unit);
        let n = ladder.levels.len();
        let (second, top) = (&ladder.levels[n - 2], &ladder.levels[n - 1]);
        let inferior = (self.goal.just_full(top.mean) > second.mean) == self.goal.rises;
        if inferior {
            format!(
                "The ladder does not reach its plateau: parts still get better from {} to the highest level, {}; add levels above it",
                said(second.value),
                said(top.value)
            )
        } else {
            let scatter = sequence.steps.first().map_or(f64::NAN, |s| s.p);
            format!(
                "The second highest level, {}, is not shown to be full cure beside the highest, {}: the parts scatter too much for so few (it could be chance once in {:.0} times); cure more parts at both",
                said(second.value),
                said(top.value),
                1.0 / scatter
            )
        }
    }

    /// What to think of before the level is used.
    pub(super) fn warnings(&self, ladder: &Ladder, unit: IrradianceUnit, list: &mut Vec<String>) {
        let said = |level: f64| words::level(ladder.varied, level, unit);
        let Some(sequence) = &self.sequence else {
            return;
        };
        let least = sequence.least;
        let bottom = ladder.bottom().value;
        let upper = self.upper.unwrap_or(f64::INFINITY);
        if upper <= bottom {
            list.push(format!(
                "The ladder starts on its plateau: even the lowest level, {}, is full cure; add lower levels to find the least",
                said(bottom)
            ));
        } else if let Some((below, above)) = (ladder.levels.windows(2))
            .map(|pair| (pair[0].value, pair[1].value))
            .find(|&(below, above)| below < upper && upper <= above)
            && above > COARSE * below
        {
            list.push(format!(
                "The ladder is coarse: between {} and {} the bound hangs on curves alone; add levels there",
                said(below),
                said(above)
            ));
        }
        if let Some(better) = self.falls_at_top {
            list.push(format!(
                "The highest level, {}, is worse than {}: parts may be over-exposed there, and the upper limit lies below it",
                said(ladder.top().value),
                said(ladder.levels[better].value)
            ));
        }
        if ladder.levels[least..].iter().any(|l| l.count() < FEW) {
            list.push(format!(
                "A level of full cure has fewer than {FEW} parts; cure more, so that their scatter is known"
            ));
        }
        if self.lack_of_fit.is_some_and(|p| p < 0.01) {
            list.push("No curve follows the levels well; look whether one of them was cured or measured differently".into());
        }
    }
}

/// The test for lack of fit of the curve that fits best, by parts cured alike (Draper & Smith 1998, 2.1). `None`
/// where no level has two parts, or there are no more levels than parameters.
fn lack_of_fit(ladder: &Ladder, fits: &[Fit]) -> Option<f64> {
    let (pure, pure_dof) = pooled(&ladder.levels)?;
    let pure = pure.max(ladder.grain);
    fits.iter()
        .filter(|fit| ladder.levels.len() > fit.family.parameters())
        .map(|fit| {
            let dof = fit.dof - pure_dof;
            let squares = (fit.squares - pure * pure_dof).max(0.0);
            fisher_above(squares / dof / pure, dof, pure_dof)
        })
        .reduce(f64::max)
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect())
        .unwrap_or_else(|| "The property".into())
}
