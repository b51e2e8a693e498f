//! A field solved at some parameters, with what its variance needs.

use faer::linalg::matmul::matmul;
use faer::{Accum, Mat, Par};

use super::evidence::{Assembled, Evidence, MISSED, MISSED_OVER, weights};
use super::glow::{DARKEST, Glow};
use super::lattice::{Lattice, dot};
use crate::field::equations::System;
use crate::field::equations::kernel::{Kernel, Scaled};
use crate::geometry::Place;

/// A field with everything its variance needs.
#[derive(Debug, Clone)]
pub(super) struct Solved {
    pub glow: Glow,
    pub roots: Vec<f64>,
    pub brightness: f64,
    /// Variance of the relative misfit.
    pub missed: f64,
    pub features: Mat<f64>,
    /// What the first guess of an even lamp gives at each reading, relative.
    pub even: Vec<f64>,
    pub system: System,
}

impl Glow {
    pub fn of(
        evidence: &Evidence<'_>,
        lattice: &std::sync::Arc<Lattice>,
        at: &[f64],
        assembled: &Assembled,
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
}

impl Solved {
    pub fn of(
        evidence: &Evidence<'_>,
        lattice: std::sync::Arc<Lattice>,
        at: &[f64],
    ) -> Option<Self> {
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

    pub fn parts(&self, places: &[Place]) -> Parts {
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
            let mean = means[j].abs().max(DARKEST * self.brightness);
            let mean = mean.max(f64::MIN_POSITIVE);
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
            let mean = mean.abs().max(DARKEST * self.brightness);
            let per = self.brightness / mean.max(f64::MIN_POSITIVE);
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
pub(super) struct Parts {
    /// mW/cm².
    pub means: Vec<f64>,
    /// What the first guess of an even lamp gives, relative to the mean.
    pub evens: Vec<f64>,
    /// Prior features relative to the mean, a column a place.
    pub own: Mat<f64>,
    /// What the readings explain, likewise.
    pub explained: Mat<f64>,
}
