//! A lamp's series as columns: its beginning and slope, what changed at once, conversions, and what was read.

use super::filter::Time;
use super::series::{Known, Series};

/// An offset that nobody knows: a factor of two either way is one standard deviation.
const UNKNOWN: f64 = 0.7;
/// A step that was found is believed to be of this size, on the logarithm: dirt, a knock, a detector dropped.
const STEP: f64 = 0.1;
/// Where a level may begin, on the logarithm about the readings' mean.
const BEGINNING: f64 = 3.0;
/// Without former lamps a slope is believed to be within this a month, on the logarithm (an arc lamp that burns day and night
/// loses a third in a month: common practice, no source).
pub const ANY_SLOPE: f64 = 0.4;
/// A new lamp settles within days: each of these (to 1/e) takes so much of its light, on the logarithm, one standard deviation
/// (a hundred hours until a lamp is rated: common practice, no source).
const SETTLING: [f64; 2] = [4.0, 15.0];
const SETTLES: f64 = 0.05;
/// A lamp whose first reading is at more hours has settled.
const SETTLED: f64 = 300.0;
/// Days of a month.
pub const MONTH: f64 = 30.4375;

/// What a column stands for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Role {
    /// The level at clock 0.
    Beginning,
    /// Along the clock.
    Slope,
    /// What a new lamp loses beside its fading until it has settled: falls to 1/e in so much of the whole clock.
    Settling(f64),
    /// Readings before a time of the series stand higher by this; index into what is known, `None`: a step found.
    Before(usize, Option<usize>),
    /// Readings of one conversion.
    Conversion,
}

/// Columns with what is believed of their factors beforehand.
#[derive(Debug, Clone)]
pub struct Design {
    /// Steps in time; the clock goes from 0 to 1.
    pub times: Vec<Time>,
    /// One for each role, then what was read, on the logarithm about its mean.
    pub columns: Vec<Vec<f64>>,
    /// One for each column but the last.
    pub roles: Vec<Role>,
    /// Mean and standard deviation of each factor.
    pub priors: Vec<(f64, f64)>,
    /// Mean of the logarithms read.
    pub middle: f64,
    /// Clock units (hours or days) and days from the first to the last time.
    pub lengths: (f64, f64),
    /// Variance of each time beside the noise, on the logarithm: rounding of the display.
    pub rounding: Vec<f64>,
}

/// What is known or found of a series beside its readings.
#[derive(Debug, Clone, Default)]
pub struct Events {
    /// First times of steps found.
    pub steps: Vec<usize>,
    /// Times that stand out.
    pub outliers: Vec<usize>,
}

/// What a new lamp's slope is believed to be: mean and standard deviation, per unit of the clock.
pub type SlopePrior = (f64, f64);

impl Design {
    /// Of a series of at least one time.
    pub fn of(
        series: &Series,
        events: &Events,
        slope: Option<SlopePrior>,
        conversions: &[f64],
        resolution: f64,
    ) -> Self {
        let times = &series.times;
        let n = times.len();
        let lengths = (series.length().max(1e-9), series.days().max(1e-9));
        let steps = (0..n).map(|t| Time {
            clock: t
                .checked_sub(1)
                .map_or(0.0, |b| (times[t].clock - times[b].clock) / lengths.0),
            days: t
                .checked_sub(1)
                .map_or(0.0, |b| times[t].day - times[b].day),
            together: times[t].together,
            extra: 0.0,
            counts: !events.outliers.contains(&t),
        });
        let middle = times.iter().map(|t| t.log).sum::<f64>() / n.max(1) as f64;
        let mut design = Self {
            times: steps.collect(),
            columns: Vec::new(),
            roles: Vec::new(),
            priors: Vec::new(),
            middle,
            lengths,
            rounding: (times.iter())
                .map(|t| ((resolution / t.log.exp()).powi(2) / 12.0).min(1.0) / t.together)
                .collect(),
        };
        design.column(Role::Beginning, (0.0, BEGINNING), vec![1.0; n]);
        let (mean, deviation) = match slope {
            Some((mean, deviation)) => (mean * lengths.0, deviation * lengths.0),
            None => (0.0, ANY_SLOPE / MONTH * lengths.1),
        };
        let first = times.first().map_or(0.0, |t| t.clock);
        let along = times
            .iter()
            .map(|t| (t.clock - first) / lengths.0)
            .collect();
        design.column(Role::Slope, (mean, deviation.max(1e-9)), along);
        if series.burnt.first().is_none_or(|b| b.1 <= SETTLED) {
            let a_day = lengths.0 / lengths.1;
            for days in SETTLING {
                let column = times.iter().map(|t| (-t.clock / (days * a_day)).exp());
                let role = Role::Settling(days * a_day / lengths.0);
                design.column(role, (0.0, SETTLES), column.collect());
            }
        }
        for (i, Known { from, size, .. }) in series.known.iter().enumerate() {
            let prior = size.map_or((0.0, UNKNOWN), |(size, u)| (-size, u.max(1e-6)));
            design.before(*from, Some(i), prior);
        }
        for &from in &events.steps {
            design.before(from, None, (0.0, STEP));
        }
        for (c, u) in conversions.iter().enumerate() {
            let own = |t: &super::series::Observed| f64::from(u8::from(t.conversion == Some(c)));
            if times.iter().any(|t| t.conversion == Some(c)) {
                let column = times.iter().map(own).collect();
                design.column(Role::Conversion, (0.0, u.max(1e-6)), column);
            }
        }
        let read = times.iter().map(|t| t.log - middle).collect();
        design.columns.push(read);
        design
    }

    fn column(&mut self, role: Role, prior: (f64, f64), values: Vec<f64>) {
        self.roles.push(role);
        self.priors.push(prior);
        self.columns.push(values);
    }

    fn before(&mut self, from: usize, known: Option<usize>, prior: (f64, f64)) {
        let column = (0..self.times.len())
            .map(|t| f64::from(u8::from(t < from)))
            .collect();
        self.column(Role::Before(from, known), prior, column);
    }

    /// Columns that have a factor.
    pub fn factors(&self) -> usize {
        self.roles.len()
    }
}
