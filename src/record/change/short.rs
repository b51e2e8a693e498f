//! The short check.

use serde::Serialize;

use super::words::{listed, mode_word, size};
use crate::change::{Mode, ShortCheck};
use crate::record::figures::{percent, rounded};
use crate::units::{LengthUnit, fixed};

/// The fewest positions that catch what harms.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ShortCheckRecord {
    /// What is to be read, in the order of the route.
    pub positions: Vec<ShortPositionRecord>,
    /// How many readings the survey has.
    pub of: usize,
    /// Probability of catching each.
    pub power_percent: f64,
    /// The least loss in the middle of a zone that is caught wherever it lies; `null`: none is.
    pub catches_local_loss_percent: Option<f64>,
    /// Width at which half of it is lost.
    pub zone_diameter_mm: f64,
    /// Set-up errors that are caught and named: `height`, `shift x`, `shift y`, `tilt x`, `tilt y`.
    pub tells: Vec<&'static str>,
}

/// A place of a short check.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ShortPositionRecord {
    /// Name of the position.
    pub position: String,
    /// To the right of the datum.
    pub x_mm: f64,
    /// To the back of the datum.
    pub y_mm: f64,
    /// Above the fixture's base.
    pub height_mm: f64,
}

impl From<&ShortCheck> for ShortCheckRecord {
    fn from(check: &ShortCheck) -> Self {
        let each = check
            .positions
            .iter()
            .map(|(name, at)| ShortPositionRecord {
                position: name.clone(),
                x_mm: rounded(at.x),
                y_mm: rounded(at.y),
                height_mm: rounded(at.height),
            });
        Self {
            positions: each.collect(),
            of: check.of,
            power_percent: percent(check.power),
            catches_local_loss_percent: check.catches_loss().then(|| percent(check.loss)),
            zone_diameter_mm: rounded(check.diameter),
            tells: check.tells.iter().map(|m| mode_word(*m)).collect(),
        }
    }
}

/// What a short check catches, and what it can't.
pub fn short_check(check: &ShortCheck, length: LengthUnit) -> Vec<String> {
    let harm = &check.harm;
    let mm = |v: f64| length.show_with_unit(v);
    let modes = [
        (
            Mode::Height,
            format!("read {} too high or too low", mm(harm.height)),
        ),
        (
            Mode::ShiftX,
            format!("{} aside to the left or right", mm(harm.shift)),
        ),
        (
            Mode::ShiftY,
            format!("{} aside to the front or back", mm(harm.shift)),
        ),
        (
            Mode::TiltX,
            format!("tilted by {}° to the left or right", fixed(harm.tilt, 1)),
        ),
        (
            Mode::TiltY,
            format!("tilted by {}° to the front or back", fixed(harm.tilt, 1)),
        ),
    ];
    let zone = format!(
        "a local loss of {} or more over {} anywhere",
        size(check.loss.max(harm.loss)),
        mm(check.diameter)
    );
    let (mut caught, mut not) = (Vec::new(), Vec::new());
    if check.catches_loss() {
        caught.push(&*zone);
    } else {
        not.push(&*zone);
    }
    for (mode, words) in &modes {
        let list = if check.tells.contains(mode) {
            &mut caught
        } else {
            &mut not
        };
        list.push(words);
    }
    if caught.is_empty() {
        return vec![format!(
            "No {} of the {} readings catch with {} % probability what harms ({}): read the whole survey again",
            check.positions.len(),
            check.of,
            fixed(100.0 * check.power, 0),
            listed(&not, "or")
        )];
    }
    let mut out = vec![format!(
        "{} of {} readings",
        check.positions.len(),
        check.of
    )];
    out.push(format!(
        "With {} % probability each of these is caught, and told from the others: {}",
        fixed(100.0 * check.power, 0),
        listed(&caught, "and")
    ));
    if !not.is_empty() {
        out.push(format!(
            "Not caught so surely, by these or by all readings: {}",
            listed(&not, "and")
        ));
    }
    out
}
