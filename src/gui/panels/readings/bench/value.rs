//! The held value: typed, taken into the document, and on to the next stop.

use eframe::egui::{Id, Key, RichText, TextEdit, Ui};
use jiff::civil::DateTime;

use super::super::super::Panel;
use super::super::super::numbers::irradiance_text;
use super::super::super::panel::would_take;
use super::state::Far;
use crate::assess::{Expected, ExpectedFrom};
use crate::session::Command;
use crate::station::{Edit, Reading, Survey};
use crate::units::{fixed, parse_number};

pub(super) fn field_id() -> Id {
    Id::unique("value at the bench")
}

/// The held value; Enter takes it and goes on.
pub(super) fn field(
    ui: &mut Ui,
    panel: &mut Panel<'_>,
    (index, survey): (usize, &Survey),
    row: usize,
) {
    let unit = panel.session.preferences().irradiance_unit;
    let reading = &survey.readings[row];
    ui.add_space(6.0);
    let bench = &mut panel.state.entry.bench;
    let hint = match reading.irradiance {
        Some(e) => format!("{} was read", irradiance_text(unit, e)),
        None => "held value".to_owned(),
    };
    let id = field_id();
    let field = ui.horizontal(|ui| {
        let field = TextEdit::singleline(&mut bench.text)
            .id(id)
            .font(eframe::egui::FontId::monospace(30.0))
            .hint_text(hint)
            .desired_width(200.0);
        let shown = ui.add(field);
        ui.label(RichText::new(unit.symbol()).size(19.0));
        shown
    });
    let response = field.inner;
    let enter = response.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter));
    if enter {
        take(panel, (index, survey), row);
    }
    // the keyboard belongs to this field, unless somebody has gone elsewhere
    let nobody = ui.memory(|m| m.focused().is_none());
    if enter || nobody && panel.state.entry.bench.skipping.is_none() {
        ui.memory_mut(|m| m.request_focus(id));
    }
    let moved = ui.input_mut(|i| {
        let mut pressed = |key| i.consume_key(Default::default(), key);
        match (pressed(Key::PageUp), pressed(Key::PageDown)) {
            (true, _) => Some(row.checked_sub(1)),
            (_, true) => Some(Some(row + 1).filter(|next| *next < survey.readings.len())),
            _ => None,
        }
    });
    if let Some(to) = moved.flatten() {
        panel.state.entry.bench.go(Some(to));
    }
    if let Some(why) = &panel.state.entry.bench.refused {
        ui.colored_label(ui.visuals().error_fg_color, why);
    }
    if let Some(expected) = awaited(panel, survey, row) {
        let from = match expected.from {
            ExpectedFrom::Earlier => "by an earlier survey and what was read since",
            ExpectedFrom::Around => "by what was read around it",
        };
        let expanded = 2.0 * expected.uncertainty;
        ui.weak(if expanded < 0.3 {
            format!(
                "Expected {} {}, {from}",
                unit.show_expanded(
                    expected.irradiance,
                    expected.irradiance * expected.uncertainty
                ),
                unit.symbol()
            )
        } else {
            format!(
                "Expected about {}, {from}: nothing to hold a reading against yet",
                unit.show_with_unit(expected.irradiance, Some(0.1 * expected.irradiance))
            )
        });
    }
}

fn awaited(panel: &Panel<'_>, survey: &Survey, row: usize) -> Option<Expected> {
    panel.session.answers().awaited()?.at(survey, row)
}

/// The document with what was typed, and on to the next stop.
pub(super) fn take(panel: &mut Panel<'_>, (index, survey): (usize, &Survey), row: usize) {
    let unit = panel.session.preferences().irradiance_unit;
    let typed = panel.state.entry.bench.text.trim().to_owned();
    if typed.is_empty() {
        return;
    }
    let value = match parse_number(&typed) {
        Ok(value) => unit.to_mw_cm2(value),
        Err(why) => {
            panel.state.entry.bench.refused = Some(why.to_string());
            return;
        }
    };
    let reading = Reading {
        irradiance: Some(value),
        excluded: None,
        saturated: false,
        ..survey.readings[row].clone()
    };
    let expected = awaited(panel, survey, row);
    if !put(panel, (index, survey), row, reading) {
        return;
    }
    let bench = &mut panel.state.entry.bench;
    if let Some((expected, by)) = expected.and_then(|e| Some((e, e.is_far(value)?))) {
        let way = if by > 0.0 { "more" } else { "less" };
        bench.far = Some(Far {
            row,
            said: format!(
                "{}: {typed} {} is {} % {way} than expected ({})",
                name(&survey.readings[row], row),
                unit.symbol(),
                fixed(100.0 * by.abs(), 0),
                unit.show_with_unit(
                    expected.irradiance,
                    Some(expected.uncertainty * expected.irradiance)
                )
            ),
        });
    } else if bench.far.as_ref().is_some_and(|far| far.row == row) {
        bench.far = None;
    }
    on(panel, survey, row);
}

/// Goes on to the next stop at which something is left to do.
pub(super) fn on(panel: &mut Panel<'_>, survey: &Survey, row: usize) {
    let after = survey.stops_after(row).next();
    let next = after.or_else(|| survey.next_stop(0).filter(|next| *next != row));
    panel.state.entry.bench.go(next);
}

pub(super) fn name(reading: &Reading, row: usize) -> String {
    match reading.position.as_str() {
        "" => format!("Row {}", row + 1),
        name => format!("Position {name}"),
    }
}

pub(super) fn short_name(reading: &Reading, row: usize) -> String {
    match reading.position.as_str() {
        "" => format!("row {}", row + 1),
        name => name.to_owned(),
    }
}

/// Puts a reading into its row, with the minute it was taken at; whether the document took it.
pub(super) fn put(
    panel: &mut Panel<'_>,
    (index, survey): (usize, &Survey),
    row: usize,
    mut reading: Reading,
) -> bool {
    let now = jiff::ZonedDateTime::now().datetime();
    let began = survey.began.or_else(|| begins(survey, now));
    if reading.minute.is_none() {
        reading.minute = began.and_then(|began| minutes(began, now));
    }
    let edit = Edit::SetReadings {
        survey: index,
        row,
        readings: vec![reading],
        name: match &*survey.readings[row].position {
            "" => format!("read row {}", row + 1),
            position => format!("read position {position}"),
        },
    };
    if let Err(why) = would_take(panel.session.station(), edit.clone()) {
        panel.state.entry.bench.refused = Some(why);
        return false;
    }
    if survey.began.is_none() && began.is_some() {
        let details = Survey {
            began,
            ..survey.details()
        };
        panel.send(Command::Edit(Edit::SetSurveyDetails(index, details)));
    }
    panel.send(Command::Edit(edit));
    true
}

/// A round begins with its first reading; one that was begun without a clock has none.
fn begins(survey: &Survey, now: DateTime) -> Option<DateTime> {
    let any = survey.readings.iter().any(|r| r.irradiance.is_some());
    (!any).then_some(now)
}

/// To a tenth of a minute.
fn minutes(began: DateTime, now: DateTime) -> Option<f64> {
    let seconds = now.duration_since(began).as_secs_f64();
    (seconds >= 0.0).then(|| (seconds / 6.0).round() / 10.0)
}
