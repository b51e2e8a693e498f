//! The probe-position plan as the document holds it: where to measure, in which order, and what locates the detector.

use serde::{Deserialize, Serialize};

use super::Reading;
use crate::geometry::Point;

/// The probe-position plan: positions on the fixture, each at every height.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    /// Heights of the sensing plane above the fixture's base.
    pub heights: Vec<f64>,
    /// Where the positions are.
    pub layout: PlanLayout,
    /// Name of the radiometer that the plan is made for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub radiometer: Option<String>,
    /// The plate on which it is read with the pallet out; `None`: it is read with the pallet in place.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plate: Option<Plate>,
    /// Name of the position where the route begins; `None`: the one nearest to the datum's corner.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub start: Option<String>,
    /// All heights at a position before the next position; otherwise all positions at a height before the next height.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub positions_first: bool,
    /// Where drift is seen; `None`: nowhere.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference: Option<Reference>,
    /// What a reading takes; `None`: [`Cycle::USUAL`].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cycle: Option<Cycle>,
    /// How the plate that locates the detector is made; `None`: the round is made without one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bores: Option<Bores>,
}

/// A position that is read again and again at one height, so that what changes there is drift: at the start and the end of
/// the round, at each change of height and every few readings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reference {
    /// Its name in the plan.
    pub position: String,
    /// Of the sensing plane above the fixture's base: the same at every visit.
    pub height: f64,
    /// Visited after so many readings too; `None`: only at start, end and changes of height.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub every: Option<u32>,
}

/// What one reading takes under a lamp with shutter and interlock, and what changing spacer or plate takes, all in seconds.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cycle {
    /// The shield is opened, the shutter closed.
    pub open: f64,
    /// The detector is placed.
    pub place: f64,
    /// The shield is shut.
    pub close: f64,
    /// The source and the meter come to rest.
    pub settle: f64,
    /// The shutter is open.
    pub expose: f64,
    /// The held value is read and written down.
    pub read: f64,
    /// Another spacer goes under the detector, or another plate is put in place.
    pub change: f64,
}

impl Cycle {
    /// What it takes where nobody said otherwise (common practice, no source).
    pub const USUAL: Self = Self {
        open: 3.0,
        place: 8.0,
        close: 3.0,
        settle: 5.0,
        expose: 3.0,
        read: 5.0,
        change: 60.0,
    };

    /// One reading, s.
    pub fn reading(&self) -> f64 {
        self.open + self.place + self.close + self.settle + self.expose + self.read
    }
}

/// How the plate is made that locates the detector at the positions.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bores {
    /// What a bore is wider than the detector's body: of the diameter, mm.
    pub clearance: f64,
    /// At least so much is left between two bores of a plate, mm; positions too near to one another go to another plate.
    pub web: f64,
    /// What puts the plate in its place.
    #[serde(default)]
    pub located: LocatedBy,
}

/// What puts a plate in its place.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum LocatedBy {
    /// Its front and left edges against those of the pallet, or of what holds the pallet.
    #[default]
    Edges,
    /// Two pins.
    Pins {
        /// Of the pins' bores, mm.
        diameter: f64,
        /// Their middles, from the datum.
        at: (Point, Point),
    },
}

impl Default for Bores {
    /// Common practice, no source.
    fn default() -> Self {
        Self {
            clearance: 0.5,
            web: 3.0,
            located: LocatedBy::Edges,
        }
    }
}

/// With the pallet out it takes the pallet's place, and may reach beyond its rim: a rectangle along the datum's axes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plate {
    /// Its front left corner, from the fixture's datum.
    pub corner: Point,
    /// Along x.
    pub width: f64,
    /// Along y.
    pub depth: f64,
}

/// Where the positions of a [`Plan`] are.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum PlanLayout {
    /// Columns to the right, rows to the back, the outermost ones `margin` inside the outline's
    /// bounds; those that fall outside a round outline are left out. Row A is the front one.
    Grid {
        /// How many along x.
        columns: u32,
        /// How many along y.
        rows: u32,
        /// From the rim to the centre of the outermost positions.
        margin: f64,
    },
    /// Each put where somebody wanted it.
    ByHand(Vec<Position>),
}

/// A planned place of the detector.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Position {
    /// Such as B3.
    pub name: String,
    /// The middle of the detector's aperture.
    pub at: Point,
}

impl Plan {
    /// What a plan begins with: a few rows and columns on the fixture's base.
    pub fn begin() -> Self {
        Self {
            heights: vec![0.0],
            layout: PlanLayout::Grid {
                columns: 5,
                rows: 5,
                margin: 10.0,
            },
            radiometer: None,
            plate: None,
            start: None,
            positions_first: false,
            reference: None,
            cycle: None,
            bores: None,
        }
    }

    /// How many positions there are at most: rows and columns lose some on a round fixture.
    pub fn most_positions(&self) -> usize {
        match &self.layout {
            PlanLayout::Grid { columns, rows, .. } => {
                (*columns as usize).saturating_mul(*rows as usize)
            }
            PlanLayout::ByHand(positions) => positions.len(),
        }
    }

    /// What a reading takes, s.
    pub fn cycle(&self) -> Cycle {
        self.cycle.unwrap_or(Cycle::USUAL)
    }

    /// The reference that a plan begins with: of these positions the one nearest to a point, at the plan's lowest height.
    pub fn reference_to_begin_with(
        &self,
        positions: &[Position],
        near: Point,
    ) -> Option<Reference> {
        let apart = |p: &&Position| p.at.distance(near);
        let nearest = positions
            .iter()
            .min_by(|a, b| apart(a).total_cmp(&apart(b)))?;
        Some(Reference {
            position: nearest.name.clone(),
            height: self.heights.iter().copied().min_by(f64::total_cmp)?,
            every: None,
        })
    }

    /// The name of the reference position where these readings come back to it: what a round by this plan is.
    pub fn reference_in(&self, readings: &[Reading]) -> Option<String> {
        let reference = self.reference.as_ref()?;
        let is_visit = |r: &&Reading| {
            r.position == reference.position && (r.height - reference.height).abs() < 1e-3
        };
        let visits = readings.iter().filter(is_visit).count();
        (visits > 1).then(|| reference.position.clone())
    }

    /// The same plan where a position goes by another name: start and reference follow it.
    pub fn renamed(&mut self, old: &str, new: &str) {
        if self.start.as_deref() == Some(old) {
            self.start = Some(new.to_owned());
        }
        if let Some(reference) = self.reference.as_mut().filter(|r| r.position == old) {
            reference.position = new.to_owned();
        }
    }
}
