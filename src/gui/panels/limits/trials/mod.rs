//! Cure trials in the step Limits: what was tried, the parts as a table to type and paste into, what
//! follows, and how one exposure runs.

mod entry;
mod exposure;
mod form;
mod plot;
mod points;
mod rows;

use eframe::egui::{CollapsingHeader, Label, Ui, UiBuilder, vec2};

pub use entry::TrialsEntry;
use entry::edit;

use crate::gui::panels::limits::parts::point;
use crate::gui::panels::{Panel, heading, sample_link};
use crate::gui::widgets::grid::{Cell, Grid, Look};
use crate::session::{Command, TrialsTold};
use crate::station::trials::{Better, Varied};
use crate::station::{Edit, Trials};
use crate::trials::{Confirmed, Found, further, words};
use rows::{Field, Outcome, Rows, Units};

/// Shows them, folded until there are some.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    ui.add_space(4.0);
    let station = panel.session.station().clone();
    let unfold = std::mem::take(&mut panel.state.trials.unfold);
    CollapsingHeader::new("Cure trials")
        .id_salt("cure trials")
        .default_open(station.trials.is_some())
        .open(unfold.then_some(true))
        .show(ui, |ui| match &station.trials {
            Some(trials) => all(ui, panel, trials),
            None => empty(ui, panel),
        });
    CollapsingHeader::new("Course of the exposure")
        .id_salt("course of the exposure")
        .open(unfold.then_some(true))
        .show(ui, |ui| exposure::show(ui, panel));
}

fn empty(ui: &mut Ui, panel: &mut Panel<'_>) {
    ui.label("Cure parts at a ladder of levels, let them cool, and measure what matters: from some level on they get no better. The least level of full cure, with its upper confidence bound, is what a lower limit is built on");
    if ui.button("Enter cure trials").clicked() {
        let trials = Trials {
            radiometer: panel.session.station().plan_radiometer().cloned(),
            ..Trials::default()
        };
        panel.send(Command::Edit(edit(trials)));
    }
    sample_link(ui, panel);
}

fn all(ui: &mut Ui, panel: &mut Panel<'_>, trials: &Trials) {
    form::plan(ui, panel, trials);
    table(ui, panel, trials);
    let told = panel.session.answers().trials();
    let working = told.is_updating();
    match told.any().cloned() {
        Some(told) => found(ui, panel, trials, &told, working),
        None => {
            ui.weak("Working out what the trials tell");
        }
    }
    form::confirmation(ui, panel, trials);
    form::details(ui, panel, trials);
    if ui.button("Remove the cure trials").clicked() {
        panel.send(Command::Edit(Edit::SetTrials {
            trials: None,
            name: String::new(),
        }));
    }
}

/// Height of the table of parts, in points.
const TABLE: f32 = 190.0;

fn table(ui: &mut Ui, panel: &mut Panel<'_>, trials: &Trials) {
    let units = Units {
        irradiance: panel.session.preferences().irradiance_unit,
        better: trials.property.better,
    };
    let columns = units.columns(&trials.property);
    let cell = |row: usize, column: usize| {
        let (part, field) = (&trials.parts[row], Field::ALL[column]);
        let excluded = part.excluded.as_ref();
        let look = if excluded.is_some() {
            Look::Muted
        } else if field == Field::Result && part.result.is_none() {
            Look::Missing
        } else {
            Look::Normal
        };
        Cell {
            text: units.text(part, field).into(),
            look,
            hover: excluded.map(|why| format!("Excluded: {why}").into()),
        }
    };
    let grid = Grid {
        name: "Parts",
        columns: &columns,
        rows: trials.parts.len(),
        cell: &cell,
        rows_can_change: true,
    };
    let (_, space) = ui.allocate_space(vec2(ui.available_width(), TABLE));
    let mut inside = ui.new_child(
        UiBuilder::new()
            .id_salt("parts of the trials")
            .max_rect(space),
    );
    let actions = grid.show(&mut inside, &mut panel.state.trials.grid);
    if !actions.is_empty() {
        panel.state.trials.message = None;
    }
    let mut rows = Rows {
        units,
        held: trials.held,
        varied: trials.varied,
        parts: trials.parts.clone(),
    };
    for action in actions {
        match rows.take(action) {
            Outcome::Nothing => {}
            Outcome::Named(name) => panel.commands.push(Command::Edit(Edit::SetTrials {
                trials: Some(Box::new(Trials {
                    parts: rows.parts.clone(),
                    ..trials.clone()
                })),
                name,
            })),
            Outcome::RefuseCell(row, column, text, why) => {
                panel.state.trials.grid.refuse(row, column, text, why);
            }
            Outcome::Refuse(why) => panel.state.trials.message = Some(why),
        }
    }
    if let Some(message) = &panel.state.trials.message {
        ui.add(Label::new(message).wrap());
    }
}

fn found(ui: &mut Ui, panel: &Panel<'_>, trials: &Trials, told: &TrialsTold, working: bool) {
    heading(ui, "Least level of full cure");
    if working {
        ui.weak("Being worked out anew");
    }
    let analysis = match told {
        Ok(analysis) => analysis,
        Err(why) => {
            ui.label(why);
            return;
        }
    };
    match &analysis.least {
        Ok(least) => {
            let unit = panel.session.preferences().irradiance_unit;
            let irradiance =
                |e: f64| format!("{} {}", words::number(unit.from_mw_cm2(e)), unit.symbol());
            let percent = words::number(100.0 * least.confidence);
            let of = |level: f64| match least.varied {
                Varied::Irradiance => irradiance(level),
                Varied::Time => format!("{} s", words::number(level)),
            };
            ui.strong(match least.varied {
                Varied::Irradiance => format!(
                    "At most {} at {} s, with {percent} % confidence",
                    of(least.level()),
                    words::number(least.exposure_s)
                ),
                Varied::Time => format!(
                    "At most {} at {}, with {percent} % confidence",
                    of(least.level()),
                    irradiance(least.irradiance)
                ),
            });
            if let Some(estimate) = least.at_least_estimate {
                ui.label(format!(
                    "Best estimate {}, without a margin for chance",
                    of(estimate)
                ));
            }
            ui.label(format!("Found as: {}", least.method));
            for warning in &least.warnings {
                point(ui, warning);
            }
        }
        Err(why) => {
            ui.label(format!("No level yet. {why}"));
        }
    }
    if let Found::Measured(measured) = &analysis.found {
        let unit = panel.session.preferences().irradiance_unit;
        let said = |level: f64| words::level(trials.varied, level, unit);
        if let Some(further) = further::sentence(&measured.further, said) {
            point(ui, &further);
        }
    }
    plot::show(ui, panel, trials, analysis);
    if let Found::Measured(measured) = &analysis.found
        && let Some(best) = measured.fits.first()
    {
        let others: Vec<String> = (measured.fits[1..].iter())
            .map(|w| format!("{} {:.0} %", w.fit.family.name(), 100.0 * w.weight))
            .collect();
        let rest = if others.is_empty() {
            String::new()
        } else {
            format!("; beside it {}", others.join(", "))
        };
        ui.weak(format!(
            "Curve drawn: {} (weight {:.0} %){rest}",
            best.fit.family.name(),
            100.0 * best.weight
        ));
    }
    if let Some(run) = &analysis.confirmed {
        confirmed(ui, trials, run);
    }
    match panel.session.answers().dose().current() {
        None => ui.weak("Working out whether equal dose means equal cure"),
        Some(Some(law)) => ui.label(law.sentence()),
        Some(None) => ui.weak(if trials.property.better == Better::Pass {
            "Parts at several irradiances and several times, of which some pass and some fail, would tell whether equal dose means equal cure here"
        } else {
            "Parts at several irradiances and several times would tell whether equal dose means equal cure here"
        }),
    };
}

fn confirmed(ui: &mut Ui, trials: &Trials, run: &Confirmed) {
    ui.label(format!(
        "Confirmation run: {} of {} passed: with {} % confidence at least {:.1} % of all parts pass{}",
        run.run.passed,
        u64::from(run.run.passed) + u64::from(run.run.failed),
        words::number(trials.confidence_percent),
        (1000.0 * run.share).floor() / 10.0,
        if run.proven {
            String::new()
        } else {
            format!(
                "; {} without a failure show {} %",
                run.needed,
                words::number(trials.reliability_percent)
            )
        }
    ));
}
