//! How one exposure runs in time, and how long it is worth at full irradiance.

use eframe::egui::{Label, Ui, UiBuilder, vec2};

use super::points::{Points, cell, columns};
use super::rows::Outcome;
use crate::gui::panels::Panel;
use crate::gui::panels::form::Form;
use crate::gui::panels::limits::parts::{plain, point};
use crate::gui::widgets::grid::Grid;
use crate::session::Command;
use crate::station::trials::ExposureModel;
use crate::station::{Edit, Exposure, Station};
use crate::trials::exposure::Effective;
use crate::trials::words::number;
use crate::units::fixed;

fn edit(exposure: Exposure) -> Edit {
    Edit::SetExposure(Some(exposure))
}

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let station = panel.session.station().clone();
    let Some(exposure) = &station.exposure else {
        return empty(ui, panel, &station);
    };
    let kinds = [
        (false, "times of shutter and lamp"),
        (true, "points read against time"),
    ];
    let is_read = matches!(exposure, Exposure::Measured { .. });
    let time = set_time(&station);
    let mut form = Form::new(ui, panel, "exposure", exposure.clone(), &edit);
    form.choose("Known by", is_read, &kinds, |e, read| {
        *e = if read { nothing_read() } else { modelled(time) };
    });
    match exposure {
        Exposure::Model(model) => fields(ui, panel, model),
        Exposure::Measured { points, reference } => {
            table(ui, panel, points, *reference);
            let mut form = Form::new(ui, panel, "exposure", exposure.clone(), &edit);
            form.optional_number("Reference", "as the points", *reference, |e, v| {
                if let Exposure::Measured { reference, .. } = e {
                    *reference = v;
                }
            });
            form.explain("What the radiometer reads of such an exposure, in the unit of the points; empty: the median of the bright part");
        }
    }
    match panel.state.trials.exposure.worth(&station, exposure) {
        Ok(found) => worth(ui, panel, &found, is_read),
        Err(why) => {
            ui.label(why);
        }
    }
    if ui.button("Remove the course of the exposure").clicked() {
        panel.send(Command::Edit(Edit::SetExposure(None)));
    }
}

fn empty(ui: &mut Ui, panel: &mut Panel<'_>, station: &Station) {
    ui.label("A shutter takes its time and a lamp comes up and droops: the dose is less than irradiance times the set time");
    ui.horizontal_wrapped(|ui| {
        if ui.button("Describe the exposure").clicked() {
            panel.send(Command::Edit(edit(modelled(set_time(station)))));
        }
        if ui.button("Enter points read against time").clicked() {
            panel.send(Command::Edit(edit(nothing_read())));
        }
    });
}

fn nothing_read() -> Exposure {
    Exposure::Measured {
        points: Vec::new(),
        reference: None,
    }
}

fn modelled(time: f64) -> Exposure {
    Exposure::Model(ExposureModel {
        time,
        ..ExposureModel::default()
    })
}

/// The exposure that limits or trials speak of, s.
fn set_time(station: &Station) -> f64 {
    let of_limits = station.limits.as_ref().and_then(|l| l.exposure_s);
    let of_trials = || station.trials.as_ref().and_then(|t| t.held);
    of_limits.or_else(of_trials).unwrap_or(10.0)
}

/// Height of the table of points.
const TABLE: f32 = 180.0;

fn table(ui: &mut Ui, panel: &mut Panel<'_>, points: &[(f64, f64)], reference: Option<f64>) {
    let columns = columns();
    let half = panel.state.trials.exposure.half;
    let cell = |row: usize, column: usize| cell(points, half, row, column);
    let grid = Grid {
        name: "Points of the exposure",
        columns: &columns,
        rows: points.len() + usize::from(half.is_some()),
        cell: &cell,
        rows_can_change: true,
    };
    ui.weak("Paste two columns, time and irradiance, or type them");
    let (_, space) = ui.allocate_space(vec2(ui.available_width().min(300.0), TABLE));
    let mut inside = ui.new_child(
        UiBuilder::new()
            .id_salt("points of the exposure")
            .max_rect(space),
    );
    let entry = &mut panel.state.trials.exposure;
    let actions = grid.show(&mut inside, &mut entry.grid);
    if !actions.is_empty() {
        entry.message = None;
        let mut changed = Points {
            points: points.to_vec(),
            half,
        };
        for action in actions {
            match changed.take(action) {
                Outcome::Nothing => {}
                Outcome::Named(_) => panel.commands.push(Command::Edit(edit(Exposure::Measured {
                    points: changed.points.clone(),
                    reference,
                }))),
                Outcome::RefuseCell(row, column, text, why) => {
                    entry.grid.refuse(row, column, text, why);
                }
                Outcome::Refuse(why) => entry.message = Some(why),
            }
        }
        entry.half = changed.half;
    }
    if let Some(message) = &entry.message {
        ui.add(Label::new(message).wrap());
    }
}

/// A value with twice its standard uncertainty, to two digits of that.
fn with_uncertainty(value: f64, u: f64) -> String {
    let u = 2.0 * u;
    let decimals = decimals(u);
    format!("{} ± {}", fixed(value, decimals), fixed(u, decimals))
}

/// Decimals that show two digits of an uncertainty.
fn decimals(u: f64) -> usize {
    (1 - u.log10().floor() as i32).clamp(0, 6) as usize
}

fn worth(ui: &mut Ui, panel: &Panel<'_>, found: &Effective, is_read: bool) {
    if found.uncertainty_s > 0.0 {
        ui.strong(format!(
            "Effective time {} s (k = 2)",
            with_uncertainty(found.time_s, found.uncertainty_s)
        ));
    } else {
        ui.strong(format!(
            "Effective time {} s, its uncertainty not known",
            number(found.time_s)
        ));
    }
    let unit = panel.session.preferences().irradiance_unit;
    let lower = panel.session.answers().terms().current();
    let (at, where_) = match lower {
        Some(terms) => (terms.lower.value, "at the lower limit, "),
        None => (100.0, "at "),
    };
    let (dose, u) = found.dose(at);
    let dose = if u > 0.0 {
        format!(
            "{} mJ/cm² (k = 2, from the time alone)",
            with_uncertainty(dose, u)
        )
    } else {
        format!("{} mJ/cm²", fixed(dose, 0))
    };
    ui.label(format!(
        "Dose {where_}{} {}: {dose}",
        plain(unit.from_mw_cm2(at)),
        unit.symbol()
    ));
    if is_read {
        let (dose, u) = found.dose(found.reference);
        let dose = if u > 0.0 {
            format!("{} (k = 2)", with_uncertainty(dose, u))
        } else {
            number(dose)
        };
        ui.weak(format!(
            "Under the points: {dose} of their unit times s, over {} of their unit",
            number(found.reference)
        ));
    }
    for (name, part) in &found.budget {
        ui.weak(format!(
            "{name}: {} s (k = 1)",
            fixed(*part, decimals(*part))
        ));
    }
    for warning in &found.warnings {
        point(ui, warning);
    }
}

fn fields(ui: &mut Ui, panel: &mut Panel<'_>, model: &ExposureModel) {
    let edit = |model: ExposureModel| edit(Exposure::Model(model));
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
