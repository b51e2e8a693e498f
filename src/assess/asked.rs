//! What is asked of a station, and why there may be no answer.

use crate::progress::Cancelled;
use crate::station::Family;

/// What is asked of a station.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Request {
    /// Which survey; `None`: the newest.
    pub survey: Option<usize>,
    /// One height for everything instead of each site's own bond line; for the fixture as assessed
    /// area the height of the map.
    pub height: Option<f64>,
    /// Another family than the document's setting.
    pub family: Option<FamilyChoice>,
}

impl Request {
    /// One survey, all else as the document has it.
    pub fn of_survey(index: usize) -> Self {
        Self {
            survey: Some(index),
            ..Self::default()
        }
    }
}

/// A family by name, or the automatic choice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FamilyChoice {
    /// Source-aware where the lamp's face is over all readings, else the kriging that predicts left-out
    /// positions best.
    Automatic,
    /// This one.
    Fixed(Family),
}

/// Why there is no answer: a sentence of what and what to do.
#[derive(Debug, Clone, PartialEq)]
pub enum NoAnswer {
    /// What is missing next.
    Missing(String),
    /// Asked to stop.
    Cancelled,
}

impl From<Cancelled> for NoAnswer {
    fn from(_: Cancelled) -> Self {
        Self::Cancelled
    }
}

impl std::fmt::Display for NoAnswer {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Missing(what) => f.write_str(what),
            Self::Cancelled => f.write_str("cancelled"),
        }
    }
}

impl std::error::Error for NoAnswer {}
