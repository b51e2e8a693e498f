//! The ladder as a picture, for screen and paper: parts, fitted curve with its band, plateau, the interval of the level
//! of full cure, and the level that was found.

use super::{Analysis, Found};
use crate::numeric::distributions::student_quantile;

/// Points along a curve.
const FINE: usize = 120;

/// What is drawn: x is the level, mW/cm² or s, y the property in its unit, or the share that passed in percent.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// Each part, or the share that passed at a level.
    pub parts: Vec<(f64, f64)>,
    /// x, y, and half the width of the band.
    pub curve: Vec<(f64, f64, f64)>,
    /// Lines across with their names.
    pub across: Vec<(f64, &'static str)>,
    /// The interval of the level of full cure.
    pub interval: Option<(f64, f64)>,
    /// The level that was found: its upper bound.
    pub level: Option<f64>,
    /// Where the axis of levels ends.
    pub top: f64,
    /// Where the other axis ends.
    pub highest: f64,
    /// A property was measured, so the curve has a band.
    measured: bool,
}

impl Picture {
    /// Of what the trials tell.
    pub fn of(analysis: &Analysis) -> Self {
        let ladder = &analysis.ladder;
        let top = 1.06 * ladder.top().value;
        let xs = || (1..=FINE).map(move |i| top * i as f64 / FINE as f64);
        let within = |lower: Option<f64>, upper: Option<f64>| {
            let (lower, upper) = (lower.unwrap_or(0.0), upper.unwrap_or(top));
            (lower < top).then_some((lower, upper.min(top)))
        };
        let level = analysis.least.as_ref().ok().map(|l| l.level());
        match &analysis.found {
            Found::Measured(measured) => {
                let best = measured.best();
                let curve = best.map_or(Vec::new(), |fit| {
                    let k = student_quantile(0.5 + 0.5 * measured.confidence, fit.dof);
                    xs().map(|x| (x, fit.value(x), k * fit.uncertainty(x)))
                        .collect()
                });
                let across = best.map_or(Vec::new(), |fit| {
                    vec![
                        (fit.plateau, "plateau"),
                        (measured.goal.just_full(fit.plateau), "just full cure"),
                    ]
                });
                let values = ladder.points.iter().map(|p| p.1);
                let lines = across.iter().map(|a| a.0);
                Self {
                    parts: ladder.points.clone(),
                    highest: 1.08 * values.chain(lines).fold(0.0, f64::max),
                    interval: within(measured.lower, measured.upper),
                    curve,
                    across,
                    level,
                    top,
                    measured: true,
                }
            }
            Found::Judged(curve) => Self {
                parts: (ladder.levels.iter())
                    .map(|l| (l.value, 100.0 * l.mean))
                    .collect(),
                curve: (curve.iter())
                    .flat_map(|c| xs().map(|x| (x, 100.0 * c.at(x), 0.0)))
                    .collect(),
                across: (curve.iter())
                    .map(|c| (100.0 * c.share, "must pass"))
                    .collect(),
                interval: (curve.as_ref()).and_then(|c| within(c.lower, c.upper)),
                level,
                top,
                highest: 108.0,
                measured: false,
            },
        }
    }

    /// What the picture shows, in words.
    pub fn words(&self) -> String {
        let mut list = if self.measured {
            vec!["dots: parts", "line and grey band: curve with its interval"]
        } else {
            vec!["dots: share that passed", "line: fitted curve"]
        };
        if self.interval.is_some() {
            list.push("hatched strip: interval of the level of full cure by the curves");
        }
        if self.level.is_some() {
            list.push("upright line: least level, its upper bound");
        }
        list.join("; ")
    }
}
