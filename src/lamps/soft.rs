//! Edges of light that a source of some size makes soft.

use std::f64::consts::FRAC_1_SQRT_2;

use statrs::function::erf::erf;

/// Share of a bell with this standard deviation that lies on the inner side of an edge which is `inside` from its middle
/// (negative: the middle is beyond the edge).
pub(super) fn within(inside: f64, size: f64) -> f64 {
    let z = inside / size;
    if z > 5.5 {
        1.0
    } else if z < -5.5 {
        0.0
    } else {
        0.5 * (1.0 + erf(z * FRAC_1_SQRT_2))
    }
}

/// Share of a bell that lies between two edges, `half` to either side, whose middle is `off` from that of the bell.
pub(super) fn between(off: f64, half: f64, size: f64) -> f64 {
    if off.abs() - half > 5.5 * size {
        return 0.0;
    }
    (within(half - off, size) - within(-half - off, size)).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_are_those_of_the_normal_distribution() {
        // Abramowitz & Stegun 1964, table 26.1
        assert!((within(1.0, 1.0) - 0.841_344_746).abs() < 1e-9);
        assert!((within(-4.0, 2.0) - 0.022_750_132).abs() < 1e-9);
        assert!((between(0.0, 1.96, 1.0) - 0.950_004_21).abs() < 1e-8);
        assert_eq!(between(30.0, 1.0, 1.0), 0.0);
    }

    #[test]
    fn shares_side_by_side_are_the_whole() {
        let parts = (-20..=20).map(|i| between(3.0 - f64::from(i), 0.5, 1.7));
        assert!((parts.sum::<f64>() - 1.0).abs() < 1e-6);
    }
}
