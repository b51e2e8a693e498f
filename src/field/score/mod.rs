//! How well a family predicts what it has not seen.

pub mod hold_out;
mod scored;

pub(super) use scored::{Judged, score};
