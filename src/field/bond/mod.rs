//! What a bond sees of the lamp: past what stands around it, from its own plane, through a substrate.
//!
//! What stands there are prisms from the fixture's base up to a top, so that over each direction on the plan the light is
//! cut off below one slope ([`Horizon`](horizon)). Emitters lie far above; what each sends to a bond is what it sends to a level
//! place in the open times [what comes through](Receiver::passes). Walls are black here: what they throw back is an
//! uncertainty of a stated size ([`Receiver::walls`]).

mod even;
mod glass;
mod horizon;
mod receiver;

use crate::geometry::{Footprint, Point};

pub use even::EvenFace;
pub use glass::Glass;
pub use horizon::Walls;
pub use receiver::Receiver;

/// What stands around bonds.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Scene {
    /// Clamps, posts, parts.
    pub blocks: Vec<Block>,
    /// The fixture's rim.
    pub frame: Option<Frame>,
    /// How much of the light walls throw back, 0 to 1; `None`: not known.
    pub reflectance: Option<f64>,
}

/// A prism from the fixture's base up.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    /// Its outline.
    pub outline: Footprint,
    /// Of its top above the base, mm.
    pub top: f64,
}

/// A frame along an outline, inside it.
#[derive(Debug, Clone, PartialEq)]
pub struct Frame {
    /// Its outer edge.
    pub outline: Footprint,
    /// From there inwards, mm.
    pub thickness: f64,
    /// Of its top above the base, mm.
    pub top: f64,
}

/// How a bond lies.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Bond {
    /// The block that it belongs to: not in its way.
    pub own: Option<usize>,
    /// In its part.
    pub lies: Lies,
    /// What lies over it.
    pub behind: Option<Glass>,
}

/// How a bond lies in its part.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Lies {
    /// Level and open.
    #[default]
    Level,
    /// On the bottom of a pocket.
    Pocket {
        /// Of the pocket.
        outline: Footprint,
        /// Of its walls above the bond, mm.
        depth: f64,
    },
    /// Below a plate that has a straight edge and no end beyond it.
    Overhang {
        /// A point of the edge.
        edge: Point,
        /// Unit vector from there under the plate.
        under: Point,
        /// From the bond up to the plate, mm.
        gap: f64,
    },
    /// Tilted about a point where it is at its nominal height.
    Tilted {
        /// That point.
        about: Point,
        /// Unit normal: x, y, up.
        normal: [f64; 3],
    },
}

impl Scene {
    /// Whether nothing is in any light's way.
    pub fn is_empty(&self) -> bool {
        self.blocks.is_empty() && self.frame.is_none()
    }

    /// The same with all tops higher by a factor of their height above a bond, that of walls and plates likewise: what a
    /// figure hangs on.
    pub fn raised(&self, above: f64, factor: f64) -> Self {
        let raised = |top: f64| {
            if top > above {
                above + factor * (top - above)
            } else {
                top
            }
        };
        let mut scene = self.clone();
        scene.blocks.iter_mut().for_each(|b| b.top = raised(b.top));
        if let Some(frame) = &mut scene.frame {
            frame.top = raised(frame.top);
        }
        scene
    }
}

impl Bond {
    /// Whether it is open and level, with nothing over it.
    pub fn is_open(&self) -> bool {
        self.lies == Lies::Level && self.behind.is_none()
    }

    /// The same with its own walls or gap larger by a factor.
    pub fn raised(&self, factor: f64) -> Self {
        let mut bond = self.clone();
        match &mut bond.lies {
            Lies::Pocket { depth, .. } => *depth *= factor,
            Lies::Overhang { gap, .. } => *gap /= factor,
            Lies::Level | Lies::Tilted { .. } => {}
        }
        bond
    }
}
