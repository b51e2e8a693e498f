//! Families that carry readings on without a distribution: they are listed beside the others and used when they are
//! asked for, without an assured minimum.
//!
//! They are scored with the same positions and outer ring left out as the others. The plate is of log irradiance; its
//! smoothing is what predicts left-out positions best, in closed form like kriging's: the upper left block of the inverse of
//! its equations is the projection.

mod inverse_distance;
mod natural_neighbour;
pub mod thin_plate;

use crate::field::readings::{Ground, spread_part};
use crate::field::score::score;
use crate::field::{Family, FitError, HoldOutScore, LeaveOneOut};
use crate::geometry::Place;
use crate::numeric::exponential::bounded;
use crate::progress::{Cancelled, Progress};
use inverse_distance::{InverseDistance, height_factor};
use natural_neighbour::NaturalNeighbour;
use thin_plate::{Equations, ThinPlate};

/// A field of one of these families.
#[derive(Debug)]
pub(in crate::field) enum Plain {
    InverseDistance(InverseDistance),
    NaturalNeighbour(NaturalNeighbour),
    /// Of log irradiance, and how much it is smoothed (squared unit lengths of its equations).
    ThinPlate(ThinPlate, f64),
}

/// A field with its score.
pub(in crate::field) struct MadePlain {
    pub family: Family,
    pub field: Plain,
    pub score: Option<HoldOutScore>,
}

/// Makes all of them that these readings allow.
///
/// # Errors
/// [`FitError`].
pub(in crate::field) fn make_all(
    ground: &Ground,
    progress: &Progress,
) -> Result<Vec<MadePlain>, FitError> {
    let samples = &ground.samples[..];
    let plate = thin_plate(ground, progress).map_err(|Cancelled| FitError::Cancelled)?;
    let fields = [
        InverseDistance::new(samples)
            .map(|field| (Family::InverseDistance, Plain::InverseDistance(field))),
        NaturalNeighbour::new(samples, &ground.reach)
            .map(|field| (Family::NaturalNeighbour, Plain::NaturalNeighbour(field))),
        plate.map(|(plate, smoothing)| (Family::ThinPlate, Plain::ThinPlate(plate, smoothing))),
    ];
    let mut made = Vec::with_capacity(fields.len());
    for (family, field) in fields.into_iter().flatten() {
        let (mut predicted, mut ring) = (Vec::new(), Vec::new());
        let mut without = field.leaving_out(ground);
        for group in &ground.groups.positions {
            progress.check().map_err(|Cancelled| FitError::Cancelled)?;
            if let Some(values) = without(group) {
                predicted.extend(group.iter().copied().zip(values));
            }
        }
        let outer = &ground.groups.outer;
        if let Some(values) = without(outer).filter(|_| !outer.is_empty()) {
            ring.extend(outer.iter().copied().zip(values));
        }
        drop(without);
        made.push(MadePlain {
            family,
            score: score(family, samples, (&predicted, &ring), None),
            field,
        });
    }
    Ok(made)
}

/// The plate whose smoothing predicts whole positions left out best.
fn thin_plate(ground: &Ground, progress: &Progress) -> Result<Option<(ThinPlate, f64)>, Cancelled> {
    /// Readings above which smoothing is found from a part of them, about this many.
    const MOST_FOR_SMOOTHING: usize = 150;
    /// Decades of smoothing, in halves.
    const SMOOTHING: std::ops::RangeInclusive<i32> = -14..=0;
    let (samples, reach) = (&ground.samples, &ground.reach);
    let all: Vec<Place> = samples.iter().map(|s| s.at).collect();
    let part: Vec<usize> = if all.len() > MOST_FOR_SMOOTHING {
        spread_part(&all, reach, MOST_FOR_SMOOTHING)
    } else {
        (0..all.len()).collect()
    };
    let places: Vec<Place> = part.iter().map(|&i| all[i]).collect();
    let values: Vec<f64> = part.iter().map(|&i| samples[i].irradiance.ln()).collect();
    let mut groups: Vec<Vec<usize>> = vec![Vec::new(); ground.groups.positions.len()];
    let mut number = vec![0; samples.len()];
    for (g, group) in ground.groups.positions.iter().enumerate() {
        group.iter().for_each(|&i| number[i] = g);
    }
    part.iter()
        .enumerate()
        .for_each(|(k, &i)| groups[number[i]].push(k));
    groups.retain(|g| !g.is_empty());

    let stretch = height_factor(samples);
    let equations = Equations::new(&places, stretch);
    let mut best = (f64::INFINITY, 1e-3);
    for half_decade in SMOOTHING {
        progress.check()?;
        let smoothing = 10f64.powf(0.5 * f64::from(half_decade));
        let Some(held) = equations.hold_out(&values, smoothing) else {
            continue;
        };
        let out = groups.iter().filter_map(|group| held.without(group));
        let errors: Vec<f64> = out.flat_map(|out| out.errors).collect();
        let mean = errors.iter().map(|e| e * e).sum::<f64>() / errors.len() as f64;
        if mean < best.0 {
            best = (mean, smoothing);
        }
    }
    let equations = if part.len() == all.len() {
        equations
    } else {
        Equations::new(&all, stretch)
    };
    let values: Vec<f64> = samples.iter().map(|s| s.irradiance.ln()).collect();
    let plate = equations.solve(&values, best.1);
    Ok(plate.map(|plate| (plate, best.1)))
}

/// What others say at samples left out, mW/cm²; `None` where they can't say.
type LeavingOut<'a> = Box<dyn FnMut(&[usize]) -> Option<Vec<f64>> + 'a>;

impl Plain {
    /// The field at places, mW/cm², into `out` of the same length.
    pub fn values(&self, places: &[Place], out: &mut [f64]) {
        match self {
            Self::NaturalNeighbour(field) => field.values(places, out),
            Self::InverseDistance(field) => {
                let each = places.iter().zip(out);
                each.for_each(|(&place, value)| *value = field.at(place));
            }
            Self::ThinPlate(plate, _) => {
                let each = places.iter().zip(out);
                each.for_each(|(&place, value)| *value = bounded(plate.at(place)).exp());
            }
        }
    }

    fn leaving_out<'a>(&'a self, ground: &'a Ground) -> LeavingOut<'a> {
        let samples = &ground.samples[..];
        match self {
            Self::InverseDistance(field) => {
                Box::new(move |left_out| field.without(samples, left_out))
            }
            Self::NaturalNeighbour(field) => {
                let mut field = field.clone();
                Box::new(move |left_out| field.without(samples, &ground.reach, left_out))
            }
            Self::ThinPlate(_, smoothing) => {
                let places: Vec<Place> = samples.iter().map(|s| s.at).collect();
                let values: Vec<f64> = samples.iter().map(|s| s.irradiance.ln()).collect();
                let equations = Equations::new(&places, height_factor(samples));
                let held = equations.hold_out(&values, *smoothing);
                Box::new(move |left_out| {
                    let errors = held.as_ref()?.without(left_out)?.errors;
                    let pairs = left_out.iter().zip(errors);
                    let predicted = pairs.map(|(&i, e)| bounded(values[i] - e).exp());
                    Some(predicted.collect())
                })
            }
        }
    }

    /// Each sample against the others.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn leave_one_out(
        &self,
        ground: &Ground,
        progress: &Progress,
    ) -> Result<Vec<LeaveOneOut>, Cancelled> {
        let mut without = self.leaving_out(ground);
        let each = ground.samples.iter().enumerate();
        each.map(|(i, sample)| {
            progress.check()?;
            Ok(LeaveOneOut {
                predicted: without(&[i]).map_or(sample.irradiance, |said| said[0]),
                standardised: None,
            })
        })
        .collect()
    }
}
