//! How well a family predicts what it has not seen.

pub mod hold_out;
mod scored;

pub use scored::{Foretold, Predicted};
pub(super) use scored::{Judged, score};
