//! How a bond lies, and what stands around it: a fixture's rim, a part's top, a pocket, an overhang, a slant, a substrate.

use serde::{Deserialize, Serialize};

use super::numbers::{LONGEST, Sound, above_zero, fault, not_negative, number, shape, turn};
use crate::geometry::{Footprint, Shape};

/// A frame that stands along the fixture's outline, inside it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rim {
    /// Of its top above the fixture's base, mm.
    pub height: f64,
    /// From the outline inwards, mm.
    pub thickness: f64,
}

/// How the bond of a part lies, where it is not open and level.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bond {
    /// In the part.
    #[serde(default, skip_serializing_if = "Lying::is_level")]
    pub lies: Lying,
    /// What lies over the adhesive and lets light through; `None`: nothing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub behind: Option<Substrate>,
}

/// How a bond lies in its part. Directions are degrees counter-clockwise from the x axis before the part is turned.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Lying {
    /// Level, with nothing of its own part in the way.
    #[default]
    Level,
    /// Level, on the bottom of a pocket with upright walls: only there is adhesive.
    Pocket {
        /// The pocket's outline about the part's centre, turned with it.
        shape: Shape,
        /// How far its walls rise above the bond line, mm.
        depth: f64,
    },
    /// Level, below a plate that reaches over it from one side and beyond it there.
    Overhang {
        /// Where the plate comes from, degrees.
        from: f64,
        /// How far it reaches in over the part's footprint, mm.
        reach: f64,
        /// From the bond line up to its underside, mm.
        gap: f64,
    },
    /// Tilted: at the bond-line height in the middle of the part, lower on the side that it faces.
    Tilted {
        /// From level, degrees.
        angle: f64,
        /// Where it faces, degrees.
        towards: f64,
    },
}

impl Lying {
    /// Whether it is.
    pub fn is_level(&self) -> bool {
        *self == Self::Level
    }
}

/// A plate or film over the adhesive, its faces level with the bond.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Substrate {
    /// How much of light straight on comes through it, percent.
    pub percent: f64,
    /// Expanded uncertainty (k = 2) of that, percent of it.
    #[serde(default)]
    pub uncertainty_percent: f64,
    /// Its refractive index, for slanting light.
    pub index: f64,
    /// mm.
    pub thickness: f64,
}

/// No tilt is steeper, degrees.
const STEEPEST: f64 = 89.0;

impl Rim {
    pub(super) fn sound(&self) -> Sound {
        above_zero("height of the rim", self.height, LONGEST)?;
        above_zero("thickness of the rim", self.thickness, LONGEST)
    }
}

impl Bond {
    pub(super) fn sound(&self) -> Sound {
        match &self.lies {
            Lying::Level => {}
            Lying::Pocket { shape: of, depth } => {
                shape("pocket", of)?;
                above_zero("depth of the pocket", *depth, LONGEST)?;
            }
            Lying::Overhang { from, reach, gap } => {
                turn("overhang", *from)?;
                above_zero("reach of the overhang", *reach, LONGEST)?;
                above_zero("gap below the overhang", *gap, LONGEST)?;
            }
            Lying::Tilted { angle, towards } => {
                number("tilt of the bond", *angle, STEEPEST)?;
                turn("tilt", *towards)?;
            }
        }
        self.behind.as_ref().map_or(Ok(()), Substrate::sound)
    }

    /// Where the adhesive of a part with that footprint is: all over it, or on the bottom of its pocket.
    pub fn outline(&self, part: &Footprint) -> Footprint {
        match &self.lies {
            Lying::Pocket { shape, .. } => Footprint {
                shape: shape.clone(),
                ..part.clone()
            },
            _ => part.clone(),
        }
    }
}

impl Substrate {
    fn sound(&self) -> Sound {
        above_zero("transmission of the substrate", self.percent, 100.0)?;
        not_negative(
            "uncertainty of the transmission",
            self.uncertainty_percent,
            100.0,
        )?;
        number("refractive index of the substrate", self.index, 5.0)?;
        if self.index < 1.0 {
            return fault(
                format!("the refractive index of the substrate is {}", self.index),
                "type a number from 1 on, such as 1.5 for glass",
            );
        }
        not_negative("thickness of the substrate", self.thickness, LONGEST)
    }

    /// How much light straight on clear faces of its index let through, both, all passes; percent (Fresnel).
    pub fn clear_percent(&self) -> f64 {
        let once = ((self.index - 1.0) / (self.index + 1.0)).powi(2);
        100.0 * (1.0 - once) / (1.0 + once)
    }
}

/// What walls throw back at most, percent.
pub(super) fn reflectance(percent: f64) -> Sound {
    not_negative("reflectance of walls", percent, 100.0)
}
