//! What is half done about readings.

use super::bench::state::Bench;
use super::cells::Field;
use super::marks::Marks;
use super::paste;
use super::table::Draft;
use crate::gui::widgets::grid::GridState;

/// What is half done about readings.
#[derive(Debug, Default)]
pub struct ReadingsEntry {
    /// Why nothing was pasted or cleared; shown until the next try.
    pub(super) message: Option<String>,
    /// A row without a place yet, and the survey it belongs to.
    pub(super) draft: Option<(usize, Draft)>,
    /// A pasted block of which the units are asked for.
    pub(super) question: Option<paste::Question>,
    pub(super) marks: Marks,
    /// The round at the bench.
    pub(super) bench: Bench,
    /// The form of the details is to be unfolded, to go to one of its fields.
    pub(super) unfold: bool,
}

/// Brings the keyboard to the first irradiance of a survey that was just prepared: none is read yet.
pub fn begin(readings: &mut GridState) {
    readings.go_to(0, Field::Irradiance.index());
}
