//! What is believed of a lamp's trend once its readings are known: averaged over how noise lasts and how straight fading is.
//!
//! Each cell of a grid is a process ([`Process`]): the share of noise that lasts, for how many days, and how much the slope
//! wanders. In a cell everything is in closed form (normal and inverse gamma); cells weigh by their marginal likelihood times a
//! weak prior, so that what is not known of noise and curvature is in every interval.

use faer::Mat;
use statrs::function::gamma::ln_gamma;

use super::design::{Design, MONTH, Role};
use super::filter::{self, Kept, Process, Sums, Time};
use crate::numeric::cholesky::Factor;
use crate::progress::{Cancelled, Progress};

/// Shares of the noise's variance that last, and days; 0 once.
const LASTING: [f64; 5] = [0.0, 0.3, 0.6, 0.85, 0.95];
const DAYS: [f64; 5] = [1.5, 4.0, 10.0, 25.0, 60.0];
/// Prior weights of these.
const DAYS_WEIGHTS: [f64; 5] = [0.3, 0.3, 0.2, 0.12, 0.08];
/// Standard deviation of the slope's change over all of the lamp's data, as a share of the slope. A lamp whose loss grows with the
/// 0.6th or the 1.5th power of its age changes its slope by a quarter or two fifths while its age doubles (own arithmetic).
const BENDS: [f64; 5] = [0.0, 0.1, 0.2, 0.4, 0.8];
/// Prior weights of these.
const BEND_WEIGHTS: [f64; 5] = [0.2, 0.2, 0.25, 0.25, 0.1];
/// A slope no steeper than this a month, on the logarithm, bends as if it were that steep.
const LEAST_SLOPE: f64 = 0.01;
/// Noise of a reading beforehand: 0.7 % (common practice, no source), worth so many degrees of freedom, halved.
const NOISE: f64 = 0.007;
const WORTH: f64 = 1.0;
/// What noise of a former lamp's readings is worth for the next: half.
const KEPT: f64 = 0.5;
/// The stiff cell: its bend, and its way of noise, of which a third lasts for long.
const STIFF: f64 = 0.25;
const PLAIN: usize = DAYS.len();

/// One way that noise may last, with what is believed of its variance: inverse gamma.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Lasts {
    share: f64,
    days: f64,
    log_weight: f64,
    shape: f64,
    scale: f64,
}

/// What is believed of noise before a lamp's readings are known.
#[derive(Debug, Clone)]
pub struct NoiseBelief {
    lasts: Vec<Lasts>,
}

impl Default for NoiseBelief {
    fn default() -> Self {
        let mut lasts = Vec::new();
        let mut push = |share: f64, days: f64, weight: f64| {
            lasts.push(Lasts {
                share,
                days,
                log_weight: weight.ln(),
                shape: WORTH,
                scale: WORTH * NOISE * NOISE,
            });
        };
        for share in LASTING {
            let each = 1.0 / LASTING.len() as f64;
            if share == 0.0 {
                push(share, 1.0, each);
            } else {
                for (days, weight) in DAYS.iter().zip(DAYS_WEIGHTS) {
                    push(share, *days, each * weight);
                }
            }
        }
        Self { lasts }
    }
}

/// One cell.
#[derive(Debug, Clone)]
pub struct Cell {
    /// In units of the noise's variance.
    pub process: Process,
    /// The slope's wandering over the whole clock as a share of the slope, standard deviation; on the logarithm, `bend` times
    /// [`Belief::steep`].
    pub bend: f64,
    /// All weights together are 1.
    pub weight: f64,
    /// The factors of the columns.
    pub factors: Vec<f64>,
    /// Their covariance in units of the noise's variance.
    pub inverse: Mat<f64>,
    /// The noise's variance: inverse gamma.
    pub shape: f64,
    /// Its scale.
    pub scale: f64,
    sums: Sums,
    lasts: usize,
    log_evidence: f64,
}

impl Cell {
    /// Mean of the noise's variance.
    pub fn variance(&self) -> f64 {
        self.scale / (self.shape - 1.0).max(0.5 * self.shape)
    }

    /// Level and slope after the last time (about the readings' mean, over the whole clock) and what is left of each settling
    /// then, with their covariance in units of the noise's variance. The slope is that of fading alone.
    pub fn end(&self, design: &Design) -> End {
        let c = design.factors();
        let last = design.times.len().saturating_sub(1);
        let of_state = |row: usize| -> Vec<f64> {
            let own = |j: usize| match (row, design.roles[j]) {
                (0, Role::Beginning | Role::Slope | Role::Settling(_)) => design.columns[j][last],
                (1, Role::Slope) => 1.0,
                _ => 0.0,
            };
            (0..c).map(|j| own(j) - self.sums.states[j][row]).collect()
        };
        let mut rows = vec![of_state(0), of_state(1)];
        for (j, role) in design.roles.iter().enumerate() {
            if matches!(role, Role::Settling(_)) {
                let mut row = vec![0.0; c];
                row[j] = design.columns[j][last];
                rows.push(row);
            }
        }
        let mean = |i: usize| {
            let own: f64 = rows[i].iter().zip(&self.factors).map(|(w, b)| w * b).sum();
            own + if i < 2 { self.sums.states[c][i] } else { 0.0 }
        };
        let of_states = |i: usize, j: usize| {
            if i < 2 && j < 2 {
                self.sums.covariance[i][j]
            } else {
                0.0
            }
        };
        let m = rows.len();
        End {
            mean: (0..m).map(mean).collect(),
            covariance: Mat::from_fn(m, m, |i, j| of_states(i, j) + self.form(&rows[i], &rows[j])),
        }
    }

    /// `aᵀ inverse b`.
    pub fn form(&self, a: &[f64], b: &[f64]) -> f64 {
        let rows = a.iter().enumerate();
        rows.map(|(i, x)| {
            x * b
                .iter()
                .enumerate()
                .map(|(j, y)| self.inverse[(i, j)] * y)
                .sum::<f64>()
        })
        .sum()
    }
}

/// Where a lamp stands after the last time: level, slope, what is left of each settling.
#[derive(Debug, Clone)]
pub struct End {
    /// Of each.
    pub mean: Vec<f64>,
    /// In units of the noise's variance.
    pub covariance: Mat<f64>,
}

/// What is believed of a lamp.
#[derive(Debug, Clone)]
pub struct Belief {
    /// Heaviest first; together they weigh 1, and those that weigh nothing are left out.
    pub cells: Vec<Cell>,
    /// Logarithm of the evidence, to be held against that of the same readings with other columns.
    pub log_evidence: f64,
    /// The noise's variance that widths beforehand are held against.
    pub about: f64,
    /// The slope that bends are shares of, over the whole clock, on the logarithm.
    pub steep: f64,
    /// Steps in time with the display's rounding in the noise's units.
    pub times: Vec<Time>,
    /// A cell with little that lasts and little that bends, whatever it weighs: what it can't follow stands out.
    pub stiff: Cell,
}

/// Cells below this share of the heaviest one are left out.
const NOTHING: f64 = 1e-4;

impl Belief {
    /// Of a design with at least one reading that counts. `about` is the noise's variance where it is roughly known.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn of(
        design: &Design,
        noise: &NoiseBelief,
        about: Option<f64>,
        progress: &Progress,
    ) -> Result<Self, Cancelled> {
        let steepness = |at: &Cell| {
            let least = LEAST_SLOPE / MONTH * design.lengths.1;
            let (slope, error) = (at.factors[1], at.inverse[(1, 1)] * at.scale / at.shape);
            ((slope * slope - error).max(0.0) + least * least).sqrt()
        };
        // how large the noise is, roughly, and how steep the fading
        let mut rough = about.unwrap_or(NOISE * NOISE);
        let lasts = (PLAIN, &noise.lasts[PLAIN]);
        let mut first = solve(design, lasts, (0.0, 1.0), rough);
        if about.is_none() {
            for _ in 0..2 {
                rough = first.scale / first.shape;
                first = solve(design, lasts, (0.0, 1.0), rough);
            }
        }
        let steep = steepness(&first);
        let stiff = solve(design, lasts, (STIFF, steep), rough);
        let mut cells = Vec::with_capacity(noise.lasts.len() * BENDS.len());
        for (index, lasts) in noise.lasts.iter().enumerate() {
            progress.check()?;
            for (bend, weight) in BENDS.iter().zip(BEND_WEIGHTS) {
                let mut cell = solve(design, (index, lasts), (*bend, steep), rough);
                cell.log_evidence += lasts.log_weight + weight.ln();
                cells.push(cell);
            }
        }
        let mut greatest = (cells.iter().map(|c| c.log_evidence)).fold(f64::NEG_INFINITY, f64::max);
        let mut all = 0.0;
        for cell in &mut cells {
            cell.weight = (cell.log_evidence - greatest).exp();
            all += cell.weight;
        }
        cells.retain(|c| c.weight > NOTHING);
        if cells.is_empty() {
            cells.push(stiff.clone()); // numbers so far apart that no cell has an evidence
            (cells[0].weight, greatest, all) = (1.0, 0.0, 1.0);
        }
        let kept: f64 = cells.iter().map(|c| c.weight).sum();
        for cell in &mut cells {
            cell.weight /= kept;
        }
        cells.sort_by(|a, b| b.weight.total_cmp(&a.weight));
        Ok(Self {
            cells,
            log_evidence: greatest + all.ln(),
            about: rough,
            times: timed(design, rough),
            stiff,
            steep,
        })
    }

    /// Mean of the noise's variance.
    pub fn variance(&self) -> f64 {
        self.cells.iter().map(|c| c.weight * c.variance()).sum()
    }

    /// What noise of the same station is believed to be beside the next lamp.
    pub fn noise_after(&self, before: &NoiseBelief) -> NoiseBelief {
        let start = NoiseBelief::default();
        let mut after = start.clone();
        let mut sums = vec![(0.0, 0.0, 0.0); before.lasts.len()];
        for cell in &self.cells {
            let sum = &mut sums[cell.lasts];
            sum.0 += cell.weight;
            sum.1 += cell.weight * cell.shape;
            sum.2 += cell.weight * cell.scale;
        }
        for ((after, start), (weight, shape, scale)) in
            after.lasts.iter_mut().zip(&start.lasts).zip(sums)
        {
            // a way that weighs nothing keeps a little, and what it said of the variance is not known
            let share = weight.max(NOTHING);
            after.log_weight = start.log_weight + KEPT * (share.ln() - start.log_weight);
            if weight > 0.0 {
                after.shape = start.shape + KEPT * (shape / weight - start.shape);
                after.scale = start.scale + KEPT * (scale / weight - start.scale);
            } else {
                let (shape, scale) = self.pooled();
                after.shape = start.shape + KEPT * (shape - start.shape);
                after.scale = start.scale + KEPT * (scale - start.scale);
            }
        }
        after
    }

    fn pooled(&self) -> (f64, f64) {
        let of = |f: fn(&Cell) -> f64| self.cells.iter().map(|c| c.weight * f(c)).sum();
        (of(|c| c.shape), of(|c| c.scale))
    }
}

fn timed(design: &Design, about: f64) -> Vec<Time> {
    let mut times = design.times.clone();
    for (time, rounding) in times.iter_mut().zip(&design.rounding) {
        time.extra = rounding / about;
    }
    times
}

/// The columns' factors and the noise in one cell, in closed form.
fn solve(
    design: &Design,
    (index, lasts): (usize, &Lasts),
    (bend, steep): (f64, f64),
    about: f64,
) -> Cell {
    let process = Process {
        level: 0.0,
        slope: (bend * steep).powi(2) / about,
        lasting: lasts.share,
        days: lasts.days,
        white: 1.0 - lasts.share,
    };
    let sums = filter::run(&timed(design, about), &design.columns, &process, None);
    let c = design.factors();
    let m = c + 1;
    let cross = |i: usize, j: usize| sums.cross[i * m + j];
    // widths beforehand in the noise's units
    let precision: Vec<f64> = design.priors.iter().map(|p| about / (p.1 * p.1)).collect();
    let matrix = Mat::from_fn(c, c, |i, j| {
        cross(i, j) + if i == j { precision[i] } else { 0.0 }
    });
    let right: Vec<f64> = (0..c)
        .map(|i| cross(i, c) + precision[i] * design.priors[i].0)
        .collect();
    let (inverse, log_determinant) = match Factor::of(matrix.as_ref()) {
        Ok(factor) => (factor.inverse(), factor.log_determinant()),
        Err(_) => (
            Mat::from_fn(c, c, |i, j| f64::from(u8::from(i == j))),
            f64::INFINITY,
        ),
    };
    let factors: Vec<f64> = (0..c)
        .map(|i| (0..c).map(|j| inverse[(i, j)] * right[j]).sum())
        .collect();
    let beforehand: f64 = (0..c)
        .map(|i| precision[i] * design.priors[i].0.powi(2))
        .sum();
    let explained: f64 = factors.iter().zip(&right).map(|(b, r)| b * r).sum();
    let squares = (cross(c, c) + beforehand - explained).max(0.0);
    // what was believed firmly costs no degree of freedom
    let used: f64 = (0..c).map(|i| 1.0 - precision[i] * inverse[(i, i)]).sum();
    let counted = sums.counted as f64;
    let freedom = (counted - used).max(0.0);
    let (shape, scale) = (lasts.shape + 0.5 * freedom, lasts.scale + 0.5 * squares);
    let log_evidence = -0.5 * sums.log_determinant - 0.5 * log_determinant
        + 0.5 * precision.iter().map(|p| p.ln()).sum::<f64>()
        - 0.5 * used * about.ln()
        + ln_gamma(shape)
        - shape * scale.ln()
        - ln_gamma(lasts.shape)
        + lasts.shape * lasts.scale.ln();
    Cell {
        process,
        bend,
        weight: 0.0,
        factors,
        inverse,
        shape,
        scale,
        sums,
        lasts: index,
        log_evidence,
    }
}

/// Another design in the process of a cell of `belief`.
pub fn same_process(design: &Design, noise: &NoiseBelief, belief: &Belief, cell: &Cell) -> Cell {
    let lasts = (cell.lasts, &noise.lasts[cell.lasts]);
    solve(design, lasts, (cell.bend, belief.steep), belief.about)
}

/// A run of one cell's process over all times, kept for looking back.
pub fn kept(design: &Design, belief: &Belief, cell: &Cell) -> Kept {
    let mut kept = Kept::default();
    filter::run(
        &belief.times,
        &design.columns,
        &cell.process,
        Some(&mut kept),
    );
    kept
}
