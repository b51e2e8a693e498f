//! Everything of a survey but its readings.

use eframe::egui::{Label, Ui};
use jiff::civil::Date;

use super::super::Panel;
use super::super::numbers::{length_text, number_text};
use crate::gui::widgets::field_row::{FieldRow, choice};
use crate::session::Command;
use crate::station::{Edit, Pallet, SourceState, Survey};

/// The form.
pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>, index: usize, survey: &Survey) {
    let mut new = details_of(survey);
    let old = new.clone();
    text(ui, "survey Name", "Name", &mut new.name);
    let date = FieldRow {
        key: "survey Date",
        label: "Date",
        unit: "",
        shown: &survey.date.to_string(),
    };
    if let Some(date) = date.read(ui, parse_date) {
        new.date = date;
    }
    text(
        ui,
        "survey Operator",
        "Operator's initials",
        &mut new.operator,
    );
    radiometer(ui, panel, &mut new);
    source_state(ui, panel, &mut new.state);
    text(ui, "survey Notes", "Notes", &mut new.notes);
    if new != old {
        panel.send(Command::Edit(Edit::SetSurveyDetails(index, new)));
    }
}

fn text(ui: &mut Ui, key: &str, label: &str, value: &mut String) {
    let field = FieldRow {
        key,
        label,
        unit: "",
        shown: value,
    };
    if let Some(text) = field.text(ui) {
        *value = text;
    }
}

/// The survey without its readings, which no edit of its details looks at.
fn details_of(survey: &Survey) -> Survey {
    Survey {
        name: survey.name.clone(),
        date: survey.date,
        operator: survey.operator.clone(),
        radiometer: survey.radiometer.clone(),
        state: survey.state.clone(),
        notes: survey.notes.clone(),
        readings: Vec::new(),
    }
}

fn parse_date(text: &str) -> Result<Date, String> {
    let text = text.trim();
    text.parse()
        .map_err(|_| format!("'{text}' is not a date; type year, month and day such as 2026-03-31"))
}

/// Which radiometer was used: none, the copy that the survey has, or one of the station's as it is now.
#[derive(Clone, Copy, PartialEq)]
enum Used {
    None,
    Copy,
    Station(usize),
}

fn radiometer(ui: &mut Ui, panel: &Panel<'_>, survey: &mut Survey) {
    let all = &panel.session.station().radiometers;
    let current = match &survey.radiometer {
        None => Used::None,
        Some(copy) => all
            .iter()
            .position(|r| r == copy)
            .map_or(Used::Copy, Used::Station),
    };
    let copy = (survey.radiometer.as_ref())
        .filter(|_| current == Used::Copy)
        .map(|r| format!("{} (as it was)", r.name));
    let mut options = vec![(Used::None, "none")];
    options.extend(copy.as_deref().map(|name| (Used::Copy, name)));
    options.extend((all.iter().enumerate()).map(|(i, r)| (Used::Station(i), r.name.as_str())));
    match choice(ui, "survey Radiometer", "Radiometer", current, &options) {
        Some(Used::None) => survey.radiometer = None,
        Some(Used::Station(i)) => survey.radiometer = all.get(i).cloned(),
        Some(Used::Copy) | None => {}
    }
    if let Some(r) = &survey.radiometer {
        let due = (r.due).map_or("calibration due: not said".into(), |due| {
            format!("calibration due {due}")
        });
        let uncertainty =
            (r.expanded_uncertainty_percent).map_or("expanded uncertainty: not said".into(), |u| {
                format!(
                    "expanded uncertainty {} % (k = {})",
                    number_text(u),
                    number_text(r.coverage_factor)
                )
            });
        ui.add(Label::new(format!("{due}, {uncertainty}")).wrap());
    }
}

fn source_state(ui: &mut Ui, panel: &Panel<'_>, state: &mut SourceState) {
    let unit = panel.session.preferences().length_unit;
    let station = panel.session.station();
    let optional = |ui: &mut Ui, key, label, unit, shown: Option<String>| {
        FieldRow {
            key,
            label,
            unit,
            shown: &shown.unwrap_or_default(),
        }
        .optional_number(ui)
    };
    let shown = state.face_height.map(|mm| length_text(unit, mm));
    let typed = optional(
        ui,
        "survey Face height",
        "Face height",
        unit.symbol(),
        shown,
    );
    if let Some(height) = typed {
        state.face_height = height.map(|v| unit.to_mm(v));
    }
    ui.weak(format!(
        "Empty: the station's {}",
        unit.show_with_unit(station.source.face_height)
    ));
    text(ui, "survey Drive", "Drive", &mut state.drive);
    text(
        ui,
        "survey Lamp serial",
        "Lamp serial",
        &mut state.lamp_serial,
    );
    let shown = state.lamp_hours.map(number_text);
    if let Some(hours) = optional(ui, "survey Lamp hours", "Lamp hours", "h", shown) {
        state.lamp_hours = hours;
    }
    let shown = state.minutes_on.map(number_text);
    if let Some(minutes) = optional(ui, "survey Minutes on", "Minutes on", "min", shown) {
        state.minutes_on = minutes;
    }
    text(
        ui,
        "survey In the way",
        "Shutter, filter, window",
        &mut state.in_the_way,
    );
    let pallets = [
        (Pallet::NotSaid, "not said"),
        (Pallet::Empty, "empty"),
        (Pallet::Loaded, "loaded"),
    ];
    if let Some(pallet) = choice(ui, "survey Pallet", "Pallet", state.pallet, &pallets) {
        state.pallet = pallet;
    }
}
