//! What must be read every day, and where.

use eframe::egui::{Grid, RichText, Ui};

use super::point;
use super::terms::edit;
use super::verdict::plain;
use crate::assess::limits::{MonitorAnswer, Window};
use crate::gui::panels::form::Form;
use crate::gui::panels::{Panel, heading};
use crate::station::limits::{Limits, Monitor};
use crate::units::fixed;

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>, limits: &Limits) {
    heading(ui, "Daily reading at the monitor position");
    let outlook = panel.session.answers().outlook().any().cloned();
    let answer = outlook.as_ref().and_then(|o| o.monitor.as_ref());
    choose(ui, panel, limits, answer);
    match (&outlook, answer) {
        (None, _) => {
            let working = panel.session.judged().is_some();
            ui.weak(if working {
                "Working out what must be read there"
            } else {
                "What must be read there is said as soon as there are limits and readings"
            });
        }
        (Some(_), None) => {
            ui.label("No detector can sit at any position of the plan, so none is proposed; plan positions, or choose one");
        }
        (Some(_), Some(answer)) => window(ui, panel, answer),
    }
}

/// A planned position, or the one that is proposed.
fn choose(ui: &mut Ui, panel: &mut Panel<'_>, limits: &Limits, answer: Option<&MonitorAnswer>) {
    let station = panel.session.station().clone();
    let positions = station.positions();
    let height = (limits.monitor.as_ref().map(|m| m.at.height))
        .or(answer.map(|a| a.at.height))
        .or(station.plan.heights.first().copied())
        .unwrap_or(0.0);
    let now = limits.monitor.as_ref().and_then(|m| {
        let same = |p: &crate::station::Position| p.at == m.at.point();
        positions.iter().position(same)
    });
    let proposed = match answer.filter(|a| a.proposed) {
        Some(answer) => format!("proposed: {}", answer.name),
        None => "proposed by the program".to_owned(),
    };
    let by_hand = limits.monitor.is_some() && now.is_none();
    let mut options: Vec<(Option<usize>, &str)> = vec![(
        None,
        if by_hand {
            "none of the plan's positions"
        } else {
            &proposed
        },
    )];
    options.extend(
        positions
            .iter()
            .enumerate()
            .map(|(i, p)| (Some(i), p.name.as_str())),
    );
    let mut form = Form::new(ui, panel, "limits", limits.clone(), &edit);
    form.choose("Monitor position", now, &options, |l, picked| {
        l.monitor = picked.and_then(|i| positions.get(i)).map(|p| Monitor {
            name: p.name.clone(),
            at: p.at.at_height(height),
        });
    });
    if let Some(monitor) = &limits.monitor {
        form.length("Monitor height", monitor.at.height, |l, height| {
            if let Some(monitor) = &mut l.monitor {
                monitor.at.height = height;
            }
        });
        if form.button("Let the program propose one") {
            form.change(|l| l.monitor = None);
        }
    } else if let Some(answer) = answer.filter(|a| a.proposed)
        && form.button("Keep the proposed position")
    {
        let monitor = Monitor {
            name: answer.name.clone(),
            at: answer.at,
        };
        form.change(|l| l.monitor = Some(monitor));
    }
}

fn window(ui: &mut Ui, panel: &Panel<'_>, answer: &MonitorAnswer) {
    let preferences = panel.session.preferences();
    let (mm, unit) = (preferences.length_unit, preferences.irradiance_unit);
    let named = if answer.name.is_empty() {
        String::new()
    } else {
        format!("{}: ", answer.name)
    };
    ui.label(format!(
        "{named}{}, {} {}, height {}; there the field changes by {} % per mm across the plan{}",
        mm.show(answer.at.x),
        mm.show(answer.at.y),
        mm.symbol(),
        mm.show_with_unit(answer.at.height),
        fixed(answer.gradient_percent_per_mm, 2),
        if answer.away > 0.0 {
            format!(", {} from the nearest part", mm.show_with_unit(answer.away))
        } else {
            String::new()
        }
    ));
    match &answer.window {
        Err(why) => {
            ui.label(why);
        }
        Ok(window) if window.is_open() => figures(ui, panel, answer, window),
        Ok(_) => {
            ui.strong("The window is empty");
            for why in &answer.closed {
                point(ui, why);
            }
        }
    }
    ui.label(format!(
        "It reads {} now, by the field",
        unit.show_with_unit(answer.now, None)
    ));
    if let Some((ratio, most)) = answer.hot_to_cold {
        ui.label(format!(
            "The hottest part gets {} times what the coldest gets, with 95 % confidence at most {} times",
            fixed(ratio, 2),
            fixed(most, 2)
        ));
    }
    ui.weak("At the working distance in use: the ratio changes with distance. One position can't see local wear; read the coldest site now and then as well");
}

fn figures(ui: &mut Ui, panel: &Panel<'_>, answer: &MonitorAnswer, window: &Window) {
    let unit = panel.session.preferences().irradiance_unit;
    let written = window.written();
    let said = |e: f64| format!("{} {}", plain(unit.from_mw_cm2(e)), unit.symbol());
    Grid::new("window")
        .num_columns(2)
        .striped(true)
        .spacing([14.0, 3.0])
        .show(ui, |ui| {
            let mut row = |name: &str, tip: &str, value: String| {
                ui.label(name).on_hover_text(tip);
                ui.label(RichText::new(value).strong());
                ui.end_row();
            };
            row(
                "At least",
                "So that the coldest part is above the lower limit with 95 % confidence; rounded up",
                said(written.least),
            );
            row(
                "At most",
                "So that the hottest part is below the upper limit with 95 % confidence; rounded down",
                written.most.map_or_else(|| "no upper limit".into(), said),
            );
            if let Some(set) = written.set {
                row(
                    "Set to",
                    "Near the upper end for a source that only fades, in the middle for one that is adjusted",
                    said(set),
                );
            }
        });
    let inside = answer.now >= window.least && window.most.is_none_or(|most| answer.now <= most);
    if !inside {
        ui.label("What is there now lies outside this window");
    }
}
