//! A location that a few places can't pull far, without any model: a second opinion on what is common.

use crate::numeric::distributions::normal_quantile;
use crate::numeric::quantile::of_sorted;

/// Fewer values than this have no interval of 95 %: even all of them on one side of none have a chance of 2 × 2⁻⁵.
const LEAST: usize = 6;

/// The pseudo-median of values and the interval that holds it with 95 % confidence: the middle of the means of all pairs (Hodges &
/// Lehmann 1963, Ann. Math. Statist. 34:598), and those of them at which Wilcoxon's signed-rank test turns significant, by its
/// normal approximation with the usual half (Lehmann 1975, Nonparametrics, section 4.3). It bends where a third of the values are off. `None` for fewer
/// than six.
pub fn pseudo_median(values: &[f64]) -> Option<(f64, (f64, f64))> {
    let n = values.len();
    if n < LEAST {
        return None;
    }
    let pairs = (0..n).flat_map(|i| (i..n).map(move |j| (i, j)));
    let mut means: Vec<f64> = pairs.map(|(i, j)| 0.5 * (values[i] + values[j])).collect();
    means.sort_by(f64::total_cmp);
    let (count, m) = (n as f64, means.len());
    let middle = count * (count + 1.0) / 4.0;
    let spread = (count * (count + 1.0) * (2.0 * count + 1.0) / 24.0).sqrt();
    let beyond = (middle - 0.5 - normal_quantile(0.975) * spread)
        .max(0.0)
        .floor() as usize;
    let middle = of_sorted(&means, 0.5)?;
    Some((middle, (means[beyond], means[m - 1 - beyond])))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Darwin's maize, differences in eighths of an inch (Fisher 1935, The Design of Experiments, table 2).
    const MAIZE: [f64; 15] = [
        49.0, -67.0, 8.0, 16.0, 6.0, 23.0, 28.0, 41.0, 14.0, 29.0, 56.0, 24.0, 75.0, 60.0, -48.0,
    ];

    #[test]
    fn darwins_maize() {
        // tests/reference/robust.py: numpy.median of Walsh averages; scipy.stats.wilcoxon at both ends
        let (middle, (low, high)) = pseudo_median(&MAIZE).expect("fifteen");
        assert_eq!((middle, low, high), (25.0, 0.5, 42.0));
    }

    #[test]
    fn a_few_places_that_are_off_pull_it_little() {
        let even: Vec<f64> = (0..40).map(|i| -0.15 + 0.001 * f64::from(i % 7)).collect();
        let mut with = even.clone();
        with[..6].iter_mut().for_each(|v| *v -= 0.5);
        let of = |v: &[f64]| pseudo_median(v).expect("enough").0;
        assert!((of(&with) - of(&even)).abs() < 0.002);
        assert_eq!(pseudo_median(&even[..5]), None);
    }
}
