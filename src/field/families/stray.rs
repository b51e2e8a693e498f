//! What light by way of mirrors may do beyond the outermost positions, and no reading inside shows: a mirror's edge
//! cuts it off within a few millimetres.

use faer::Mat;

use crate::field::equations::kernel::Kernel;
use crate::field::readings::Hull;
use crate::geometry::{Place, Point};

/// Relative standard deviation per slope beyond the positions: found on simulated reflector lamps (the study in
/// `tests/bench`, its tuning set), so that the bound holds there as often as it says.
const PER_SLOPE: f64 = 0.55;
/// Along a rim it is alike over about this, mm.
const OVER: f64 = 30.0;

/// A relative error of the field outside the hull of the positions, growing from nothing at its edge.
#[derive(Debug, Clone)]
pub(in crate::field) struct Stray {
    hull: Hull,
    /// Of the face above the fixture's base, mm.
    face: f64,
}

impl Stray {
    pub fn beyond(positions: &[Point], face: f64) -> Self {
        Self {
            hull: Hull::of(positions),
            face,
        }
    }

    /// Relative standard deviation at a place.
    pub fn at(&self, place: Place) -> f64 {
        let away = (self.face - place.height).max(1.0);
        PER_SLOPE * self.hull.outside(place.point()) / away
    }

    /// Adds its covariance between places to that of logarithms there (lower triangle).
    pub fn add_to(&self, covariance: &mut Mat<f64>, places: &[Place]) {
        let strays = places.iter().map(|&p| self.at(p)).enumerate();
        let out: Vec<(usize, f64)> = strays.filter(|(_, s)| *s > 0.0).collect();
        let mut near = vec![0.0; out.len()];
        for (k, &(j, by)) in out.iter().enumerate() {
            let here = places[j].point();
            let rest = &out[k..];
            for (r, &(i, _)) in near.iter_mut().zip(rest) {
                *r = (places[i].point().distance(here) / OVER).powi(2);
            }
            Kernel::Matern52.correlate(&mut near[..rest.len()]);
            for (r, &(i, s)) in near.iter().zip(rest) {
                covariance[(i, j)] += by * s * r;
            }
        }
    }
}
