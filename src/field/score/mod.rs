//! How well a family predicts what it has not seen.

pub mod hold_out;
mod scored;

pub(super) use scored::{Foretold, Judged, Predicted, score};
