//! How one exposure runs in time, and how long it is worth at full irradiance.

use eframe::egui::Ui;

use crate::gui::panels::Panel;
use crate::gui::panels::form::Form;
use crate::session::Command;
use crate::station::trials::ExposureModel;
use crate::station::{Edit, Exposure};
use crate::trials::exposure::effective;
use crate::trials::words::number;
use crate::units::fixed;

fn edit(model: ExposureModel) -> Edit {
    Edit::SetExposure(Some(Exposure::Model(model)))
}

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let station = panel.session.station().clone();
    match &station.exposure {
        None => {
            ui.label("A shutter takes its time and a lamp comes up and droops: the dose is less than irradiance times the set time");
            if ui.button("Describe the exposure").clicked() {
                let time = station.trials.as_ref().and_then(|t| t.held);
                panel.send(Command::Edit(edit(ExposureModel {
                    time: time.unwrap_or(10.0),
                    ..ExposureModel::default()
                })));
            }
            return;
        }
        Some(Exposure::Model(model)) => fields(ui, panel, model),
        Some(Exposure::Measured { points, .. }) => {
            ui.label(format!("Read against time at {} points", points.len()));
        }
    }
    if let Some(exposure) = &station.exposure {
        match effective(exposure) {
            Ok(found) => {
                let time = number(found.time_s);
                ui.strong(if found.uncertainty_s > 0.0 {
                    let u = 2.0 * found.uncertainty_s;
                    // as many digits as the uncertainty earns: two of its own
                    let decimals = (1 - u.log10().floor() as i32).clamp(0, 6) as usize;
                    format!(
                        "Effective time {} ± {} s (k = 2)",
                        fixed(found.time_s, decimals),
                        fixed(u, decimals)
                    )
                } else {
                    format!("Effective time {time} s, its uncertainty not said")
                });
                for (name, part) in &found.budget {
                    ui.weak(format!("{name}: {} s (k = 1)", number(*part)));
                }
                for warning in &found.warnings {
                    super::point(ui, warning);
                }
            }
            Err(why) => {
                ui.label(why);
            }
        }
        if ui.button("Remove the course of the exposure").clicked() {
            panel.send(Command::Edit(Edit::SetExposure(None)));
        }
    }
}

fn fields(ui: &mut Ui, panel: &mut Panel<'_>, model: &ExposureModel) {
    let mut form = Form::new(ui, panel, "exposure", model.clone(), &edit);
    form.number("Time", "s", model.time, |m, v| m.time = v);
    form.number(
        "Time uncertainty",
        "s, k = 1",
        model.time_uncertainty,
        |m, v| {
            m.time_uncertainty = v;
        },
    );
    form.number("Opening", "s", model.opening, |m, v| m.opening = v);
    form.number("Closing", "s", model.closing, |m, v| m.closing = v);
    form.number(
        "Travel uncertainty",
        "s, k = 1",
        model.travel_uncertainty,
        |m, v| {
            m.travel_uncertainty = v;
        },
    );
    form.number("Switch-on", "s", model.switch_on, |m, v| m.switch_on = v);
    form.number("Droop", "% at the end", model.droop_percent, |m, v| {
        m.droop_percent = v;
    });
    form.number("Ripple frequency", "Hz", model.ripple_hz, |m, v| {
        m.ripple_hz = v
    });
    form.number("Ripple", "% of the mean", model.ripple_percent, |m, v| {
        m.ripple_percent = v;
    });
}
