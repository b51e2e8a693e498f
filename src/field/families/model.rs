//! What makes a field: the one answer of all families to where it is asked.

use faer::Mat;

use super::blend::Blend;
use super::draws::{Joint, add, drawn};
use super::kriging::LogKriging;
use super::lamp::Ratios;
use super::plain::Plain;
use crate::field::Estimate;
use crate::field::bond::Receiver;
use crate::field::readings::Amounts;
use crate::geometry::Place;
use crate::progress::{Cancelled, Progress};

/// What makes the field. A further family is a further variant, here or in [`Plain`].
#[derive(Debug)]
pub(in crate::field) enum Model {
    Blend(Blend),
    Kriging(Box<LogKriging>),
    Plain(Plain),
}

impl Model {
    /// The field at a few places; `extrapolated` is left false.
    pub fn estimates(&self, places: &[Place]) -> Vec<Estimate> {
        match self {
            Self::Blend(field) => field.estimates(places),
            Self::Kriging(field) => field.estimates(places),
            Self::Plain(field) => {
                let mut values = vec![0.0; places.len()];
                field.values(places, &mut values);
                let each = values.into_iter().map(|irradiance| Estimate {
                    irradiance,
                    uncertainty: None,
                    extrapolated: false,
                });
                each.collect()
            }
        }
    }

    /// What it says of the drift over the round; `None` where that is not looked for, or for a family without joint draws.
    pub fn drift(&self) -> Option<Amounts> {
        match self {
            Self::Blend(field) => field.drift(),
            Self::Kriging(field) => field.drift.clone(),
            Self::Plain(_) => None,
        }
    }

    /// Only the irradiance, mW/cm², into `out` of the same length.
    pub fn medians(&self, places: &[Place], out: &mut [f64]) {
        match self {
            Self::Blend(field) => field.medians(places, out),
            Self::Kriging(field) => field.medians(places, out),
            Self::Plain(field) => field.values(places, out),
        }
    }

    /// Mean logarithm of the cosine of the angle of incidence of the light at places; `None` for a family that knows nothing
    /// of a lamp.
    pub fn log_cosines(&self, places: &[Place]) -> Option<Vec<f64>> {
        match self {
            Self::Blend(field) => field.log_cosines(places),
            Self::Kriging(_) | Self::Plain(_) => None,
        }
    }

    /// What arrives at bonds, relative to level places in the open; `None` for a family that knows nothing of a lamp.
    pub fn ratios(&self, receivers: &[&Receiver]) -> Option<Ratios> {
        match self {
            Self::Blend(field) => field.ratios(receivers),
            Self::Kriging(_) | Self::Plain(_) => None,
        }
    }

    /// As [`ratios`](Self::ratios), only about, and only the expected logarithms.
    pub fn log_ratios(&self, receivers: &[&Receiver]) -> Option<Vec<f64>> {
        match self {
            Self::Blend(field) => field.log_ratios(receivers),
            Self::Kriging(_) | Self::Plain(_) => None,
        }
    }

    /// The length over which the field changes along x or y at a height, mm; `None` where it is not smooth.
    pub fn smooth_over(&self, height: f64) -> Option<f64> {
        match self {
            Self::Blend(field) => Some(field.smooth_over(height)),
            Self::Kriging(field) => Some(field.smooth_over()),
            Self::Plain(_) => None,
        }
    }

    /// Irradiance on the lattice of `xs` and `ys` at a height, row after row.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn on_lattice(
        &self,
        xs: &[f64],
        ys: &[f64],
        height: f64,
        progress: &Progress,
    ) -> Result<Vec<f64>, Cancelled> {
        if xs.is_empty() {
            return Ok(Vec::new());
        }
        let mut out = vec![0.0; xs.len() * ys.len()];
        let columns = match self {
            Self::Kriging(field) => field.columns(xs),
            Self::Blend(_) | Self::Plain(_) => Vec::new(),
        };
        for (&y, row) in ys.iter().zip(out.chunks_mut(xs.len())) {
            progress.check()?;
            if let Self::Kriging(field) = self {
                field.medians_of_row(&columns, xs, y, height, row);
            } else {
                let places: Vec<Place> = xs.iter().map(|&x| Place::new(x, y, height)).collect();
                self.medians(&places, row);
            }
        }
        Ok(out)
    }

    /// Joint draws, a row each, with what is `beside` the families; `None` for a family without.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn draws(
        &self,
        places: &[Place],
        seed: u64,
        n: usize,
        beside: Option<&Joint>,
        progress: &Progress,
    ) -> Result<Option<Vec<f64>>, Cancelled> {
        let Some(mut joint) = self.joint(places) else {
            return Ok(None);
        };
        add(&mut joint, beside);
        drawn(joint, seed, 0..n, progress)
    }

    /// Expected logarithms at places and their covariance (lower triangle), of a blend the law of total covariance over
    /// its parts; `None` for a family without.
    pub fn joint(&self, places: &[Place]) -> Option<Joint> {
        match self {
            Self::Blend(field) => Some(field.moments(places)),
            Self::Kriging(field) => Some(field.joint(places)),
            Self::Plain(_) => None,
        }
    }

    /// Covariance of the logarithms at places (lower triangle); `None` for a family without.
    pub fn log_covariance(&self, places: &[Place]) -> Option<Mat<f64>> {
        Some(self.joint(places)?.1)
    }

    /// Relative standard deviation of a reading about the field; `None` for a family without a distribution.
    pub fn noise(&self) -> Option<f64> {
        match self {
            Self::Blend(field) => Some(field.noise()),
            Self::Kriging(field) => Some(field.noise),
            Self::Plain(_) => None,
        }
    }
}
