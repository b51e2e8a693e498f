//! How long lamps last: former fading curves laid over one another.

use super::figure::Figure;

/// One lamp's fading curve: its level against its first settled one.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Clock since its beginning (hours or days, the same for all curves of a question), level as a share of the first settled
    /// one. In the order of the clock.
    pub points: Vec<(f64, f64)>,
    /// Whether it was changed (a former lamp) or still burns.
    pub changed: bool,
}

/// The life of a lamp until its level is a given share of the first settled one.
#[derive(Debug, Clone, PartialEq)]
pub struct Life {
    /// Of each curve.
    pub lives: Vec<Lived>,
    /// What is expected of the next lamp.
    pub next: Result<Expected, NotProven>,
}

/// One lamp's life.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Lived {
    /// It reached the share at this clock.
    Reached(f64),
    /// It was above the share until this clock, when it was changed or last read.
    Longer(f64),
    /// Its curve says nothing.
    Unknown,
}

/// What is expected of a lamp, on the logarithm of life.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expected {
    /// Half of all lamps last longer: estimate and 95 % interval.
    pub median: Figure,
    /// The next lamp: median and the interval that holds 95 % of what is believed of it.
    pub next: Figure,
    /// How many reached the share.
    pub reached: usize,
    /// How many were changed before, or still burn: counted as lasting longer (censored).
    pub longer: usize,
}

/// Why no life is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotProven {
    /// So many lamps reached the share; two are needed for an interval.
    Few(usize),
    /// The share is not between 0 and 1.
    BadShare,
}

/// The life of lamps until their level is `share` of the first settled one.
pub fn life(curves: &[Curve], share: f64) -> Life {
    let _ = (curves, share);
    todo!("insides follow")
}
