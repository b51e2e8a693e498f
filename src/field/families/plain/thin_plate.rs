//! The thin plate: of all surfaces through values the one that bends least or, smoothed, the best compromise between
//! bending and missing them (Duchon 1977; Wahba 1990, ch. 2).

use faer::linalg::solvers::{DenseSolveCore, Solve};
use faer::{ColRef, Mat};

use crate::field::equations::trend::Trend;
use crate::field::score::hold_out::HoldOut;
use crate::geometry::Place;

/// A thin plate over places, any values.
#[derive(Debug, Clone)]
pub struct ThinPlate {
    at: Vec<[f64; 3]>,
    weights: Vec<f64>,
    trend: Trend,
    coefficients: Vec<f64>,
    unit: Unit,
}

/// How places are scaled, so that the equations are of order one.
#[derive(Debug, Clone, Copy)]
struct Unit {
    /// Of one length, mm.
    length: f64,
    /// What a millimetre of height counts as, mm.
    stretch: f64,
}

impl Unit {
    fn scaled(self, p: Place) -> [f64; 3] {
        [p.x, p.y, p.height * self.stretch].map(|v| v / self.length)
    }
}

/// `r² ln r`, of `r²`.
fn bending(squared: f64) -> f64 {
    if squared > 0.0 {
        0.5 * squared * squared.ln()
    } else {
        0.0
    }
}

fn squared(a: &[f64; 3], b: &[f64; 3]) -> f64 {
    a.iter().zip(b).map(|(u, v)| (u - v) * (u - v)).sum()
}

/// The equations without smoothing: `[K F; Fᵀ 0] [w; β] = [y; 0]` with `K = r² ln r` and `F` a constant and, as far as
/// places can tell them apart, x, y and height.
pub(in crate::field) struct Equations {
    at: Vec<[f64; 3]>,
    trend: Trend,
    unit: Unit,
    system: Mat<f64>,
}

impl Equations {
    /// A millimetre of height counts as `stretch` millimetres.
    pub fn new(places: &[Place], stretch: f64) -> Self {
        let range = |get: fn(&Place) -> f64| {
            let (low, high) = places
                .iter()
                .map(get)
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
                    (l.min(v), h.max(v))
                });
            high - low
        };
        let sides = [
            range(|p| p.x),
            range(|p| p.y),
            stretch * range(|p| p.height),
        ];
        let length = sides.iter().map(|s| s * s).sum::<f64>().sqrt();
        let unit = Unit {
            length: if length > 0.0 { length } else { 1.0 },
            stretch,
        };
        let at: Vec<[f64; 3]> = places.iter().map(|&p| unit.scaled(p)).collect();
        let trend = Trend::linear(places);
        let (n, p) = (at.len(), trend.terms());
        let system = Mat::from_fn(n + p, n + p, |i, j| match (i < n, j < n) {
            (true, true) => bending(squared(&at[i], &at[j])),
            (true, false) => trend.value(j - n, places[i]),
            (false, true) => trend.value(i - n, places[j]),
            (false, false) => 0.0,
        });
        Self {
            at,
            trend,
            unit,
            system,
        }
    }

    /// With `smoothing`, in squared unit lengths, on the diagonal of `K`.
    fn smoothed(&self, smoothing: f64) -> Mat<f64> {
        let mut system = self.system.clone();
        for i in 0..self.at.len() {
            system[(i, i)] += smoothing;
        }
        system
    }

    fn right_side(&self, values: &[f64]) -> Mat<f64> {
        Mat::from_fn(self.system.nrows(), 1, |i, _| {
            values.get(i).copied().unwrap_or(0.0)
        })
    }

    /// The plate; `None` when the equations have no finite solution.
    pub fn solve(&self, values: &[f64], smoothing: f64) -> Option<ThinPlate> {
        let n = self.at.len();
        let lu = self.smoothed(smoothing).partial_piv_lu();
        let solved = lu.solve(&self.right_side(values));
        let solved = solved.col_as_slice(0);
        solved.iter().all(|w| w.is_finite()).then(|| ThinPlate {
            at: self.at.clone(),
            weights: solved[..n].to_vec(),
            trend: self.trend.clone(),
            coefficients: solved[n..].to_vec(),
            unit: self.unit,
        })
    }

    /// How values are predicted from others: the upper left block of the inverse is the projection that the closed
    /// form of [`HoldOut`] wants. `None` when there is no inverse.
    pub fn hold_out(&self, values: &[f64], smoothing: f64) -> Option<HoldOut<'static>> {
        let n = self.at.len();
        let inverse = self.smoothed(smoothing).partial_piv_lu().inverse();
        let projection = inverse.submatrix(0, 0, n, n).to_owned();
        let pull = &projection * ColRef::from_slice(values);
        projection.is_all_finite().then(|| {
            let pull = pull.iter().copied().collect::<Vec<f64>>();
            HoldOut::of_projection(projection, pull, 1.0)
        })
    }
}

impl ThinPlate {
    /// The plate over values at places, at least one; a millimetre of height counts as `stretch` millimetres. With
    /// `smoothing` 0 it goes through the values; above, it is what stands on the diagonal of `K`, mm². `None` when
    /// there is none, as for two values at one place without smoothing.
    pub fn new(places: &[Place], values: &[f64], stretch: f64, smoothing: f64) -> Option<Self> {
        let equations = Equations::new(places, stretch);
        let scale = equations.unit.length * equations.unit.length;
        equations.solve(values, smoothing / scale)
    }

    /// Its value at a place.
    pub fn at(&self, place: Place) -> f64 {
        let here = self.unit.scaled(place);
        let bent = self.at.iter().zip(&self.weights);
        let bent: f64 = bent.map(|(at, w)| w * bending(squared(at, &here))).sum();
        let plane = self.coefficients.iter().enumerate();
        bent + plane
            .map(|(k, beta)| beta * self.trend.value(k, place))
            .sum::<f64>()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn places() -> Vec<Place> {
        (0..20)
            .map(|i| {
                let (x, y) = (f64::from(i % 5) * 20.0, f64::from(i / 5) * 15.0);
                Place::new(x + f64::from(i * i % 7), y, 10.0 * f64::from(i % 3))
            })
            .collect()
    }

    #[test]
    fn a_plane_stays_a_plane_and_values_are_met() {
        let plane = |p: Place| 3.0 + 0.2 * p.x - 0.1 * p.y + 0.05 * p.height;
        let values: Vec<f64> = places().iter().map(|&p| plane(p)).collect();
        let plate = ThinPlate::new(&places(), &values, 1.5, 10.0).expect("a plate");
        let beyond = Place::new(150.0, -20.0, 35.0);
        assert!((plate.at(beyond) - plane(beyond)).abs() < 1e-9);

        let rough: Vec<f64> = (0..20).map(|i| f64::from(i * 7 % 11)).collect();
        let plate = ThinPlate::new(&places(), &rough, 1.5, 0.0).expect("a plate");
        for (p, v) in places().iter().zip(&rough) {
            assert!((plate.at(*p) - v).abs() < 1e-9);
        }
    }

    #[test]
    fn leaving_out_is_what_a_plate_without_says() {
        let values: Vec<f64> = (0..20).map(|i| f64::from(i * 7 % 11)).collect();
        let smoothing = 1e-3;
        let equations = Equations::new(&places(), 1.5);
        let held = equations.hold_out(&values, smoothing).expect("an inverse");
        let left_out = [3, 12];
        let errors = held.without(&left_out).expect("predicted").errors;
        let kept = |i: &usize| !left_out.contains(i);
        let rest: Vec<Place> = (0..20).filter(kept).map(|i| places()[i]).collect();
        let seen: Vec<f64> = (0..20).filter(kept).map(|i| values[i]).collect();
        let length = equations.unit.length;
        let plate = ThinPlate::new(&rest, &seen, 1.5, smoothing * length * length);
        let plate = plate.expect("a plate");
        for (i, error) in left_out.iter().zip(errors) {
            assert!((values[*i] - plate.at(places()[*i]) - error).abs() < 1e-8);
        }
    }

    #[test]
    fn places_on_a_line_one_place_and_repeats() {
        let line: Vec<Place> = (0..6)
            .map(|i| Place::new(f64::from(i), 2.0 * f64::from(i), 5.0))
            .collect();
        let values = [1.0, 2.0, 2.5, 2.0, 1.0, 0.5];
        let plate = ThinPlate::new(&line, &values, 0.0, 0.0).expect("a plate");
        assert!((plate.at(line[2]) - 2.5).abs() < 1e-9);
        let once = ThinPlate::new(&line[..1], &[4.0], 0.0, 0.0).expect("a plate");
        assert_eq!(once.at(line[5]), 4.0);
        let twice = [line[0], line[0], line[3]];
        let plate = ThinPlate::new(&twice, &[1.0, 3.0, 5.0], 0.0, 1e-6).expect("a plate");
        assert!((plate.at(line[0]) - 2.0).abs() < 1e-5);
    }
}
