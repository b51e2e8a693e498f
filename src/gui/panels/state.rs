//! What is chosen and half done on the screen.

use super::{limits, readings, upkeep};
use crate::gui::widgets::grid::GridState;
use crate::session::Action;

/// A thing on the plan that can be chosen and dragged, by its index in the station.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Thing {
    /// A group of sites.
    Sites(usize),
    /// A keep-out.
    KeepOut(usize),
    /// A planned position.
    Position(usize),
    /// A corner of the fixture's outline.
    FixtureCorner(usize),
    /// A corner of a keep-out's outline: which keep-out and which corner.
    KeepOutCorner(usize, usize),
}

/// What is chosen and half done on the screen; never saved.
#[derive(Default)]
pub struct PanelState {
    /// What is chosen, in the plan view and in the forms alike.
    pub chosen: Option<Thing>,
    /// The radiometer whose form is open.
    pub radiometer: Option<usize>,
    /// The grid of readings.
    pub readings: GridState,
    /// What is half done about readings.
    pub entry: readings::ReadingsEntry,
    /// What is half done about cure trials.
    pub trials: limits::trials::TrialsEntry,
    /// What is half done about upkeep.
    pub upkeep: upkeep::UpkeepEntry,
    /// A command that needs a dialog, wanted by a panel's button; the window takes and handles it.
    pub wish: Option<Action>,
}

impl PanelState {
    /// Whether a cell of a table is being edited; undo and redo then belong to its text.
    pub fn edits_a_cell(&self) -> bool {
        self.readings.is_editing() || self.trials.is_editing()
    }
}
