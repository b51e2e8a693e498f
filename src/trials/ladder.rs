//! From rows of parts to a ladder: levels of what was varied, at what was chosen first.

use super::words;
use crate::numeric::combine::mean_and_variance;
use crate::station::Trials;
use crate::station::trials::{Better, Trial, Varied};
use crate::units::IrradianceUnit;

/// Values that lie so near to each other are one level, and one chosen value.
const SAME: f64 = 0.01;

/// Parts cured alike.
#[derive(Debug, Clone, PartialEq)]
pub struct Level {
    /// mW/cm² or s; the highest of the parts.
    pub value: f64,
    /// In the property's unit; 1 and 0 for pass and fail.
    pub results: Vec<f64>,
    /// Of the results.
    pub mean: f64,
    /// Of a result (n - 1); `None` for one part.
    pub variance: Option<f64>,
}

/// Levels, ascending, at one exposure or one irradiance.
#[derive(Debug, Clone, PartialEq)]
pub struct Ladder {
    /// What is varied.
    pub varied: Varied,
    /// What was chosen first: s where irradiance is varied, mW/cm² where time is.
    pub held: f64,
    /// At least two.
    pub levels: Vec<Level>,
    /// Each part: level as it was, result.
    pub points: Vec<(f64, f64)>,
    /// Parts that count but were cured at another exposure or irradiance than the chosen one.
    pub elsewhere: usize,
    /// Parts that do not count.
    pub excluded: usize,
    /// Variance that the rounding of the results gives: step²/12 (JCGM 100, F.2.2.1).
    pub grain: f64,
}

impl Level {
    /// Parts.
    pub fn count(&self) -> usize {
        self.results.len()
    }

    /// Parts that passed.
    pub fn passed(&self) -> usize {
        self.results.iter().filter(|&&r| r == 1.0).count()
    }
}

/// Varied and chosen value of a part.
fn pair(varied: Varied, part: &Trial) -> (f64, f64) {
    match varied {
        Varied::Irradiance => (part.irradiance, part.exposure),
        Varied::Time => (part.exposure, part.irradiance),
    }
}

fn same(a: f64, b: f64) -> bool {
    (a - b).abs() <= SAME * a.abs().max(b.abs())
}

impl Ladder {
    /// The ladder in the trials.
    ///
    /// # Errors
    /// Why there is none, and what to do, as a sentence; irradiances in it in a unit.
    pub fn of(trials: &Trials, unit: IrradianceUnit) -> Result<Self, String> {
        if trials.parts.is_empty() {
            return Err("There are no cure trials yet; type irradiance, exposure and result of parts at three levels or more".into());
        }
        for (row, part) in trials.parts.iter().enumerate() {
            part.sound(trials.property.better)
                .map_err(|(what, mend)| format!("Row {} of the trials: {what}; {mend}", row + 1))?;
        }
        let varied = trials.varied;
        let counted: Vec<(f64, f64, f64)> = (trials.parts.iter())
            .filter_map(|part| {
                let (level, held) = pair(varied, part);
                Some((level, held, part.counted()?))
            })
            .collect();
        if counted.is_empty() {
            return Err("No part of the trials has a result that counts; type the results".into());
        }
        let held = held(trials, &counted, unit)?;
        let here: Vec<(f64, f64)> = (counted.iter())
            .filter(|part| same(part.1, held))
            .map(|part| (part.0, part.2))
            .collect();
        if here.is_empty() {
            return Err(format!(
                "No part was cured at {}; choose {} at which parts were",
                words::held(varied, held, unit),
                words::held_name(varied)
            ));
        }
        let levels = levels(&here);
        if let [only] = &levels[..] {
            return Err(format!(
                "All parts were cured at one level, {}; a level of full cure shows itself only beside others: cure some below it and some above",
                words::level(varied, only.value, unit)
            ));
        }
        let excluded = trials.parts.iter().filter(|p| p.excluded.is_some()).count();
        let grain = match trials.property.better {
            Better::Pass => 0.0,
            _ => step(here.iter().map(|p| p.1)).powi(2) / 12.0,
        };
        Ok(Self {
            varied,
            held,
            levels,
            elsewhere: counted.len() - here.len(),
            points: here,
            excluded,
            grain,
        })
    }

    /// The highest level.
    pub fn top(&self) -> &Level {
        &self.levels[self.levels.len() - 1]
    }

    /// The lowest level.
    pub fn bottom(&self) -> &Level {
        &self.levels[0]
    }
}

/// Scatter of parts cured alike, over levels: variance and degrees of freedom; `None` where no level has two
/// parts.
pub fn pooled(levels: &[Level]) -> Option<(f64, f64)> {
    let (mut squares, mut dof) = (0.0, 0.0);
    for level in levels {
        if let Some(variance) = level.variance {
            let more = level.count() as f64 - 1.0;
            squares += variance * more;
            dof += more;
        }
    }
    (dof > 0.0).then(|| (squares / dof, dof))
}

/// What was chosen first.
fn held(trials: &Trials, counted: &[(f64, f64, f64)], unit: IrradianceUnit) -> Result<f64, String> {
    if let Some(held) = trials.held {
        return Ok(held);
    }
    let least = counted.iter().map(|c| c.1).fold(f64::INFINITY, f64::min);
    let most = counted.iter().map(|c| c.1).fold(0.0, f64::max);
    if same(least, most) {
        return Ok(most);
    }
    Err(format!(
        "The trials were made at {} from {} to {}; say which one the line uses",
        words::held_names(trials.varied),
        words::held(trials.varied, least, unit),
        words::held(trials.varied, most, unit)
    ))
}

fn levels(points: &[(f64, f64)]) -> Vec<Level> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut groups: Vec<Vec<(f64, f64)>> = Vec::new();
    for point in sorted {
        match groups.last_mut() {
            Some(group) if same(group[0].0, point.0) => group.push(point),
            _ => groups.push(vec![point]),
        }
    }
    (groups.into_iter())
        .filter_map(|group| {
            let results: Vec<f64> = group.iter().map(|p| p.1).collect();
            let (mean, variance) = mean_and_variance(&results)?;
            Some(Level {
                value: group.last()?.0,
                results,
                mean,
                variance,
            })
        })
        .collect()
}

/// The decimal step in which values are written, from 1 000 to a millionth; 0 where they are finer.
fn step(values: impl Iterator<Item = f64> + Clone) -> f64 {
    let fits = |step: f64| {
        values
            .clone()
            .all(|v| (v / step - (v / step).round()).abs() < 1e-9 * (v / step).abs().max(1.0))
    };
    (-3..=6)
        .map(|decimals| 10f64.powi(-decimals))
        .find(|&step| fits(step))
        .unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_step_of_rounded_values() {
        assert_eq!(step([12.0, 15.0].into_iter()), 1.0);
        assert!((step([12.5, 15.25].into_iter()) - 0.01).abs() < 1e-12);
        assert_eq!(step([std::f64::consts::PI].into_iter()), 0.0);
        assert_eq!(step([1200.0, 1500.0].into_iter()), 100.0);
    }
}
