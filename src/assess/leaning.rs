//! How far the coldest spot's figure leans on the law of light, and how far on readings.

use super::{Spot, SurveyFit};

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
    /// Standard uncertainty with knowledge of the lamp over that without, both relative.
    pub grown: f64,
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
    /// With knowledge of the lamp it is less sure: lamp and readings do not agree well.
    Neither,
}

impl Leaning {
    /// `None` for a field without knowledge of the lamp.
    pub(super) fn of(fit: &SurveyFit, coldest: &Spot) -> Option<Self> {
        let alone = fit.field.readings_alone(&[coldest.at])?;
        let alone = alone.first()?;
        let (without, with) = (alone.uncertainty?, coldest.uncertainty?);
        let left = (with / coldest.irradiance).powi(2) / (without / alone.irradiance).powi(2);
        left.is_finite().then(|| Self {
            readings_alone: alone.irradiance,
            readings_alone_uncertainty: without,
            beyond: fit.field.beyond_positions(coldest.at.point()),
            law: (1.0 - left).clamp(0.0, 1.0),
            grown: left.sqrt(),
        })
    }

    /// In one word.
    pub fn on(&self) -> LeansOn {
        /// Surely more, and no matter of how a parameter came out.
        const GROWN: f64 = 1.25;
        match self.law {
            _ if self.grown > GROWN => LeansOn::Neither,
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
