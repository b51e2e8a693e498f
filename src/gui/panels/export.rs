//! The step Export: sheets and files.

use eframe::egui::{Button, Label, RichText, Ui};
use jiff::civil::Date;

use super::{Panel, heading, sample_link};
use crate::export::bundle;
use crate::files::Paper;
use crate::gui::widgets::field_row::{FieldRow, choice};
use crate::session::{Action, Command};
use crate::units::parse_date;

/// A day that may be left out; `Some` where another one was typed.
fn day(ui: &mut Ui, label: &str, now: Option<Date>) -> Option<Option<Date>> {
    let row = FieldRow {
        key: &format!("export/{label}"),
        label,
        unit: "",
        shown: &now.map(|day| day.to_string()).unwrap_or_default(),
    };
    row.read(ui, |text| match text.trim() {
        "" => Ok(None),
        text => parse_date(text).map(Some),
    })
}

/// Shows the panel.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    heading(ui, "Export");
    ui.label("Writes what is ticked into a folder of your choice");
    let possible = panel.session.possible_sheets();
    let mut sheets = panel.session.sheets();
    let mut sheet = |wanted: &mut bool, possible: bool, name: &str, what: &str| {
        ui.add_space(4.0);
        // What cannot be made is not ticked, and comes back ticked when it can be.
        let mut ticked = *wanted && possible;
        let tick = ui.add_enabled_ui(possible, |ui| ui.checkbox(&mut ticked, name));
        if tick.inner.changed() {
            *wanted = ticked;
        }
        ui.label(what);
    };
    sheet(
        &mut sheets.map,
        possible.map,
        "Map",
        "map.pdf, and its pages as map.svg, map.png, map-2.svg, map-2.png and so on: the map at the height shown with its colours, how far off it may be, station, radiometer, state of the source, coldest and hottest spot, uniformity, sites and warnings",
    );
    sheet(
        &mut sheets.plan,
        possible.plan,
        "Probe-position plan",
        "plan.pdf, plan.csv: where to put the detector, in which order, on what spacer, with columns to write readings in",
    );
    sheet(
        &mut sheets.plate,
        possible.plate,
        "Locating plate",
        "plate.pdf, plate.dxf, plate-2.dxf and so on: a plate with a bore for the detector at each position, several where bores are too near to one another; for the workshop, and as a template at true scale",
    );
    sheet(
        &mut sheets.sheet,
        possible.sheet,
        "Station sheet",
        "sheet.pdf: the page that hangs at the workplace: with which radiometer, where and what must be read, how the station is set up, what to do when a reading lies outside, cautions and lines for daily readings; what has no data yet is left to fill in",
    );
    sheet(
        &mut sheets.placement,
        possible.placement,
        "Placement",
        "placement.pdf, placement.dxf, placement.csv: the arrangement that the step Placement shows, with coordinates from the datum; without one as many of the first site's part as fit, in rows",
    );
    sheet(
        &mut sheets.readings,
        possible.readings,
        "Readings",
        "readings.csv: the readings of the survey shown, as Import readings takes them in again",
    );
    sheet(
        &mut sheets.field,
        possible.field,
        "Field",
        "field.csv: irradiance and standard uncertainty every 2 mm over the fixture, for other programs",
    );
    sheet(
        &mut sheets.summary,
        possible.summary,
        "Summary",
        "summary.json: all figures for record systems",
    );
    sheet(
        &mut sheets.log,
        possible.log,
        "Irradiance log",
        "log.pdf, log.csv, log.json: the daily readings over time, their trend, what happened, radiometers and what is due",
    );
    sheet(
        &mut sheets.report,
        possible.report,
        "Report",
        "report.pdf: station sheet, map with limits and verdict, plan, change, log and the program's self-check in one, with a page of contents and room for signatures; it takes a record, begun in the step Upkeep",
    );
    if sheets != panel.session.sheets() {
        panel.send(Command::ChooseSheets(sheets));
    }
    if possible.log {
        ui.add_space(8.0);
        ui.strong("Period of the log");
        let (from, to) = panel.session.period();
        if let Some(from) = day(ui, "From", from) {
            panel.send(Command::ChoosePeriod(from, to));
        }
        if let Some(to) = day(ui, "Until", to) {
            panel.send(Command::ChoosePeriod(from, to));
        }
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
    let any = !bundle::names(panel.session.sheets_to_write()).is_empty();
    let busy = panel.session.busy().is_some();
    let button = ui.add_enabled(any && !busy, Button::new(Action::Export.text().text));
    if button.clicked() {
        panel.state.wish = Some(Action::Export);
    }
    if possible.plan && !possible.field {
        ui.label(
            "There is no field yet, so only the plan can be written, and a station sheet to fill in. Enter readings for the rest",
        );
    } else if !possible.plan && !possible.field {
        ui.label(
            "There is nothing to write yet. Plan positions and heights first, or enter readings",
        );
    }
    if panel.session.station().surveys.is_empty() {
        sample_link(ui, panel);
    }
    ui.add_space(8.0);
    ui.weak("The same files come from the command line:");
    // letters of one width keep the two dashes apart
    ui.add(
        Label::new(RichText::new("evenfield export STATION.ron --out FOLDER").monospace()).wrap(),
    );
}
