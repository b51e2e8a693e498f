//! A place of a bond as light arrives at it.

use super::horizon::{Horizon, Walls};
use super::{Bond, Glass, Lies, Scene};
use crate::geometry::Place;

/// A place of a bond.
#[derive(Debug, Clone)]
pub struct Receiver {
    /// The level place in the open that it is held against.
    pub open: Place,
    /// Where light arrives: at the height of the tilted bond, as near to the lamp as it seems through the substrate.
    pub at: Place,
    /// `None`: nothing stands in the way.
    horizon: Option<Box<Horizon>>,
    /// The bond's own normal, where it is not level.
    normal: Option<[f64; 3]>,
    glass: Option<Glass>,
    reflectance: Option<f64>,
}

/// A wall under the lamp is lit about half as much as a level place beside it (a quarter of the sky against half of it, with
/// the lamp higher up; from memory).
const WALL_IS_LIT: f64 = 0.5;
/// Walls of which nothing is known throw back less than this (bare or anodised aluminium, plastics; common practice, no
/// source).
pub const MOST_UNKNOWN: f64 = 0.5;

impl Receiver {
    /// A place of a bond in a scene; `open` is the level place at the bond line's height.
    pub fn new(scene: &Scene, bond: &Bond, open: Place) -> Self {
        Self::among(&Walls::of(scene), scene.reflectance, bond, open)
    }

    /// The same with a scene's walls made before.
    pub fn among(walls: &Walls, reflectance: Option<f64>, bond: &Bond, open: Place) -> Self {
        let mut at = open;
        let mut plane = None;
        if let Lies::Tilted { about, normal } = bond.lies {
            let (dx, dy) = (open.x - about.x, open.y - about.y);
            at.height -= (normal[0] * dx + normal[1] * dy) / normal[2];
            plane = Some(normal);
        }
        let horizon = Horizon::of(walls, bond, at).map(Box::new);
        at.height += bond.behind.map_or(0.0, |glass| glass.nearer());
        Self {
            open,
            at,
            horizon,
            normal: plane,
            glass: bond.behind,
            reflectance,
        }
    }

    /// A level place in the open.
    pub fn open(at: Place) -> Self {
        Self {
            open: at,
            at,
            horizon: None,
            normal: None,
            glass: None,
            reflectance: None,
        }
    }

    /// The same nearer to the lamp, with all that stands around it, mm.
    pub fn lifted(mut self, by: f64) -> Self {
        self.open.height += by;
        self.at.height += by;
        self
    }

    /// Whether it gets all the light of the place in the open.
    pub fn is_open(&self) -> bool {
        self.horizon.is_none() && self.normal.is_none() && self.glass.is_none()
    }

    /// Whether something stands in the way.
    pub fn is_shaded(&self) -> bool {
        self.horizon.is_some()
    }

    /// The most that may arrive without what walls throw back, as a part of the light in the open; `None` for a plane that can
    /// face it.
    pub fn most(&self) -> Option<f64> {
        if self.normal.is_some() || self.at.height != self.open.height {
            return None;
        }
        Some(self.glass.map_or(1.0, |glass| glass.through(1.0)))
    }

    /// Standard uncertainty of the substrate's transmission, relative.
    pub fn glass_uncertainty(&self) -> f64 {
        self.glass.map_or(0.0, |glass| glass.uncertainty)
    }

    /// What walls throw onto the place, as a part of the light in the open: least and most. Nothing is known of how they are
    /// lit but that it is about half as much as level places are.
    pub fn walls(&self) -> (f64, f64) {
        let Some(horizon) = &self.horizon else {
            return (0.0, 0.0);
        };
        let seen = WALL_IS_LIT * horizon.walls();
        match self.reflectance {
            None => (0.0, MOST_UNKNOWN * seen),
            Some(reflectance) => (0.5 * reflectance * seen, 1.5 * reflectance * seen),
        }
    }

    /// Of the light that an emitter `beside` and `above` the place would send to a level one in the open, how much arrives;
    /// `wide` is the extent of the emitter along x and y. More than 1 on a plane that faces it.
    pub fn passes(&self, beside: (f64, f64), above: f64, wide: (f64, f64)) -> f64 {
        let per = 1.0 / above;
        let slope = (beside.0 * per, beside.1 * per);
        let seen = self.horizon.as_ref().map_or(1.0, |horizon| {
            horizon.seen(slope, (wide.0 * per, wide.1 * per))
        });
        if seen == 0.0 {
            return 0.0;
        }
        let towards = self
            .normal
            .map_or(1.0, |n| (n[0] * slope.0 + n[1] * slope.1 + n[2]).max(0.0));
        let through = self.glass.map_or(1.0, |glass| {
            let along = (1.0 + slope.0 * slope.0 + slope.1 * slope.1).sqrt();
            glass.through(towards / along)
        });
        seen * towards * through
    }
}
