//! What is asked of a log.

/// A reading at the monitor position.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// When, days from any beginning that all times of one question share.
    pub day: f64,
    /// The lamp's hours then, where they are known.
    pub hours: Option<f64>,
    /// mW/cm², above zero, on the main radiometer's scale.
    pub irradiance: f64,
    /// Which of [`Asked::conversions`] it went through, where it was read with a stand-in.
    pub conversion: Option<usize>,
}

/// What is known to have happened.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Mark {
    /// A new lamp: a fading of its own from here on.
    NewLamp,
    /// Height or drive were set anew: an unknown factor from here on, which is not the lamp's fading.
    Readjusted,
    /// The radiometer was calibrated: from here on it reads `shift` more (a part of 1), known with a standard uncertainty;
    /// `None` where nobody knows the shift. Earlier readings are carried to the new scale.
    Recalibrated(Option<(f64, f64)>),
}

/// A mark in time. A reading of the same time comes after it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Marked {
    /// When, days as those of the readings.
    pub day: f64,
    /// What happened.
    pub mark: Mark,
}

/// A log and what is to be told of it. Readings that are not held against limits (another band, out of range, past due) are
/// the caller's to leave out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Asked<'a> {
    /// In any order.
    pub readings: &'a [Reading],
    /// In any order.
    pub marks: &'a [Marked],
    /// Relative standard uncertainty of each conversion's ratio, shared by all readings that went through it.
    pub conversions: &'a [f64],
    /// The lower limit at the monitor position, mW/cm², on the present scale.
    pub limit: Option<f64>,
    /// The step of the radiometer's display, mW/cm²; 0 where it is not known.
    pub resolution: f64,
    /// Of the draws; the same seed gives the same answer.
    pub seed: u64,
}

/// Why a log is refused. Indices are those of the slices in [`Asked`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Refused {
    /// A reading that is zero, negative or no number.
    NotPositive(usize),
    /// A reading whose time or hours are no number.
    NoTime(usize),
    /// A reading that names a conversion that is not there.
    NoConversion(usize),
    /// A conversion whose uncertainty is negative or no number.
    BadConversion(usize),
    /// A mark whose time is no number, or whose shift is none (-1 or less, or an uncertainty below zero).
    BadMark(usize),
    /// A limit that is not above zero.
    BadLimit,
    /// A step of the display below zero or no number.
    BadResolution,
}
