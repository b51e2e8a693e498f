//! What upkeep says in sentences, in the reader's units.

mod daily;
mod due;
mod figures;
mod radiometers;
mod trend;

pub use daily::{
    EVENT_LETTERS, carried_words, event_letter, event_words, latest_words, next_words, side_words,
    standing_words, why_words, window_words,
};
pub use due::due_words;
pub use figures::{moment_words, period_words, signed_percent};
pub use radiometers::{comparison_words, no_comparison_words, shift_words, touched_words};
pub use trend::{
    exponential_words, life_words, oddity_words, offset_words, outlook_words, refused_words,
    slope_words,
};
