//! How the later round was set up, and what a common change may be then.

use faer::Mat;

use super::model::Data;
use super::modes::Mode;
use super::read::Read;
use super::states::Cause;
use super::told::SetUp;
use crate::geometry::Point;
use crate::numeric::distributions::normal_quantile;

/// Modes beyond this many standard uncertainties are named, where they change some reading by more than this share.
pub const NAMED: (f64, f64) = (3.0, 0.01);
/// The same for two that can't be told apart.
const TOGETHER: (f64, f64) = (3.5, 0.015);

/// What the modes of a solved model say of the set-up: sizes in standard deviations of their priors, and their covariance.
pub fn set_up(
    modes: &[Mode],
    (solved, covariance): (&[f64], &Mat<f64>),
    data: &Data,
    read: &Read,
    middle: Point,
) -> Vec<SetUp> {
    let index = |mode: Mode| modes.iter().position(|m| *m == mode);
    // beside a zone a broad remainder of it looks like either
    let may_be_two = solved.len() == modes.len();
    let all = modes.iter().enumerate();
    all.filter(|(_, mode)| mode.is_of_set_up())
        .map(|(k, &mode)| {
            let variance = covariance[(k, k)].clamp(1e-9, 1.0 - 1e-9);
            let by = solved[k] * mode.usual();
            let raw = read.slopes.shape(mode, &read.at, middle);
            let mean = raw.iter().sum::<f64>() / raw.len() as f64;
            let most = |k: usize| {
                (0..raw.len())
                    .map(|i| (data.modes[(i, k)] * solved[k]).abs())
                    .fold(0.0, f64::max)
            };
            // the estimate is drawn to nothing by its prior; what it scatters by is drawn with it
            let alone = solved[k].abs() / (variance * (1.0 - variance)).sqrt();
            let other = mode.alike().and_then(index);
            let together = other.map_or(0.0, |j| jointly([k, j], solved, covariance));
            let enough = most(k) > NAMED.1;
            SetUp {
                mode,
                by,
                uncertainty: variance.sqrt() * mode.usual(),
                common: (mean * by).exp_m1(),
                named: enough && alone > NAMED.0,
                or: other
                    .filter(|_| may_be_two && most(k) > TOGETHER.1 && together > TOGETHER.0)
                    .map(|j| modes[j]),
            }
        })
        .collect()
}

/// By how many standard deviations two modes together stand out: the one-dimensional deviate that is as improbable.
fn jointly(k: [usize; 2], solved: &[f64], covariance: &Mat<f64>) -> f64 {
    // what the readings say without the prior: Λ = C⁻¹ - 1, estimate Λ⁻¹C⁻¹m, square (C⁻¹m)ᵀ Λ⁻¹ (C⁻¹m)
    let c = |a: usize, b: usize| covariance[(k[a], k[b])];
    let determinant = (c(0, 0) * c(1, 1) - c(0, 1) * c(1, 0)).max(1e-18);
    let inverse = [
        [c(1, 1) / determinant, -c(0, 1) / determinant],
        [-c(1, 0) / determinant, c(0, 0) / determinant],
    ];
    let m = [solved[k[0]], solved[k[1]]];
    let v = [
        inverse[0][0] * m[0] + inverse[0][1] * m[1],
        inverse[1][0] * m[0] + inverse[1][1] * m[1],
    ];
    let (a, b, d) = (inverse[0][0] - 1.0, inverse[0][1], inverse[1][1] - 1.0);
    let determinant = (a * d - b * b).max(1e-18);
    let square = (d * v[0] * v[0] - 2.0 * b * v[0] * v[1] + a * v[1] * v[1]) / determinant;
    // chi squared with two degrees of freedom: exp(-square / 2)
    let p = (-0.5 * square.max(0.0)).exp().max(1e-300);
    -normal_quantile(0.5 * p)
}

/// Distance comes first where the pattern shows it, and last or not at all where the pattern speaks against it.
pub fn causes(mut open: Vec<Cause>, set_up: &[SetUp], log: f64) -> Vec<Cause> {
    let Some(height) = set_up.iter().find(|s| s.mode == Mode::Height) else {
        return open;
    };
    if height.named {
        open.retain(|c| *c != Cause::Distance);
        open.insert(0, Cause::Distance);
    } else if height.by != 0.0 {
        let slope = height.common.ln_1p() / height.by;
        let most = slope.abs() * (height.by.abs() + 2.0 * height.uncertainty);
        if most < 0.25 * log.abs() {
            open.retain(|c| *c != Cause::Distance);
        }
    }
    open
}
