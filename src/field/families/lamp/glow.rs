//! A field's expected values.

use super::lattice::{Lattice, dot};
use super::lobe::Lobe;
use crate::field::equations::kernel::{Kernel, Scaled};
use crate::geometry::Place;

/// Where no light is expected at all a field is still this part of what is read.
pub(super) const DARKEST: f64 = 1e-6;

/// A field's expected values: brightness of the emitters and what the law of light misses.
#[derive(Debug, Clone)]
pub(super) struct Glow {
    pub lattice: std::sync::Arc<Lattice>,
    pub lobe: Lobe,
    pub shape: Vec<f64>,
    /// mW/cm² per unit reach.
    pub emitters: Vec<f64>,
    /// The same of the first guess of an even lamp.
    pub even: Vec<f64>,
    /// Of an arc, likewise.
    pub arc: f64,
    /// Over which what the law of light misses is alike, mm.
    pub missed_over: f64,
    pub read: Scaled,
    /// Pull of each reading on the misfit relative to the even lamp.
    pub misfit: Vec<f64>,
}

impl Glow {
    /// What the emitters and what an even lamp give at a place, mW/cm².
    pub fn light(&self, at: Place, reach: &mut Vec<f64>) -> (f64, f64) {
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

    /// How many arcs it has.
    pub fn arcs(&self) -> usize {
        usize::from(self.lobe == Lobe::Leaning)
    }

    /// The expected field at places, mW/cm².
    pub fn means(&self, places: &[Place], out: &mut [f64]) {
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
    pub fn over_light(&self, at: Place, reach: &mut Vec<f64>, of: &dyn Fn(f64) -> f64) -> f64 {
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
