//! What is odd about a station, and where.

use super::Station;

/// How much a finding matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Worth a look; the answer stands.
    Note,
    /// The answer may be wrong until this is mended.
    Warning,
}

/// Where a finding points to, so that a click can go there. Field names are the labels of the forms.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Where {
    /// A field of the source's form.
    Source(&'static str),
    /// A field of the fixture's form.
    Fixture(&'static str),
    /// A group of sites, by index.
    Sites(usize),
    /// A keep-out, by index.
    KeepOut(usize),
    /// A field of a radiometer's form, by index in the station.
    Radiometer(usize, &'static str),
    /// A field of the plan's form.
    Plan(&'static str),
    /// A planned position, by index in [`Station::positions`].
    Position(usize),
    /// A field of a survey's form, by index.
    Survey(usize, &'static str),
    /// A reading, by survey and row.
    Reading(usize, usize),
}

/// One thing that is odd: where it is, what it is, what to do. Each a plain sentence without a full
/// stop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// Where.
    pub place: Where,
    /// How much it matters.
    pub severity: Severity,
    /// What is odd.
    pub what: String,
    /// What to do.
    pub mend: String,
}

impl Station {
    /// Everything odd about the station, in the order of the steps. Fast enough to run after each
    /// edit.
    pub fn check(&self) -> Vec<Finding> {
        todo!("station helper")
    }
}
