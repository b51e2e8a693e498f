//! A fitted field, and what it answers.

use std::sync::Arc;

use faer::Mat;

use super::families::kriging::{BLOCK, LogKriging};
use super::families::model::Model;
use super::fine::{self, Axis};
use super::readings::{Drift, Reach};
use super::score::Foretold;
use super::unseen::Unseen;
use super::{Draws, Estimate, Face, Family, HoldOutScore, LeaveOneOut, Shortcoming};
use crate::geometry::{Hull, Place, Point};
use crate::numeric::exponential::{bounded, exp_minus};
use crate::numeric::wide::wide;
use crate::progress::{Cancelled, Progress};

/// Nodes of a coarse lattice in lengths over which the field changes: for the field, for its uncertainty.
const FIELD_STEP: f64 = 0.08;
const UNCERTAINTY_STEP: f64 = 0.16;

/// A point this near to the hull of the positions lies on it, mm: what rounding makes of an edge.
const ON_THE_HULL: f64 = 1e-6;

/// A fitted field. Cheap to clone, never changes.
#[derive(Debug, Clone)]
pub struct Fitted {
    pub(super) inner: Arc<Inner>,
}

#[derive(Debug)]
pub(super) struct Inner {
    pub family: Family,
    pub model: Model,
    /// What the family misses; `None` without joint draws, or where it is left as it is.
    pub unseen: Option<Unseen>,
    pub reach: Reach,
    pub foretold: Option<Foretold>,
    pub scores: Vec<HoldOutScore>,
    pub leave_one_out: Vec<LeaveOneOut>,
    pub shortcomings: Vec<Shortcoming>,
    pub face: Option<Face>,
    /// Light may come by way of mirrors.
    pub mirrors: bool,
    /// The kriging that predicts best, where the field is another one.
    pub alone: Option<Box<LogKriging>>,
    /// The drift of the round, where it was taken out, and what was taken off the logarithm of each sample.
    pub drift: Option<(Drift, Vec<f64>)>,
}

/// Replaces logarithms by their exponentials.
fn exponentials(logs: &mut [f64]) {
    wide(
        #[inline(always)]
        || logs.iter_mut().for_each(|e| *e = exp_minus(-bounded(*e))),
    );
}

impl Fitted {
    /// The family that makes the field.
    pub fn family(&self) -> Family {
        self.inner.family
    }

    /// The drift over the round, where it was taken out: the field is that of the round's mean.
    pub fn drift(&self) -> Option<&Drift> {
        self.inner.drift.as_ref().map(|d| &d.0)
    }

    /// By which factor a sample was read above what it would have been in the mean of the round; 1 where no drift was taken
    /// out.
    pub fn drifted(&self, sample: usize) -> f64 {
        let taken = self.inner.drift.as_ref().and_then(|d| d.1.get(sample));
        taken.map_or(1.0, |by| by.exp())
    }

    /// The field at places, which must be finite, in their order.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn at(&self, places: &[Place], progress: &Progress) -> Result<Vec<Estimate>, Cancelled> {
        let mut out = self.estimates(places, progress)?;
        for (estimate, &place) in out.iter_mut().zip(places) {
            estimate.extrapolated = self.inner.reach.is_beyond(place);
        }
        Ok(out)
    }

    /// As [`at`](Self::at), `extrapolated` left false.
    pub(super) fn estimates(
        &self,
        places: &[Place],
        progress: &Progress,
    ) -> Result<Vec<Estimate>, Cancelled> {
        let mut out = Vec::with_capacity(places.len());
        for block in places.chunks(BLOCK) {
            progress.check()?;
            let from = out.len();
            out.extend(self.inner.model.estimates(block));
            let Some(unseen) = &self.inner.unseen else {
                continue;
            };
            let more = unseen
                .shifts(block)
                .into_iter()
                .zip(unseen.variances(block));
            for (e, (shift, variance)) in out[from..].iter_mut().zip(more) {
                let relative = e
                    .uncertainty
                    .map(|u| (u / e.irradiance).hypot(variance.sqrt()));
                e.irradiance *= shift.exp();
                e.uncertainty = relative.map(|u| u * e.irradiance);
            }
        }
        Ok(out)
    }

    /// What the readings alone say, carried on smoothly and without any knowledge of the lamp: the better kriging.
    /// `None` where the field itself is that, or has no lamp.
    pub fn readings_alone(&self, places: &[Place]) -> Option<Vec<Estimate>> {
        let alone = self.inner.alone.as_ref()?;
        let mut out: Vec<Estimate> = Vec::with_capacity(places.len());
        for block in places.chunks(BLOCK) {
            let from = out.len();
            out.extend(alone.estimates(block));
            // what no family sees, readings by themselves do not see either
            let unseen = self.inner.unseen.as_ref().map(|u| u.variances(block));
            for (e, variance) in out[from..].iter_mut().zip(unseen.into_iter().flatten()) {
                let relative = e.uncertainty.map(|u| u / e.irradiance);
                e.uncertainty = relative.map(|u| u.hypot(variance.sqrt()) * e.irradiance);
            }
        }
        Some(out)
    }

    /// How far a point lies outside the convex hull of the positions, mm; 0 inside.
    pub fn beyond_positions(&self, point: Point) -> f64 {
        Hull::of(&self.inner.reach.positions).outside(point)
    }

    /// For each of some points whether it lies outside the convex hull of the positions.
    pub fn are_beyond_positions(&self, points: impl IntoIterator<Item = Point>) -> Vec<bool> {
        let hull = Hull::of(&self.inner.reach.positions);
        let beyond = |p: Point| hull.outside(p) > ON_THE_HULL;
        points.into_iter().map(beyond).collect()
    }

    /// By how much bounds are widened at a place for what may happen to the light beyond the outermost positions:
    /// relative standard deviation, 0 within them.
    pub fn beyond(&self, at: Place) -> f64 {
        self.inner.unseen.as_ref().map_or(0.0, |u| u.beyond(at))
    }

    /// Positions that were left out are missed by so much that bounds can't be relied on: their root mean square error
    /// over the noise of a reading, where it is more than three times that.
    pub fn misses(&self) -> Option<f64> {
        self.inner.unseen.as_ref()?.fails()
    }

    /// How much more slanting the light at places is than where it is least so at the readings: mean logarithm of the cosine
    /// of incidence less the greatest one there. A detector whose response is the cosine to the power 1 + p reads such a
    /// place by so many times p too bright (as a logarithm). `None` without a model of the lamp.
    pub fn slants(&self, places: &[Place]) -> Option<Vec<f64>> {
        /// Readings that are looked at: the light changes little from one to the next.
        const LOOKED_AT: usize = 60;
        let Reach {
            positions, heights, ..
        } = &self.inner.reach;
        let read = positions
            .iter()
            .flat_map(|p| heights.iter().map(|&h| p.at_height(h)));
        let step = (positions.len() * heights.len()).div_ceil(LOOKED_AT).max(1);
        // a step that divides the heights would look at one of them only
        let step = if step > 1 && heights.len().is_multiple_of(step) {
            step + 1
        } else {
            step
        };
        let some: Vec<Place> = read.step_by(step).collect();
        let model = &self.inner.model;
        let least = model.log_cosines(&some)?;
        let least = least.into_iter().fold(f64::NEG_INFINITY, f64::max);
        let logs = model.log_cosines(places)?;
        Some(logs.into_iter().map(|log| log - least).collect())
    }

    /// Only the irradiance at places, mW/cm²: much faster than [`at`](Self::at).
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn irradiance(&self, places: &[Place], progress: &Progress) -> Result<Vec<f64>, Cancelled> {
        let mut out = vec![0.0; places.len()];
        for (block, values) in places.chunks(BLOCK).zip(out.chunks_mut(BLOCK)) {
            progress.check()?;
            self.inner.model.medians(block, values);
            self.shift(block, values);
        }
        Ok(out)
    }

    /// Takes what the family misses into its field.
    fn shift(&self, places: &[Place], values: &mut [f64]) {
        if let Some(unseen) = &self.inner.unseen {
            let shifts = unseen.shifts(places);
            values
                .iter_mut()
                .zip(shifts)
                .for_each(|(e, s)| *e *= s.exp());
        }
    }

    /// The field at each node of a lattice, row after row.
    fn on_nodes(
        &self,
        xs: &[f64],
        ys: &[f64],
        height: f64,
        progress: &Progress,
    ) -> Result<Vec<f64>, Cancelled> {
        let mut out = self.inner.model.on_lattice(xs, ys, height, progress)?;
        for (&y, row) in ys.iter().zip(out.chunks_mut(xs.len().max(1))) {
            progress.check()?;
            let places: Vec<Place> = xs.iter().map(|&x| Place::new(x, y, height)).collect();
            self.shift(&places, row);
        }
        Ok(out)
    }

    /// The irradiance on the lattice of `xs` and `ys` (evenly spaced, ascending) at a height, row after row,
    /// mW/cm². A field that is smooth over several nodes is worked out on fewer of them.
    pub(super) fn irradiance_on_lattice(
        &self,
        xs: &[f64],
        ys: &[f64],
        height: f64,
        progress: &Progress,
    ) -> Result<Vec<f64>, Cancelled> {
        if let Some((x, y)) = self.coarse(xs, ys, height, FIELD_STEP) {
            let mut logs = self.on_nodes(&x.nodes, &y.nodes, height, progress)?;
            logs.iter_mut().for_each(|e| *e = e.ln());
            let mut out = fine::interpolate(&x, &y, &logs);
            exponentials(&mut out);
            return Ok(out);
        }
        self.on_nodes(xs, ys, height, progress)
    }

    /// The lattice with uncertainties, mW/cm², and the uncertainties; `None` for a family without.
    pub(super) fn estimates_on_lattice(
        &self,
        xs: &[f64],
        ys: &[f64],
        height: f64,
        progress: &Progress,
    ) -> Result<Vec<Estimate>, Cancelled> {
        let Some((x, y)) = self.coarse(xs, ys, height, UNCERTAINTY_STEP) else {
            let mut all = Vec::with_capacity(xs.len() * ys.len());
            for (row, &y) in ys.iter().enumerate() {
                progress.set(row as f64 / ys.len() as f64);
                let places: Vec<Place> = xs.iter().map(|&x| Place::new(x, y, height)).collect();
                all.extend(self.estimates(&places, progress)?);
            }
            return Ok(all);
        };
        // Relative uncertainty is needed to two digits, and costs far more than the field.
        let mut relative = Vec::with_capacity(x.nodes.len() * y.nodes.len());
        for (row, &v) in y.nodes.iter().enumerate() {
            progress.set(row as f64 / y.nodes.len() as f64);
            let nodes = x.nodes.iter();
            let places: Vec<Place> = nodes.map(|&u| Place::new(u, v, height)).collect();
            let estimates = self.estimates(&places, progress)?;
            let logs = estimates.iter().map(|e| {
                let part = e.uncertainty.unwrap_or(0.0) / e.irradiance;
                part.max(f64::MIN_POSITIVE).ln()
            });
            relative.extend(logs);
        }
        let mut relative = fine::interpolate(&x, &y, &relative);
        exponentials(&mut relative);
        let irradiance = self.irradiance_on_lattice(xs, ys, height, progress)?;
        let each = irradiance.into_iter().zip(relative);
        Ok(each
            .map(|(irradiance, part)| Estimate {
                irradiance,
                uncertainty: Some(irradiance * part),
                extrapolated: false,
            })
            .collect())
    }

    /// A coarser lattice on which the field can be worked out as well; `None` where there is none.
    /// `step` is a part of the length over which the field changes: the error is about the sixth power of it.
    fn coarse(&self, xs: &[f64], ys: &[f64], height: f64, step: f64) -> Option<(Axis, Axis)> {
        let unseen = self.inner.unseen.as_ref();
        // a part of the field, but a large one of its uncertainty
        let unseen = unseen.map_or(f64::INFINITY, |u| u.smooth_over() * FIELD_STEP / step);
        let smooth = self.inner.model.smooth_over(height)?.min(unseen);
        Some((
            Axis::over(xs, step * smooth)?,
            Axis::over(ys, step * smooth)?,
        ))
    }

    /// For `count` places from `start` on, `step` mm apart along x, whether each is beyond what the
    /// readings span.
    pub(super) fn beyond_along(&self, start: Place, step: f64, count: usize) -> Vec<bool> {
        self.inner.reach.beyond_along(start, step, count)
    }

    /// `n` draws of the whole field at `places` at once, so that their minima and maxima are those of
    /// possible fields. The same seed gives the same draws. `Ok(None)` for a family without.
    ///
    /// Memory and time grow with the square of the number of places and beyond: some hundreds are meant.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn joint(
        &self,
        places: &[Place],
        seed: u64,
        n: usize,
        progress: &Progress,
    ) -> Result<Option<Draws>, Cancelled> {
        progress.check()?;
        let beside = self.inner.unseen.as_ref().map(|u| u.joint(places));
        let model = &self.inner.model;
        let values = model.draws(places, seed, n, beside.as_ref(), progress)?;
        Ok(values.map(|values| Draws {
            places: places.len(),
            values,
        }))
    }

    /// What the families alone say, without what they miss: expected logarithms at places and their covariance (lower
    /// triangle, row after row); `None` for a family without. Studies look with it for what is to be added.
    pub fn of_families(&self, places: &[Place]) -> Option<(Vec<f64>, Vec<f64>)> {
        let (means, covariance) = self.inner.model.joint(places)?;
        let rows = (0..places.len()).flat_map(|i| (0..=i).map(move |j| (i, j)));
        Some((means, rows.map(|at| covariance[at]).collect()))
    }

    /// What the families said of readings that they had not seen; `None` for a family without joint draws.
    pub fn foretold(&self) -> Option<&Foretold> {
        self.inner.foretold.as_ref()
    }

    /// Covariance of the logarithms at places (lower triangle); `None` for a family without.
    pub(super) fn log_covariance(&self, places: &[Place]) -> Option<Mat<f64>> {
        let mut covariance = self.inner.model.log_covariance(places)?;
        if let Some(unseen) = &self.inner.unseen {
            covariance += unseen.joint(places).1;
        }
        Some(covariance)
    }

    /// How each family that was tried predicted what it had not seen, best first; those without a
    /// density last. Empty when all samples are at one position.
    pub fn scores(&self) -> &[HoldOutScore] {
        &self.inner.scores
    }

    /// Each sample against the others, in the order of the samples. What the others cannot predict
    /// stands as read, without a standardised error.
    pub fn leave_one_out(&self) -> &[LeaveOneOut] {
        &self.inner.leave_one_out
    }

    /// What the readings do not tell.
    pub fn shortcomings(&self) -> &[Shortcoming] {
        &self.inner.shortcomings
    }

    /// Relative standard deviation of a reading about the field, as estimated (0.012 is 1.2 %);
    /// `None` for a family without a distribution.
    pub fn noise(&self) -> Option<f64> {
        self.inner.model.noise()
    }
}
