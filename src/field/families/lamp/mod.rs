//! The source-aware field: a prior on the lamp's brightness, pushed through the law of distance, is the
//! covariance of the field, so that rims, corners and heights where no detector can sit follow from
//! physics.
//!
//! Emitters stand on a lattice over face and readings. Their brightness is an even lamp plus cosines whose variances are the
//! spectral density of a Matern field (Solin & Särkkä 2020), pushed through a lobe to every place; a Matern term takes what
//! that misses, relative to the even lamp, beside the noise of reading, placement and height block. Parameters are found by
//! marginal likelihood with analytic gradients, with one outer round for gradients and aperture; their uncertainty is kept as
//! swings of the field along the axes of the curvature. A first look for parameters takes a part of the readings.

mod evidence;
mod glow;
mod lattice;
mod lobe;
mod ratio;
mod rows;
mod solved;

use faer::Mat;

use crate::field::equations::kernel::{Kernel, Scaled};
use crate::field::readings::{Amounts, Drifting, Groups, Reach, spread_part};
use crate::field::score::Judged;
use crate::field::score::hold_out::HoldOut;
use crate::field::{Estimate, Face, FitError, Sample, Scatter};
use crate::geometry::{Place, Point};
use crate::numeric::cholesky::Factor;
use crate::numeric::optimise::{Valley, minimise};
use crate::numeric::triangle::{add_gram, add_outer_gram};
use crate::progress::{Cancelled, Progress};
use evidence::{Belief, Evidence, NOISE, beliefs, missed_over};
use glow::{DARKEST, Glow};
pub(in crate::field) use lattice::Extent;
use lattice::{Lattice, dot};
pub(in crate::field) use lobe::Lobe;
pub(in crate::field) use ratio::Ratios;
pub(in crate::field) use rows::Detector;
use rows::Rows;
pub use rows::SPACER_BLOCK;
use solved::{Parts, Solved};

/// Readings above which parameters are found from a part of them, and about how many of them.
const MOST_FOR_PARAMETERS: usize = 260;
const PART: usize = 200;
/// The same for the first look, which only has to find the valley.
const MOST_FOR_FIRST: usize = 100;
const FIRST_PART: usize = 75;
/// Least factor on variances: on simulated lamps whose lobes are none of these the bounds hold as often as they
/// say with it (the study in `tests/bench`, its tuning set).
const LEAST_INFLATION: f64 = 1.6;
const MOST_INFLATION: f64 = 25.0;
/// By more than this factor a field is not taken to change with a parameter: where hardly any light is expected a part of it
/// is no measure.
const MOST_SWING: f64 = 3.0;

/// A fitted field of one lobe family.
#[derive(Debug, Clone)]
pub(in crate::field) struct SourceField {
    /// At the best parameters.
    best: Solved,
    /// Those, and where its emitters stand.
    at: Vec<f64>,
    extent: Extent,
    /// Fields one standard deviation of the parameters away, one for each axis of their uncertainty.
    aside: Vec<Glow>,
    /// Factor on all variances: more than 1 where held-out readings were missed by more than was claimed.
    pub inflation: f64,
    /// Relative standard deviation of a reading about the field.
    pub noise: f64,
    /// What the readings say of the drift over the round, where it is looked for.
    pub drift: Option<Amounts>,
}

/// A field with what its making found.
pub(in crate::field) struct Made {
    pub field: SourceField,
    pub judged: Judged,
}

/// What a field is made from.
#[derive(Clone, Copy)]
pub(in crate::field) struct Given<'a> {
    pub face: &'a Face,
    pub samples: &'a [Sample],
    pub groups: &'a Groups,
    pub reach: &'a Reach,
    pub detector: Detector,
    pub drift: Option<&'a Drifting>,
    pub scatter: Option<Scatter>,
}

/// Brightness of emitters on a regular grid, row after row.
#[derive(Debug, Clone)]
pub(in crate::field) struct EmitterGrid {
    pub columns: usize,
    pub rows: usize,
    /// The first emitter and the last one.
    pub corners: (Point, Point),
    /// Relative to the mean over the face.
    pub values: Vec<f64>,
}

/// Makes the field of one lobe family; `near` is one of the same family, of nearly the same readings, whose parameters are
/// begun from.
pub(in crate::field) fn make(
    lobe: Lobe,
    extent: Extent,
    given: &Given<'_>,
    near: Option<&SourceField>,
    progress: &Progress,
) -> Result<Made, FitError> {
    let Given {
        face,
        samples,
        groups,
        reach,
        detector,
        drift,
        scatter,
    } = *given;
    let stopped = |Cancelled| FitError::Cancelled;
    let places: Vec<Place> = samples.iter().map(|s| s.at).collect();
    let lattice = std::sync::Arc::new(Lattice::new(face, extent, &places));
    let beliefs = beliefs(lobe, missed_over(&places), scatter);
    let mut rows = Rows::new(samples, reach, &detector, drift);
    let part = |most: usize, wanted: usize| -> Vec<usize> {
        if samples.len() > most {
            spread_part(&places, reach, wanted)
        } else {
            (0..samples.len()).collect()
        }
    };
    let find = |rows: &Rows, part: &[usize], start: Option<&[f64]>, enough: f64| {
        let kept = rows.part(part);
        let evidence = Evidence::of(lobe, &lattice, &beliefs, &kept);
        climb(&evidence, start, enough, progress)
    };
    let solve = |rows: &Rows, at: &[f64]| {
        let evidence = Evidence::of(lobe, &lattice, &beliefs, rows);
        Solved::of(&evidence, std::sync::Arc::clone(&lattice), at).ok_or(FitError::Singular)
    };
    // What a placement error costs depends on the field: a first field tells, a second uses it.
    let start = match near {
        Some(near) => {
            rows.refer(&near.best.glow, samples, &detector);
            near.at.clone()
        }
        None => {
            let few = part(MOST_FOR_FIRST, FIRST_PART);
            let first = find(&rows, &few, None, 0.05)
                .map_err(stopped)?
                .ok_or(FitError::Singular)?;
            let glow = solve(&rows, &first.at)?.glow;
            rows.refer(&glow, samples, &detector);
            first.at
        }
    };
    let part = part(MOST_FOR_PARAMETERS, PART);
    let valley = find(&rows, &part, Some(&start), 1e-2)
        .map_err(stopped)?
        .ok_or(FitError::Singular)?;
    progress.check().map_err(stopped)?;
    let best = solve(&rows, &valley.at)?;

    let kept = rows.part(&part);
    let evidence = Evidence::of(lobe, &lattice, &beliefs, &kept);
    let aside = around(&evidence, &lattice, &valley, progress).map_err(stopped)?;
    // A left-out reading is as far off, relative to it, as its row is relative to the field.
    let predict =
        |i: usize, error: f64| samples[i].irradiance * (rows.values[i] - error) / rows.values[i];
    let judged = HoldOut::new(&best.system, 1.0)
        .judge(samples, groups, predict, |i| rows.values[i].ln(), progress)
        .map_err(stopped)?;
    let noise = valley.at[lobe.shape_len() + NOISE].exp();
    let inflation = inflation(judged.excess);
    let drift = drift.map(|drift| {
        let mut amounts = Amounts::of(&drift.columns, &best.system);
        amounts.covariance *= faer::Scale(inflation);
        amounts
    });
    Ok(Made {
        field: SourceField {
            drift,
            best,
            at: valley.at,
            extent,
            aside,
            inflation,
            noise,
        },
        judged,
    })
}

/// The factor on variances; the greatest where what was left out is missed by more than numbers can say.
fn inflation(excess: f64) -> f64 {
    if excess.is_nan() {
        return MOST_INFLATION;
    }
    excess.clamp(LEAST_INFLATION, MOST_INFLATION)
}

/// Climbs from the best of several starts, or from the one given.
fn climb(
    evidence: &Evidence<'_>,
    start: Option<&[f64]>,
    enough: f64,
    progress: &Progress,
) -> Result<Option<Valley>, Cancelled> {
    let low: Vec<f64> = evidence.beliefs.iter().map(|b| b.low).collect();
    let high: Vec<f64> = evidence.beliefs.iter().map(|b| b.high).collect();
    let start = match start {
        Some(start) => start.to_vec(),
        None => {
            let centre: Vec<f64> = evidence.beliefs.iter().map(|b| b.centre).collect();
            let narrow: &[&[(usize, f64)]] = match evidence.lobe {
                Lobe::Round => &[&[(0, 0.0)], &[(0, 1.4)], &[(0, 2.7)]],
                Lobe::Leaning => &[
                    &[(0, -2.3), (1, -2.3)],
                    &[(0, 0.7), (1, 0.7), (2, 0.5), (3, 0.5)],
                    &[(0, 0.7), (1, -2.3), (2, 0.5)],
                    &[(0, -2.3), (1, 0.7), (3, 0.5)],
                ],
            };
            let mut best: Option<(f64, Vec<f64>)> = None;
            for changes in narrow {
                for length in [2.9, 4.2] {
                    progress.check()?;
                    let mut at = centre.clone();
                    changes.iter().for_each(|&(i, x)| at[i] = x);
                    at[evidence.lobe.shape_len()] = length;
                    if let Some(loss) = evidence.loss(&at)
                        && best.as_ref().is_none_or(|b| loss < b.0)
                    {
                        best = Some((loss, at));
                    }
                }
            }
            match best {
                Some((_, at)) => at,
                None => return Ok(None),
            }
        }
    };
    minimise(
        |at| evidence.local(at),
        &start,
        &low,
        &high,
        enough,
        progress,
    )
}

/// Fields at parameters one standard deviation from the best along each axis of their uncertainty
/// (the directions whiten the curvature of the loss).
fn around(
    evidence: &Evidence<'_>,
    lattice: &std::sync::Arc<Lattice>,
    valley: &Valley,
    progress: &Progress,
) -> Result<Vec<Glow>, Cancelled> {
    let q = valley.at.len();
    let Ok(factor) = Factor::of(valley.curvature.as_ref()) else {
        return Ok(Vec::new());
    };
    let mut directions = Mat::<f64>::identity(q, q);
    factor.unwhiten(directions.as_mut());
    let mut out = Vec::new();
    for j in 0..q {
        progress.check()?;
        let at: Vec<f64> = valley
            .at
            .iter()
            .zip(evidence.beliefs)
            .enumerate()
            .map(|(i, (x, b)): (usize, (&f64, &Belief))| {
                (x + directions[(i, j)]).clamp(b.low, b.high)
            })
            .collect();
        if let Some((assembled, system)) = evidence.solve(&at) {
            out.push(Glow::of(evidence, lattice, &at, &assembled, &system));
        }
    }
    Ok(out)
}

impl SourceField {
    /// Whether it is of that family.
    pub fn is_of(&self, lobe: Lobe, extent: Extent) -> bool {
        self.best.glow.lobe == lobe && self.extent == extent
    }

    /// Relative changes of the field along each axis of the parameters' uncertainty, one vector an axis.
    fn swings(&self, places: &[Place], means: &[f64]) -> Vec<Vec<f64>> {
        self.aside
            .iter()
            .map(|glow| {
                let mut swing = vec![0.0; places.len()];
                glow.means(places, &mut swing);
                for (s, mean) in swing.iter_mut().zip(means) {
                    *s = ((*s - mean) / self.floored(*mean)).clamp(-MOST_SWING, MOST_SWING);
                }
                swing
            })
            .collect()
    }

    /// How bright the emitters are.
    pub fn brightness(&self) -> EmitterGrid {
        let glow = &self.best.glow;
        let lattice = &glow.lattice;
        let weights = glow.emitters.iter().zip(&lattice.mask);
        // Without the soft edge that an even lamp is given; the mean over where that would shine.
        let bright: Vec<f64> = weights.clone().map(|(w, mask)| w / mask).collect();
        let on_face = bright
            .iter()
            .zip(&lattice.mask)
            .filter(|(_, mask)| **mask > 0.5);
        let (sum, count) = on_face.fold((0.0, 0.0), |(s, n), (b, _)| (s + b, n + 1.0));
        let values = bright.iter().map(|b| b * count / sum).collect();
        EmitterGrid {
            columns: lattice.nx,
            rows: lattice.ny,
            corners: lattice.corners(),
            values,
        }
    }

    /// The field and its standard uncertainty at places.
    pub fn estimates(&self, places: &[Place]) -> Vec<Estimate> {
        let Parts {
            means,
            evens,
            own,
            explained,
        } = self.best.parts(places);
        let swings = self.swings(places, &means);
        (0..places.len())
            .map(|j| {
                let square = |m: &Mat<f64>| dot(m.col_as_slice(j), m.col_as_slice(j));
                let kept = (square(&own) + self.best.missed * evens[j] * evens[j]
                    - square(&explained))
                .max(0.0);
                let swung: f64 = swings.iter().map(|s| s[j] * s[j]).sum();
                let irradiance = self.floored(means[j]);
                Estimate {
                    irradiance,
                    uncertainty: Some(irradiance * (self.inflation * (kept + swung)).sqrt()),
                    extrapolated: false,
                }
            })
            .collect()
    }

    /// The length over which the field changes at a height, mm: how far away the light comes from, less for a
    /// narrow lobe.
    pub fn smooth_over(&self, height: f64) -> f64 {
        let glow = &self.best.glow;
        let away = (glow.lattice.face - height).max(0.5);
        glow.lobe.width(&glow.shape) * away
    }

    /// Mean logarithm of the cosine of the angle of incidence of the light at places.
    pub fn log_cosines(&self, places: &[Place]) -> Vec<f64> {
        rows::log_cosines(&self.best.glow, places)
    }

    fn floored(&self, mean: f64) -> f64 {
        mean.max(DARKEST * self.best.brightness)
            .max(f64::MIN_POSITIVE)
    }

    /// The expected field at places, mW/cm².
    pub fn medians(&self, places: &[Place], out: &mut [f64]) {
        self.best.glow.means(places, out);
        out.iter_mut().for_each(|e| *e = self.floored(*e));
    }

    /// Expected logarithms at places and their covariance (lower triangle).
    pub fn joint(&self, places: &[Place]) -> (Vec<f64>, Mat<f64>) {
        let m = places.len();
        let Parts {
            means,
            evens,
            own,
            explained,
        } = self.best.parts(places);
        let mut c = Mat::<f64>::zeros(m, m);
        add_gram(&mut c, own.as_ref(), 1.0);
        add_gram(&mut c, explained.as_ref(), -1.0);
        let swings = self.swings(places, &means);
        let swings = Mat::from_fn(m, swings.len(), |i, k| swings[k][i]);
        add_outer_gram(&mut c, swings.as_ref(), 1.0);
        let scaled = Scaled::of(places, [self.best.glow.missed_over; 3]);
        let mut near = vec![0.0; m];
        for j in 0..m {
            let near = &mut near[j..];
            scaled.squared_below(j, near);
            Kernel::Matern52.correlate(near);
            let missed = self.best.missed * evens[j];
            let column = c.col_as_slice_mut(j)[j..].iter_mut();
            for ((c, r), even) in column.zip(near).zip(&evens[j..]) {
                *c = self.inflation * (*c + missed * even * *r);
            }
        }
        let logs = means.iter().map(|m| self.floored(*m).ln()).collect();
        (logs, c)
    }
}
