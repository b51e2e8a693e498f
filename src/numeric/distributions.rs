//! Student's t, the normal, F and beta distributions. Arguments that make no sense give an answer that
//! is not a number, never a panic.

use statrs::distribution::{
    Beta, ChiSquared, ContinuousCDF, DiscreteCDF, FisherSnedecor, Hypergeometric, Normal, StudentsT,
};

fn proper(p: f64) -> bool {
    p > 0.0 && p < 1.0
}

/// The value that Student's t with `dof` degrees of freedom stays below with probability `p`. Endless
/// `dof` gives the normal distribution.
pub fn student_quantile(p: f64, dof: f64) -> f64 {
    if dof == f64::INFINITY {
        return normal_quantile(p);
    }
    if !proper(p) {
        return f64::NAN;
    }
    StudentsT::new(0.0, 1.0, dof).map_or(f64::NAN, |t| t.inverse_cdf(p))
}

/// The probability that Student's t lies above `t`.
pub fn student_above(t: f64, dof: f64) -> f64 {
    if dof == f64::INFINITY {
        return normal_above(t);
    }
    if t.is_infinite() {
        return if t > 0.0 { 0.0 } else { 1.0 };
    }
    StudentsT::new(0.0, 1.0, dof).map_or(f64::NAN, |d| d.sf(t))
}

/// The value that a standard normal variable stays below with probability `p`.
pub fn normal_quantile(p: f64) -> f64 {
    if proper(p) {
        Normal::standard().inverse_cdf(p)
    } else {
        f64::NAN
    }
}

/// The probability that a standard normal variable lies above `z`.
pub fn normal_above(z: f64) -> f64 {
    Normal::standard().sf(z)
}

/// The probability that F with `above` and `below` degrees of freedom lies above `f`.
pub fn fisher_above(f: f64, above: f64, below: f64) -> f64 {
    if f == f64::INFINITY {
        return 0.0;
    }
    FisherSnedecor::new(above, below).map_or(f64::NAN, |d| d.sf(f))
}

/// The value that F with `above` and `below` degrees of freedom stays below with probability `p`.
pub fn fisher_quantile(p: f64, above: f64, below: f64) -> f64 {
    // a beta variable is a share of both sums of squares
    let share = beta_quantile(p, 0.5 * above, 0.5 * below);
    below * share / (above * (1.0 - share))
}

/// The value that chi-square with `dof` degrees of freedom stays below with probability `p`.
pub fn chi_square_quantile(p: f64, dof: f64) -> f64 {
    if !proper(p) {
        return f64::NAN;
    }
    ChiSquared::new(dof).map_or(f64::NAN, |d| d.inverse_cdf(p))
}

/// The value that a beta variable stays below with probability `p`.
pub fn beta_quantile(p: f64, a: f64, b: f64) -> f64 {
    if !proper(p) {
        return f64::NAN;
    }
    Beta::new(a, b).map_or(f64::NAN, |d| d.inverse_cdf(p))
}

/// The probability that of `draws` from a `population` with so many `successes` at most `k` are successes.
pub fn hypergeometric_at_most(k: u64, population: u64, successes: u64, draws: u64) -> f64 {
    // what can't be otherwise is certain
    if k >= draws.min(successes) {
        return 1.0;
    }
    Hypergeometric::new(population, successes, draws).map_or(f64::NAN, |d| d.cdf(k))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(got: f64, expected: f64, relative: f64) {
        assert!(
            (got / expected - 1.0).abs() < relative,
            "{got}, expected {expected}"
        );
    }

    #[test]
    fn quantiles_of_another_library() {
        // SciPy 1.16.3: stats.t.ppf, norm.ppf, beta.ppf, f.sf
        near(student_quantile(0.995, 16.0), 2.920_781_622_496, 1e-9);
        near(student_quantile(0.975, 16.0), 2.119_905_299_221, 1e-9);
        near(student_quantile(0.975, 9.0), 2.262_157_162_854, 1e-9);
        near(normal_quantile(0.95), 1.644_853_626_951, 1e-9);
        near(student_above(2.119_905_299_221, 16.0), 0.025, 1e-9);
        near(
            student_quantile(0.95, f64::INFINITY),
            normal_quantile(0.95),
            1e-15,
        );
        // stats.chi2.ppf, stats.f.ppf
        near(
            chi_square_quantile(0.025, 1.0),
            9.820_691_171_752_58e-4,
            1e-7,
        );
        near(chi_square_quantile(0.975, 10.0), 20.483_177_350_807, 1e-7);
        near(chi_square_quantile(0.025, 141.0), 110.0, 0.02);
        near(fisher_quantile(0.975, 3.0, 7.0), 5.889_819_167_203, 1e-8);
        near(fisher_quantile(0.025, 9.0, 40.0), 0.285_268_134_513, 1e-8);
        // in closed form: a beta variable with b = 1 is the a-th root of an even one
        near(
            beta_quantile(0.05, 59.0, 1.0),
            0.05f64.powf(1.0 / 59.0),
            1e-9,
        );
        // one degree above: F is the square of t
        near(
            fisher_above(2.119_905_299_221f64.powi(2), 1.0, 16.0),
            0.05,
            1e-9,
        );
    }

    #[test]
    fn draws_without_putting_back() {
        // the tea of Fisher 1935: four of each, three or fewer right of four in 69 of 70 orders
        near(hypergeometric_at_most(3, 8, 4, 4), 69.0 / 70.0, 1e-12);
        near(hypergeometric_at_most(0, 8, 4, 4), 1.0 / 70.0, 1e-12);
        assert_eq!(hypergeometric_at_most(4, 8, 4, 4), 1.0);
        assert!(hypergeometric_at_most(1, 8, 9, 4).is_nan());
    }

    #[test]
    fn nonsense_gives_no_number() {
        for bad in [
            student_quantile(0.0, 5.0),
            student_quantile(0.9, 0.0),
            student_quantile(0.9, f64::NAN),
            student_quantile(f64::NAN, 5.0),
            normal_quantile(1.0),
            beta_quantile(0.5, 0.0, 1.0),
            beta_quantile(1.5, 1.0, 1.0),
            fisher_above(1.0, 0.0, 3.0),
        ] {
            assert!(bad.is_nan(), "{bad}");
        }
        assert_eq!(student_above(f64::INFINITY, 3.0), 0.0);
        assert_eq!(student_above(f64::NEG_INFINITY, 3.0), 1.0);
    }
}
