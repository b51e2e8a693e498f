//! Climbing down to the least value of a smooth function inside bounds.
//!
//! Own code, where a library has quasi-Newton methods, because the curvature comes at almost no cost
//! beside the gradient here (average information): a handful of steps is enough, and a
//! step that would leave the bounds slides along them.

use faer::Mat;

use super::cholesky::Factor;
use crate::progress::{Cancelled, Progress};

/// A function at one point.
#[derive(Debug, Clone)]
pub struct Local {
    /// Its value.
    pub value: f64,
    /// Its gradient.
    pub gradient: Vec<f64>,
    /// Its curvature or a positive semidefinite stand-in, square.
    pub curvature: Mat<f64>,
}

/// Where the climb ended.
#[derive(Debug, Clone)]
pub struct Valley {
    /// The point.
    pub at: Vec<f64>,
    /// The value there.
    pub value: f64,
    /// The curvature there.
    pub curvature: Mat<f64>,
    /// Whether no step promised more than was asked for.
    pub converged: bool,
}

const STEPS: usize = 60;
/// No coordinate moves further in one step.
const LONGEST: f64 = 1.5;

/// Damped Newton steps (Levenberg 1944, Marquardt 1963) inside `low <= x <= high`, from `start`.
/// `function` answers `None` where it has no finite value; a step to there is shortened.
/// It ends where no step promises to lower the value by `enough`.
///
/// # Errors
/// [`Cancelled`].
pub fn minimise(
    mut function: impl FnMut(&[f64]) -> Option<Local>,
    start: &[f64],
    low: &[f64],
    high: &[f64],
    enough: f64,
    progress: &Progress,
) -> Result<Option<Valley>, Cancelled> {
    let clamp = |i: usize, x: f64| x.max(low[i]).min(high[i]);
    let mut at: Vec<f64> = start
        .iter()
        .enumerate()
        .map(|(i, &x)| clamp(i, x))
        .collect();
    progress.check()?;
    let Some(mut here) = function(&at) else {
        return Ok(None);
    };
    let mut damping = 1e-3;
    let mut converged = false;
    for _ in 0..STEPS {
        progress.check()?;
        // a coordinate that is held by its bound takes no part
        let free: Vec<usize> = (0..at.len())
            .filter(|&i| {
                let held_low = at[i] <= low[i] && here.gradient[i] > 0.0;
                let held_high = at[i] >= high[i] && here.gradient[i] < 0.0;
                !held_low && !held_high
            })
            .collect();
        let Some(step) = newton_step(&here, &free, damping) else {
            damping *= 10.0;
            continue;
        };
        let promised: f64 = -0.5
            * free
                .iter()
                .zip(&step)
                .map(|(&i, d)| here.gradient[i] * d)
                .sum::<f64>();
        if free.is_empty() || promised < enough {
            converged = true;
            break;
        }
        let longest = step.iter().fold(0.0, |m, d| f64::max(m, d.abs()));
        let shrink = (LONGEST / longest).min(1.0);
        let mut trial = at.clone();
        for (&i, d) in free.iter().zip(&step) {
            trial[i] = clamp(i, at[i] + shrink * d);
        }
        match function(&trial) {
            Some(there) if there.value < here.value => {
                at = trial;
                here = there;
                damping = (damping * 0.1).max(1e-9);
            }
            _ if damping > 1e8 => break,
            _ => damping *= 10.0,
        }
    }
    Ok(Some(Valley {
        at,
        value: here.value,
        curvature: here.curvature,
        converged,
    }))
}

/// Solves `(H + damping * diag H) d = -g` for the free coordinates.
fn newton_step(here: &Local, free: &[usize], damping: f64) -> Option<Vec<f64>> {
    let m = free.len();
    let h = Mat::from_fn(m, m, |i, j| {
        let value = here.curvature[(free[i], free[j])];
        if i == j {
            value * (1.0 + damping) + 1e-12
        } else {
            value
        }
    });
    let factor = Factor::of(h.as_ref()).ok()?;
    let mut step = Mat::from_fn(m, 1, |i, _| -here.gradient[free[i]]);
    factor.whiten(step.as_mut());
    factor.unwhiten(step.as_mut());
    let step: Vec<f64> = (0..m).map(|i| step[(i, 0)]).collect();
    step.iter().all(|d| d.is_finite()).then_some(step)
}

/// Where numbers between two above zero stop to be short of something, which the lower one is and the upper one is not:
/// by halving the logarithm so many times, from above.
pub fn first_reached((low, high): (f64, f64), halvings: u32, short: impl Fn(f64) -> bool) -> f64 {
    let (mut below, mut at) = (low.ln(), high.ln());
    for _ in 0..halvings {
        let middle = 0.5 * (below + at);
        if short(middle.exp()) {
            below = middle;
        } else {
            at = middle;
        }
    }
    at.exp()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rosenbrock(x: &[f64]) -> Option<Local> {
        let (r, s) = (1.0 - x[0], x[1] - x[0] * x[0]);
        // Gauss-Newton curvature of the residuals r and 10 s
        let j = [[-1.0, 0.0], [-20.0 * x[0], 10.0]];
        Some(Local {
            value: r * r + 100.0 * s * s,
            gradient: vec![-2.0 * r - 400.0 * x[0] * s, 200.0 * s],
            curvature: Mat::from_fn(2, 2, |a, b| 2.0 * (j[0][a] * j[0][b] + j[1][a] * j[1][b])),
        })
    }

    #[test]
    fn finds_the_bottom_of_a_curved_valley() {
        let found = minimise(
            rosenbrock,
            &[-1.2, 1.0],
            &[-5.0; 2],
            &[5.0; 2],
            1e-9,
            &Progress::new(),
        )
        .expect("not cancelled")
        .expect("finite");
        assert!(found.converged);
        assert!((found.at[0] - 1.0).abs() < 1e-4 && (found.at[1] - 1.0).abs() < 1e-4);
    }

    #[test]
    fn stops_at_a_bound() {
        let found = minimise(
            rosenbrock,
            &[-1.2, 1.0],
            &[-5.0; 2],
            &[0.5, 5.0],
            1e-9,
            &Progress::new(),
        )
        .expect("not cancelled")
        .expect("finite");
        assert_eq!(found.at[0], 0.5);
        assert!((found.at[1] - 0.25).abs() < 1e-5);
    }

    #[test]
    fn halving_finds_where_numbers_stop_to_be_short() {
        let found = first_reached((0.1, 1000.0), 40, |x| x * x < 50.0);
        assert!((found / 50f64.sqrt() - 1.0).abs() < 1e-10, "{found}");
    }
}
