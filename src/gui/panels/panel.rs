//! What a panel is given, and what all panels are put together from.

use eframe::egui::{TextStyle, Ui};

use super::state::PanelState;
use crate::session::{Command, Session};
use crate::station::{Edit, Station};
use crate::units::LengthUnit;

/// What a panel is given.
pub struct Panel<'a> {
    /// What there is to read.
    pub session: &'a Session,
    /// What is chosen on the screen.
    pub state: &'a mut PanelState,
    /// What the person asked for in this frame.
    pub commands: &'a mut Vec<Command>,
}

impl Panel<'_> {
    /// Asks for a command.
    pub fn send(&mut self, command: Command) {
        self.commands.push(command);
    }
}

/// Whether the document would take an edit.
///
/// # Errors
/// Why not, as a sentence for the person.
pub(super) fn would_take(station: &Station, edit: Edit) -> Result<(), String> {
    let refused = Station::clone(station).apply(edit).err();
    refused.map_or(Ok(()), |refused| Err(refused.to_string()))
}

/// As [`would_take`], where a length was typed: the document speaks of millimetres, the person hears of
/// the number that stands in the field.
pub(super) fn would_take_length(
    station: &Station,
    edit: Edit,
    unit: LengthUnit,
    mm: f64,
    typed: &str,
) -> Result<(), String> {
    would_take(station, edit).map_err(|why| match unit {
        LengthUnit::Mm => why,
        LengthUnit::Inch => {
            let said = (why.replace(&format!("{mm:e}"), typed)).replace(&mm.to_string(), typed);
            // the bounds are in millimetres too
            match said.split_once(" is too large; ") {
                Some((what, _)) => format!("{what} is too large; type a smaller number"),
                None => said,
            }
        }
    })
}

/// The way to the sample, where a step has nothing of the person's own yet.
pub(super) fn sample_link(ui: &mut Ui, panel: &mut Panel<'_>) {
    if panel.session.is_sample() {
        return;
    }
    if ui.link("See it on the sample").clicked() {
        panel.send(Command::OpenSample);
    }
}

/// A heading inside a panel.
pub fn heading(ui: &mut Ui, text: &str) {
    heading_of(ui, text, false);
}

/// A heading that says beside itself that what stands below it is older than the last change: a line of its own would
/// push it down.
pub fn heading_of(ui: &mut Ui, text: &str, updating: bool) {
    ui.add_space(8.0);
    ui.horizontal(|ui| {
        ui.strong(text);
        if updating {
            ui.weak("updating: as before the last change");
        }
    });
    ui.separator();
}

/// Room for at least so many lines of text, whatever comes and goes in it: what stands below keeps its place.
pub(super) fn room_for(ui: &mut Ui, lines: usize, contents: impl FnOnce(&mut Ui)) {
    let line = ui.text_style_height(&TextStyle::Body) + ui.spacing().item_spacing.y;
    ui.vertical(|ui| {
        ui.set_min_height(lines as f32 * line - ui.spacing().item_spacing.y);
        contents(ui);
    });
}
