//! The step Export: sheets and files.

use eframe::egui::Ui;

use super::{Panel, heading};
use crate::files::Paper;
use crate::gui::widgets::field_row::choice;
use crate::session::{Action, Command};

/// What each export is for.
const SHEETS: [(&str, &str); 4] = [
    (
        "Map",
        "map.pdf, map.svg, map.png: the map at the height shown, with station, radiometer, state of the source, coldest and hottest spot, uniformity, sites and warnings",
    ),
    (
        "Probe-position plan",
        "plan.pdf, plan.csv: where to put the detector, in which order, on what spacer, with columns to write readings in",
    ),
    (
        "Field",
        "field.csv: irradiance and standard uncertainty every 2 mm over the fixture, for other programs",
    ),
    ("Summary", "summary.json: all figures for record systems"),
];

/// Shows the panel.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    heading(ui, "Export");
    ui.label("Writes these files into a folder of your choice:");
    for (name, what) in SHEETS {
        ui.add_space(4.0);
        ui.strong(name);
        ui.label(what);
    }
    ui.add_space(8.0);
    let preferences = panel.session.preferences().clone();
    let papers = [(Paper::A4, "A4"), (Paper::Letter, "Letter")];
    if let Some(paper) = choice(ui, "export/paper", "Paper", preferences.paper, &papers) {
        panel.send(Command::Prefer(crate::files::Preferences {
            paper,
            ..preferences
        }));
    }
    ui.add_space(8.0);
    let ready = panel.session.answers().answer().any().is_some();
    let busy = panel.session.busy().is_some();
    let button = ui.add_enabled(ready && !busy, eframe::egui::Button::new("Export..."));
    if button.clicked() {
        panel.state.wish = Some(Action::Export);
    }
    if !ready {
        ui.label("There is no field yet: enter readings first. The plan can be exported as soon as there is one");
    }
    ui.add_space(8.0);
    ui.weak("The same files come from the command line: evenfield export STATION.ron --out FOLDER");
}
