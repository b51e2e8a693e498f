//! What is no wear: the second round read higher, aside, tilted, or while lamp and detector drifted. Each leaves a pattern of its
//! own, which is how the baseline's field changes along it.

use crate::assess::SurveyFit;
use crate::geometry::{Place, Point};
use crate::progress::{Cancelled, Progress};

/// One way in which a second round may not be the same as the first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Mode {
    /// All of it so many mm higher, nearer to the lamp.
    Height,
    /// So many mm further to the right.
    ShiftX,
    /// So many mm further to the back.
    ShiftY,
    /// Tilted by so many degrees, the right side up.
    TiltX,
    /// Tilted by so many degrees, the back up.
    TiltY,
    /// The spacer of one height so many mm higher.
    Block(f64),
    /// Drifting by so many percent over the round.
    Drift,
}

impl Mode {
    /// How large it may well be: a standard deviation, in its own unit (common practice, no source).
    pub fn usual(self) -> f64 {
        match self {
            Self::Height => 3.0,
            Self::ShiftX | Self::ShiftY => 2.0,
            Self::TiltX | Self::TiltY => 0.7,
            Self::Block(_) => 0.3,
            Self::Drift => 1.0,
        }
    }

    /// Whether it is told apart from the common change by its pattern alone, so that what it does to all alike counts as common.
    pub fn is_centred(self) -> bool {
        !matches!(self, Self::Block(_))
    }

    /// The mode whose pattern is most like it: under a lamp over the middle both fall off to one side.
    pub fn alike(self) -> Option<Self> {
        match self {
            Self::ShiftX => Some(Self::TiltX),
            Self::TiltX => Some(Self::ShiftX),
            Self::ShiftY => Some(Self::TiltY),
            Self::TiltY => Some(Self::ShiftY),
            Self::Height | Self::Block(_) | Self::Drift => None,
        }
    }

    /// Whether it is something that a person set up.
    pub fn is_of_set_up(self) -> bool {
        !matches!(self, Self::Block(_) | Self::Drift)
    }

    /// By how much it moves a place, mm along x, y and height, `by` in its own unit.
    fn moves(self, at: Place, middle: Point, by: f64) -> (f64, f64, f64) {
        match self {
            Self::Height => (0.0, 0.0, by),
            Self::ShiftX => (by, 0.0, 0.0),
            Self::ShiftY => (0.0, by, 0.0),
            Self::TiltX => (0.0, 0.0, by.to_radians().tan() * (at.x - middle.x)),
            Self::TiltY => (0.0, 0.0, by.to_radians().tan() * (at.y - middle.y)),
            Self::Block(height) if (height - at.height).abs() < 0.5 => (0.0, 0.0, by),
            Self::Block(_) | Self::Drift => (0.0, 0.0, 0.0),
        }
    }
}

/// The logarithm of the baseline's field at some places, and how it changes there.
#[derive(Debug, Clone)]
pub struct Slopes {
    /// ln(mW/cm²).
    pub log: Vec<f64>,
    /// Along x, y and height, per mm.
    pub along: Vec<[f64; 3]>,
}

/// Half of a step that a slope is taken over, mm.
const HALF: f64 = 1.0;

impl Slopes {
    /// At some places.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn of(fit: &SurveyFit, places: &[Place], progress: &Progress) -> Result<Self, Cancelled> {
        let shifted = |dx: f64, dy: f64, dh: f64| {
            let moved: Vec<Place> = places
                .iter()
                .map(|p| Place::new(p.x + dx, p.y + dy, p.height + dh))
                .collect();
            logs(fit, &moved, progress)
        };
        let log = shifted(0.0, 0.0, 0.0)?;
        let mut along = vec![[0.0; 3]; places.len()];
        for axis in 0..3 {
            let by = |sign: f64| {
                let mut d = [0.0; 3];
                d[axis] = sign * HALF;
                shifted(d[0], d[1], d[2])
            };
            let (up, down) = (by(1.0)?, by(-1.0)?);
            for (i, slope) in along.iter_mut().enumerate() {
                slope[axis] = (up[i] - down[i]) / (2.0 * HALF);
            }
        }
        Ok(Self { log, along })
    }

    /// Along the plan, per mm.
    pub fn level(&self, i: usize) -> f64 {
        self.along[i][0].hypot(self.along[i][1])
    }

    /// What one unit of a mode does to each place; drift apart.
    pub fn shape(&self, mode: Mode, places: &[Place], middle: Point) -> Vec<f64> {
        let each = places.iter().zip(&self.along);
        each.map(|(&at, slope)| {
            let (dx, dy, dh) = mode.moves(at, middle, 1.0);
            slope[0] * dx + slope[1] * dy + slope[2] * dh
        })
        .collect()
    }
}

/// The logarithm of the field; what is not above zero stands as a very small irradiance.
pub fn logs(fit: &SurveyFit, places: &[Place], progress: &Progress) -> Result<Vec<f64>, Cancelled> {
    let values = fit.field.irradiance(places, progress)?;
    Ok(values.into_iter().map(|e| e.max(1e-6).ln()).collect())
}

/// Where places really are when modes are so large.
pub fn displaced(places: &[Place], modes: &[(Mode, f64)], middle: Point) -> Vec<Place> {
    let each = places.iter().map(|&at| {
        modes.iter().fold(at, |p, &(mode, by)| {
            let (dx, dy, dh) = mode.moves(at, middle, by);
            Place::new(p.x + dx, p.y + dy, p.height + dh)
        })
    });
    each.collect()
}
