//! Curves that rise, or fall, to a plateau, and their least-squares fits.
//!
//! `y = plateau - rise · left(k x)`, where `left` goes from 1 to 0 and x is irradiance or time. The linear
//! parameters are solved for exactly at every step and only the others are searched (variable
//! projection: Golub & Pereyra 1973, with the Jacobian of Kaufman 1975), so that no guess at the
//! plateau can lead a fit astray.

use faer::Mat;

use crate::numeric::cholesky::Factor;
use crate::numeric::optimise::{Local, minimise};
use crate::progress::Progress;

/// How what is left of the rise fades as x grows; `u = k x`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// `exp(-u)`: cure of the first order.
    Exponential,
    /// `(1 + u/2)⁻²`: of a higher order, slower at its end.
    SecondOrder,
    /// Nothing at first, then `exp(-(u - s + 1))`, s from 1 to 12: after a delay, as where oxygen must be used up
    /// first.
    Delayed,
    /// `exp(-u^s)`, s from 1 to 12: slow at first.
    Weibull,
    /// `1/(1 + u^s)`, s from 1 to 12: slow at first and at its end.
    Hill,
}

/// What is measured where there is no light.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Start {
    /// Nothing: the rise is the whole plateau.
    Zero,
    /// Something of its own.
    Free,
}

/// A shape with its start.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Family {
    /// The shape.
    pub shape: Shape,
    /// Its start.
    pub start: Start,
}

/// The powers s that a shape may have.
const POWERS: (f64, f64) = (1.0, 12.0);

impl Shape {
    /// Whether it has a power s.
    pub fn has_power(self) -> bool {
        matches!(self, Self::Delayed | Self::Weibull | Self::Hill)
    }

    /// What is left of the rise at u, with its derivatives by ln u and ln s.
    pub(super) fn left(self, u: f64, s: f64) -> (f64, f64, f64) {
        let log = if u > 0.0 { u.ln() } else { 0.0 };
        match self {
            Self::Exponential => {
                let left = (-u).exp();
                (left, -u * left, 0.0)
            }
            Self::SecondOrder => {
                let half = 1.0 + 0.5 * u;
                (half.powi(-2), -u * half.powi(-3), 0.0)
            }
            Self::Delayed if u <= s - 1.0 => (1.0, 0.0, 0.0),
            Self::Delayed => {
                let left = (s - 1.0 - u).exp();
                (left, -u * left, s * left)
            }
            Self::Weibull => {
                let v = u.powf(s);
                let left = (-v).exp();
                let slope = if left > 0.0 { -s * v * left } else { 0.0 };
                (left, slope, slope * log)
            }
            Self::Hill => {
                let left = 1.0 / (1.0 + u.powf(s));
                let slope = -s * left * (1.0 - left);
                (left, slope, slope * log)
            }
        }
    }

    /// Where so much is left: the inverse of the above, for `left` between 0 and 1.
    pub fn where_left(self, left: f64, s: f64) -> f64 {
        match self {
            Self::Exponential => -left.ln(),
            Self::SecondOrder => 2.0 * (left.powf(-0.5) - 1.0),
            Self::Delayed => s - 1.0 - left.ln(),
            Self::Weibull => (-left.ln()).powf(1.0 / s),
            Self::Hill => (1.0 / left - 1.0).powf(1.0 / s),
        }
    }

    /// What it is called.
    pub fn name(self) -> &'static str {
        match self {
            Self::Exponential => "first order",
            Self::SecondOrder => "second order",
            Self::Delayed => "first order after a delay",
            Self::Weibull => "slow at first",
            Self::Hill => "slow at first and at its end",
        }
    }
}

impl Family {
    /// Parameters of the curve.
    pub fn parameters(self) -> usize {
        2 + usize::from(self.start == Start::Free) + usize::from(self.shape.has_power())
    }

    /// Its name, with its start where that is not zero.
    pub fn name(self) -> String {
        match self.start {
            Start::Zero => self.shape.name().to_owned(),
            Start::Free => format!("{}, own start", self.shape.name()),
        }
    }
}

/// A curve fitted to points.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Which curve.
    pub family: Family,
    /// What it rises, or falls, to.
    pub plateau: f64,
    /// From the start to the plateau; negative where it falls.
    pub rise: f64,
    /// k, per unit of x.
    pub rate: f64,
    /// s; 1 where the shape has none.
    pub power: f64,
    /// Sum of squared residuals.
    pub squares: f64,
    /// Points less parameters.
    pub dof: f64,
    /// Of plateau, rise where it is free, ln k, ln s where there is one, per unit of variance.
    inverse: Mat<f64>,
}

/// Solved for the linear parameters at one k and s.
struct Linear {
    plateau: f64,
    rise: f64,
    squares: f64,
}

fn linear(points: &[(f64, f64)], family: Family, rate: f64, power: f64) -> Linear {
    let left = |x: f64| family.shape.left(rate * x, power).0;
    let (plateau, rise) = match family.start {
        Start::Zero => {
            let (mut ab, mut aa) = (0.0, 0.0);
            for &(x, y) in points {
                let a = 1.0 - left(x);
                ab += a * y;
                aa += a * a;
            }
            let plateau = if aa > 0.0 { ab / aa } else { 0.0 };
            (plateau, plateau)
        }
        Start::Free => {
            let n = points.len() as f64;
            let mean_y = points.iter().map(|p| p.1).sum::<f64>() / n;
            let mean_left = points.iter().map(|p| left(p.0)).sum::<f64>() / n;
            let (mut ab, mut aa) = (0.0, 0.0);
            for &(x, y) in points {
                let a = mean_left - left(x);
                ab += a * (y - mean_y);
                aa += a * a;
            }
            let rise = if aa > 0.0 { ab / aa } else { 0.0 };
            (mean_y + rise * mean_left, rise)
        }
    };
    let squares = points
        .iter()
        .map(|&(x, y)| (y - plateau + rise * left(x)).powi(2))
        .sum();
    Linear {
        plateau,
        rise,
        squares,
    }
}

impl Fit {
    /// The least-squares fit to points (x, y) with x above zero. `rate` is where the search begins; `None`:
    /// on a lattice over all that the points can tell. `None` for fewer points than parameters and one,
    /// or without a finite minimum.
    pub fn to(points: &[(f64, f64)], family: Family, rate: Option<f64>) -> Option<Self> {
        let finite = points
            .iter()
            .all(|p| p.0 > 0.0 && p.0.is_finite() && p.1.is_finite());
        if points.len() <= family.parameters() || !finite {
            return None;
        }
        let least = points.iter().map(|p| p.0).fold(f64::INFINITY, f64::min);
        let most = points.iter().map(|p| p.0).fold(0.0, f64::max);
        let mut low = vec![(1e-4 / most).ln()];
        let mut high = vec![(1e3 / least).ln()];
        let mut start = vec![match rate {
            Some(rate) => rate.ln(),
            None => 0.0,
        }];
        if family.shape.has_power() {
            low.push(POWERS.0.ln());
            high.push(POWERS.1.ln());
            start.push(2f64.ln());
        }
        if rate.is_none() {
            start = begin(points, family, least, most);
        }
        let scale: f64 = points.iter().map(|p| p.1 * p.1).sum::<f64>().max(1e-300);
        let function = |at: &[f64]| projected(points, family, at, scale);
        let valley = minimise(function, &start, &low, &high, 1e-24, &Progress::new()).ok()??;
        let at = polished(valley.at, &low, &high, function);
        Self::at(
            points,
            family,
            at[0].exp(),
            at.get(1).map_or(1.0, |s| s.exp()),
        )
    }

    /// The fit where k and s are known to be best.
    fn at(points: &[(f64, f64)], family: Family, rate: f64, power: f64) -> Option<Self> {
        let solved = linear(points, family, rate, power);
        let mut fit = Self {
            family,
            plateau: solved.plateau,
            rise: solved.rise,
            rate,
            power,
            squares: solved.squares,
            dof: (points.len() - family.parameters()) as f64,
            inverse: Mat::zeros(0, 0),
        };
        let gradients: Vec<Vec<f64>> = points.iter().map(|p| fit.gradient(p.0)).collect();
        fit.inverse = inverse_of_squares(&gradients)?;
        (fit.plateau.is_finite() && fit.rate.is_finite()).then_some(fit)
    }

    /// The curve at x.
    pub fn value(&self, x: f64) -> f64 {
        self.plateau - self.rise * self.family.shape.left(self.rate * x, self.power).0
    }

    /// Variance of a point about the curve.
    pub fn variance(&self) -> f64 {
        self.squares / self.dof
    }

    /// Standard uncertainty of the curve at x, linearised (Bates & Watts 1988, 2.3).
    pub fn uncertainty(&self, x: f64) -> f64 {
        let g = self.gradient(x);
        let mut variance = 0.0;
        for (i, a) in g.iter().enumerate() {
            for (j, b) in g.iter().enumerate() {
                variance += a * self.inverse[(i, j)] * b;
            }
        }
        (variance.max(0.0) * self.variance()).sqrt()
    }

    /// Standard uncertainty of the plateau.
    pub fn plateau_uncertainty(&self) -> f64 {
        (self.inverse[(0, 0)].max(0.0) * self.variance()).sqrt()
    }

    /// Standard uncertainty of k.
    pub fn rate_uncertainty(&self) -> f64 {
        let i = 1 + usize::from(self.family.start == Start::Free);
        self.rate * (self.inverse[(i, i)].max(0.0) * self.variance()).sqrt()
    }

    /// By plateau, rise where it is free, ln k, ln s where there is one.
    fn gradient(&self, x: f64) -> Vec<f64> {
        let (left, by_rate, by_power) = self.family.shape.left(self.rate * x, self.power);
        let mut g = match self.family.start {
            Start::Zero => vec![1.0 - left],
            Start::Free => vec![1.0, -left],
        };
        g.push(-self.rise * by_rate);
        if self.family.shape.has_power() {
            g.push(-self.rise * by_power);
        }
        g
    }
}

/// The best of a lattice: rates from which hardly anything happens to where all has happened at the
/// first point.
fn begin(points: &[(f64, f64)], family: Family, least: f64, most: f64) -> Vec<f64> {
    const RATES: usize = 24;
    let (low, high) = ((0.05 / most).ln(), (20.0 / least).ln());
    let powers: &[f64] = if family.shape.has_power() {
        &[1.2, 2.0, 4.0, 8.0]
    } else {
        &[1.0]
    };
    let mut best = (f64::INFINITY, vec![low]);
    for i in 0..RATES {
        let rate = low + (high - low) * i as f64 / (RATES - 1) as f64;
        for &power in powers {
            let squares = linear(points, family, rate.exp(), power).squares;
            if squares < best.0 {
                let mut at = vec![rate];
                if family.shape.has_power() {
                    at.push(power.ln());
                }
                best = (squares, at);
            }
        }
    }
    best.1
}

/// Sum of squares at (ln k, ln s), the linear parameters solved for; over `scale`.
fn projected(points: &[(f64, f64)], family: Family, at: &[f64], scale: f64) -> Option<Local> {
    let rate = at[0].exp();
    let power = at.get(1).map_or(1.0, |s| s.exp());
    let solved = linear(points, family, rate, power);
    let m = at.len();
    let lefts: Vec<_> = points
        .iter()
        .map(|p| family.shape.left(rate * p.0, power))
        .collect();
    // the linear columns, made orthogonal
    let n = points.len() as f64;
    let mean = lefts.iter().map(|l| l.0).sum::<f64>() / n;
    let column: Vec<f64> = match family.start {
        Start::Zero => lefts.iter().map(|l| 1.0 - l.0).collect(),
        Start::Free => lefts.iter().map(|l| l.0 - mean).collect(),
    };
    let norm: f64 = column.iter().map(|a| a * a).sum();
    let project = |mut d: Vec<f64>| {
        if family.start == Start::Free {
            let mean = d.iter().sum::<f64>() / n;
            d.iter_mut().for_each(|v| *v -= mean);
        }
        if norm > 0.0 {
            let along = d.iter().zip(&column).map(|(d, a)| d * a).sum::<f64>() / norm;
            d.iter_mut().zip(&column).for_each(|(d, a)| *d -= along * a);
        }
        d
    };
    // residual = y - plateau + rise left: its derivative is rise times that of left
    let jacobian: Vec<Vec<f64>> = (0..m)
        .map(|j| {
            let by = |l: &(f64, f64, f64)| if j == 0 { l.1 } else { l.2 };
            project(lefts.iter().map(|l| solved.rise * by(l)).collect())
        })
        .collect();
    let residuals: Vec<f64> = (points.iter().zip(&lefts))
        .map(|(p, l)| p.1 - solved.plateau + solved.rise * l.0)
        .collect();
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let local = Local {
        value: solved.squares / scale,
        gradient: jacobian
            .iter()
            .map(|j| 2.0 * dot(j, &residuals) / scale)
            .collect(),
        curvature: Mat::from_fn(m, m, |i, j| 2.0 * dot(&jacobian[i], &jacobian[j]) / scale),
    };
    (local.value.is_finite() && local.gradient.iter().all(|g| g.is_finite())).then_some(local)
}

/// Comparing sums of squares tells parameters to half of the digits only: the last steps follow the
/// gradient alone, as long as they become shorter.
fn polished(
    mut at: Vec<f64>,
    low: &[f64],
    high: &[f64],
    function: impl Fn(&[f64]) -> Option<Local>,
) -> Vec<f64> {
    let inside = |at: &[f64]| (0..at.len()).all(|i| at[i] > low[i] && at[i] < high[i]);
    let mut before = f64::INFINITY;
    for _ in 0..40 {
        let Some(here) = function(&at).filter(|_| inside(&at)) else {
            break;
        };
        let Ok(factor) = Factor::of(here.curvature.as_ref()) else {
            break;
        };
        let mut step = Mat::from_fn(at.len(), 1, |i, _| -here.gradient[i]);
        factor.whiten(step.as_mut());
        factor.unwhiten(step.as_mut());
        let length = (0..at.len()).fold(0.0, |m, i| f64::max(m, step[(i, 0)].abs()));
        let next: Vec<f64> = (0..at.len()).map(|i| at[i] + step[(i, 0)]).collect();
        if !(length < before && length < 0.1 && inside(&next)) {
            break;
        }
        before = length;
        at = next;
    }
    at
}

/// `(Jᵀ J)⁻¹` of rows of gradients, columns scaled first; a direction that the points say nothing about
/// gets a large number, not an error.
fn inverse_of_squares(rows: &[Vec<f64>]) -> Option<Mat<f64>> {
    let m = rows.first()?.len();
    let scale: Vec<f64> = (0..m)
        .map(|i| {
            rows.iter()
                .map(|r| r[i] * r[i])
                .sum::<f64>()
                .sqrt()
                .max(1e-150)
        })
        .collect();
    let squares = Mat::from_fn(m, m, |i, j| {
        rows.iter().map(|r| r[i] * r[j]).sum::<f64>() / (scale[i] * scale[j])
    });
    let inverse = Factor::of(squares.as_ref()).ok()?.inverse();
    Some(Mat::from_fn(m, m, |i, j| {
        inverse[(i, j)] / (scale[i] * scale[j])
    }))
}
