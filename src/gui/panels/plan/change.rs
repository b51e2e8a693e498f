//! Changes of the plan.

use crate::gui::panels::Panel;
use crate::session::Command;
use crate::station::{Edit, Plan};

/// Asks for the plan with a change.
pub(super) fn change(panel: &mut Panel<'_>, with: impl FnOnce(&mut Plan)) {
    let mut plan = panel.session.station().plan.clone();
    with(&mut plan);
    panel.send(Command::Edit(Edit::SetPlan(plan)));
}
