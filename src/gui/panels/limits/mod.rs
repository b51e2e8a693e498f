//! The step Limits: what the parts need and bear, whether the field is inside, and what must be read every
//! day.

mod details;
mod monitor;
mod parts;
mod terms;
pub mod trials;
mod verdict;

pub use verdict::show as verdict;

use eframe::egui::{Context, Ui};

use super::{Panel, PanelState, heading, sample_link};
use crate::gui::widgets::field_row;
use crate::session::Command;
use crate::station::limits::Limits;
use crate::station::{Edit, Where};

/// Shows the panel below the verdict, which has a place of its own.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let station = panel.session.station().clone();
    let Some(limits) = station.limits.as_deref() else {
        return empty(ui, panel);
    };
    terms::show(ui, panel, limits);
    trials::show(ui, panel);
    terms::freeze(ui, panel, limits);
    // what is worked out, and its lengths with it, stands below all that is typed
    monitor::show(ui, panel, limits);
    details::show(ui, panel);
    ui.add_space(10.0);
}

/// Brings the keyboard to the field where a finding is mended; whether the place is one of this panel.
pub fn jump(ctx: &Context, state: &mut PanelState, place: &Where) -> bool {
    let key = match *place {
        Where::Limits(label) => format!("limits/{label}"),
        Where::Trials(label) => {
            state.trials.unfold();
            format!("trials/{label}")
        }
        Where::Exposure("Points") => {
            state.trials.go_to_points();
            return true;
        }
        Where::Exposure(label) => {
            state.trials.unfold();
            format!("exposure/{label}")
        }
        Where::Trial(row) => {
            state.trials.go_to(row);
            return true;
        }
        _ => return false,
    };
    field_row::jump_to(ctx, &key);
    true
}

fn empty(ui: &mut Ui, panel: &mut Panel<'_>) {
    heading(ui, "Limits");
    ui.label(
        "Here the field is held against what the parts need: the least irradiance for full cure with a safety factor, and the most that parts bear. The verdict is about the coldest spot, not about the coldest reading; and it says what the radiometer must read every day at one position",
    );
    ui.add_space(6.0);
    if ui.button("Set limits").clicked() {
        let limits = Box::new(Limits::default());
        panel.send(Command::Edit(Edit::SetLimits(limits)));
    }
    sample_link(ui, panel);
    trials::show(ui, panel);
}
