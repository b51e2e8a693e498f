//! Correlation between two places of the field, as a function of their distance in correlation lengths.

use crate::geometry::Place;
use crate::numeric::exponential::exp_minus;
use crate::numeric::wide::wide;

/// Correlation against the scaled distance `r`; 1 at `r = 0`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kernel {
    /// `(1 + √5 r + 5 r²/3) exp(-√5 r)` (Rasmussen & Williams 2006, eq. 4.17): twice differentiable, what
    /// fields are made with.
    Matern52,
    /// `exp(-r)`.
    Exponential,
    /// `exp(-r²)`.
    Gaussian,
    /// `1 - 1.5 r + 0.5 r³` below 1, else 0.
    Spherical,
}

pub(in crate::field) const SQRT_5: f64 = 2.236_067_977_499_79;

impl Kernel {
    /// Replaces squared scaled distances by correlations.
    pub fn correlate(self, squared: &mut [f64]) {
        wide(
            #[inline(always)]
            || self.correlate_each(squared),
        );
    }

    /// Adds `weight` times the correlation at `fixed + along[i]`, squared scaled distances, to `sum[i]`.
    /// For loops that are [`wide`].
    #[inline(always)]
    pub(in crate::field) fn accumulate(
        self,
        weight: f64,
        fixed: f64,
        along: &[f64],
        sum: &mut [f64],
    ) {
        match self {
            Self::Matern52 => {
                for (t, s) in sum.iter_mut().zip(along) {
                    *t += weight * matern(fixed + s);
                }
            }
            _ => {
                for (t, s) in sum.iter_mut().zip(along) {
                    let mut one = [fixed + s];
                    self.correlate_each(&mut one);
                    *t += weight * one[0];
                }
            }
        }
    }

    #[inline(always)]
    fn correlate_each(self, squared: &mut [f64]) {
        match self {
            Self::Matern52 => {
                for s in squared {
                    *s = matern(*s);
                }
            }
            Self::Exponential => {
                for s in squared {
                    *s = exp_minus(s.sqrt());
                }
            }
            Self::Gaussian => {
                for s in squared {
                    *s = exp_minus(*s);
                }
            }
            Self::Spherical => {
                for s in squared {
                    let r = s.sqrt().min(1.0);
                    *s = 1.0 - 1.5 * r + 0.5 * r * r * r;
                }
            }
        }
    }
}

#[inline(always)]
fn matern(squared: f64) -> f64 {
    let u2 = 5.0 * squared;
    let u = u2.sqrt();
    (1.0 + u + u2 * (1.0 / 3.0)) * exp_minus(u)
}

/// Covariance of the field without noise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Covariance {
    /// Which shape.
    pub kernel: Kernel,
    /// Variance of the field about its trend, in squared units of the values.
    pub sill: f64,
    /// Correlation lengths along x, y and height, mm.
    pub lengths: [f64; 3],
}

/// Places in correlation lengths, one coordinate after the other, for long loops.
#[derive(Debug, Clone, Default)]
pub(in crate::field) struct Scaled {
    pub x: Vec<f64>,
    pub y: Vec<f64>,
    pub h: Vec<f64>,
}

impl Scaled {
    pub fn of(places: &[Place], lengths: [f64; 3]) -> Self {
        let [a, b, c] = lengths;
        Self {
            x: places.iter().map(|p| p.x / a).collect(),
            y: places.iter().map(|p| p.y / b).collect(),
            h: places.iter().map(|p| p.height / c).collect(),
        }
    }

    /// Squared distances of all these from the `i`th of `others`.
    #[inline(always)]
    pub fn squared_from(&self, others: &Self, i: usize, out: &mut [f64]) {
        self.squared_after(0, others, i, out);
    }

    /// Squared distances of the `j`th of these and all after it from the `j`th: a column of a lower triangle.
    #[inline(always)]
    pub fn squared_below(&self, j: usize, out: &mut [f64]) {
        self.squared_after(j, self, j, out);
    }

    #[inline(always)]
    fn squared_after(&self, first: usize, others: &Self, i: usize, out: &mut [f64]) {
        let (px, py, ph) = (others.x[i], others.y[i], others.h[i]);
        let here = self.x[first..].iter().zip(&self.y[first..]);
        let here = here.zip(&self.h[first..]);
        for (s, ((x, y), h)) in out.iter_mut().zip(here) {
            let (dx, dy, dh) = (x - px, y - py, h - ph);
            *s = dx * dx + dy * dy + dh * dh;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shapes_have_their_formula() {
        let r: f64 = 0.7;
        let at = |k: Kernel| {
            let mut s = [r * r];
            k.correlate(&mut s);
            s[0]
        };
        let u = 5f64.sqrt() * r;
        assert!((at(Kernel::Matern52) - (1.0 + u + u * u / 3.0) * (-u).exp()).abs() < 1e-14);
        assert!((at(Kernel::Exponential) - (-r).exp()).abs() < 1e-14);
        assert!((at(Kernel::Gaussian) - (-r * r).exp()).abs() < 1e-14);
        assert!((at(Kernel::Spherical) - (1.0 - 1.5 * r + 0.5 * r.powi(3))).abs() < 1e-14);
    }

    #[test]
    fn one_at_no_distance_and_falling() {
        for k in [
            Kernel::Matern52,
            Kernel::Exponential,
            Kernel::Gaussian,
            Kernel::Spherical,
        ] {
            let mut s: Vec<f64> = (0..50).map(|i| (f64::from(i) * 0.1).powi(2)).collect();
            k.correlate(&mut s);
            assert_eq!(s[0], 1.0);
            assert!(s.windows(2).all(|w| w[1] <= w[0] && w[1] >= 0.0), "{k:?}");
        }
    }
}
