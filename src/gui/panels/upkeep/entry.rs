//! The entry of a reading: typed in one line and Enter, or by a radiometer that types; and logs that are pasted or imported.

use eframe::egui::{Event, Grid, Id, Key, Label, Response, TextEdit, Ui};
use jiff::civil::DateTime;

use super::super::{Panel, heading};
use super::common::wrapped;
use super::half_done::Typed;
use crate::files::{not_in_log, parse_moment, pasted_log};
use crate::gui::widgets::list::list;
use crate::record::upkeep_words::moment_words;
use crate::session::{Action, Command};
use crate::station::{Edit, LogEntry, Upkeep};
use crate::units::parse_number;

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>, upkeep: &Upkeep) {
    let changes = panel.state.upkeep.entry.changes;
    heading(
        ui,
        match changes {
            Some(_) => "Change the entry",
            None => "Log a reading",
        },
    );
    let unit = panel.session.preferences().irradiance_unit;
    let now = panel.session.now();
    let last = upkeep.log.last();
    let usual = last.map(|entry| entry.radiometer.clone());
    let usual = usual.or_else(|| panel.session.station().plan.radiometer.clone());
    let names: Vec<(String, String)> = std::iter::once((String::new(), "not said".to_owned()))
        .chain(
            (panel.session.station().radiometers.iter()).map(|r| (r.name.clone(), r.name.clone())),
        )
        .collect();
    let typed = &mut panel.state.upkeep.entry;
    let mut wants = false;
    Grid::new("log a reading")
        .num_columns(3)
        .spacing([8.0, 4.0])
        .show(ui, |ui| {
            let mut line =
                |ui: &mut Ui, name: &str, text: &mut String, unit: &str, hint: String| {
                    let label = ui.label(name).id;
                    let field = TextEdit::singleline(text)
                        .id(Id::unique(("log", name)))
                        .desired_width(170.0)
                        .hint_text(hint);
                    let response = ui.add(field).labelled_by(label);
                    ui.label(unit);
                    ui.end_row();
                    wants |= entered(ui, &response);
                };
            line(
                ui,
                "Reading",
                &mut typed.reading,
                unit.symbol(),
                "and Enter".into(),
            );
            line(ui, "When", &mut typed.when, "", moment_words(now));
            let label = ui.label("Radiometer").id;
            let mut chosen = typed.radiometer.clone().or(usual).unwrap_or_default();
            let picked = list(ui, "radiometer of the reading", &mut chosen, &names);
            if picked.labelled_by(label).changed() {
                typed.radiometer = Some(chosen.clone());
            }
            ui.label("");
            ui.end_row();
            line(ui, "Lamp hours", &mut typed.hours, "h", String::new());
            line(
                ui,
                "At the coldest site",
                &mut typed.coldest,
                unit.symbol(),
                "now and then".into(),
            );
            line(ui, "By", &mut typed.by, "", "initials".into());
            line(ui, "Note", &mut typed.note, "", String::new());
            let read = Read {
                now,
                radiometer: chosen,
                to_mw: &|v| unit.to_mw_cm2(v),
            };
            ui.label("");
            ui.horizontal(|ui| {
                let text = if changes.is_some() {
                    "Change it"
                } else {
                    "Log it"
                };
                wants |= ui.button(text).clicked();
                if changes.is_some() && ui.button("Leave it").clicked() {
                    let by = std::mem::take(&mut typed.by);
                    *typed = Typed {
                        by,
                        ..Typed::default()
                    };
                    wants = false;
                }
            });
            ui.end_row();
            if wants {
                match read.entry(typed, upkeep) {
                    Ok(entry) => {
                        let edit = match typed.changes {
                            Some(row) => Edit::SetInLog(row, entry),
                            None => Edit::AddToLog {
                                entries: vec![entry],
                                name: String::new(),
                            },
                        };
                        panel.commands.push(Command::Edit(edit));
                        *typed = Typed {
                            by: std::mem::take(&mut typed.by),
                            radiometer: typed.radiometer.take(),
                            ..Typed::default()
                        };
                        ui.memory_mut(|m| m.request_focus(Id::unique(("log", "Reading"))));
                    }
                    Err(why) => typed.wrong = Some(why),
                }
            }
        });
    if let Some(wrong) = &panel.state.upkeep.entry.wrong {
        ui.add(Label::new(wrong).wrap());
    }
    further(ui, panel, upkeep);
}

/// Whether Enter left a field.
fn entered(ui: &Ui, response: &Response) -> bool {
    response.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter))
}

struct Read<'a> {
    now: DateTime,
    radiometer: String,
    to_mw: &'a dyn Fn(f64) -> f64,
}

impl Read<'_> {
    fn entry(&self, typed: &Typed, upkeep: &Upkeep) -> Result<LogEntry, String> {
        let at = match typed.when.trim() {
            "" => self.now,
            when => {
                let (day, time) = parse_moment(when).map_err(|why| {
                    format!(
                        "{why}; type year, month and day, and the time, such as 2026-03-31 08:15"
                    )
                })?;
                day.to_datetime(time.unwrap_or_else(|| self.now.time()))
            }
        };
        let number = |text: &str| parse_number(text).map_err(|wrong| wrong.to_string());
        let optional = |text: &str| match text.trim() {
            "" => Ok(None),
            text => number(text).map(Some),
        };
        let before = typed.changes.and_then(|row| upkeep.log.get(row)).cloned();
        let mut entry = before.unwrap_or_else(|| LogEntry::new(at, 0.0));
        entry.at = at;
        // as at the bench: a word for what the meter can't show
        entry.saturated = matches!(
            typed.reading.trim().to_lowercase().as_str(),
            "over" | "ol" | "over range" | "over-range"
        );
        if !entry.saturated {
            if typed.reading.trim().is_empty() {
                return Err("Type what the radiometer shows".to_owned());
            }
            entry.irradiance = (self.to_mw)(number(&typed.reading)?);
        }
        entry.lamp_hours = optional(&typed.hours)?;
        entry.at_coldest = optional(&typed.coldest)?.map(self.to_mw);
        entry.radiometer = self.radiometer.clone();
        entry.by = typed.by.trim().to_owned();
        entry.note = typed.note.trim().to_owned();
        Ok(entry)
    }
}

/// Logs that are there already.
fn further(ui: &mut Ui, panel: &mut Panel<'_>, upkeep: &Upkeep) {
    ui.horizontal(|ui| {
        if ui.button(Action::ImportLog.text().text).clicked() {
            panel.state.wish = Some(Action::ImportLog);
        }
        let paste = ui.button("Paste a log").on_hover_text(
            "Copy rows with their header (date, time, irradiance_mw_cm2, ...) in a spreadsheet, click here and press Ctrl+V",
        );
        if paste.clicked() {
            paste.request_focus();
        }
        if !paste.has_focus() {
            return;
        }
        ui.weak("press Ctrl+V");
        let pasted = ui.input_mut(|input| {
            let at = input.events.iter().position(|e| matches!(e, Event::Paste(_)))?;
            match input.events.remove(at) {
                Event::Paste(text) => Some(text),
                _ => None,
            }
        });
        let Some(text) = pasted else { return };
        match pasted_log(&crate::files::parse_block(&text)) {
            Ok(entries) => {
                let (entries, known) = not_in_log(entries, &upkeep.log);
                let count = entries.len();
                panel.state.upkeep.entry.wrong = (known > 0)
                    .then(|| format!("{known} of the pasted readings were in the log already"));
                if count > 0 {
                    let name = format!("paste {count} readings into the log");
                    panel.send(Command::Edit(Edit::AddToLog { entries, name }));
                }
            }
            Err(errors) => {
                let first = errors.first().map(ToString::to_string).unwrap_or_default();
                let more = match errors.len() {
                    0 | 1 => String::new(),
                    n => format!(" (and {} more)", n - 1),
                };
                panel.state.upkeep.entry.wrong =
                    Some(format!("Nothing was pasted. {first}{more}"));
            }
        }
    });
    if upkeep.every.is_none() && !upkeep.log.is_empty() {
        wrapped(
            ui,
            "Say below, under Record, how often it is to be read, and it reminds of the next check",
        );
    }
}
