//! What happened: lamps, settings, calibrations, cleaning.

use eframe::egui::Ui;

use super::super::fixture::list::{entry, framed};
use super::super::form::Form;
use super::super::{Panel, heading};
use super::common::{change, wrapped};
use crate::files::parse_moment;
use crate::record::upkeep_words::{event_words, moment_words};
use crate::session::Command;
use crate::station::{Calibration, Event, Happened, Radiometer, Upkeep};

/// Events that are listed; older ones are in the picture.
const LISTED: usize = 8;

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>, upkeep: &Upkeep) {
    heading(ui, "What happened");
    let units = panel.session.preferences().units();
    if upkeep.events.is_empty() {
        wrapped(
            ui,
            "Lamp changes, other settings, calibrations and cleaning part the fading from what is none",
        );
    }
    let count = upkeep.events.len();
    for index in (0..count).rev() {
        let is_open = panel.state.upkeep.event == Some(index);
        if !is_open && count - index > LISTED {
            continue;
        }
        let event = &upkeep.events[index];
        let detail = match event.by.trim() {
            "" => event.at.date().to_string(),
            by => format!("{}, {by}", event.at.date()),
        };
        if entry(ui, is_open, &event_words(event, units), &detail) {
            panel.state.upkeep.event = (!is_open).then_some(index);
        }
        if is_open {
            framed(ui, |ui| form(ui, panel, upkeep, index));
        }
    }
    if count > LISTED {
        ui.weak(format!("and {} older ones", count - LISTED));
    }
    ui.horizontal_wrapped(|ui| {
        let main = panel.session.station().plan.radiometer.clone();
        let kinds = [
            (
                "Lamp changed",
                Happened::LampChanged {
                    serial: String::new(),
                    hours: 0.0,
                },
            ),
            (
                "Set anew",
                Happened::Adjusted {
                    face_height: None,
                    drive: String::new(),
                },
            ),
            (
                "Calibrated",
                Happened::Calibrated(Calibration::of(main.unwrap_or_default())),
            ),
            (
                "Cleaned",
                Happened::Cleaned {
                    what: String::new(),
                },
            ),
            ("Note", Happened::Other),
        ];
        for (name, what) in kinds {
            if ui
                .button(name)
                .on_hover_text("Adds it with today's date, to be filled in")
                .clicked()
            {
                add(panel, upkeep, what);
            }
        }
    });
}

fn add(panel: &mut Panel<'_>, upkeep: &Upkeep, what: Happened) {
    let event = Event {
        at: panel.session.now(),
        what,
        by: String::new(),
        note: String::new(),
    };
    let mut all = upkeep.without_log();
    // where its time belongs
    let at = all.events.partition_point(|other| other.at <= event.at);
    all.events.insert(at, event);
    panel.state.upkeep.event = Some(at);
    panel.send(Command::Edit(change("add event")(all)));
}

fn form(ui: &mut Ui, panel: &mut Panel<'_>, upkeep: &Upkeep, index: usize) {
    let key = format!("event/{index}");
    let now = &upkeep.events[index];
    let edit = change("change event");
    let names: Vec<String> = (panel.session.station().radiometers.iter())
        .map(|r: &Radiometer| r.name.clone())
        .collect();
    let mut form = Form::new(ui, panel, &key, upkeep.without_log(), &edit);
    form.text_by(
        "When",
        &moment_words(now.at),
        |text| {
            let (day, time) = parse_moment(text)
                .map_err(|why| format!("{why}; type it such as 2026-03-31 08:15"))?;
            Ok(day.to_datetime(time.unwrap_or_else(|| now.at.time())))
        },
        move |all: &mut Upkeep, at| all.events[index].at = at,
    );
    match &now.what {
        Happened::LampChanged { serial, hours } => {
            form.text("Serial", serial, move |all, text| {
                if let Happened::LampChanged { serial, .. } = &mut all.events[index].what {
                    *serial = text;
                }
            });
            form.number("Hours on it", "h", *hours, move |all, value| {
                if let Happened::LampChanged { hours, .. } = &mut all.events[index].what {
                    *hours = value;
                }
            });
            form.explain("Warm it up and let it settle, read the monitor position and the coldest site, then take a whole survey");
        }
        Happened::Adjusted { face_height, drive } => {
            form.optional_length("Face height", *face_height, move |all, value| {
                if let Happened::Adjusted { face_height, .. } = &mut all.events[index].what {
                    *face_height = value;
                }
            });
            form.text("Drive", drive, move |all, text| {
                if let Happened::Adjusted { drive, .. } = &mut all.events[index].what {
                    *drive = text;
                }
            });
        }
        Happened::Calibrated(of) => {
            let place = names.iter().position(|name| *name == of.radiometer);
            let options: Vec<(Option<usize>, &str)> =
                std::iter::once((None, "not in the register"))
                    .chain(
                        names
                            .iter()
                            .enumerate()
                            .map(|(i, name)| (Some(i), name.as_str())),
                    )
                    .collect();
            form.choose("Radiometer", place, &options, |all, picked| {
                if let (Happened::Calibrated(of), Some(i)) = (&mut all.events[index].what, picked) {
                    of.radiometer.clone_from(&names[i]);
                }
            });
            calibration(&mut form, of, index);
        }
        Happened::Cleaned { what } => {
            form.text("What", what, move |all, text| {
                if let Happened::Cleaned { what } = &mut all.events[index].what {
                    *what = text;
                }
            });
        }
        Happened::Other => {}
    }
    form.text("By", &now.by, move |all, text| all.events[index].by = text);
    form.text("Note", &now.note, move |all, text| {
        all.events[index].note = text
    });
    if form.button("Delete event") {
        let mut all = upkeep.without_log();
        all.events.remove(index);
        panel.state.upkeep.event = None;
        panel.send(Command::Edit(change("delete event")(all)));
    }
}

fn calibration(form: &mut Form<'_, '_, Upkeep>, now: &Calibration, index: usize) {
    fn of(all: &mut Upkeep, index: usize, set: impl FnOnce(&mut Calibration)) {
        if let Happened::Calibrated(calibration) = &mut all.events[index].what {
            set(calibration);
        }
    }
    form.text("Certificate", &now.certificate, move |all, text| {
        of(all, index, |c| c.certificate = text);
    });
    form.text("Laboratory", &now.laboratory, move |all, text| {
        of(all, index, |c| c.laboratory = text);
    });
    form.optional_date("Due", now.due, move |all, day| {
        of(all, index, |c| c.due = day)
    });
    form.optional_number("Found", "%", now.found_percent, move |all, value| {
        of(all, index, |c| c.found_percent = value);
    });
    form.explain("What it showed when it came in, over what it shows now: 2 says that its readings since the calibration before were 2 % too high. With it, readings on both sides come to one scale");
    form.optional_number(
        "Uncertainty",
        "%",
        now.expanded_uncertainty_percent,
        move |all, value| {
            of(all, index, |c| c.expanded_uncertainty_percent = value);
        },
    );
    form.number("Coverage factor", "", now.coverage_factor, move |all, k| {
        of(all, index, |c| c.coverage_factor = k);
    });
}
