//! Many tests at once: which to believe when the share of false finds among all finds is to be held.

/// Which of many p-values are significant with the false discovery rate held at `level`, by the step-up procedure of Benjamini &
/// Hochberg (1995, J. R. Statist. Soc. B 57:289). It holds for tests that are independent or positively dependent, as those at
/// neighbouring places of a smooth field are (Benjamini & Yekutieli 2001, Ann. Statist. 29:1165).
pub fn discoveries(p: &[f64], level: f64) -> Vec<bool> {
    adjusted(p).into_iter().map(|q| q <= level).collect()
}

/// The least level at which each of many p-values is significant by the same procedure.
pub fn adjusted(p: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|&a, &b| p[a].total_cmp(&p[b]));
    let m = p.len() as f64;
    let mut out = vec![1.0; p.len()];
    let mut least: f64 = 1.0;
    for (rank, &i) in order.iter().enumerate().rev() {
        least = least.min(p[i] * m / (rank + 1) as f64);
        out[i] = least;
    }
    out
}

/// Level of an interval of a quantity that was picked because its test was significant, so that of all intervals given the share
/// that misses stays at `level`: 1 - level × picked / tested (Benjamini & Yekutieli 2005, J. Am. Statist. Assoc. 100:71).
pub fn level_of_picked(level: f64, picked: usize, tested: usize) -> f64 {
    level * picked.max(1) as f64 / tested.max(1) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Benjamini & Hochberg 1995, section 3.2: 15 p-values, of which four are significant at 5 %.
    const PUBLISHED: [f64; 15] = [
        0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262,
        0.5719, 0.6528, 0.7590, 1.0000,
    ];

    #[test]
    fn the_published_example() {
        let count = |level| {
            discoveries(&PUBLISHED, level)
                .iter()
                .filter(|f| **f)
                .count()
        };
        assert_eq!((count(0.05), count(0.10)), (4, 9));
        assert!(discoveries(&PUBLISHED, 0.05)[..4].iter().all(|f| *f));
    }

    #[test]
    fn adjusted_as_other_programs_have_them() {
        // scipy.stats.false_discovery_control, statsmodels and R p.adjust agree on these
        let expected = [
            0.0015,
            0.003,
            0.0095,
            0.035625,
            0.0603,
            0.0638571428571,
            0.0638571428571,
            0.0645,
            0.0765,
            0.486,
            0.581181818182,
            0.714875,
            0.753230769231,
            0.813214285714,
            1.0,
        ];
        let mut backwards = PUBLISHED.to_vec();
        backwards.reverse();
        let mut got = adjusted(&backwards);
        got.reverse();
        for (got, expected) in got.iter().zip(expected) {
            assert!((got - expected).abs() < 1e-12, "{got} {expected}");
        }
    }

    #[test]
    fn it_steps_up() {
        assert_eq!(discoveries(&[0.04, 0.03], 0.05), [true, true]);
        assert!(discoveries(&[], 0.05).is_empty());
    }
}
