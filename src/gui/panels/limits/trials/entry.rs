//! What is half done about cure trials and the course of the exposure.

use std::sync::Arc;

use super::points::Half;
use super::rows::Field;
use crate::gui::widgets::grid::GridState;
use crate::station::{Edit, Exposure, Station, Trials};
use crate::trials::exposure::{Effective, effective};

/// What is half done about cure trials.
#[derive(Default)]
pub struct TrialsEntry {
    /// The table of parts.
    pub(super) grid: GridState,
    /// Why nothing was pasted or cleared; shown until the next try.
    pub(super) message: Option<String>,
    /// The course of the exposure.
    pub(super) exposure: ExposureEntry,
    /// Unfold, to go to one of the fields.
    pub(super) unfold: bool,
}

impl TrialsEntry {
    /// Whether a cell is being edited; undo and redo then belong to its text.
    pub fn is_editing(&self) -> bool {
        self.grid.is_editing() || self.exposure.grid.is_editing()
    }

    /// Unfolds the trials, to go to one of their fields.
    pub fn unfold(&mut self) {
        self.unfold = true;
    }

    /// Unfolds the course of the exposure and goes to its points.
    pub fn go_to_points(&mut self) {
        self.unfold = true;
        self.exposure.grid.go_to(0, 0);
    }

    /// Unfolds the trials and goes to a part.
    pub fn go_to(&mut self, row: usize) {
        self.unfold = true;
        self.grid.go_to(row, Field::Result.index());
    }
}

/// What is half done about the course of the exposure.
#[derive(Default)]
pub(super) struct ExposureEntry {
    pub(super) grid: GridState,
    pub(super) half: Option<Half>,
    /// Why nothing was pasted or deleted; shown until the next try.
    pub(super) message: Option<String>,
    /// What the course is worth, and the document that it was worked out from.
    pub(super) worth: Option<(Arc<Station>, Result<Effective, String>)>,
}

impl ExposureEntry {
    pub(super) fn worth(
        &mut self,
        station: &Arc<Station>,
        exposure: &Exposure,
    ) -> Result<Effective, String> {
        match &self.worth {
            Some((of, worth)) if Arc::ptr_eq(of, station) => worth.clone(),
            _ => {
                let worth = effective(exposure);
                self.worth = Some((station.clone(), worth.clone()));
                worth
            }
        }
    }
}

/// Puts changed trials into the document.
pub(super) fn edit(trials: Trials) -> Edit {
    Edit::SetTrials {
        trials: Some(Box::new(trials)),
        name: String::new(),
    }
}
