//! The source-aware field: a prior on the lamp's brightness, pushed through the law of distance, is the
//! covariance of the field, so that rims, corners and heights where no detector can sit follow from
//! physics.

mod evidence;
mod lattice;
mod lobe;
mod rows;

use faer::linalg::matmul::matmul;
use faer::{Accum, Mat, Par};

use super::hold_out::{Groups, HoldOut, Judged};
use super::kernel::{Kernel, Scaled};
use super::reach::Reach;
use super::system::System;
use super::{Estimate, Face, FitError, Sample};
use crate::geometry::{Place, Point};
use crate::numeric::cholesky::Factor;
use crate::numeric::optimise::{Valley, minimise};
use crate::progress::{Cancelled, Progress};
use evidence::{Belief, Evidence, MISSED, MISSED_OVER, NOISE, beliefs, missed_over, weights};
pub(super) use lattice::Extent;
use lattice::{Lattice, dot};
pub(super) use lobe::Lobe;
pub(super) use rows::Detector;
use rows::Rows;

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
/// Where no light is expected at all a field is still this part of what is read.
const DARKEST: f64 = 1e-6;

/// A fitted field of one lobe family.
#[derive(Debug, Clone)]
pub(super) struct SourceField {
    /// At the best parameters.
    best: Solved,
    /// Fields one standard deviation of the parameters away, one for each axis of their uncertainty.
    aside: Vec<Glow>,
    /// Factor on all variances: more than 1 where held-out readings were missed by more than was claimed.
    pub inflation: f64,
    /// Relative standard deviation of a reading about the field.
    pub noise: f64,
}

/// A field's expected values: brightness of the emitters and what the law of light misses.
#[derive(Debug, Clone)]
struct Glow {
    lattice: std::sync::Arc<Lattice>,
    lobe: Lobe,
    shape: Vec<f64>,
    /// mW/cm² per unit reach.
    emitters: Vec<f64>,
    /// The same of the first guess of an even lamp.
    even: Vec<f64>,
    /// Of an arc, likewise.
    arc: f64,
    /// Over which what the law of light misses is alike, mm.
    missed_over: f64,
    read: Scaled,
    /// Pull of each reading on the misfit relative to the even lamp.
    misfit: Vec<f64>,
}

/// A field with everything its variance needs.
#[derive(Debug, Clone)]
struct Solved {
    glow: Glow,
    roots: Vec<f64>,
    brightness: f64,
    /// Variance of the relative misfit.
    missed: f64,
    features: Mat<f64>,
    /// What the first guess of an even lamp gives at each reading, relative.
    even: Vec<f64>,
    system: System,
}

/// A field with what its making found.
pub(super) struct Made {
    pub field: SourceField,
    pub judged: Judged,
}

/// What a field is made from.
#[derive(Clone, Copy)]
pub(super) struct Given<'a> {
    pub face: &'a Face,
    pub samples: &'a [Sample],
    pub groups: &'a Groups,
    pub reach: &'a Reach,
    pub detector: Detector,
    /// Whether light comes by way of mirrors, where known.
    pub mirrors: Option<bool>,
}

/// Brightness of emitters on a regular grid, row after row.
#[derive(Debug, Clone)]
pub(super) struct EmitterGrid {
    pub columns: usize,
    pub rows: usize,
    /// The first emitter and the last one.
    pub corners: (Point, Point),
    /// Relative to the mean over the face.
    pub values: Vec<f64>,
}

/// Makes the field of one lobe family.
pub(super) fn make(
    lobe: Lobe,
    extent: Extent,
    given: &Given<'_>,
    progress: &Progress,
) -> Result<Made, FitError> {
    let Given {
        face,
        samples,
        groups,
        reach,
        detector,
        ..
    } = *given;
    let stopped = |Cancelled| FitError::Cancelled;
    let places: Vec<Place> = samples.iter().map(|s| s.at).collect();
    let lattice = std::sync::Arc::new(Lattice::new(face, extent, &places));
    let beliefs = beliefs(lobe, missed_over(&places));
    let mut rows = Rows::new(samples, reach, &detector);
    let part = |most: usize, wanted: usize| -> Vec<usize> {
        if samples.len() > most {
            super::log_kriging::spread_part(&places, reach, wanted)
        } else {
            (0..samples.len()).collect()
        }
    };
    let find = |rows: &Rows, part: &[usize], start: Option<&[f64]>, enough: f64| {
        let kept = rows.part(part);
        let evidence = Evidence::of(lobe, &lattice, &beliefs, &kept);
        climb(&evidence, start, enough, progress)
    };
    // What a placement error costs depends on the field: a first field tells, a second uses it.
    let few = part(MOST_FOR_FIRST, FIRST_PART);
    let first = find(&rows, &few, None, 0.05)
        .map_err(stopped)?
        .ok_or(FitError::Singular)?;
    let solve = |rows: &Rows, at: &[f64]| {
        let evidence = Evidence::of(lobe, &lattice, &beliefs, rows);
        Solved::of(&evidence, std::sync::Arc::clone(&lattice), at).ok_or(FitError::Singular)
    };
    let glow = solve(&rows, &first.at)?.glow;
    rows.refer(&glow, samples, &detector);
    let part = part(MOST_FOR_PARAMETERS, PART);
    let valley = find(&rows, &part, Some(&first.at), 1e-2)
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
    Ok(Made {
        field: SourceField {
            best,
            aside,
            inflation: judged.excess.clamp(LEAST_INFLATION, MOST_INFLATION),
            noise,
        },
        judged,
    })
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

impl Glow {
    fn of(
        evidence: &Evidence<'_>,
        lattice: &std::sync::Arc<Lattice>,
        at: &[f64],
        assembled: &evidence::Assembled,
        system: &System,
    ) -> Self {
        let (shape, common) = evidence.shape(at);
        let (roots, _) = weights(lattice, evidence.lobe, common);
        let mut coefficients: Vec<f64> = roots
            .iter()
            .enumerate()
            .map(|(k, root)| {
                root * assembled.brightness * dot(assembled.features.col_as_slice(k), &system.pull)
            })
            .collect();
        let mut even = vec![0.0; coefficients.len()];
        even[0] = assembled.brightness;
        coefficients[0] += assembled.brightness;
        let missed_over = common[MISSED_OVER].exp();
        let variance = (2.0 * common[MISSED]).exp();
        Self {
            lattice: std::sync::Arc::clone(lattice),
            lobe: evidence.lobe,
            shape: shape.to_vec(),
            emitters: lattice.brightness(&coefficients),
            read: Scaled::of(&evidence.rows.places, [missed_over; 3]),
            missed_over,
            arc: coefficients
                .get(1 + lattice.patterns_len())
                .copied()
                .unwrap_or(0.0),
            even: lattice.brightness(&even),
            misfit: system
                .pull
                .iter()
                .zip(&assembled.even)
                .map(|(p, e)| variance * p * e)
                .collect(),
        }
    }

    /// What the emitters and what an even lamp give at a place, mW/cm².
    fn light(&self, at: Place, reach: &mut Vec<f64>) -> (f64, f64) {
        reach.resize(self.emitters.len(), 0.0);
        let distance = self.lattice.distance(at);
        self.lobe.reach(
            &self.shape,
            &self.lattice.points,
            (at.x, at.y),
            distance,
            reach,
        );
        let arc = self.lattice.arc(self.lobe, &self.shape, at);
        let straight = arc.map_or(0.0, |(gives, _)| self.arc * gives);
        (
            dot(reach, &self.emitters) + straight,
            dot(reach, &self.even),
        )
    }

    /// The expected field at places, mW/cm².
    fn means(&self, places: &[Place], out: &mut [f64]) {
        let mut reach = Vec::new();
        let targets = Scaled::of(places, [self.missed_over; 3]);
        let mut near = vec![0.0; self.misfit.len()];
        for (j, (&place, e)) in places.iter().zip(out.iter_mut()).enumerate() {
            self.read.squared_from(&targets, j, &mut near);
            Kernel::Matern52.correlate(&mut near);
            let (light, even) = self.light(place, &mut reach);
            *e = light + even * dot(&near, &self.misfit);
        }
    }

    /// Mean of a function of the square of the tangent of the angle of incidence over the light that emitters send to a
    /// place.
    fn over_light(&self, at: Place, reach: &mut Vec<f64>, of: &dyn Fn(f64) -> f64) -> f64 {
        self.light(at, reach);
        let depth = self.lattice.distance(at) + self.lobe.depth(&self.shape);
        let points = &self.lattice.points;
        let (mut sum, mut total) = (0.0, 0.0);
        for (i, (reaches, emitter)) in reach.iter().zip(&self.emitters).enumerate() {
            // an emitter that is inferred to be a little less than dark sends nothing
            let light = (reaches * emitter).max(0.0);
            let (dx, dy) = (at.x - points.x[i], at.y - points.y[i]);
            sum += light * of((dx * dx + dy * dy) / (depth * depth));
            total += light;
        }
        if total > 0.0 { sum / total } else { of(0.0) }
    }
}

impl Solved {
    fn of(evidence: &Evidence<'_>, lattice: std::sync::Arc<Lattice>, at: &[f64]) -> Option<Self> {
        let (assembled, system) = evidence.solve(at)?;
        let (_, common) = evidence.shape(at);
        let (roots, _) = weights(&lattice, evidence.lobe, common);
        Some(Self {
            glow: Glow::of(evidence, &lattice, at, &assembled, &system),
            roots,
            brightness: assembled.brightness,
            missed: (2.0 * common[MISSED]).exp(),
            features: assembled.features,
            even: assembled.even,
            system,
        })
    }

    fn parts(&self, places: &[Place]) -> Parts {
        let (n, m, width) = (self.features.nrows(), places.len(), self.roots.len());
        let mut own = Mat::<f64>::zeros(width, m);
        let mut explained = Mat::<f64>::zeros(n, m);
        let (mut means, mut evens) = (vec![0.0; m], vec![0.0; m]);
        let mut reach = Vec::new();
        let targets = Scaled::of(places, [self.glow.missed_over; 3]);
        for (j, &place) in places.iter().enumerate() {
            let (light, even) = self.glow.light(place, &mut reach);
            let near = explained.col_as_slice_mut(j);
            self.glow.read.squared_from(&targets, j, near);
            Kernel::Matern52.correlate(near);
            means[j] = light + even * dot(near, &self.glow.misfit);
            let mean = means[j].abs().max(f64::MIN_POSITIVE);
            evens[j] = even / mean;
            for (r, e) in near.iter_mut().zip(&self.even) {
                *r *= self.missed * e * evens[j];
            }
        }
        let mut raw = vec![0.0; m * width];
        let glow = &self.glow;
        glow.lattice
            .features(glow.lobe, &glow.shape, (places, 0.0), &mut raw, &mut []);
        for (j, (raw, mean)) in raw.chunks_exact(width).zip(&means).enumerate() {
            let per = self.brightness / mean.abs().max(f64::MIN_POSITIVE);
            let own = own.col_as_slice_mut(j);
            for ((f, raw), root) in own.iter_mut().zip(raw).zip(&self.roots) {
                *f = raw * root * per;
            }
        }
        matmul(
            explained.as_mut(),
            Accum::Add,
            self.features.as_ref(),
            own.as_ref(),
            1.0,
            Par::Seq,
        );
        self.system.factor.whiten(explained.as_mut());
        Parts {
            means,
            evens,
            own,
            explained,
        }
    }
}

/// What a field is made of at places.
struct Parts {
    /// mW/cm².
    means: Vec<f64>,
    /// What the first guess of an even lamp gives, relative to the mean.
    evens: Vec<f64>,
    /// Prior features relative to the mean, a column a place.
    own: Mat<f64>,
    /// What the readings explain, likewise.
    explained: Mat<f64>,
}

impl SourceField {
    /// Relative changes of the field along each axis of the parameters' uncertainty, one vector an axis.
    fn swings(&self, places: &[Place], means: &[f64]) -> Vec<Vec<f64>> {
        self.aside
            .iter()
            .map(|glow| {
                let mut swing = vec![0.0; places.len()];
                glow.means(places, &mut swing);
                for (s, mean) in swing.iter_mut().zip(means) {
                    *s = (*s - mean) / mean.max(f64::MIN_POSITIVE);
                }
                swing
            })
            .collect()
    }

    /// Standard deviation of what the law of light misses, as a part of what an even lamp gives.
    pub fn missed(&self) -> f64 {
        self.best.missed.sqrt()
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
        let mut c = own.transpose() * &own;
        c -= explained.transpose() * &explained;
        let scaled = Scaled::of(places, [self.best.glow.missed_over; 3]);
        let mut near = vec![0.0; m];
        let swings = self.swings(places, &means);
        for j in 0..m {
            scaled.squared_from(&scaled, j, &mut near);
            Kernel::Matern52.correlate(&mut near);
            for (i, (c, r)) in c.col_as_slice_mut(j).iter_mut().zip(&near).enumerate() {
                let swung: f64 = swings.iter().map(|s| s[i] * s[j]).sum();
                *c = self.inflation * (*c + self.best.missed * evens[i] * evens[j] * r + swung);
            }
        }
        let logs = means.iter().map(|m| self.floored(*m).ln()).collect();
        (logs, c)
    }
}
