//! The strip below the picture: irradiance along a line through the cross.

use eframe::egui::Ui;

use crate::field::Estimate;
use crate::gui::widgets::strip::{Strip, StripPoint};
use crate::session::{Along, Command, ProfileLine, Session};
use crate::station::Reading;
use crate::units::LengthUnit;
use crate::work::Held;

use super::cross;

/// Readings this near to the line are drawn on it, mm: of a line upwards on the plan, else in space.
const NEAR: f64 = 6.0;

/// Shows the strip and the choice of the line.
pub(super) fn show(ui: &mut Ui, session: &Session, commands: &mut Vec<Command>) {
    let Some(profile) = session.answers().profile().any() else {
        return;
    };
    let line = profile.line;
    let preferences = session.preferences();
    let length = preferences.length_unit;
    let readings: Vec<(f64, f64)> = session
        .survey()
        .map_or(&[][..], |(_, survey)| &survey.readings)
        .iter()
        .filter_map(|r| near(&line, r))
        .collect();
    let (along, at) = title(&line, length);
    let title = format!("Irradiance {along} {at}");
    ui.horizontal_wrapped(|ui| {
        for along in Along::ALL {
            let (text, name, tip) = words(along);
            let button = ui.selectable_label(session.along() == along, text);
            if button.clicked() {
                commands.push(Command::ShowAlong(along));
            }
            button.on_hover_text(tip).accessible_name(name);
        }
        ui.separator();
        // which way the line runs, the chosen button says
        ui.strong(format!("Irradiance {at}"));
        ui.weak(said_of(&readings, length));
        match session.answers().profile() {
            Held::Updating(..) => {
                ui.weak("updating the line");
            }
            Held::Failed(..) => {
                ui.weak("of the readings as they were before");
            }
            Held::Nothing | Held::Current(_) => {}
        }
    });
    let curve: Vec<StripPoint> = profile.values.iter().map(|&(at, e)| point(at, e)).collect();
    let (Some(first), Some(last)) = (curve.first(), curve.last()) else {
        return;
    };
    let ends = (first.at, last.at);
    let fit = session.answers().fit().any();
    let (salt, axis, stroke, chosen) = match line.along {
        Along::Height => (
            "along height",
            "height",
            "height of the map",
            session.height(),
        ),
        Along::X => ("along x", "x", "x of the cross", line.through.x),
        Along::Y => ("along y", "y", "y of the cross", line.through.y),
    };
    let strip = Strip {
        id_salt: salt,
        title: &title,
        axis,
        stroke,
        curve: &curve,
        measured: match line.along {
            Along::Height => fit.map_or(&[][..], |fit| &fit.heights),
            Along::X | Along::Y => &[],
        },
        readings: &readings,
        chosen,
        ends,
        length,
        unit: preferences.irradiance_unit,
    };
    let new = strip.show(ui);
    let is_held = ui.input(|input| input.pointer.any_down());
    match (new, line.along) {
        (Some(height), Along::Height) => {
            let height = (height * 10.0).round() / 10.0;
            let height = height.clamp(ends.0, ends.1);
            if height != session.height() || is_held != session.is_sliding() {
                commands.push(Command::SetHeight {
                    height,
                    sliding: is_held,
                });
            }
        }
        (Some(x), Along::X) => {
            let mut at = line.through;
            at.x = (x * 10.0).round() / 10.0;
            commands.extend(cross::to(session, at));
        }
        (Some(y), Along::Y) => {
            let mut at = line.through;
            at.y = (y * 10.0).round() / 10.0;
            commands.extend(cross::to(session, at));
        }
        (None, _) if session.is_sliding() && !is_held => commands.push(Command::SetHeight {
            height: session.height(),
            sliding: false,
        }),
        (None, _) => {}
    }
}

/// The button of a line: its text, its name for a screen reader, its tip.
fn words(along: Along) -> (&'static str, &'static str, &'static str) {
    match along {
        Along::Height => (
            "Height",
            "Irradiance against height",
            "Irradiance against height at the cross",
        ),
        Along::X => (
            "Along x",
            "Section along x",
            "Irradiance from left to right through the cross, at the height of the map",
        ),
        Along::Y => (
            "Along y",
            "Section along y",
            "Irradiance from front to back through the cross, at the height of the map",
        ),
    }
}

/// `against height` and `at 92, 60 mm`; `along x` and `at y 60 mm, height 3 mm`.
fn title(line: &ProfileLine, unit: LengthUnit) -> (&'static str, String) {
    let p = line.through;
    let [x, y, height] = [p.x, p.y, line.height].map(|mm| unit.show_with_unit(mm));
    match line.along {
        Along::Height => ("against height", format!("at {}, {y}", unit.show(p.x))),
        Along::X => ("along x", format!("at y {y}, height {height}")),
        Along::Y => ("along y", format!("at x {x}, height {height}")),
    }
}

/// What the band and the dots are.
fn said_of(readings: &[(f64, f64)], unit: LengthUnit) -> String {
    let near = unit.show_with_unit(NEAR);
    match readings.len() {
        0 => format!("band k\u{a0}=\u{a0}2; no readings within {near}"),
        1 => format!("band k\u{a0}=\u{a0}2; dot: 1 reading within {near}"),
        n => format!("band k\u{a0}=\u{a0}2; dots: {n} readings within {near}"),
    }
}

/// Where on the line a reading near it lies, and what it is.
fn near(line: &ProfileLine, reading: &Reading) -> Option<(f64, f64)> {
    let place = reading.place();
    let is_near = line.distance(place) <= NEAR;
    Some((line.of(place), reading.counted().filter(|_| is_near)?))
}

fn point(at: f64, estimate: Option<Estimate>) -> StripPoint {
    let Some(e) = estimate else {
        return StripPoint {
            at,
            irradiance: f64::NAN,
            band: None,
            extrapolated: false,
        };
    };
    StripPoint {
        at,
        irradiance: e.irradiance,
        // in the logarithm, as the field is made, so the band never reaches below zero
        band: e.uncertainty.filter(|_| e.irradiance > 0.0).map(|u| {
            let factor = (2.0 * u / e.irradiance).exp();
            (e.irradiance / factor, e.irradiance * factor)
        }),
        extrapolated: e.extrapolated,
    }
}
