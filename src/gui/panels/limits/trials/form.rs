//! What was tried and how: the fields of the cure trials.

use eframe::egui::{CollapsingHeader, Ui};

use super::entry::edit;
use crate::gui::panels::Panel;
use crate::gui::panels::form::Form;
use crate::session::Command;
use crate::station::Trials;
use crate::station::trials::{Better, Confirmation, Margin, Varied};

const BETTER: [(Better, &str); 3] = [
    (Better::Larger, "larger is better"),
    (Better::Smaller, "smaller is better"),
    (Better::Pass, "pass or fail"),
];

const VARIED: [(Varied, &str); 2] = [
    (Varied::Irradiance, "exposure time"),
    (Varied::Time, "irradiance"),
];

/// What a ladder is made of.
pub(super) fn plan(ui: &mut Ui, panel: &mut Panel<'_>, trials: &Trials) {
    let mut form = Form::new(ui, panel, "trials", trials.clone(), &edit);
    form.text("Property", &trials.property.name, |t, name| {
        t.property.name = name;
    });
    form.choose("Judged", trials.property.better, &BETTER, |t, better| {
        t.property.better = better;
        // what was judged otherwise can't be read as pass or fail
        if better == Better::Pass {
            t.parts
                .iter_mut()
                .filter(|p| p.result.is_some_and(|r| r != 0.0 && r != 1.0))
                .for_each(|p| p.result = None);
        }
    });
    if trials.property.better != Better::Pass {
        form.text("Property unit", &trials.property.unit, |t, unit| {
            t.property.unit = unit;
        });
    }
    form.choose("Chosen first", trials.varied, &VARIED, |t, varied| {
        t.varied = varied;
        t.held = None;
    });
    match trials.varied {
        Varied::Irradiance => {
            form.optional_number("Chosen exposure", "s", trials.held, |t, held| t.held = held);
        }
        Varied::Time => {
            form.optional_irradiance("Chosen irradiance", trials.held, |t, held| t.held = held);
        }
    }
    form.explain("Empty: the one that all parts have");
    match trials.property.better {
        Better::Pass => {
            form.number("Must pass", "%", trials.reliability_percent, |t, share| {
                t.reliability_percent = share;
            });
            form.explain("The share of all parts that must pass; the curves say where to look, a confirmation run shows it");
        }
        _ => margin(&mut form, trials),
    }
    form.number(
        "Confidence",
        "%",
        trials.confidence_percent,
        |t, percent| {
            t.confidence_percent = percent;
        },
    );
}

fn margin(form: &mut Form<'_, '_, Trials>, trials: &Trials) {
    let unit = &trials.property.unit;
    let kinds = [
        (false, "percent of the plateau"),
        (true, "in the property's unit"),
    ];
    let absolute = matches!(trials.margin, Margin::Absolute(_));
    form.choose("Margin is", absolute, &kinds, |t, absolute| {
        t.margin = if absolute {
            Margin::Absolute(1.0)
        } else {
            Margin::Percent(10.0)
        };
    });
    match trials.margin {
        Margin::Percent(percent) => {
            form.number("Margin", "%", percent, |t, v| t.margin = Margin::Percent(v));
        }
        Margin::Absolute(by) => {
            form.number("Margin", unit, by, |t, v| t.margin = Margin::Absolute(v));
        }
    }
    form.explain("Full cure is what falls short of the plateau by no more than that; set it before the parts are measured");
}

/// Parts cured at the chosen level, apart from the search.
pub(super) fn confirmation(ui: &mut Ui, panel: &mut Panel<'_>, trials: &Trials) {
    let Some(run) = trials.confirmation else {
        if ui.button("Add a confirmation run").clicked() {
            let level = trials
                .parts
                .iter()
                .map(|p| p.irradiance)
                .fold(0.0, f64::max);
            let time = trials.parts.iter().map(|p| p.exposure).fold(0.0, f64::max);
            let above_zero = |v: f64, or: f64| if v > 0.0 { v } else { or };
            panel.send(Command::Edit(edit(Trials {
                confirmation: Some(Confirmation {
                    irradiance: above_zero(level, 100.0),
                    exposure: above_zero(time, 10.0),
                    passed: 0,
                    failed: 0,
                }),
                ..trials.clone()
            })));
        }
        return;
    };
    let mut form = Form::new(ui, panel, "trials", trials.clone(), &edit);
    let of = |t: &mut Trials, change: &dyn Fn(&mut Confirmation)| {
        if let Some(run) = &mut t.confirmation {
            change(run);
        }
    };
    form.optional_irradiance("Confirmed at", Some(run.irradiance), |t, e| {
        of(t, &|run| run.irradiance = e.unwrap_or(0.0));
    });
    form.number("Confirmed for", "s", run.exposure, |t, s| {
        of(t, &|run| run.exposure = s);
    });
    form.count("Parts passed", run.passed, |t, n| {
        of(t, &|run| run.passed = n)
    });
    form.count("Parts failed", run.failed, |t, n| {
        of(t, &|run| run.failed = n)
    });
    if form.button("Remove the confirmation run") {
        form.change(|t| t.confirmation = None);
    }
}

/// What else is known, folded away.
pub(super) fn details(ui: &mut Ui, panel: &mut Panel<'_>, trials: &Trials) {
    CollapsingHeader::new("Details of the trials")
        .id_salt("details of the trials")
        .default_open(!trials.cooled || trials.radiometer.is_none())
        .show(ui, |ui| {
            let mut cooled = trials.cooled;
            let tick = ui.checkbox(&mut cooled, "Parts had cooled to room temperature");
            if tick.changed() {
                panel.send(Command::Edit(edit(Trials {
                    cooled,
                    ..trials.clone()
                })));
            }
            let station = panel.session.station().clone();
            let all = &station.radiometers;
            let now = trials.radiometer.as_ref();
            let of_station = now.and_then(|r| all.iter().position(|other| other == r));
            let as_it_was = now.filter(|_| of_station.is_none()).map(|r| format!("{} (as it was)", r.name));
            // the copy that the trials have, when it is none of the station's, is told by one past them
            let current = match (now, of_station) {
                (None, _) => None,
                (Some(_), Some(i)) => Some(i),
                (Some(_), None) => Some(all.len()),
            };
            let mut options: Vec<(Option<usize>, &str)> = vec![(None, "not recorded")];
            options.extend(as_it_was.as_deref().map(|name| (Some(all.len()), name)));
            options.extend(all.iter().enumerate().map(|(i, r)| (Some(i), r.name.as_str())));
            let mut form = Form::new(ui, panel, "trials", trials.clone(), &edit);
            form.choose("Radiometer", current, &options, |t, picked| {
                t.radiometer = picked.and_then(|i| all.get(i)).cloned();
            });
            form.text("Measured at", &trials.measured_at, |t, at| t.measured_at = at);
            form.optional_number("Slowest step", "s", trials.slowest_step, |t, s| {
                t.slowest_step = s;
            });
            form.explain("The slowest other step of the line: an exposure that takes longer is the bottleneck");
            form.text("Adhesive", &trials.adhesive, |t, text| t.adhesive = text);
            form.text("Adhesive lot", &trials.adhesive_lot, |t, text| t.adhesive_lot = text);
            form.text("Substrate", &trials.substrate, |t, text| t.substrate = text);
            form.text("Substrate lot", &trials.substrate_lot, |t, text| t.substrate_lot = text);
            form.notes("Notes on the trials", &trials.notes, |t, text| t.notes = text);
        });
}
