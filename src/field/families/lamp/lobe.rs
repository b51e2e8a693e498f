//! How light leaves a point of the face: irradiance on a level plane from unit weight at an emitter, by the
//! law of distance and a lobe that the readings shape.

use crate::numeric::exponential::{exp_minus, ln_from_one};
use crate::numeric::wide::wide;

/// Slopes at which a lean is one, per mm from the middle of the face.
const LEAN_SCALE: f64 = 1.0 / 60.0;

/// Least wing: a lobe whose light at grazing angles is a tenth of what its power says.
const WINGLESS: f64 = 0.9;

/// A family of lobes; its shape parameters are given beside it, logarithms where they are above zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::field) enum Lobe {
    /// `(m+1)/2π cos^(m+1) θ (1 + b sin² θ) / r²`: Lambert's law for m = 1 and b = 0, narrower above, with wings
    /// where b is large. Shape: `ln m, ln z0, ln (b + 0.9)`.
    Round,
    /// `H⁻² (1+q²)⁻² (1 + kx dx² + ky dy²)⁻²`, `q` the slope from emitter to place, `d = q + g s/60 mm` the slope
    /// against a lean towards a focus; and light straight from an arc `z1` above the middle of the face.
    /// Shape: `ln kx, ln ky, gx, gy, ln z0, ln z1`.
    Leaning,
}

/// Emitters, one coordinate after the other, mm.
#[derive(Debug, Clone)]
pub(super) struct Points {
    pub x: Vec<f64>,
    pub y: Vec<f64>,
    /// From the middle of the face, for the lean.
    pub lean_x: Vec<f64>,
    pub lean_y: Vec<f64>,
}

impl Points {
    pub fn new(x: Vec<f64>, y: Vec<f64>, middle: (f64, f64)) -> Self {
        let from = |v: &[f64], m: f64| v.iter().map(|c| (c - m) * LEAN_SCALE).collect();
        Self {
            lean_x: from(&x, middle.0),
            lean_y: from(&y, middle.1),
            x,
            y,
        }
    }

    pub fn len(&self) -> usize {
        self.x.len()
    }
}

/// The part of light that a detector reads whose response has this power more of the cosine, by the square of the tangent
/// of the angle of incidence, and the derivative of its logarithm by that of a depth that is this part of the way.
pub(super) fn seen(power: f64, tan2: f64, depth: f64) -> (f64, f64) {
    let part = (1.0 + tan2).powf(-0.5 * power);
    (part, power * tan2 / (1.0 + tan2) * depth)
}

impl Lobe {
    /// How many shape parameters it has.
    pub fn shape_len(self) -> usize {
        match self {
            Self::Round => 3,
            Self::Leaning => 6,
        }
    }

    /// How far above the face the light seems to come from, mm.
    pub fn depth(self, shape: &[f64]) -> f64 {
        match self {
            Self::Round => shape[1].exp(),
            Self::Leaning => shape[4].exp(),
        }
    }

    /// Turns what reaches a place into what a detector reads whose response has this power more of the cosine. `tables`
    /// are [`reach`](Self::reach) and, as far as they are there, its slopes, one after the other.
    pub(super) fn see(
        self,
        power: f64,
        shape: &[f64],
        from: &Points,
        at: (f64, f64),
        distance: f64,
        tables: &mut [f64],
    ) {
        let n = from.len();
        let depth = self.depth(shape);
        let h = distance + depth;
        let by_depth = n * match self {
            Self::Round => 2,
            Self::Leaning => 5,
        };
        for j in 0..n {
            let (dx, dy) = (at.0 - from.x[j], at.1 - from.y[j]);
            let (seen, by_log_depth) = seen(power, (dx * dx + dy * dy) / (h * h), depth / h);
            for table in tables.chunks_exact_mut(n) {
                table[j] *= seen;
            }
            let reads = tables[j];
            if let Some(slope) = tables.get_mut(by_depth + j) {
                *slope += reads * by_log_depth;
            }
        }
    }

    /// How wide the lobe is: the slope at which it has faded by much.
    pub fn width(self, shape: &[f64]) -> f64 {
        let narrowest = match self {
            Self::Round => 0.5 * (shape[0].exp() + 3.0),
            Self::Leaning => 2.0 + 2.0 * shape[0].max(shape[1]).exp(),
        };
        (2.0 / narrowest).sqrt().min(1.0)
    }

    /// What an arc of unit intensity over the middle of the face gives at a place beside and below it (the
    /// inverse-square law and the cosine at the receiver), and its derivative by `ln z1`; `None` for a lobe
    /// without.
    pub fn arc(self, shape: &[f64], beside: (f64, f64), distance: f64) -> Option<(f64, f64)> {
        match self {
            Self::Round => None,
            Self::Leaning => {
                let z = shape[5].exp();
                let h = distance + z;
                let r2 = beside.0 * beside.0 + beside.1 * beside.1 + h * h;
                let gives = h / (r2 * r2.sqrt());
                Some((gives, gives * z * (1.0 / h - 3.0 * h / r2)))
            }
        }
    }

    /// What each emitter of unit weight gives at `(x, y)`, `distance` mm below the face, into `out`.
    pub(super) fn reach(
        self,
        shape: &[f64],
        from: &Points,
        at: (f64, f64),
        distance: f64,
        out: &mut [f64],
    ) {
        match self {
            Self::Round => {
                let (m, h) = (shape[0].exp(), distance + shape[1].exp());
                let (p, inverse) = (0.5 * (m + 3.0), 1.0 / (h * h));
                let scale = (m + 1.0) / std::f64::consts::TAU * inverse;
                let wing = shape[2].exp() - WINGLESS;
                wide(
                    #[inline(always)]
                    || {
                        for ((k, x), y) in out.iter_mut().zip(&from.x).zip(&from.y) {
                            let (dx, dy) = (at.0 - x, at.1 - y);
                            let u = 1.0 + (dx * dx + dy * dy) * inverse;
                            *k = scale * exp_minus(p * ln_from_one(u)) * (1.0 + wing - wing / u);
                        }
                    },
                );
            }
            Self::Leaning => {
                let (kx, ky) = (shape[0].exp(), shape[1].exp());
                let (gx, gy) = (shape[2], shape[3]);
                let per_h = 1.0 / (distance + shape[4].exp());
                wide(
                    #[inline(always)]
                    || {
                        let places = from.x.iter().zip(&from.y);
                        let leans = from.lean_x.iter().zip(&from.lean_y);
                        for (k, ((x, y), (lx, ly))) in out.iter_mut().zip(places.zip(leans)) {
                            let (qx, qy) = ((at.0 - x) * per_h, (at.1 - y) * per_h);
                            let (dx, dy) = (qx + gx * lx, qy + gy * ly);
                            let a = 1.0 + qx * qx + qy * qy;
                            let b = 1.0 + kx * dx * dx + ky * dy * dy;
                            let root = per_h / (a * b);
                            *k = root * root;
                        }
                    },
                );
            }
        }
    }

    /// As [`reach`](Self::reach), with the derivatives for each shape parameter into `slopes`, one after
    /// the other.
    pub(super) fn reach_and_slopes(
        self,
        shape: &[f64],
        from: &Points,
        at: (f64, f64),
        distance: f64,
        out: &mut [f64],
        slopes: &mut [f64],
    ) {
        let n = out.len();
        self.reach(shape, from, at, distance, out);
        match self {
            Self::Round => {
                let (m, z) = (shape[0].exp(), shape[1].exp());
                let h = distance + z;
                let (p, inverse) = (0.5 * (m + 3.0), 1.0 / (h * h));
                let raised = shape[2].exp();
                let wing = raised - WINGLESS;
                let (by_m, rest) = slopes[..3 * n].split_at_mut(n);
                let (by_z, by_wing) = rest.split_at_mut(n);
                wide(
                    #[inline(always)]
                    || {
                        for j in 0..n {
                            let (dx, dy) = (at.0 - from.x[j], at.1 - from.y[j]);
                            let q2 = (dx * dx + dy * dy) * inverse;
                            let u = 1.0 + q2;
                            by_m[j] = out[j] * m * (1.0 / (m + 1.0) - 0.5 * ln_from_one(u));
                            let sine2 = q2 / u;
                            let lifted = out[j] / (1.0 + wing * sine2);
                            by_wing[j] = lifted * raised * sine2;
                            // d(sin² θ)/dH = -2 sin² θ / (u H)
                            by_z[j] = (2.0 * z / h)
                                * (out[j] * (p * sine2 - 1.0) - lifted * wing * sine2 / u);
                        }
                    },
                );
            }
            Self::Leaning => {
                let (kx, ky) = (shape[0].exp(), shape[1].exp());
                let (gx, gy) = (shape[2], shape[3]);
                let z = shape[4].exp();
                let per_h = 1.0 / (distance + z);
                let (by_kx, rest) = slopes[..5 * n].split_at_mut(n);
                let (by_ky, rest) = rest.split_at_mut(n);
                let (by_gx, rest) = rest.split_at_mut(n);
                let (by_gy, by_z) = rest.split_at_mut(n);
                wide(
                    #[inline(always)]
                    || {
                        for j in 0..n {
                            let (qx, qy) = ((at.0 - from.x[j]) * per_h, (at.1 - from.y[j]) * per_h);
                            let (lx, ly) = (from.lean_x[j], from.lean_y[j]);
                            let (dx, dy) = (qx + gx * lx, qy + gy * ly);
                            let q2 = qx * qx + qy * qy;
                            let (a, b) = (1.0 + q2, 1.0 + kx * dx * dx + ky * dy * dy);
                            let per_b = 2.0 * out[j] / b;
                            by_kx[j] = -per_b * kx * dx * dx;
                            by_ky[j] = -per_b * ky * dy * dy;
                            by_gx[j] = -2.0 * per_b * kx * dx * lx;
                            by_gy[j] = -2.0 * per_b * ky * dy * ly;
                            let turned = kx * dx * qx + ky * dy * qy;
                            by_z[j] =
                                z * per_h * (out[j] * (4.0 * q2 / a - 2.0) + 2.0 * per_b * turned);
                        }
                    },
                );
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slopes_are_those_of_what_is_seen() {
        let from = Points::new(vec![0.0, 30.0, 70.0], vec![5.0, -20.0, 40.0], (20.0, 10.0));
        for (lobe, shape) in [
            (Lobe::Round, vec![0.7, 2.2, 0.6]),
            (Lobe::Leaning, vec![-0.5, 0.4, 0.3, -0.2, 2.5, 3.0]),
        ] {
            let n = from.len();
            let mut tables = vec![0.0; n * (1 + lobe.shape_len())];
            let (out, slopes) = tables.split_at_mut(n);
            let at = (12.0, 33.0);
            lobe.reach_and_slopes(&shape, &from, at, 45.0, out, slopes);
            lobe.see(0.4, &shape, &from, at, 45.0, &mut tables);
            let (out, slopes) = tables.split_at(n);
            // the last parameter of the leaning lobe is the arc's alone
            for k in 0..lobe.shape_len().min(5) {
                let moved = |by: f64| {
                    let (mut s, mut v) = (shape.clone(), vec![0.0; n]);
                    s[k] += by;
                    lobe.reach(&s, &from, at, 45.0, &mut v);
                    lobe.see(0.4, &s, &from, at, 45.0, &mut v);
                    v
                };
                let (up, down) = (moved(1e-5), moved(-1e-5));
                for j in 0..n {
                    let slope = (up[j] - down[j]) / 2e-5;
                    assert!((slope - slopes[k * n + j]).abs() < 1e-6 * out[j].max(slope.abs()));
                }
            }
        }
    }

    #[test]
    fn lamberts_law_is_the_round_lobe_with_one() {
        // (1/π) cos θ cos θ / r² (Lambert's cosine law and the inverse-square law)
        let from = Points::new(vec![0.0], vec![0.0], (0.0, 0.0));
        let mut out = [0.0];
        Lobe::Round.reach(
            &[0.0, f64::NEG_INFINITY, WINGLESS.ln()],
            &from,
            (30.0, 40.0),
            50.0,
            &mut out,
        );
        let r2: f64 = 30.0 * 30.0 + 40.0 * 40.0 + 50.0 * 50.0;
        let expected = 2500.0 / r2 / r2 / std::f64::consts::PI;
        assert!((out[0] / expected - 1.0).abs() < 1e-12);
    }
}
