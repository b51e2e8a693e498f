//! The Kalman filter and smoother of a level and its slope in continuous time, with noise that lasts, at irregular times.
//!
//! State: level `μ`, slope `s`, lasting noise `o`. Over a step of `c` along the clock and `d` days
//! `μ' = μ + c s + …`, `s' = s + …`, `o' = exp(-d/τ) o + …` with the exact covariances of an integrated random walk and of an
//! Ornstein-Uhlenbeck process (Harvey 1989, 9.1.3; Durbin & Koopman 2012, 3.9). What is read is `μ + o + white noise`. The state
//! begins at nothing: an unknown beginning, offsets and scales are columns that go through the same filter (the augmented filter
//! of de Jong 1991), so beginnings are exactly diffuse, and sums over innovations are those of generalised least squares.
//!
//! All variances are in units of one; shapes: `n` times, `m` columns, the last of which is what was read.

/// A time that was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Time {
    /// Along the clock since the time before.
    pub clock: f64,
    /// Days since the time before.
    pub days: f64,
    /// Readings put together into one.
    pub together: f64,
    /// A variance beside the white noise, in units of one.
    pub extra: f64,
    /// Whether the reading counts.
    pub counts: bool,
}

/// The variances of the process.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Process {
    /// Of the level's own wandering, per unit of the clock.
    pub level: f64,
    /// Of the slope's wandering, per unit of the clock.
    pub slope: f64,
    /// Of the noise that lasts.
    pub lasting: f64,
    /// Days in which its correlation falls to 1/e.
    pub days: f64,
    /// Of white noise of a single reading.
    pub white: f64,
}

type Vector = [f64; 3];
type Matrix = [[f64; 3]; 3];

/// What a run of the filter sums up.
#[derive(Debug, Clone)]
pub struct Sums {
    /// `ln det V`, V the covariance of what was read.
    pub log_determinant: f64,
    /// `[columns]ᵀ V⁻¹ [columns]`, m by m.
    pub cross: Vec<f64>,
    /// The state's covariance after the last time.
    pub covariance: Matrix,
    /// The state that each column gives after the last time.
    pub states: Vec<Vector>,
    /// Readings that count.
    pub counted: usize,
}

/// What the smoother needs of each time.
#[derive(Debug, Clone, Copy)]
struct Passed {
    covariance: Matrix,
    gain: Vector,
    variance: f64,
    decay: f64,
}

/// What a run leaves for the smoother.
#[derive(Debug, Clone, Default)]
pub struct Kept {
    passed: Vec<Passed>,
    /// Innovations and levels predicted, n by m.
    innovations: Vec<f64>,
    levels: Vec<f64>,
}

/// What is read sees the level and the lasting noise.
const SEEN: Vector = [1.0, 0.0, 1.0];

fn transition(clock: f64, decay: f64, x: Vector) -> Vector {
    [x[0] + clock * x[1], x[1], decay * x[2]]
}

fn transposed(clock: f64, decay: f64, r: Vector) -> Vector {
    [r[0], r[1] + clock * r[0], decay * r[2]]
}

/// `T P Tᵀ + Q`.
fn predicted(p: &Matrix, time: &Time, decay: f64, process: &Process) -> Matrix {
    let c = time.clock;
    let level = p[0][0] + c * (2.0 * p[0][1] + c * p[1][1]);
    let both = p[0][1] + c * p[1][1];
    let level_noise = decay * (p[0][2] + c * p[1][2]);
    let slope_noise = decay * p[1][2];
    let q = process.slope * c;
    let level = level + q * c * c / 3.0 + process.level * c;
    let both = both + 0.5 * q * c;
    let noise = decay * decay * p[2][2] + process.lasting * (1.0 - decay * decay);
    [
        [level, both, level_noise],
        [both, p[1][1] + q, slope_noise],
        [level_noise, slope_noise, noise],
    ]
}

/// Runs columns (each of `times.len()`) through the filter.
pub fn run(
    times: &[Time],
    columns: &[Vec<f64>],
    process: &Process,
    mut kept: Option<&mut Kept>,
) -> Sums {
    let m = columns.len();
    let mut p: Matrix = [[0.0; 3], [0.0; 3], [0.0, 0.0, process.lasting]];
    let mut states = vec![[0.0; 3]; m];
    let mut cross = vec![0.0; m * m];
    let mut v = vec![0.0; m];
    let (mut log_determinant, mut counted) = (0.0, 0);
    if let Some(kept) = kept.as_deref_mut() {
        *kept = Kept::default();
    }
    for (t, time) in times.iter().enumerate() {
        let decay = (-time.days / process.days).exp();
        if t > 0 {
            p = predicted(&p, time, decay, process);
            for a in &mut states {
                *a = transition(time.clock, decay, *a);
            }
        }
        let covariance = p;
        let mut gain = [0.0; 3];
        let seen: Vector = [p[0][0] + p[0][2], p[0][1] + p[1][2], p[0][2] + p[2][2]];
        let variance = seen[0] + seen[2] + process.white / time.together + time.extra;
        if let Some(kept) = kept.as_deref_mut() {
            kept.levels.extend(states.iter().map(|a| a[0]));
        }
        if time.counts {
            gain = seen.map(|s| s / variance);
            for (j, a) in states.iter_mut().enumerate() {
                v[j] = columns[j][t] - a[0] - a[2];
                for (x, k) in a.iter_mut().zip(gain) {
                    *x += k * v[j];
                }
            }
            for i in 0..3 {
                for j in 0..3 {
                    p[i][j] -= gain[i] * seen[j];
                }
            }
            log_determinant += variance.ln();
            counted += 1;
            for i in 0..m {
                let weighted = v[i] / variance;
                for j in 0..=i {
                    cross[i * m + j] += weighted * v[j];
                }
            }
        }
        if let Some(kept) = kept.as_deref_mut() {
            let innovation = |j: usize| if time.counts { v[j] } else { 0.0 };
            kept.innovations.extend((0..m).map(innovation));
            kept.passed.push(Passed {
                covariance,
                gain,
                variance,
                decay,
            });
        }
    }
    for i in 0..m {
        for j in 0..i {
            cross[j * m + i] = cross[i * m + j];
        }
    }
    Sums {
        log_determinant,
        cross,
        covariance: p,
        states,
        counted,
    }
}

/// One time, looked back at.
#[derive(Debug, Clone, Default)]
pub struct Smoothed {
    /// The level that each column gives, all readings known.
    pub levels: Vec<f64>,
    /// Its variance beside what the columns' factors are unsure.
    pub variance: f64,
    /// `xᵀ V⁻¹ [columns]` for a step `x` of the level that begins at this time.
    pub step: Vec<f64>,
    /// `xᵀ V⁻¹ x` for it.
    pub step_weight: f64,
    /// The same for a single reading at this time.
    pub single: Vec<f64>,
    /// The same for a single reading at this time.
    pub single_weight: f64,
}

fn of_level(matrix: &Matrix, vector: Vector) -> f64 {
    (0..3).map(|j| matrix[0][j] * vector[j]).sum()
}

/// Looks back from the last time to the first (de Jong & Penzer 1998 for steps and single readings).
pub fn smooth(times: &[Time], kept: &Kept) -> Vec<Smoothed> {
    let n = times.len();
    let m = kept.innovations.len().checked_div(n).unwrap_or(0);
    let mut r = vec![[0.0; 3]; m];
    let mut big: Matrix = [[0.0; 3]; 3];
    let mut out = vec![Smoothed::default(); n];
    for t in (0..n).rev() {
        let passed = &kept.passed[t];
        // back over the step to the next time
        if t + 1 < n {
            let (clock, decay) = (times[t + 1].clock, kept.passed[t + 1].decay);
            for r in &mut r {
                *r = transposed(clock, decay, *r);
            }
            let columns: Vec<Vector> = (0..3)
                .map(|j| transposed(clock, decay, [big[0][j], big[1][j], big[2][j]]))
                .collect();
            for i in 0..3 {
                let row = transposed(clock, decay, [columns[0][i], columns[1][i], columns[2][i]]);
                big[i] = row;
            }
        }
        let counts = times[t].counts;
        let gain = passed.gain;
        let here = &mut out[t];
        here.single = (0..m)
            .map(|j| {
                if !counts {
                    return 0.0;
                }
                let v = kept.innovations[t * m + j] / passed.variance;
                v - (0..3).map(|i| gain[i] * r[j][i]).sum::<f64>()
            })
            .collect();
        if counts {
            // N ← Zᵀ Z / F + (I - K Z)ᵀ N (I - K Z)
            let nk: Vector = [0, 1, 2].map(|i| (0..3).map(|j| big[i][j] * gain[j]).sum());
            let knk: f64 = (0..3).map(|i| gain[i] * nk[i]).sum();
            here.single_weight = 1.0 / passed.variance + knk;
            for i in 0..3 {
                for j in 0..3 {
                    big[i][j] +=
                        SEEN[i] * SEEN[j] * here.single_weight - SEEN[i] * nk[j] - nk[i] * SEEN[j];
                }
            }
            for (j, r) in r.iter_mut().enumerate() {
                for i in 0..3 {
                    r[i] += SEEN[i] * here.single[j];
                }
            }
        }
        let p = &passed.covariance;
        here.step = r.iter().map(|r| r[0]).collect();
        here.step_weight = big[0][0];
        here.levels = (0..m)
            .map(|j| kept.levels[t * m + j] + of_level(p, r[j]))
            .collect();
        let pn: Vector = [0, 1, 2].map(|j| (0..3).map(|i| p[0][i] * big[i][j]).sum());
        here.variance = (p[0][0] - (0..3).map(|j| pn[j] * p[0][j]).sum::<f64>()).max(0.0);
    }
    out
}
