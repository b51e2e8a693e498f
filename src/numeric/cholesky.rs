//! Cholesky factors of symmetric positive matrices, on one thread so that sums come out the same
//! everywhere.

use faer::dyn_stack::{MemBuffer, MemStack};
use faer::linalg::cholesky::llt::{factor, inverse};
use faer::linalg::triangular_solve::{
    solve_lower_triangular_in_place, solve_upper_triangular_in_place,
};
use faer::{Mat, MatMut, MatRef, Par};

/// `V = L Lᵀ` with `L` lower triangular.
#[derive(Debug, Clone)]
pub struct Factor {
    lower: Mat<f64>,
}

/// The matrix has no factor, not even after its diagonal was raised by a millionth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NotPositive;

/// Parts of the mean diagonal that are added in turn until there is a factor.
const JITTER: [f64; 7] = [0.0, 1e-13, 1e-12, 1e-11, 1e-10, 1e-8, 1e-6];

impl Factor {
    /// Factors a symmetric `n` by `n` matrix, of which only the lower triangle is read. When rounding has
    /// made it indefinite its diagonal is raised, from 1e-13 to 1e-6 of its mean.
    ///
    /// # Errors
    /// [`NotPositive`], also for matrices that are not finite.
    pub fn of(matrix: MatRef<'_, f64>) -> Result<Self, NotPositive> {
        let n = matrix.nrows();
        let mean = (0..n).map(|i| matrix[(i, i)]).sum::<f64>() / n.max(1) as f64;
        let scratch = factor::cholesky_in_place_scratch::<f64>(n, Par::Seq, Default::default());
        let mut memory = MemBuffer::new(scratch);
        for jitter in JITTER {
            let mut lower = Mat::<f64>::zeros(n, n);
            lower.copy_from_triangular_lower(matrix);
            for i in 0..n {
                lower[(i, i)] += jitter * mean;
            }
            let done = factor::cholesky_in_place(
                lower.as_mut(),
                Default::default(),
                Par::Seq,
                MemStack::new(&mut memory),
                Default::default(),
            );
            if done.is_ok() && (0..n).all(|i| lower[(i, i)].is_finite()) {
                return Ok(Self { lower });
            }
        }
        Err(NotPositive)
    }

    /// Rows of the matrix.
    pub fn size(&self) -> usize {
        self.lower.nrows()
    }

    /// `L`; what stands above its diagonal is not part of it.
    pub fn lower(&self) -> MatRef<'_, f64> {
        self.lower.as_ref()
    }

    /// `ln det V`.
    pub fn log_determinant(&self) -> f64 {
        2.0 * (0..self.size())
            .map(|i| self.lower[(i, i)].ln())
            .sum::<f64>()
    }

    /// Replaces `b` by `L⁻¹ b`.
    pub fn whiten(&self, b: MatMut<'_, f64>) {
        solve_lower_triangular_in_place(self.lower.as_ref(), b, Par::Seq);
    }

    /// Replaces `b` by `L⁻ᵀ b`.
    pub fn unwhiten(&self, b: MatMut<'_, f64>) {
        solve_upper_triangular_in_place(self.lower.transpose(), b, Par::Seq);
    }

    /// `V⁻¹`, both triangles.
    pub fn inverse(&self) -> Mat<f64> {
        let n = self.size();
        let mut out = Mat::<f64>::zeros(n, n);
        let mut memory = MemBuffer::new(inverse::inverse_scratch::<f64>(n, Par::Seq));
        inverse::inverse(
            out.as_mut(),
            self.lower.as_ref(),
            Par::Seq,
            MemStack::new(&mut memory),
        );
        mirror(&mut out);
        out
    }
}

/// Copies the lower triangle of a square matrix onto its upper one.
pub fn mirror(matrix: &mut Mat<f64>) {
    for j in 0..matrix.ncols() {
        for i in 0..j {
            matrix[(i, j)] = matrix[(j, i)];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn example() -> Mat<f64> {
        Mat::from_fn(6, 6, |i, j| {
            (-0.3 * (i as f64 - j as f64).abs()).exp() + if i == j { 0.1 } else { 0.0 }
        })
    }

    #[test]
    fn inverse_and_solves_agree() {
        let v = example();
        let f = Factor::of(v.as_ref()).expect("positive");
        let one = &v * f.inverse();
        let mut b = Mat::from_fn(6, 1, |i, _| i as f64 - 2.0);
        let kept = b.clone();
        f.whiten(b.as_mut());
        f.unwhiten(b.as_mut());
        let back = &v * &b;
        for i in 0..6 {
            assert!((back[(i, 0)] - kept[(i, 0)]).abs() < 1e-12);
            for j in 0..6 {
                assert!((one[(i, j)] - f64::from(u8::from(i == j))).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn the_determinant_of_a_known_matrix() {
        let v = Mat::from_fn(2, 2, |i, j| if i == j { 2.0 } else { 1.0 });
        let f = Factor::of(v.as_ref()).expect("positive");
        assert!((f.log_determinant() - 3f64.ln()).abs() < 1e-14);
    }

    #[test]
    fn a_singular_matrix_is_stabilised_and_nonsense_refused() {
        assert!(Factor::of(Mat::from_fn(3, 3, |_, _| 1.0).as_ref()).is_ok());
        assert!(Factor::of(Mat::from_fn(2, 2, |_, _| f64::NAN).as_ref()).is_err());
        assert!(Factor::of(Mat::from_fn(2, 2, |_, _| -1.0).as_ref()).is_err());
    }
}
