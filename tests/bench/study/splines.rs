//! General interpolators of one height, as anybody would try them first. Both go on beyond the outer
//! positions as they end there.

use evenfield::geometry::Point;
use faer::Mat;
use faer::prelude::Solve;

use crate::station::Station;

/// The tensor product of cubic splines (not-a-knot ends) through the readings of a height.
pub struct Bicubic {
    xs: Vec<f64>,
    ys: Vec<f64>,
    coefficients: Mat<f64>,
    floor: f64,
}

/// The thin plate through log readings of a height (Duchon 1977).
pub struct Plate {
    at: Vec<Point>,
    weights: Vec<f64>,
}

/// The truncated power basis over knots without the second and the last but one, on a unit interval.
fn basis(knots: &[f64], x: f64) -> Vec<f64> {
    let (first, last) = (knots[0], knots[knots.len() - 1]);
    let unit = |x: f64| (x - first) / (last - first);
    let u = unit(x);
    let inner = knots[2..knots.len() - 2].iter();
    [1.0, u, u * u, u * u * u]
        .into_iter()
        .chain(inner.map(|&k| (u - unit(k)).max(0.0).powi(3)))
        .collect()
}

fn collocation(knots: &[f64]) -> Mat<f64> {
    let rows: Vec<Vec<f64>> = knots.iter().map(|&x| basis(knots, x)).collect();
    Mat::from_fn(knots.len(), knots.len(), |i, j| rows[i][j])
}

impl Bicubic {
    pub fn at(station: &Station, height: f64) -> Option<Self> {
        let (xs, ys) = station.along();
        let values = Mat::from_fn(xs.len(), ys.len(), |i, j| {
            station.mean_reading(j * xs.len() + i, height)
        });
        let along_x = collocation(&xs).partial_piv_lu().solve(&values);
        let along_both = collocation(&ys).partial_piv_lu().solve(along_x.transpose());
        let total: f64 = values.col_iter().map(|c| c.sum()).sum();
        let floor = 1e-3 * total / (xs.len() * ys.len()) as f64;
        let coefficients = along_both.transpose().to_owned();
        coefficients.is_all_finite().then_some(Self {
            xs,
            ys,
            coefficients,
            floor,
        })
    }

    /// Log of the spline, which is kept above a thousandth of its mean.
    pub fn log(&self, p: Point) -> f64 {
        let (bx, by) = (basis(&self.xs, p.x), basis(&self.ys, p.y));
        let sum: f64 = by
            .iter()
            .enumerate()
            .map(|(j, wy)| {
                let column = self.coefficients.col_as_slice(j);
                wy * column.iter().zip(&bx).map(|(c, wx)| c * wx).sum::<f64>()
            })
            .sum();
        sum.max(self.floor).ln()
    }
}

/// r² ln r, of r².
fn bending(r2: f64) -> f64 {
    if r2 > 0.0 { 0.5 * r2 * r2.ln() } else { 0.0 }
}

fn squared(a: Point, b: Point) -> f64 {
    (a.x - b.x).powi(2) + (a.y - b.y).powi(2)
}

impl Plate {
    pub fn at(station: &Station, height: f64) -> Option<Self> {
        let (xs, ys) = station.along();
        let place = |i: usize| Point::new(xs[i % xs.len()], ys[i / xs.len()]);
        let at: Vec<Point> = (0..xs.len() * ys.len()).map(place).collect();
        let n = at.len();
        let plane = |i: usize, term: usize| [1.0, at[i].x, at[i].y][term];
        let system = Mat::from_fn(n + 3, n + 3, |i, j| match (i < n, j < n) {
            (true, true) => bending(squared(at[i], at[j])),
            (true, false) => plane(i, j - n),
            (false, true) => plane(j, i - n),
            (false, false) => 0.0,
        });
        let values = Mat::from_fn(n + 3, 1, |i, _| {
            if i < n {
                station.mean_reading(i, height).ln()
            } else {
                0.0
            }
        });
        let solved = system.partial_piv_lu().solve(&values);
        let weights = solved.col_as_slice(0).to_vec();
        let sound = weights.iter().all(|w| w.is_finite());
        sound.then_some(Self { at, weights })
    }

    pub fn log(&self, p: Point) -> f64 {
        let n = self.at.len();
        let bent = self.at.iter().zip(&self.weights);
        let bent: f64 = bent.map(|(&q, w)| w * bending(squared(p, q))).sum();
        bent + self.weights[n] + self.weights[n + 1] * p.x + self.weights[n + 2] * p.y
    }
}
