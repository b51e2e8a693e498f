//! From samples to a fitted field, and what it answers.

use std::sync::Arc;

use faer::linalg::matmul::matmul;
use faer::{Accum, Mat, Par};

use super::blend::Blend;
use super::brightness;
use super::fine::{self, Axis};
use super::hold_out::{Groups, score};
use super::hull::Hull;
use super::inverse_distance::InverseDistance;
use super::kriging::BLOCK;
use super::log_kriging::{self, LogKriging, Made, bounded};
use super::reach::Reach;
use super::source::{Detector, Given};
use super::trend::Trend;
use super::{
    Draws, Estimate, Face, Family, FitError, FitSettings, HoldOutScore, LeaveOneOut, MOST_READINGS,
    Raster, Sample, Shortcoming,
};
use crate::geometry::{Place, Point};
use crate::numeric::cholesky::Factor;
use crate::numeric::exponential::exp_minus;
use crate::numeric::random::Normals;
use crate::numeric::wide::wide;
use crate::progress::{Cancelled, Progress};

/// Positions below which no trend is tried.
const POSITIONS_FOR_TREND: usize = 4;
/// Nodes of a coarse lattice in lengths over which the field changes: for the field, for its uncertainty.
const FIELD_STEP: f64 = 0.08;
const UNCERTAINTY_STEP: f64 = 0.16;
/// Draws that are made at once.
const DRAWS_AT_ONCE: usize = 64;

/// A fitted field. Cheap to clone, never changes.
#[derive(Debug, Clone)]
pub struct Fitted {
    inner: Arc<Inner>,
}

#[derive(Debug)]
struct Inner {
    family: Family,
    model: Model,
    reach: Reach,
    scores: Vec<HoldOutScore>,
    leave_one_out: Vec<LeaveOneOut>,
    shortcomings: Vec<Shortcoming>,
    face: Option<Face>,
    /// The kriging that predicts best, where the field is another one.
    alone: Option<Box<LogKriging>>,
}

/// What makes the field. A further family is a further variant.
#[derive(Debug)]
enum Model {
    Blend(Blend),
    Kriging(Box<LogKriging>),
    InverseDistance(InverseDistance),
}

/// Makes a field from samples.
///
/// All families are tried and scored; with fewer than four positions, or where readings support no trend
/// beyond a constant, universal kriging is tried only if it is asked for.
///
/// # Errors
/// [`FitError`]; every number of samples from 1 to [`MOST_READINGS`] gives a field.
pub fn fit(
    settings: &FitSettings,
    samples: &[Sample],
    progress: &Progress,
) -> Result<Fitted, FitError> {
    check(samples)?;
    let resolution = if settings.resolution.is_finite() {
        settings.resolution.max(0.0)
    } else {
        0.0
    };
    let reach = Reach::of(samples);
    let groups = Groups::of(samples, &reach);
    let make = |family, trend| {
        log_kriging::make(
            family, trend, samples, &groups, &reach, resolution, progress,
        )
    };
    progress.set(0.05);
    let places: Vec<Place> = samples.iter().map(|s| s.at).collect();
    let trend = Trend::supported_by(&places, reach.positions.len());
    let asked = settings.family;
    let ordinary = make(Family::OrdinaryKriging, Trend::constant())?;
    progress.set(0.25);
    let with_trend = asked == Some(Family::UniversalKriging)
        || (groups.positions.len() >= POSITIONS_FOR_TREND && trend.is_more_than_constant());
    let universal = if with_trend {
        Some(make(Family::UniversalKriging, trend)?)
    } else {
        None
    };
    progress.set(0.45);
    let plain = InverseDistance::new(samples).ok_or(FitError::NoReadings)?;
    let plain_score = score_plain(&plain, samples, &groups.positions, progress)?;
    let face = settings.face.filter(|face| lights(face, samples));
    let aware = match face {
        Some(face) => {
            let given = Given {
                face,
                samples,
                groups: &groups,
                reach: &reach,
                detector: Detector {
                    resolution,
                    aperture: settings.aperture,
                    directional: settings.directional,
                },
                mirrors: settings.mirrors,
            };
            let kriged = [Some(&ordinary), universal.as_ref()];
            Blend::make(asked, &given, kriged.into_iter().flatten(), progress)?
        }
        None => None,
    };

    let scored = |made: &Made| made.judged.score(made.family, samples);
    let universal_score = universal.as_ref().and_then(scored);
    let mut scores: Vec<HoldOutScore> = [scored(&ordinary), universal_score, plain_score]
        .into_iter()
        .flatten()
        .collect();
    let density = |s: &HoldOutScore| s.log_density.unwrap_or(f64::NEG_INFINITY);
    let ranked = |a: &HoldOutScore, b: &HoldOutScore| {
        let by_density = density(b).total_cmp(&density(a));
        by_density.then(a.rms_percent.total_cmp(&b.rms_percent))
    };
    scores.sort_by(ranked);
    let best = scores
        .iter()
        .find(|s| s.log_density.is_some())
        .map(|s| s.family);
    let kriging_asked = asked.filter(|f| {
        use Family::{InverseDistance, OrdinaryKriging, UniversalKriging};
        matches!(f, OrdinaryKriging | UniversalKriging | InverseDistance)
    });
    let family = match (kriging_asked, &aware) {
        (Some(family), _) => family,
        (None, Some(_)) => asked.unwrap_or(Family::SourceAware),
        (None, None) => best.unwrap_or(Family::OrdinaryKriging),
    };
    scores
        .iter_mut()
        .for_each(|s| s.weight = f64::from(u8::from(s.family == family)));
    if let Some(aware) = &aware {
        let used = kriging_asked.is_none();
        for score in &mut scores {
            let shared = aware.shared.iter().find(|s| s.0 == score.family);
            score.weight = shared.map_or(score.weight, |s| if used { s.1 } else { 0.0 });
        }
        scores.extend(aware.scores.iter().map(|s| HoldOutScore {
            weight: if used { s.weight } else { 0.0 },
            ..*s
        }));
        scores.sort_by(ranked);
    }

    let mut shortcomings = reach.shortcomings(samples.len());
    let alone = aware.as_ref().filter(|_| kriging_asked.is_none()).map(|_| {
        let made = match &universal {
            Some(made) if best == Some(Family::UniversalKriging) => made,
            _ => &ordinary,
        };
        Box::new(made.field.clone())
    });
    let (model, leave_one_out) = match (kriging_asked, aware, family, universal) {
        (None, Some(made), ..) => (Model::Blend(made.blend), made.leave_one_out),
        (_, _, Family::InverseDistance, _) => {
            let one_by_one = leave_out_plain(&plain, samples, progress)?;
            (Model::InverseDistance(plain), one_by_one)
        }
        (_, _, family, universal) => {
            let Made {
                field,
                typical,
                judged,
                ..
            } = match (family, universal) {
                (Family::UniversalKriging, Some(made)) => made,
                _ => ordinary,
            };
            if typical {
                shortcomings.push(Shortcoming::TypicalParameters);
            }
            (Model::Kriging(Box::new(field)), judged.leave_one_out)
        }
    };
    progress.set(1.0);
    Ok(Fitted {
        inner: Arc::new(Inner {
            family,
            model,
            reach,
            scores,
            leave_one_out,
            shortcomings,
            face,
            alone,
        }),
    })
}

/// Replaces logarithms by their exponentials.
fn exponentials(logs: &mut [f64]) {
    wide(
        #[inline(always)]
        || logs.iter_mut().for_each(|e| *e = exp_minus(-bounded(*e))),
    );
}

fn check(samples: &[Sample]) -> Result<(), FitError> {
    if samples.is_empty() {
        return Err(FitError::NoReadings);
    }
    let sound = |s: &Sample| s.at.is_finite() && s.irradiance.is_finite() && s.irradiance > 0.0;
    if let Some(bad) = samples.iter().position(|s| !sound(s)) {
        return Err(FitError::BadSample(bad));
    }
    if samples.len() > MOST_READINGS {
        return Err(FitError::TooMany {
            readings: samples.len(),
            most: MOST_READINGS,
        });
    }
    Ok(())
}

/// Whether a face can be what light the readings: it is over them all, with an outline that has a size. A few
/// readings are needed beside what is known of lamps in general.
fn lights(face: &Face, samples: &[Sample]) -> bool {
    const FEWEST: usize = 3;
    const NEAREST: f64 = 1.0;
    samples.len() >= FEWEST
        && face.height.is_finite()
        && samples.iter().all(|s| face.height - s.at.height >= NEAREST)
        && face.outline.is_none_or(|outline| {
            let Point { x, y } = outline.centre;
            outline.shape.is_sound() && [x, y, outline.turn].iter().all(|v| v.is_finite())
        })
}

fn score_plain(
    plain: &InverseDistance,
    samples: &[Sample],
    positions: &[Vec<usize>],
    progress: &Progress,
) -> Result<Option<HoldOutScore>, FitError> {
    let mut predicted = Vec::with_capacity(samples.len());
    for position in positions {
        progress.check().map_err(|Cancelled| FitError::Cancelled)?;
        if let Some(values) = plain.without(samples, position) {
            predicted.extend(position.iter().copied().zip(values));
        }
    }
    Ok(score(Family::InverseDistance, samples, &predicted, None))
}

fn leave_out_plain(
    plain: &InverseDistance,
    samples: &[Sample],
    progress: &Progress,
) -> Result<Vec<LeaveOneOut>, FitError> {
    let mut out = Vec::with_capacity(samples.len());
    for (i, sample) in samples.iter().enumerate() {
        progress.check().map_err(|Cancelled| FitError::Cancelled)?;
        let predicted = plain.without(samples, &[i]);
        out.push(LeaveOneOut {
            predicted: predicted.map_or(sample.irradiance, |p| p[0]),
            standardised: None,
        });
    }
    Ok(out)
}

/// Draws with these numbers from expected logarithms and their covariance (lower triangle): the same number
/// gives the same draw. `None` when the covariance can't be factored.
pub(super) fn drawn(
    (means, covariance): (Vec<f64>, Mat<f64>),
    seed: u64,
    numbers: std::ops::Range<usize>,
    progress: &Progress,
) -> Result<Option<Vec<f64>>, Cancelled> {
    let m = means.len();
    let Ok(factor) = Factor::of(covariance.as_ref()) else {
        return Ok(None);
    };
    let mut lower = factor.lower().to_owned();
    for j in 1..m {
        lower.col_as_slice_mut(j)[..j].fill(0.0);
    }
    let mut values = Vec::with_capacity(m * numbers.len());
    let mut next = numbers.start;
    while next < numbers.end {
        progress.check()?;
        let count = DRAWS_AT_ONCE.min(numbers.end - next);
        let mut normals = Mat::<f64>::zeros(m, count);
        for d in 0..count {
            let mut stream = Normals::new(seed, (next + d) as u64);
            let column = normals.col_as_slice_mut(d);
            column.iter_mut().for_each(|z| *z = stream.draw());
        }
        let mut drawn = Mat::<f64>::zeros(m, count);
        matmul(
            drawn.as_mut(),
            Accum::Replace,
            lower.as_ref(),
            normals.as_ref(),
            1.0,
            Par::Seq,
        );
        for d in 0..count {
            let column = drawn.col_as_slice(d).iter().zip(&means);
            values.extend(column.map(|(z, mean)| bounded(mean + z).exp()));
        }
        next += count;
    }
    Ok(Some(values))
}

impl Fitted {
    /// The family that makes the field.
    pub fn family(&self) -> Family {
        self.inner.family
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
            match &self.inner.model {
                Model::Blend(field) => out.extend(field.estimates(block)),
                Model::Kriging(field) => out.extend(field.estimates(block)),
                Model::InverseDistance(field) => out.extend(block.iter().map(|&p| Estimate {
                    irradiance: field.at(p),
                    uncertainty: None,
                    extrapolated: false,
                })),
            }
        }
        Ok(out)
    }

    /// What the readings alone say, carried on smoothly and without any knowledge of the lamp: the better kriging.
    /// `None` where the field itself is that, or has no lamp.
    pub fn readings_alone(&self, places: &[Place]) -> Option<Vec<Estimate>> {
        let alone = self.inner.alone.as_ref()?;
        Some(
            places
                .chunks(BLOCK)
                .flat_map(|block| alone.estimates(block))
                .collect(),
        )
    }

    /// How far a point lies outside the convex hull of the positions, mm; 0 inside.
    pub fn beyond_positions(&self, point: Point) -> f64 {
        Hull::of(&self.inner.reach.positions).outside(point)
    }

    /// Whether bounds are widened beyond the outermost positions because light comes by way of mirrors, as told or
    /// as it looks from the readings.
    pub fn is_mirrored(&self) -> bool {
        matches!(&self.inner.model, Model::Blend(blend) if blend.is_mirrored())
    }

    /// How bright the lamp's face is inferred to be, relative to its mean (1): values in the raster's `irradiance`.
    /// `None` for a field that does not start from the lamp.
    pub fn brightness(&self) -> Option<Raster> {
        let Model::Blend(blend) = &self.inner.model else {
            return None;
        };
        Some(brightness::raster(
            &blend.brightness()?,
            self.inner.face.as_ref()?,
        ))
    }

    /// Only the irradiance at places, mW/cm²: much faster than [`at`](Self::at).
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn irradiance(&self, places: &[Place], progress: &Progress) -> Result<Vec<f64>, Cancelled> {
        let mut out = vec![0.0; places.len()];
        for (block, values) in places.chunks(BLOCK).zip(out.chunks_mut(BLOCK)) {
            progress.check()?;
            match &self.inner.model {
                Model::Blend(field) => field.medians(block, values),
                Model::Kriging(field) => field.medians(block, values),
                Model::InverseDistance(field) => {
                    for (value, &place) in values.iter_mut().zip(block) {
                        *value = field.at(place);
                    }
                }
            }
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
            let mut logs = self.each_on_lattice(&x.nodes, &y.nodes, height, progress)?;
            logs.iter_mut().for_each(|e| *e = e.ln());
            let mut out = fine::interpolate(&x, &y, &logs);
            exponentials(&mut out);
            return Ok(out);
        }
        self.each_on_lattice(xs, ys, height, progress)
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
        let smooth = match &self.inner.model {
            Model::Blend(field) => field.smooth_over(height),
            Model::Kriging(field) => field.smooth_over(),
            Model::InverseDistance(_) => return None,
        };
        Some((
            Axis::over(xs, step * smooth)?,
            Axis::over(ys, step * smooth)?,
        ))
    }

    fn each_on_lattice(
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
        let columns = match &self.inner.model {
            Model::Kriging(field) => field.columns(xs),
            Model::Blend(_) | Model::InverseDistance(_) => Vec::new(),
        };
        for (&y, row) in ys.iter().zip(out.chunks_mut(xs.len())) {
            progress.check()?;
            match &self.inner.model {
                Model::Kriging(field) => field.medians_of_row(&columns, xs, y, height, row),
                Model::Blend(field) => {
                    let places: Vec<Place> = xs.iter().map(|&x| Place::new(x, y, height)).collect();
                    field.medians(&places, row);
                }
                Model::InverseDistance(field) => {
                    for (value, &x) in row.iter_mut().zip(xs) {
                        *value = field.at(Place::new(x, y, height));
                    }
                }
            }
        }
        Ok(out)
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
        let values = match &self.inner.model {
            Model::InverseDistance(_) => None,
            Model::Kriging(field) => drawn(field.joint(places), seed, 0..n, progress)?,
            Model::Blend(field) => field.draws(places, seed, n, progress)?,
        };
        Ok(values.map(|values| Draws {
            places: places.len(),
            values,
        }))
    }

    /// Covariance of the logarithms at places (lower triangle); `None` for a family without.
    pub(super) fn log_covariance(&self, places: &[Place]) -> Option<Mat<f64>> {
        match &self.inner.model {
            Model::InverseDistance(_) => None,
            Model::Kriging(field) => Some(field.joint(places).1),
            Model::Blend(field) => Some(field.moments(places).1),
        }
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
        match &self.inner.model {
            Model::Kriging(field) => Some(field.noise),
            Model::Blend(field) => Some(field.noise()),
            Model::InverseDistance(_) => None,
        }
    }
}
