//! Standard uncertainties put together (JCGM 100:2008, "the GUM"), and means.

use super::distributions::student_quantile;

/// A part of an uncertainty: its share of the standard uncertainty of the result, and by how many
/// degrees of freedom it is known; endless where it is simply stated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Component {
    /// In the unit of the result.
    pub uncertainty: f64,
    /// Degrees of freedom.
    pub dof: f64,
}

impl Component {
    /// One that is stated, not estimated from repeats.
    pub fn stated(uncertainty: f64) -> Self {
        Self {
            uncertainty,
            dof: f64::INFINITY,
        }
    }
}

/// The combined standard uncertainty of independent parts (JCGM 100, 5.1.2) with its effective degrees of
/// freedom, `u⁴ / Σ uᵢ⁴/νᵢ` (Welch and Satterthwaite; JCGM 100, G.4.1), not truncated.
pub fn combined(components: &[Component]) -> Component {
    let variance: f64 = components.iter().map(|c| c.uncertainty.powi(2)).sum();
    let spread: f64 = (components.iter())
        .filter(|c| c.uncertainty != 0.0)
        .map(|c| c.uncertainty.powi(4) / c.dof)
        .sum();
    let dof = if spread > 0.0 {
        variance * variance / spread
    } else {
        f64::INFINITY
    };
    Component {
        uncertainty: variance.sqrt(),
        dof,
    }
}

/// The factor k of a two-sided interval that covers with probability `level` (JCGM 100, G.4.1: degrees
/// of freedom are truncated to a whole number first).
pub fn coverage_factor(level: f64, dof: f64) -> f64 {
    let whole = if dof.is_finite() { dof.floor() } else { dof };
    student_quantile(0.5 + 0.5 * level, whole)
}

/// Mean and variance (n - 1) of values; the variance is `None` for fewer than two.
pub fn mean_and_variance(values: &[f64]) -> Option<(f64, Option<f64>)> {
    let n = values.len() as f64;
    if values.is_empty() {
        return None;
    }
    let mean = values.iter().sum::<f64>() / n;
    let variance = (values.len() > 1)
        .then(|| values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0));
    Some((mean, variance))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn component(uncertainty: f64, dof: f64) -> Component {
        Component { uncertainty, dof }
    }

    /// JCGM 100:2008, H.1: nanometres and degrees of freedom of the end gauge's four parts. Published:
    /// u = 32 nm, 16 effective degrees of freedom, k = 2.12 for 95 %.
    #[test]
    fn the_end_gauge_of_the_gum() {
        let parts = [(25.0, 18.0), (9.7, 25.6), (2.9, 50.0), (16.6, 2.0)];
        let all = combined(&parts.map(|(u, dof)| component(u, dof)));
        assert_eq!(all.uncertainty.round(), 32.0);
        assert_eq!(all.dof.floor(), 16.0);
        let k = coverage_factor(0.95, all.dof);
        assert!((k - 2.12).abs() < 0.005, "{k}");
        // its comparison, itself of three parts: 9.7 nm; the GUM prints 25.6 from rounded figures
        let comparison =
            combined(&[(5.8, 24.0), (3.9, 5.0), (6.7, 8.0)].map(|(u, d)| component(u, d)));
        assert!((comparison.uncertainty - 9.7).abs() < 0.05);
        assert!((comparison.dof - 25.6).abs() < 0.2, "{}", comparison.dof);
    }

    /// JCGM 100:2008, H.2, second approach: resistance, reactance and impedance of one element from five sets of
    /// voltage, current and phase that belong together (table H.2). Published, table H.4: means 127.732, 219.847
    /// and 254.260 ohms with standard uncertainties of 0.071, 0.295 and 0.236.
    #[test]
    fn the_circuit_element_of_the_gum() {
        let sets = [
            (5.007, 19.663e-3, 1.0456),
            (4.994, 19.639e-3, 1.0438),
            (5.005, 19.640e-3, 1.0468),
            (4.990, 19.685e-3, 1.0428),
            (4.999, 19.678e-3, 1.0433_f64),
        ];
        let holds = |of: fn(f64) -> f64, mean: f64, uncertainty: f64| {
            let values = sets.map(|(v, i, phase)| v / i * of(phase));
            let (m, variance) = mean_and_variance(&values).expect("five values");
            let u = (variance.expect("of five") / 5.0).sqrt();
            assert!((m - mean).abs() < 5e-4, "{m}");
            assert!((u - uncertainty).abs() < 5e-4, "{u}");
        };
        holds(f64::cos, 127.732, 0.071);
        holds(f64::sin, 219.847, 0.295);
        holds(|_| 1.0, 254.260, 0.236);
    }

    #[test]
    fn stated_parts_are_known_for_good() {
        let all = combined(&[Component::stated(3.0), Component::stated(4.0)]);
        assert_eq!((all.uncertainty, all.dof), (5.0, f64::INFINITY));
        assert_eq!(combined(&[component(0.0, 3.0)]).dof, f64::INFINITY);
        assert!((coverage_factor(0.95, f64::INFINITY) - 1.96).abs() < 1e-3);
    }
}
