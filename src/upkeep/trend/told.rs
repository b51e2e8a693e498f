//! What a log tells.

use super::exponential::Exponential;
use crate::upkeep::figure::Figure;

/// A log's trend.
#[derive(Debug, Clone, PartialEq)]
pub struct Trend {
    /// In the order of time; the last is the present one. Empty without readings. A new-lamp mark without readings after it
    /// makes no lamp.
    pub lamps: Vec<LampTrend>,
    /// When the present lamp's level reaches the limit; `None` where no limit was given or nothing was read.
    pub outlook: Option<Outlook>,
    /// The present lamp's level from its last reading on, as far as is looked, in the order of time; empty where too little is known.
    pub ahead: Vec<Ahead>,
    /// What the present lamp's fading borrowed of former ones; `None`: nothing.
    pub borrowed: Option<Borrowed>,
    /// What is odd in the log.
    pub oddities: Vec<Oddity>,
}

/// What fading is counted along.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Clock {
    /// Calendar days: the lamp's hours are not known well enough.
    Days,
    /// The lamp's hours.
    Hours,
}

/// One lamp.
#[derive(Debug, Clone, PartialEq)]
pub struct LampTrend {
    /// When it was put in, days: its mark, or its first reading.
    pub since: f64,
    /// The first hours that are known of it.
    pub hours: Option<f64>,
    /// How many readings it has, outliers too.
    pub readings: usize,
    /// What its fading is counted along.
    pub clock: Clock,
    /// Hours that a day adds, where hours are known.
    pub hours_a_day: Option<f64>,
    /// The smoothed level at each time that was read (several readings of one day are one where there are very many).
    pub levels: Vec<Level>,
    /// The station's level at the last reading, mW/cm², noise left out.
    pub now: Figure,
    /// How fast the lamp fades at the last reading.
    pub slope: Result<Slope, TooLittle>,
    /// How readings scatter about the level.
    pub noise: Noise,
    /// All that is taken out as no fading: re-adjustments, calibrations, steps found. In the order of time.
    pub offsets: Vec<Offset>,
    /// Single readings that stand out and do not last: left out of the level.
    pub outliers: Vec<Outlier>,
    /// The exponential fit by least squares beside it, offsets taken out, outliers left out, along the same clock.
    pub exponential: Option<Exponential>,
}

/// The smoothed level at one time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Level {
    /// When.
    pub day: f64,
    /// The lamp's hours, where its clock is hours.
    pub hours: Option<f64>,
    /// What was read, mW/cm²: a mean where several were put together.
    pub read: f64,
    /// The station's level, mW/cm², on the radiometer's scale of that day.
    pub station: f64,
    /// Its relative standard uncertainty.
    pub uncertainty: f64,
    /// The lamp's level, mW/cm²: as the station would read at its present setting and scale, steps taken out.
    pub lamp: f64,
    /// Its relative standard uncertainty, that of the offsets after it in it.
    pub lamp_uncertainty: f64,
}

/// How fast the lamp fades; negative while it does. What a new lamp loses while it settles is not in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slope {
    /// Parts of 1 in a month of 30.4375 days, at the lamp's mean use so far where its clock is hours.
    pub per_month: Figure,
    /// Parts of 1 in 1000 lamp hours, where hours are known.
    pub per_1000_hours: Option<Figure>,
}

/// Scatter of readings about the level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noise {
    /// Relative standard deviation of one reading.
    pub deviation: f64,
    /// The share of its variance that lasts from one reading to the next ones (weather, one person's habit).
    pub lasting: f64,
    /// For how many days: the time in which the correlation of that share falls to 1/e.
    pub days: f64,
}

/// Why an offset is there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cause {
    /// A mark of the question: its index.
    Mark(usize),
    /// Found: a sudden change of level that stays.
    Found,
}

/// A sudden change that is no fading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Offset {
    /// Why.
    pub cause: Cause,
    /// When: the mark's time; for a step found, the first reading that has it, days.
    pub day: f64,
    /// Between which times it lies with 95 % confidence, days: the readings about the mark; for a step found, from the last
    /// reading that is surely without it to the first that surely has it.
    pub window: (f64, f64),
    /// Its size as a part of 1, negative where it got less. For a calibration: how much more the radiometer reads since.
    pub size: Figure,
}

/// A reading that stands out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outlier {
    /// Index of the reading in the question; where several of one day were put together, the first of them.
    pub reading: usize,
    /// When.
    pub day: f64,
    /// How far above the level, a part of 1; negative below.
    pub off: f64,
    /// Whether it is the last: it may be a step that begins, and is to be read again.
    pub last: bool,
}

/// The present lamp's level at a time to come, at its present setting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ahead {
    /// When; at the lamp's mean use so far where its clock is hours.
    pub day: f64,
    /// The lamp's hours then, where known.
    pub hours: Option<f64>,
    /// mW/cm², noise left out: the median, and the interval that holds it with 95 % confidence.
    pub level: Figure,
}

/// What the present lamp's fading borrowed of former ones.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Borrowed {
    /// How many former lamps.
    pub lamps: usize,
    /// Their fading as believed for a new one, parts of 1 in a month, with 95 % of the belief.
    pub per_month: Figure,
}

/// When the level reaches the limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Outlook {
    /// The level is at the limit or below it, more likely than not.
    Reached {
        /// The first time from which the level's estimate is below.
        since: f64,
        /// Above one half.
        probability: f64,
    },
    /// It will be.
    Reaches(Passage),
    /// Not before `until`, further than which nothing is said.
    NotInSight {
        /// Days: [`super::AHEAD`] times the length of the data after the last reading.
        until: f64,
        /// The same in lamp hours, where known.
        until_hours: Option<f64>,
        /// The probability that it is reached before that; below one half.
        probability: f64,
        /// The day before which it is reached with a probability of 2.5 %, where that is before `until`.
        earliest: Option<f64>,
    },
    /// Nothing can be said.
    TooLittle(TooLittle),
}

/// When a level passes the limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passage {
    /// Median, day.
    pub day: f64,
    /// It is later with a probability of 97.5 %; not before the last reading.
    pub earliest: f64,
    /// It is earlier with a probability of 97.5 %; `None`: beyond what is said anything of.
    pub latest: Option<f64>,
    /// The same in lamp hours, where they are known: median, earliest, latest.
    pub hours: Option<(f64, f64, Option<f64>)>,
    /// Days: further ahead nothing is said.
    pub until: f64,
}

/// Why nothing is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TooLittle {
    /// So many readings of the lamp that count, and so many are needed.
    Readings {
        /// There are.
        have: usize,
        /// That are needed.
        need: usize,
    },
    /// All readings are of less than [`super::LEAST_DAYS`].
    Short,
}

/// What is odd in a log.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Oddity {
    /// The hours of this reading are less than those of the one before it, of the same lamp; its hours are not used.
    HoursBack(usize),
    /// More hours since the reading before than there are in the days between; its hours are not used.
    HoursTooMany(usize),
}
