//! Components of variance from mean squares, and how sure they are.
//!
//! One mean square: exact, chi-square. A difference: the modified large-sample interval of Ting,
//! Burdick, Graybill, Jeyaratnam & Lu 1990 (as in Burdick & Graybill 1992, *Confidence Intervals on Variance Components*,
//! ch. 3; from memory: held by the cases in which it is exact, and by how often it holds, `tests/bench/repeat.md`). Several
//! mean squares on one side of it are taken together with Satterthwaite's degrees of freedom (1946). Several components together:
//! the distances from each to the ends of its interval, added as squares (Howe 1974; Zou & Donner 2008; from memory: held by
//! how often it holds).

use crate::numeric::distributions::{chi_square_quantile, fisher_quantile};

/// What lies outside an interval on each side.
const TAIL: f64 = 0.025;

/// A mean square with its degrees of freedom.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Square {
    /// Not below zero.
    pub mean: f64,
    /// Above zero; need not be whole.
    pub freedom: f64,
}

impl Square {
    fn quantile(self, p: f64) -> f64 {
        chi_square_quantile(p, self.freedom) / self.freedom
    }

    /// How much of it may be too much: `1 - 1/F`.
    fn down(self) -> f64 {
        1.0 - 1.0 / self.quantile(1.0 - TAIL)
    }

    /// How much may be missing of it: `1/F - 1`.
    fn up(self) -> f64 {
        1.0 / self.quantile(TAIL) - 1.0
    }
}

/// A variance with its 95 % interval, none below zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Variance {
    /// Zero where the estimate would be below.
    pub value: f64,
    /// From, to.
    pub interval: (f64, f64),
    /// Of the mean square that leads; of sums Satterthwaite's.
    pub freedom: f64,
}

/// A component as mean squares, each times what stands before it.
pub type Terms = Vec<(f64, Square)>;

/// A component with its interval. `None` without mean squares, or without freedom.
pub fn combined(terms: &[(f64, Square)]) -> Option<Variance> {
    Some(whole(terms)?.clipped())
}

/// Several components together, each at least zero. `None` where one of them has no mean squares.
pub fn together(components: &[&[(f64, Square)]]) -> Option<Variance> {
    let each: Option<Vec<Variance>> = components.iter().map(|terms| combined(terms)).collect();
    let each = each.filter(|each| !each.is_empty())?;
    let value: f64 = each.iter().map(|v| v.value).sum();
    let apart = |end: fn(&Variance) -> f64| {
        let squares = each.iter().map(|v| (end(v) - v.value).powi(2));
        squares.sum::<f64>().sqrt()
    };
    let squares: f64 = each.iter().map(|v| v.value.powi(2) / v.freedom).sum();
    let freedom = value * value / squares;
    let of_first = each[0].freedom;
    Some(
        Variance {
            value,
            interval: (
                value - apart(|v| v.interval.0),
                value + apart(|v| v.interval.1),
            ),
            freedom: if freedom.is_finite() {
                freedom
            } else {
                of_first
            },
        }
        .clipped(),
    )
}

impl Variance {
    /// No variance is below zero.
    fn clipped(self) -> Self {
        Self {
            value: self.value.max(0.0),
            interval: (self.interval.0.max(0.0), self.interval.1.max(0.0)),
            ..self
        }
    }
}

/// As the mean squares say it, below zero too.
fn whole(terms: &[(f64, Square)]) -> Option<Variance> {
    let side = |wanted: fn(f64) -> bool| -> Terms {
        let all = terms.iter().filter(|(c, s)| wanted(*c) && s.freedom > 0.0);
        all.map(|(c, s)| (c.abs(), *s)).collect()
    };
    let (plus, minus) = (side(|c| c > 0.0), side(|c| c < 0.0));
    let leads = plus.first()?.1.freedom;
    let plus = as_one(&plus);
    Some(match minus.is_empty() {
        true => Variance {
            value: plus.mean,
            interval: (
                plus.mean * (1.0 - plus.down()),
                plus.mean * (1.0 + plus.up()),
            ),
            freedom: plus.freedom,
        },
        false => Variance {
            freedom: leads,
            ..difference(plus, as_one(&minus))
        },
    })
}

/// Several as one, with Satterthwaite's degrees of freedom.
fn as_one(terms: &[(f64, Square)]) -> Square {
    if let [(c, one)] = terms {
        return Square {
            mean: c * one.mean,
            ..*one
        };
    }
    let mean: f64 = terms.iter().map(|(c, s)| c * s.mean).sum();
    let squares: f64 = terms
        .iter()
        .map(|(c, s)| (c * s.mean).powi(2) / s.freedom)
        .sum();
    let least = terms
        .iter()
        .map(|(_, s)| s.freedom)
        .fold(f64::INFINITY, f64::min);
    let freedom = mean * mean / squares;
    Square {
        mean,
        freedom: if freedom.is_finite() { freedom } else { least },
    }
}

fn difference(plus: Square, minus: Square) -> Variance {
    let value = plus.mean - minus.mean;
    let (a, b) = (plus.mean, minus.mean);
    let f = fisher_quantile(1.0 - TAIL, plus.freedom, minus.freedom);
    let (g, h) = (plus.down(), minus.up());
    let cross = ((f - 1.0).powi(2) - (g * f).powi(2) - h * h) / f;
    let down = ((g * a).powi(2) + (h * b).powi(2) + cross * a * b)
        .max(0.0)
        .sqrt();
    let f = fisher_quantile(TAIL, plus.freedom, minus.freedom);
    let (h, g) = (plus.up(), minus.down());
    let cross = ((1.0 - f).powi(2) - (h * f).powi(2) - g * g) / f;
    let up = ((h * a).powi(2) + (g * b).powi(2) + cross * a * b)
        .max(0.0)
        .sqrt();
    Variance {
        value,
        interval: (value - down, value + up),
        freedom: plus.freedom,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(mean: f64, freedom: f64) -> Square {
        Square { mean, freedom }
    }

    #[test]
    fn one_mean_square_has_the_interval_of_chi_square() {
        // SciPy 1.16.3: 10 / chi2.ppf([.975, .025], 10)
        let found = combined(&[(1.0, square(1.0, 10.0))]).expect("a square");
        assert_eq!(found.value, 1.0);
        assert!((found.interval.0 - 0.488_205_5).abs() < 1e-6, "{found:?}");
        assert!((found.interval.1 - 3.079_791_8).abs() < 1e-6, "{found:?}");
        assert_eq!(found.freedom, 10.0);
    }

    #[test]
    fn a_difference_is_exact_where_the_test_by_f_is() {
        // the bound is zero just where the quotient of both is the quantile of F
        for (a, b) in [(1.0, 20.0), (9.0, 60.0), (47.0, 94.0)] {
            let f = fisher_quantile(1.0 - TAIL, a, b);
            let at = |times: f64| {
                let squares = [(0.5, square(f * times, a)), (-0.5, square(1.0, b))];
                combined(&squares).expect("squares").interval.0
            };
            assert!(at(1.0) < 1e-8, "{}", at(1.0));
            assert!(at(1.01) > 1e-6);
            let f = fisher_quantile(TAIL, a, b);
            let squares = [(0.5, square(f, a)), (-0.5, square(1.0, b))];
            let upper = combined(&squares).expect("squares").interval.1;
            assert!(upper < 1e-8, "{upper}");
        }
        // and where what is taken off is known to be nothing it is that of chi-square
        let squares = [(1.0, square(1.0, 10.0)), (-1.0, square(1e-12, 50.0))];
        let found = combined(&squares).expect("squares");
        assert!((found.interval.0 - 0.488_205_5).abs() < 1e-6, "{found:?}");
        assert!((found.interval.1 - 3.079_791_8).abs() < 1e-6, "{found:?}");
    }

    #[test]
    fn one_degree_of_freedom_says_next_to_nothing() {
        let squares = [(0.01, square(2.0, 1.0)), (-0.01, square(1.0, 40.0))];
        let found = combined(&squares).expect("squares");
        assert_eq!(found.interval.0, 0.0);
        assert!(found.interval.1.sqrt() > 20.0 * found.value.sqrt());
        assert_eq!(found.freedom, 1.0);
    }

    #[test]
    fn satterthwaite_of_two_equal_ones_has_both_freedoms() {
        let found = combined(&[(0.5, square(2.0, 8.0)), (0.5, square(2.0, 8.0))]).expect("squares");
        assert!((found.freedom - 16.0).abs() < 1e-12);
        assert_eq!(found.value, 2.0);
        assert_eq!(combined(&[]), None);
    }

    #[test]
    fn together_is_the_component_itself_where_the_others_are_nothing() {
        let one = [(1.0, square(1.0, 10.0))];
        let nothing = [(1.0, square(1e-14, 30.0))];
        let both = together(&[&one, &nothing]).expect("squares");
        let alone = combined(&one).expect("a square");
        assert!((both.interval.0 - alone.interval.0).abs() < 1e-9);
        assert!((both.interval.1 - alone.interval.1).abs() < 1e-9);
        assert_eq!(together(&[&one[..], &[]]), None);
        // two alike: nearer to their sum than one to itself
        let two = together(&[&one, &one]).expect("squares");
        assert_eq!(two.value, 2.0);
        assert!(two.interval.1 < 2.0 * alone.interval.1);
    }
}
