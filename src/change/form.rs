//! What a zone may look like.

use faer::Mat;

use super::face::reaches;
use crate::geometry::{Place, Point};

/// Places, and the logarithm of the earlier field there.
#[derive(Debug, Clone, Copy)]
pub struct Lit<'a> {
    /// Where.
    pub at: &'a [Place],
    /// ln(mW/cm²).
    pub log: &'a [f64],
    /// Height of the lamp's face, mm.
    pub face_height: f64,
}

/// The shape of a zone, 1 in its middle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Form {
    /// Round, half of its change over this width, mm: dirt on a window, a spot of a reflector.
    Round(Point, f64),
    /// What is missing where a small part of the lamp's face straight above is dark: its light over all light. As wide as the
    /// working distance, less where that light goes forward.
    Face {
        /// Below that part, where zones are looked for.
        under: Place,
        /// ln(mW/cm²) there.
        log: f64,
        /// How many times more its light goes with the cosine than Lambert's law has it.
        forward: f64,
    },
}

/// A round zone: 1 in its middle and half of that over its diameter, a squared cosine.
pub fn bump(at: Point, middle: Point, diameter: f64) -> f64 {
    let r = at.distance(middle);
    if r >= diameter {
        return 0.0;
    }
    (0.5 * std::f64::consts::PI * r / diameter).cos().powi(2)
}

impl Form {
    /// Where its middle is.
    pub fn middle(&self) -> Point {
        match *self {
            Self::Round(middle, _) => middle,
            Self::Face { under, .. } => under.point(),
        }
    }

    /// The most of it at some places.
    pub fn most(&self, lit: &Lit<'_>) -> f64 {
        (0..lit.at.len())
            .map(|i| self.at(lit, i))
            .fold(0.0, f64::max)
    }

    /// Its value at one of some places.
    fn at(&self, lit: &Lit<'_>, i: usize) -> f64 {
        match *self {
            Self::Round(middle, diameter) => bump(lit.at[i].point(), middle, diameter),
            Self::Face {
                under,
                log,
                forward,
            } => {
                let from = under.point();
                let reach = |p: Place| {
                    let h = (lit.face_height - p.height).max(1.0);
                    let cosine = h / p.point().distance(from).hypot(h);
                    reaches(p, from, lit.face_height) * cosine.powf(forward)
                };
                // where a tenth is missing below it no more than all is missing anywhere
                (reach(lit.at[i]) / reach(under) * (log - lit.log[i]).exp()).min(10.0)
            }
        }
    }
}

/// A pattern a column: forms at places.
pub fn patterns(lit: &Lit<'_>, forms: &[Form]) -> Mat<f64> {
    Mat::from_fn(lit.at.len(), forms.len(), |i, k| forms[k].at(lit, i))
}

/// A column more.
pub fn beside(all: &Mat<f64>, more: &Mat<f64>, column: usize) -> Mat<f64> {
    let old = all.ncols();
    Mat::from_fn(all.nrows(), old + 1, |i, k| {
        if k < old {
            all[(i, k)]
        } else {
            more[(i, column)]
        }
    })
}
