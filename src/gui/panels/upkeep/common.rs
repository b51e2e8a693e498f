//! What the parts of this step have in common.

use eframe::egui::{Label, Ui};

use crate::station::{Edit, Upkeep};

/// A sentence.
pub(super) fn wrapped(ui: &mut Ui, text: &str) {
    ui.add(Label::new(text).wrap());
}

/// The edit that puts everything but the log in place.
pub(super) fn change(name: &'static str) -> impl Fn(Upkeep) -> Edit {
    move |upkeep| Edit::SetUpkeep {
        upkeep: Box::new(upkeep),
        name: name.to_owned(),
    }
}
