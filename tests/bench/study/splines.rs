//! The bicubic spline of one height, as anybody would try it first. It goes on beyond the outer positions as it ends
//! there.

use evenfield::geometry::Point;
use faer::Mat;
use faer::prelude::Solve;

/// The tensor product of cubic splines (not-a-knot ends) through the readings of a height.
pub struct Bicubic {
    xs: Vec<f64>,
    ys: Vec<f64>,
    coefficients: Mat<f64>,
    floor: f64,
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
    /// Of values at `(xs[i], ys[j])`, row after row, at least four along each.
    pub fn through(xs: Vec<f64>, ys: Vec<f64>, rows: &[f64]) -> Option<Self> {
        let values = Mat::from_fn(xs.len(), ys.len(), |i, j| rows[j * xs.len() + i]);
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
        self.at(p).max(self.floor).ln()
    }

    /// The spline itself.
    pub fn at(&self, p: Point) -> f64 {
        let (bx, by) = (basis(&self.xs, p.x), basis(&self.ys, p.y));
        by.iter()
            .enumerate()
            .map(|(j, wy)| {
                let column = self.coefficients.col_as_slice(j);
                wy * column.iter().zip(&bx).map(|(c, wx)| c * wx).sum::<f64>()
            })
            .sum()
    }
}
