//! What a fitted field is asked: where it is least and most, and where a further reading would tell most.

mod extremum;
mod next;

pub use extremum::{Area, Extreme, extremes_at_bonds, extremes_of_each, extremum};
pub use next::{Next, next_positions};
