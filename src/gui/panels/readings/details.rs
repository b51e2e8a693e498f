//! Everything of a survey but its readings.

use std::collections::HashSet;

use eframe::egui::{Label, Ui};

use super::super::numbers::{length_text, number_text};
use super::super::{Panel, would_take, would_take_length};
use crate::gui::widgets::field_row::{FieldRow, choice};
use crate::session::Command;
use crate::station::{Edit, Pallet, SourceState, Survey};
use crate::units::{parse_date, parse_number};

/// The form.
pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>, index: usize, survey: &Survey) {
    let mut new = survey.details();
    let old = new.clone();
    let station = panel.session.station().clone();
    let name = FieldRow {
        key: "survey Name",
        label: "Name",
        unit: "",
        shown: &survey.name,
    };
    let named = |text: &str| {
        let renamed = Survey {
            name: text.to_owned(),
            ..old.clone()
        };
        would_take(&station, Edit::SetSurveyDetails(index, renamed))?;
        Ok(text.to_owned())
    };
    if let Some(name) = name.read_text(ui, named) {
        new.name = name;
    }
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
    source_state(ui, panel, &mut new.state, index, &old);
    reference(ui, survey, &mut new);
    text(ui, "survey Notes", "Notes", &mut new.notes);
    if new != old {
        panel.send(Command::Edit(Edit::SetSurveyDetails(index, new)));
    }
}

/// The position to which the detector came back: one of those that were read more than once at one height.
fn reference(ui: &mut Ui, survey: &Survey, new: &mut Survey) {
    let mut names: Vec<&str> = repeated(survey);
    let current = survey.reference.as_deref();
    names.extend(current.filter(|name| !names.contains(name)));
    if names.is_empty() {
        return;
    }
    let mut options = vec![(None, "none")];
    options.extend(names.into_iter().map(|name| (Some(name), name)));
    let label = "Reference position";
    if let Some(chosen) = choice(ui, "survey Reference", label, current, &options) {
        new.reference = chosen.map(str::to_owned);
    }
}

/// Names of positions with several readings at one height, in the order of the rows.
fn repeated(survey: &Survey) -> Vec<&str> {
    let mut seen = HashSet::new();
    let mut names: Vec<&str> = Vec::new();
    for reading in survey.readings.iter().filter(|r| !r.position.is_empty()) {
        let name = reading.position.as_str();
        if !seen.insert((name, reading.height.to_bits())) && !names.contains(&name) {
            names.push(name);
        }
    }
    names
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
        let due = (r.due).map_or("calibration due: not recorded".into(), |due| {
            format!("calibration due {due}")
        });
        let uncertainty = (r.expanded_uncertainty_percent).map_or(
            "expanded uncertainty: not recorded".into(),
            |u| {
                format!(
                    "expanded uncertainty {} % (k = {})",
                    number_text(u),
                    number_text(r.coverage_factor)
                )
            },
        );
        ui.add(Label::new(format!("{due}, {uncertainty}")).wrap());
    }
}

fn source_state(
    ui: &mut Ui,
    panel: &Panel<'_>,
    state: &mut SourceState,
    index: usize,
    survey: &Survey,
) {
    let unit = panel.session.preferences().length_unit;
    let station = panel.session.station();
    // a number that the document would refuse stays in its field
    let edit = |put: &dyn Fn(&mut SourceState)| {
        let mut changed = survey.clone();
        put(&mut changed.state);
        Edit::SetSurveyDetails(index, changed)
    };
    let number = |text: &str| match text.trim() {
        "" => Ok(None),
        text => parse_number(text).map(Some).map_err(|e| e.to_string()),
    };
    let optional = |ui: &mut Ui,
                    key: &str,
                    label,
                    unit,
                    now: Option<f64>,
                    put: fn(&mut SourceState, Option<f64>)| {
        FieldRow {
            key,
            label,
            unit,
            shown: &now.map(number_text).unwrap_or_default(),
        }
        .read(ui, |text| {
            let value = number(text)?;
            would_take(station, edit(&|state| put(state, value)))?;
            Ok(value)
        })
    };
    let height = FieldRow {
        key: "survey Face height",
        label: "Face height",
        unit: unit.symbol(),
        shown: &(state.face_height)
            .map(|mm| length_text(unit, mm))
            .unwrap_or_default(),
    };
    let read_height = |text: &str| {
        let mm = number(text)?.map(|v| unit.to_mm(v));
        let edit = edit(&|state| state.face_height = mm);
        would_take_length(station, edit, unit, mm.unwrap_or_default(), text.trim())?;
        Ok(mm)
    };
    if let Some(height) = height.read(ui, read_height) {
        state.face_height = height;
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
    let (hours, minutes) = (state.lamp_hours, state.minutes_on);
    let key = "survey Lamp hours";
    if let Some(hours) = optional(ui, key, "Lamp hours", "h", hours, |s, v| s.lamp_hours = v) {
        state.lamp_hours = hours;
    }
    let key = "survey Minutes on";
    if let Some(minutes) = optional(ui, key, "Minutes on", "min", minutes, |s, v| {
        s.minutes_on = v
    }) {
        state.minutes_on = minutes;
    }
    text(
        ui,
        "survey In the way",
        "Shutter, filter, window",
        &mut state.in_the_way,
    );
    let pallets = [
        (Pallet::NotSaid, "not recorded"),
        (Pallet::Empty, "empty"),
        (Pallet::Loaded, "loaded"),
        (Pallet::Out, "out, a plate in its place"),
    ];
    if let Some(pallet) = choice(ui, "survey Pallet", "Pallet", state.pallet, &pallets) {
        state.pallet = pallet;
    }
}
