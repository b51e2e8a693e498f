//! Products of which one triangle is wanted, or of which one factor is a triangle: half the work of whole ones.

use faer::linalg::matmul::triangular::{self, BlockStructure};
use faer::{Accum, Mat, MatMut, MatRef, Par};

/// Adds `times AᵀA` to the lower triangle of a square matrix; the upper one stays as it is.
pub fn add_gram(to: &mut Mat<f64>, of: MatRef<'_, f64>, times: f64) {
    lower_product(to.as_mut(), of.transpose(), of, times);
}

/// Adds `times AAᵀ` to the lower triangle of a square matrix; the upper one stays as it is.
pub fn add_outer_gram(to: &mut Mat<f64>, of: MatRef<'_, f64>, times: f64) {
    lower_product(to.as_mut(), of, of.transpose(), times);
}

fn lower_product(to: MatMut<'_, f64>, left: MatRef<'_, f64>, right: MatRef<'_, f64>, times: f64) {
    triangular::matmul(
        to,
        BlockStructure::TriangularLower,
        Accum::Add,
        left,
        BlockStructure::Rectangular,
        right,
        BlockStructure::Rectangular,
        times,
        Par::Seq,
    );
}

/// `L B` of a lower triangle; what stands above its diagonal is not read.
pub fn lower_times(lower: MatRef<'_, f64>, b: MatRef<'_, f64>) -> Mat<f64> {
    let mut out = Mat::zeros(lower.nrows(), b.ncols());
    triangular::matmul(
        out.as_mut(),
        BlockStructure::Rectangular,
        Accum::Replace,
        lower,
        BlockStructure::TriangularLower,
        b,
        BlockStructure::Rectangular,
        1.0,
        Par::Seq,
    );
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn products_are_those_of_whole_matrices() {
        let a = Mat::from_fn(5, 7, |i, j| (1.3 * i as f64 - 0.7 * j as f64).sin());
        let start = Mat::from_fn(7, 7, |i, j| i as f64 - 2.0 * j as f64);
        let mut got = start.clone();
        add_gram(&mut got, a.as_ref(), -2.0);
        let whole = &start - faer::Scale(2.0) * (a.transpose() * &a);
        let square = Mat::from_fn(7, 7, |i, j| if i < j { f64::NAN } else { got[(i, j)] });
        let times = lower_times(square.as_ref(), a.transpose());
        let mut outer = Mat::zeros(5, 5);
        add_outer_gram(&mut outer, a.as_ref(), 1.0);
        let outer_whole = &a * a.transpose();
        for j in 0..7 {
            for i in 0..7 {
                let expected = if i < j { start[(i, j)] } else { whole[(i, j)] };
                assert!((got[(i, j)] - expected).abs() < 1e-12);
            }
        }
        for j in 0..5 {
            for i in 0..7 {
                let sum: f64 = (0..=i).map(|k| square[(i, k)] * a[(j, k)]).sum();
                assert!((times[(i, j)] - sum).abs() < 1e-12);
            }
            for i in j..5 {
                assert!((outer[(i, j)] - outer_whole[(i, j)]).abs() < 1e-12);
            }
        }
    }
}
