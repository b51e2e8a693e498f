//! How a detector's response departs from the cosine of the angle of incidence: as a power of the cosine.

/// A directional response of `cos^(1 + power)`; the default is a cosine detector.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Directional {
    /// Above zero where slanting light is read as too little.
    pub power: f64,
    /// Standard deviation of the power: what is not known of the response.
    pub doubt: f64,
}

impl Directional {
    /// From the directional response index f2 as a fraction: whether too little or too much of slanting light is read is
    /// not known.
    ///
    /// f2 is the integral of `|response/cosine - 1| sin 2ε dε` from 0 to 80 degrees (ISO/CIE 19476:2014, from memory); for a
    /// small power that is the power times the integral of `-ln cos ε sin 2ε`, in closed form.
    pub fn of_index(index: f64) -> Self {
        let c2 = 80f64.to_radians().cos().powi(2);
        Self {
            power: 0.0,
            doubt: index / (0.5 + 0.5 * c2 * c2.ln() - 0.5 * c2),
        }
    }

    /// From a measured response: degrees of incidence and response over that of a cosine detector. The power is that of
    /// least squares with weights as in the index; the doubt is that of the index of what the power leaves.
    pub fn of_response(measured: &[(f64, f64)]) -> Self {
        let (mut cross, mut square) = (0.0, 0.0);
        let sound = |m: &&(f64, f64)| (0.0..90.0).contains(&m.0) && m.1 > 0.0;
        let points: Vec<(f64, f64, f64)> = measured
            .iter()
            .filter(sound)
            .map(|&(degrees, of_cosine)| {
                let angle = degrees.to_radians();
                (angle.cos().ln(), of_cosine.ln(), (2.0 * angle).sin())
            })
            .collect();
        for (cosine, response, weight) in &points {
            cross += weight * cosine * response;
            square += weight * cosine * cosine;
        }
        let power = if square > 0.0 { cross / square } else { 0.0 };
        let weights: f64 = points.iter().map(|p| p.2).sum();
        let left: f64 = points
            .iter()
            .map(|(cosine, response, weight)| weight * (response - power * cosine).abs())
            .sum();
        Self {
            power,
            ..Self::of_index(if weights > 0.0 { left / weights } else { 0.0 })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The defining integral, summed.
    #[test]
    fn the_power_has_the_index_it_is_made_for() {
        for index in [0.01, 0.03] {
            let e = Directional::of_index(index).doubt;
            let n = 20_000;
            let step = 80f64.to_radians() / f64::from(n);
            let sum: f64 = (0..n)
                .map(|i| (f64::from(i) + 0.5) * step)
                .map(|angle| (angle.cos().powf(e) - 1.0).abs() * (2.0 * angle).sin() * step)
                .sum();
            assert!((sum / index - 1.0).abs() < 0.04, "{sum} for {index}");
        }
    }

    #[test]
    fn a_power_is_found_again_and_what_it_leaves_is_doubt() {
        let at = |degrees: f64, p: f64| (degrees, degrees.to_radians().cos().powf(p));
        let exact = Directional::of_response(&[at(20.0, 0.12), at(45.0, 0.12), at(70.0, 0.12)]);
        assert!((exact.power - 0.12).abs() < 1e-12 && exact.doubt < 1e-9);
        let bent = Directional::of_response(&[at(20.0, 0.0), at(45.0, 0.3), at(70.0, 0.05)]);
        assert!(bent.power > 0.05 && bent.power < 0.3 && bent.doubt > 0.02);
        assert_eq!(Directional::of_response(&[]), Directional::default());
    }
}
