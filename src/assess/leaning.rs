//! How far the coldest spot's figure leans on the law of light, and how far on readings.

use super::Spot;
use crate::field::Fitted;

/// The coldest spot with and without knowledge of the lamp.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leaning {
    /// What readings alone, carried on smoothly, say there, mW/cm².
    pub readings_alone: f64,
    /// Standard uncertainty of that, mW/cm².
    pub readings_alone_uncertainty: f64,
    /// How far the spot lies outside the outermost positions, mm; 0 between them.
    pub beyond: f64,
    /// The part of the variance left by readings alone that knowledge of the lamp takes away, 0 to 1.
    pub law: f64,
    /// Knowledge of the lamp leaves the figure less sure, and further from what readings alone say than these allow.
    pub disagree: bool,
}

/// What a figure leans on most.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LeansOn {
    /// The readings settle it.
    Readings,
    /// Both are needed.
    Both,
    /// The law of light settles it.
    Law,
    /// Lamp and readings do not agree well.
    Neither,
}

/// An uncertainty so many times as large has surely grown: that is no matter of how a parameter came out.
const GROWN: f64 = 1.25;
/// Coverage factor of what readings alone allow.
const COVERAGE: f64 = 2.0;

impl Leaning {
    /// `None` for a field without knowledge of the lamp.
    pub(super) fn of(field: &Fitted, coldest: &Spot, beyond: f64) -> Option<Self> {
        let alone = field.readings_alone(&[coldest.at])?;
        let alone = alone.first()?;
        let (without, with) = (alone.uncertainty?, coldest.uncertainty?);
        let left = (with / coldest.irradiance).powi(2) / (without / alone.irradiance).powi(2);
        let apart = (coldest.irradiance - alone.irradiance).abs();
        left.is_finite().then(|| Self {
            readings_alone: alone.irradiance,
            readings_alone_uncertainty: without,
            beyond,
            law: (1.0 - left).clamp(0.0, 1.0),
            disagree: left > GROWN * GROWN && apart > COVERAGE * without,
        })
    }

    /// In one word.
    pub fn on(&self) -> LeansOn {
        match self.law {
            _ if self.disagree => LeansOn::Neither,
            law if law < 0.4 => LeansOn::Readings,
            law if law < 0.8 => LeansOn::Both,
            _ => LeansOn::Law,
        }
    }

    /// In plain words; figures are written by the caller, who knows the unit.
    pub fn words(&self, with_lamp: &str, alone: &str, beyond: &str) -> String {
        let place = if self.beyond > 0.0 {
            format!("lies {beyond} beyond the outermost positions")
        } else {
            "lies between the positions".to_owned()
        };
        let leans = match self.on() {
            LeansOn::Readings => "the figure rests mostly on the readings",
            LeansOn::Both => "the figure rests on the readings and on the model of the lamp",
            LeansOn::Neither => {
                "the model of the lamp and the readings do not agree well there; look for a reading that is off, or read nearer to the spot"
            }
            LeansOn::Law => {
                "the figure rests mostly on the model of the lamp; a reading nearer to the spot would check it"
            }
        };
        format!(
            "The coldest spot {place}. The readings alone, without a model of the lamp, give {alone} there; with it the \
             field says {with_lamp}: {leans}"
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wider_figure_that_agrees_rests_on_the_readings() {
        let agreeing = Leaning {
            readings_alone: 45.7,
            readings_alone_uncertainty: 0.33,
            beyond: 0.0,
            law: 0.0,
            disagree: false,
        };
        assert_eq!(agreeing.on(), LeansOn::Readings);
        let apart = Leaning {
            disagree: true,
            ..agreeing
        };
        assert_eq!(apart.on(), LeansOn::Neither);
        assert!(apart.words("72", "83", "").contains("do not agree"));
    }
}
