//! The trend of a kriging: a polynomial in place and height whose coefficients are estimated along.

use crate::geometry::Place;

/// One term: powers of x, y and height, 0 to 2.
type Powers = [u8; 3];

/// A polynomial in centred and scaled coordinates, so that its terms are of order one.
#[derive(Debug, Clone, PartialEq)]
pub struct Trend {
    centre: [f64; 3],
    scale: [f64; 3],
    terms: Vec<Powers>,
}

const CONSTANT: Powers = [0, 0, 0];
const HEIGHT: Powers = [0, 0, 1];
const LINEAR: [Powers; 2] = [[1, 0, 0], [0, 1, 0]];
const QUADRATIC: [Powers; 3] = [[2, 0, 0], [1, 1, 0], [0, 2, 0]];
/// Below this part of its length a term is a combination of those before it.
const INDEPENDENT: f64 = 1e-4;

impl Trend {
    /// No trend: the values are about a mean that is known to be zero (simple kriging).
    pub fn none() -> Self {
        Self {
            centre: [0.0; 3],
            scale: [1.0; 3],
            terms: Vec::new(),
        }
    }

    /// An unknown constant (ordinary kriging).
    pub fn constant() -> Self {
        Self {
            terms: vec![CONSTANT],
            ..Self::none()
        }
    }

    /// What `positions` distinct positions and their heights support: a constant, height, from ten
    /// positions x and y, from twenty their squares and product. A term that places cannot tell
    /// from those before it is left out, and so is one that would leave fewer than three readings over.
    pub fn supported_by(places: &[Place], positions: usize) -> Self {
        let mut wanted = vec![HEIGHT];
        if positions >= 10 {
            wanted.extend(LINEAR);
        }
        if positions >= 20 {
            wanted.extend(QUADRATIC);
        }
        Self::of_terms(places, &wanted, 3)
    }

    /// A constant and, as far as the places can tell them apart, x, y and height.
    pub(in crate::field) fn linear(places: &[Place]) -> Self {
        let wanted = [LINEAR[0], LINEAR[1], HEIGHT];
        Self::of_terms(places, &wanted, 0)
    }

    /// A polynomial in x and y of degree 1 or 2, as far as the places can tell its terms apart.
    pub fn plane(places: &[Place], degree: u8) -> Self {
        let mut wanted = LINEAR.to_vec();
        if degree >= 2 {
            wanted.extend(QUADRATIC);
        }
        Self::of_terms(places, &wanted, 3)
    }

    /// Of the terms wanted those that leave `spare` values over.
    fn of_terms(places: &[Place], wanted: &[Powers], spare: usize) -> Self {
        let range = |get: fn(&Place) -> f64| {
            let (low, high) = places
                .iter()
                .map(get)
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
                    (l.min(v), h.max(v))
                });
            let half = 0.5 * (high - low);
            (0.5 * (high + low), if half > 1e-9 { half } else { 1.0 })
        };
        let axes = [range(|p| p.x), range(|p| p.y), range(|p| p.height)];
        let mut trend = Self {
            centre: axes.map(|a| a.0),
            scale: axes.map(|a| a.1),
            terms: vec![CONSTANT],
        };
        // Gram-Schmidt, one term after the other
        let mut basis = vec![unit(vec![1.0; places.len()]).unwrap_or_default()];
        for &term in wanted {
            if places.len() < trend.terms.len() + 1 + spare {
                break;
            }
            let column: Vec<f64> = places.iter().map(|p| trend.term(term, *p)).collect();
            let before = norm(&column);
            let mut rest = column;
            for b in &basis {
                let along: f64 = rest.iter().zip(b).map(|(r, b)| r * b).sum();
                rest.iter_mut().zip(b).for_each(|(r, b)| *r -= along * b);
            }
            if before > 0.0 && norm(&rest) > INDEPENDENT * before {
                trend.terms.push(term);
                basis.extend(unit(rest));
            }
        }
        trend
    }

    /// How many coefficients.
    pub fn terms(&self) -> usize {
        self.terms.len()
    }

    /// Whether there is more than a constant.
    pub fn is_more_than_constant(&self) -> bool {
        self.terms.len() > 1
    }

    /// The value of term `i` at a place.
    pub fn value(&self, i: usize, place: Place) -> f64 {
        self.term(self.terms[i], place)
    }

    /// The trend with these coefficients at `(xs[i], y, height)`: along a row it is a polynomial in x.
    pub(in crate::field) fn row(
        &self,
        coefficients: &[f64],
        xs: &[f64],
        y: f64,
        height: f64,
        out: &mut [f64],
    ) {
        let middle = Place::new(self.centre[0], y, height);
        let mut c = [0.0; 3];
        for (&[power, y, height], beta) in self.terms.iter().zip(coefficients) {
            c[usize::from(power)] += beta * self.term([0, y, height], middle);
        }
        for (x, value) in xs.iter().zip(out) {
            let t = (x - self.centre[0]) / self.scale[0];
            *value = c[0] + t * (c[1] + t * c[2]);
        }
    }

    fn term(&self, powers: Powers, p: Place) -> f64 {
        let at = [p.x, p.y, p.height];
        (0..3)
            .map(|a| {
                let t = (at[a] - self.centre[a]) / self.scale[a];
                match powers[a] {
                    0 => 1.0,
                    1 => t,
                    _ => t * t,
                }
            })
            .product()
    }
}

fn norm(v: &[f64]) -> f64 {
    v.iter().map(|x| x * x).sum::<f64>().sqrt()
}

fn unit(mut v: Vec<f64>) -> Option<Vec<f64>> {
    let length = norm(&v);
    (length > 0.0).then(|| {
        v.iter_mut().for_each(|x| *x /= length);
        v
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid(n: i32, heights: &[f64]) -> Vec<Place> {
        (0..n * n)
            .flat_map(|i| {
                heights
                    .iter()
                    .map(move |&h| Place::new(f64::from(i % n) * 30.0, f64::from(i / n) * 20.0, h))
            })
            .collect()
    }

    #[test]
    fn takes_what_the_places_support() {
        let terms = |places: &[Place], positions| Trend::supported_by(places, positions).terms();
        assert_eq!(terms(&grid(5, &[10.0, 20.0]), 25), 7);
        assert_eq!(terms(&grid(5, &[10.0]), 25), 6);
        assert_eq!(terms(&grid(4, &[10.0, 20.0]), 16), 4);
        assert_eq!(terms(&grid(2, &[10.0, 20.0]), 4), 2);
        assert_eq!(terms(&grid(1, &[10.0]), 1), 1);
        // all on one line: y is x again, its squares are the same square
        let line: Vec<Place> = (0..24)
            .map(|i| Place::new(f64::from(i), 2.0 * f64::from(i), 5.0))
            .collect();
        assert_eq!(terms(&line, 24), 3);
    }
}
