//! The plain comparison of readings in pairs, for surveys of too few positions to tell a local change from a common one.

use crate::numeric::distributions::{student_above, student_quantile};

/// Student's paired t: how much more the second of each pair is in the mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Paired {
    /// Mean of second less first.
    pub mean: f64,
    /// Standard uncertainty of that.
    pub uncertainty: f64,
    /// Pairs less one.
    pub dof: f64,
}

impl Paired {
    /// Of differences; `None` for fewer than two.
    pub fn of(differences: &[f64]) -> Option<Self> {
        let n = differences.len() as f64;
        if differences.len() < 2 {
            return None;
        }
        let mean = differences.iter().sum::<f64>() / n;
        let squares: f64 = differences.iter().map(|d| (d - mean).powi(2)).sum();
        Some(Self {
            mean,
            uncertainty: (squares / (n - 1.0) / n).sqrt(),
            dof: n - 1.0,
        })
    }

    /// Mean over its uncertainty.
    pub fn t(&self) -> f64 {
        self.mean / self.uncertainty
    }

    /// Two-sided.
    pub fn p(&self) -> f64 {
        2.0 * student_above(self.t().abs(), self.dof)
    }

    /// That holds the mean with this confidence.
    pub fn interval(&self, confidence: f64) -> (f64, f64) {
        let t = student_quantile(0.5 + 0.5 * confidence, self.dof);
        (
            self.mean - t * self.uncertainty,
            self.mean + t * self.uncertainty,
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sleep_of_students_patients() {
        // Student 1908, as R's t.test and scipy.stats.ttest_rel have it
        let one = [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0];
        let two = [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4];
        let differences: Vec<f64> = one.iter().zip(two).map(|(a, b)| a - b).collect();
        let paired = Paired::of(&differences).expect("ten pairs");
        assert!((paired.t() + 4.062127683382).abs() < 1e-9, "{}", paired.t());
        assert!((paired.p() - 0.002832890197).abs() < 1e-9, "{}", paired.p());
        let (low, high) = paired.interval(0.95);
        assert!((low + 2.459885763).abs() < 1e-6 && (high + 0.700114237).abs() < 1e-6);
        assert_eq!(Paired::of(&[1.0]), None);
    }
}
