//! Kriging of the logarithm of irradiance: light falls off by factors, and noise is a part of the
//! reading.

use faer::Mat;

use super::likelihood::{Axis, Evidence, Parameters, Prior, Unknowns};
use super::linear::Kriging;
use crate::field::equations::kernel::Covariance;
use crate::field::equations::trend::Trend;
use crate::field::readings::{Amounts, Ground, Reach, spread_part};
use crate::field::score::Judged;
use crate::field::score::hold_out::HoldOut;
use crate::field::{Estimate, Family, FitError, Scatter};
use crate::geometry::{Bounds, Place};
use crate::numeric::exponential::{bounded, exp_minus};
use crate::numeric::neighbours::median_spacing;
use crate::numeric::wide::wide;
use crate::progress::{Cancelled, Progress};

/// Readings above which parameters are found from a part of them.
const MOST_FOR_PARAMETERS: usize = 400;
/// How many of them, about.
const PART: usize = 250;
/// The same of means of many readings, which tell more.
const MEANS: usize = 150;
/// Where one height was read: irradiance gains this part per mm upwards, towards the source. Half to one
/// and a half percent per mm is what flood lamps 60 to 150 mm away do (from memory; a 200 x 120 mm Lambertian
/// face 90 mm away: 1.1 % in the middle, 0.2 % beyond its corner).
const DECAY: f64 = 0.008;
/// Standard deviation of that.
const DECAY_SPREAD: f64 = 0.005;

/// A field of log irradiance.
#[derive(Debug, Clone)]
pub(in crate::field) struct LogKriging {
    kriging: Kriging,
    /// Relative standard deviation of a reading about the field.
    pub noise: f64,
    /// The only height that was read, if so.
    only_height: Option<f64>,
    /// What the readings say of the drift over the round, where it is looked for.
    pub drift: Option<Amounts>,
}

/// A field with what its making found.
pub(in crate::field) struct Made {
    pub field: LogKriging,
    /// Readings told too little of scale and noise.
    pub typical: bool,
    pub family: Family,
    pub judged: Judged,
}

/// Makes the field of a kriging family.
pub(in crate::field) fn make(
    family: Family,
    trend: Trend,
    ground: &Ground,
    scatter: Option<Scatter>,
    progress: &Progress,
) -> Result<Made, FitError> {
    let (samples, reach) = (&ground.samples[..], &ground.reach);
    let floor = &ground.floor[..];
    let places: Vec<Place> = samples.iter().map(|s| s.at).collect();
    let mut logs: Vec<f64> = samples.iter().map(|s| s.irradiance.ln()).collect();
    let drift = ground.drift.as_ref();
    if let Some(drift) = drift {
        // it is found again together with the field
        logs.iter_mut().zip(&drift.taken).for_each(|(l, d)| *l += d);
    }
    let (parameters, typical) = parameters(ground, &trend, scatter, &places, &logs, progress)?;
    progress.check().map_err(|Cancelled| FitError::Cancelled)?;
    let noise: Vec<f64> = floor
        .iter()
        .map(|f| f + parameters.noise * parameters.noise)
        .collect();
    let shared = drift.map(|d| &d.columns);
    let krige = |covariance: Covariance, trend: Trend, noise: &[f64]| {
        Kriging::with_shared(covariance, trend, &places, &logs, noise, shared)
            .map_err(|_| FitError::Singular)
    };
    let kriging = krige(parameters.covariance, trend.clone(), &noise)?;
    let predict = |i: usize, error: f64| samples[i].irradiance * bounded(-error).exp();
    let judged = HoldOut::of(&kriging)
        .judge(samples, &ground.groups, predict, |_| 0.0, progress)
        .map_err(|Cancelled| FitError::Cancelled)?;
    let kriging = if ground.scatter.is_some() && judged.excess > 1.0 {
        // Cells next to each other hide what a field of this kind misses; left-out ones and the outer ring show it.
        let excess = judged.excess;
        let covariance = Covariance {
            sill: excess * parameters.covariance.sill,
            ..parameters.covariance
        };
        let noise: Vec<f64> = noise.iter().map(|v| excess * v).collect();
        krige(covariance, trend, &noise)?
    } else {
        kriging
    };
    Ok(Made {
        field: LogKriging {
            drift: shared.map(|shared| kriging.amounts(shared)),
            kriging,
            noise: parameters.noise.hypot(ground.scatter.unwrap_or(0.0)),
            only_height: (reach.heights.len() == 1).then(|| reach.heights[0]),
        },
        typical,
        family,
        judged,
    })
}

/// Typical values and bounds from how far apart the readings are.
fn unknowns(reach: &Reach, of_means: bool, scatter: Option<Scatter>) -> Unknowns {
    /// A field of a flood lamp changes over tens of millimetres, however near the positions are.
    const LEAST_EXTENT: f64 = 40.0;
    const LEAST_SPAN: f64 = 20.0;
    /// Where all readings have one height, lengths along it are typical, mm.
    const TYPICAL_HEIGHT_LENGTH: f64 = 100.0;
    let bounds = Bounds::around(reach.positions.iter().copied());
    let (width, depth) = bounds.map_or((0.0, 0.0), |b| (b.width(), b.depth()));
    let extent = width.hypot(depth).max(LEAST_EXTENT);
    let spacing = median_spacing(&reach.positions).unwrap_or(LEAST_EXTENT);
    let across = Prior {
        typical: 0.8 * extent,
        spread: 0.8,
        low: 0.3 * spacing.min(extent),
        high: 3.0 * extent,
    };
    let mut lengths = vec![across];
    let mut axes = [Axis::Found(0); 3];
    if reach.positions.len() >= 9 && width > 0.0 && depth > 0.0 {
        axes[1] = Axis::Found(lengths.len());
        lengths.push(across);
    }
    axes[2] = if reach.heights.len() > 1 {
        let span = reach.span().max(LEAST_SPAN);
        lengths.push(Prior {
            typical: 3.0 * span,
            spread: 0.8,
            low: 0.5 * span,
            high: 12.0 * span,
        });
        Axis::Found(lengths.len() - 1)
    } else {
        Axis::Typical(TYPICAL_HEIGHT_LENGTH)
    };
    Unknowns {
        amplitude: Prior {
            typical: 0.3,
            spread: 1.0,
            low: 0.01,
            high: 5.0,
        },
        // Of means the scatter of readings is known: what is left is what cells miss.
        noise: if of_means {
            Prior {
                typical: 0.002,
                spread: 1.0,
                low: 0.000_3,
                high: 0.3,
            }
        } else {
            Prior {
                typical: 0.012,
                spread: 0.5,
                low: 0.001,
                high: 0.3,
            }
            .found(scatter.map(|found| found.noise))
        },
        lengths,
        axes,
    }
}

/// The parameters, and whether typical ones had to be taken.
fn parameters(
    ground: &Ground,
    trend: &Trend,
    scatter: Option<Scatter>,
    places: &[Place],
    logs: &[f64],
    progress: &Progress,
) -> Result<(Parameters, bool), FitError> {
    let (reach, floor) = (&ground.reach, &ground.floor[..]);
    let of_means = ground.scatter.is_some();
    let shared = ground.drift.as_ref().map(|d| &d.columns);
    let unknowns = &unknowns(reach, of_means, scatter);
    if places.len() < trend.terms() + 2 {
        return Ok((unknowns.typical(), true));
    }
    let (most, wanted) = if of_means {
        (MEANS, MEANS)
    } else {
        (MOST_FOR_PARAMETERS, PART)
    };
    let best = if places.len() > most {
        let part = spread_part(places, reach, wanted);
        let pick = |from: &[f64]| part.iter().map(|&i| from[i]).collect::<Vec<_>>();
        let kept: Vec<Place> = part.iter().map(|&i| places[i]).collect();
        let (logs, floor) = (pick(logs), pick(floor));
        let rows = |columns: &Mat<f64>| {
            Mat::from_fn(part.len(), columns.ncols(), |i, j| columns[(part[i], j)])
        };
        Evidence::new(unknowns, trend, &kept, &logs, &floor)
            .sharing(shared.map(rows))
            .best(progress)
    } else {
        Evidence::new(unknowns, trend, places, logs, floor)
            .sharing(shared.cloned())
            .best(progress)
    };
    let best = best.map_err(|Cancelled| FitError::Cancelled)?;
    Ok(match best {
        Some(found) => (found, false),
        None => (unknowns.typical(), true),
    })
}

impl LogKriging {
    /// What is added to the logarithm at a height, and the standard deviation of that.
    fn decay(&self, height: f64) -> (f64, f64) {
        self.only_height.map_or((0.0, 0.0), |read| {
            let up = height - read;
            (DECAY * up, DECAY_SPREAD * up)
        })
    }

    /// The length over which the field changes along x or y, mm.
    pub fn smooth_over(&self) -> f64 {
        let [x, y, _] = self.kriging.lengths();
        x.min(y)
    }

    /// The median and its standard uncertainty at places; `extrapolated` is left false.
    pub fn estimates(&self, places: &[Place]) -> Vec<Estimate> {
        let predictions = self.kriging.predict(places);
        predictions
            .iter()
            .zip(places)
            .map(|(p, place)| {
                let (gain, doubt) = self.decay(place.height);
                let irradiance = bounded(p.mean + gain).exp();
                let deviation = (p.variance + doubt * doubt).sqrt();
                Estimate {
                    irradiance,
                    uncertainty: Some(irradiance * deviation),
                    extrapolated: false,
                }
            })
            .collect()
    }

    /// The median at places, mW/cm², into `out` of the same length.
    pub fn medians(&self, places: &[Place], out: &mut [f64]) {
        self.kriging.means(places, out);
        for (e, place) in out.iter_mut().zip(places) {
            *e = bounded(*e + self.decay(place.height).0).exp();
        }
    }

    /// What [`medians_of_row`](Self::medians_of_row) wants to be made once for a lattice.
    pub fn columns(&self, xs: &[f64]) -> Vec<f64> {
        self.kriging.columns(xs)
    }

    /// The median at `(xs[i], y, height)`, mW/cm².
    pub fn medians_of_row(
        &self,
        columns: &[f64],
        xs: &[f64],
        y: f64,
        height: f64,
        out: &mut [f64],
    ) {
        self.kriging.row(columns, xs, y, height, out);
        let gain = self.decay(height).0;
        wide(
            #[inline(always)]
            || {
                for e in out {
                    *e = exp_minus(-bounded(*e + gain));
                }
            },
        );
    }

    /// Expected logarithms at places and their covariance (lower triangle).
    pub fn joint(&self, places: &[Place]) -> (Vec<f64>, Mat<f64>) {
        let (mut means, mut covariance) = self.kriging.joint(places);
        if self.only_height.is_some() {
            let doubts: Vec<f64> = places.iter().map(|p| self.decay(p.height).1).collect();
            for (j, place) in places.iter().enumerate() {
                means[j] += self.decay(place.height).0;
                let column = covariance.col_as_slice_mut(j);
                for (c, doubt) in column.iter_mut().zip(&doubts) {
                    *c += doubt * doubts[j];
                }
            }
        }
        (means, covariance)
    }
}
