//! Why sheets could not be made.

use super::ExportError;
use crate::assess::NoAnswer;
use crate::progress::Cancelled;

/// Why the sheets could not be made.
#[derive(Debug, Clone, PartialEq)]
pub enum NoBundle {
    /// There is no answer to write.
    NoAnswer(String),
    /// A format refused.
    Export(ExportError),
    /// The record could not be written as text.
    Record(String),
    /// Asked to stop.
    Cancelled,
}

impl From<NoAnswer> for NoBundle {
    fn from(error: NoAnswer) -> Self {
        match error {
            NoAnswer::Missing(what) => Self::NoAnswer(what),
            NoAnswer::Cancelled => Self::Cancelled,
        }
    }
}

impl From<Cancelled> for NoBundle {
    fn from(_: Cancelled) -> Self {
        Self::Cancelled
    }
}

impl From<ExportError> for NoBundle {
    fn from(error: ExportError) -> Self {
        Self::Export(error)
    }
}

impl std::fmt::Display for NoBundle {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoAnswer(what) | Self::Record(what) => f.write_str(what),
            Self::Export(error) => error.fmt(f),
            Self::Cancelled => f.write_str("cancelled"),
        }
    }
}

impl std::error::Error for NoBundle {}
