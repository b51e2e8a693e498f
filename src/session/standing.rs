//! How the document stands: worked out once for each version of it, not once a frame, for that means
//! comparing whole documents and writing out all positions.

use std::sync::Arc;

use super::background::Same;
use super::disk::Exported;
use super::steps::{Step, StepState};
use crate::export::bundle::Sheets;
use crate::station::{Finding, Station};

/// What it was worked out from: the document, what is in its file, what was exported, which sheets are
/// wanted, and whether there is an answer and a verdict.
type Version = (
    Same<Station>,
    Same<Station>,
    Option<(Same<Station>, Sheets)>,
    Sheets,
    (bool, bool),
);

pub(super) struct Standing {
    of: Version,
    is_changed: bool,
    is_planned: bool,
    steps: [StepState; Step::ALL.len()],
}

impl Standing {
    pub(super) fn new(
        now: &Arc<Station>,
        saved: &Arc<Station>,
        exported: Option<&Exported>,
        wanted: Sheets,
        findings: &[Finding],
        answered: (bool, bool),
    ) -> Self {
        let is_now = |other: &Arc<Station>| Arc::ptr_eq(other, now) || **other == **now;
        let written = exported
            .filter(|exported| is_now(&exported.station))
            .map(|exported| exported.sheets.cover(wanted));
        Self {
            of: version(now, saved, exported, wanted, answered),
            is_changed: !is_now(saved),
            is_planned: !now.plan.heights.is_empty() && !now.positions().is_empty(),
            steps: Step::ALL.map(|step| step.state(now, findings, answered, written)),
        }
    }

    /// Works it out again when anything of it is another one.
    pub(super) fn renew(
        &mut self,
        now: &Arc<Station>,
        saved: &Arc<Station>,
        exported: Option<&Exported>,
        wanted: Sheets,
        findings: &[Finding],
        answered: (bool, bool),
    ) {
        if self.of != version(now, saved, exported, wanted, answered) {
            *self = Self::new(now, saved, exported, wanted, findings, answered);
        }
    }

    /// Whether the document differs from what is in its file.
    pub(super) fn is_changed(&self) -> bool {
        self.is_changed
    }

    /// Whether the plan has a place to read at.
    pub(super) fn is_planned(&self) -> bool {
        self.is_planned
    }

    /// How far a step is.
    pub(super) fn state_of(&self, step: Step) -> StepState {
        self.steps[step as usize]
    }
}

fn version(
    now: &Arc<Station>,
    saved: &Arc<Station>,
    exported: Option<&Exported>,
    wanted: Sheets,
    answered: (bool, bool),
) -> Version {
    let same = |station: &Arc<Station>| Same(station.clone());
    let exported = exported.map(|exported| (same(&exported.station), exported.sheets));
    (same(now), same(saved), exported, wanted, answered)
}
