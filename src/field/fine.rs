//! A smooth field on a fine lattice from values on a coarse one: six-point Lagrange interpolation along x,
//! then along y.

/// Nodes that take part along each axis.
const POINTS: usize = 6;

/// One axis of a fine lattice over a coarse one.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Axis {
    /// Coarse nodes.
    pub nodes: Vec<f64>,
    /// For each fine node the first coarse node that takes part and the weights.
    weights: Vec<(usize, [f64; POINTS])>,
}

impl Axis {
    /// A coarse axis with nodes at most `step` mm apart over the fine nodes, which are evenly spaced and
    /// ascending; `None` when that saves less than half of them.
    pub fn over(fine: &[f64], step: f64) -> Option<Self> {
        let (first, last) = (*fine.first()?, *fine.last()?);
        let length = last - first;
        let cells = (length / step).ceil().max((POINTS - 1) as f64);
        if !step.is_finite() || !cells.is_finite() || 2.0 * (cells + 1.0) > fine.len() as f64 {
            return None;
        }
        let cells = cells as usize;
        let pitch = length / cells as f64;
        let nodes = (0..=cells).map(|i| first + i as f64 * pitch).collect();
        let weights = fine
            .iter()
            .map(|x| {
                let along = (x - first) / pitch;
                let left = (along as usize).saturating_sub(POINTS / 2 - 1);
                let from = left.min(cells + 1 - POINTS);
                (from, lagrange(along - from as f64))
            })
            .collect();
        Some(Self { nodes, weights })
    }
}

/// Weights of the nodes 0 to 5 at `t`.
fn lagrange(t: f64) -> [f64; POINTS] {
    std::array::from_fn(|i| {
        (0..POINTS)
            .filter(|&j| j != i)
            .fold(1.0, |w, j| w * (t - j as f64) / (i as f64 - j as f64))
    })
}

/// Values on the fine lattice, row after row, from those on the coarse one.
pub(super) fn interpolate(x: &Axis, y: &Axis, coarse: &[f64]) -> Vec<f64> {
    let width = x.weights.len();
    let rows: Vec<f64> = coarse
        .chunks_exact(x.nodes.len())
        .flat_map(|row| {
            x.weights
                .iter()
                .map(|(from, w)| (0..POINTS).map(|k| w[k] * row[from + k]).sum::<f64>())
        })
        .collect();
    let mut out = Vec::with_capacity(width * y.weights.len());
    for (from, w) in &y.weights {
        let line: [&[f64]; POINTS] =
            std::array::from_fn(|k| &rows[(from + k) * width..(from + k + 1) * width]);
        out.extend((0..width).map(|i| (0..POINTS).map(|k| w[k] * line[k][i]).sum::<f64>()));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn even(n: usize, step: f64) -> Vec<f64> {
        (0..n).map(|i| 3.0 + i as f64 * step).collect()
    }

    #[test]
    fn polynomials_of_degree_five_come_back() {
        let (xs, ys) = (even(60, 0.7), even(41, 0.9));
        let x = Axis::over(&xs, 4.0).expect("coarser");
        let y = Axis::over(&ys, 3.0).expect("coarser");
        let f = |x: f64, y: f64| 1.0 + (0.1 * x - 2.0).powi(5) - x * y * 0.3 + (0.1 * y).powi(4);
        let coarse: Vec<f64> = y
            .nodes
            .iter()
            .flat_map(|&v| x.nodes.iter().map(move |&u| f(u, v)))
            .collect();
        let fine = interpolate(&x, &y, &coarse);
        for (j, &v) in ys.iter().enumerate() {
            for (i, &u) in xs.iter().enumerate() {
                let got = fine[j * xs.len() + i];
                assert!((got - f(u, v)).abs() < 1e-9, "{u} {v}: {got} {}", f(u, v));
            }
        }
    }

    #[test]
    fn no_coarse_lattice_where_it_saves_nothing() {
        assert_eq!(Axis::over(&even(20, 1.0), 1.5), None);
        assert_eq!(Axis::over(&even(8, 1.0), 100.0), None);
        assert_eq!(Axis::over(&[], 1.0), None);
        assert_eq!(Axis::over(&even(50, 1.0), f64::NAN), None);
    }
}
