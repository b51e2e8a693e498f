//! What must be read every day, and where.

use eframe::egui::{Grid, RichText, Ui};

use super::parts::point;
use super::terms::edit;
use crate::assess::limits::{MonitorAnswer, Window};
use crate::geometry::{Place, Point};
use crate::gui::panels::form::Form;
use crate::gui::panels::{Panel, heading_of};
use crate::station::limits::{Kept, Limits, Monitor};
use crate::station::{Position, Station};
use crate::units::fixed;

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>, limits: &Limits) {
    let outlook = panel.session.answers().outlook();
    let title = "Daily reading at the monitor position";
    heading_of(ui, title, outlook.is_updating() && outlook.any().is_some());
    let outlook = outlook.any().cloned();
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
            ui.label("No detector can sit at any position of the plan, so none is proposed; plan positions, or type a place");
        }
        (Some(_), Some(answer)) => window(ui, panel, answer),
    }
}

/// Where the daily reading is taken.
#[derive(Clone, Copy, PartialEq)]
enum Picked {
    /// Where the program proposes.
    Proposed,
    /// At a place that is typed.
    Typed,
    /// At a position of the plan.
    Planned(usize),
}

/// A planned position, a place that is typed, or the one that is proposed.
fn choose(ui: &mut Ui, panel: &mut Panel<'_>, limits: &Limits, answer: Option<&MonitorAnswer>) {
    let station = panel.session.station().clone();
    let positions = station.positions();
    let height = (limits.monitor.as_ref().map(|m| m.at.height))
        .or(answer.map(|a| a.at.height))
        .or(station.plan.heights.first().copied())
        .unwrap_or(0.0);
    let now = match &limits.monitor {
        None => Picked::Proposed,
        Some(m) => {
            let same = |p: &Position| p.at == m.at.point() && p.name == m.name;
            (positions.iter().position(same)).map_or(Picked::Typed, Picked::Planned)
        }
    };
    let proposed = match answer.filter(|a| a.proposed) {
        Some(answer) => format!("proposed: {}", answer.name),
        None => "proposed by the program".to_owned(),
    };
    let mut options = vec![
        (Picked::Proposed, proposed.as_str()),
        (Picked::Typed, "a place typed below"),
    ];
    let planned = positions.iter().enumerate();
    options.extend(planned.map(|(i, p)| (Picked::Planned(i), p.name.as_str())));
    let length = panel.session.preferences().length_unit;
    let mut form = Form::new(ui, panel, "limits", limits.clone(), &edit);
    form.choose("Monitor position", now, &options, |l, picked| {
        l.monitor = match picked {
            Picked::Proposed => None,
            Picked::Planned(i) => positions.get(i).map(|p| Monitor {
                name: p.name.clone(),
                at: p.at.at_height(height),
            }),
            Picked::Typed => {
                let there = (l.monitor.as_ref().map(|m| m.at)).or(answer.map(|a| a.at));
                let name = String::new();
                let at = there.unwrap_or_else(|| somewhere(&station).at_height(height));
                Some(Monitor { name, at })
            }
        };
    });
    if let Some(monitor) = &limits.monitor {
        let at = monitor.at;
        let moved = |l: &mut Limits, to: Place| {
            l.monitor = Some(Monitor {
                // a place beside the plan's position is not that position
                name: String::new(),
                at: to,
            });
        };
        let seat = |point: Point| match station.no_seat(point, length) {
            None => Ok(()),
            Some(why) => Err(format!(
                "a monitor position {why}; type a place where the detector can sit, or the other coordinate first"
            )),
        };
        form.length_by(
            "Monitor x",
            at.x,
            |x| seat(Point::new(x, at.y)),
            |l, x| moved(l, Place { x, ..at }),
        );
        form.length_by(
            "Monitor y",
            at.y,
            |y| seat(Point::new(at.x, y)),
            |l, y| moved(l, Place { y, ..at }),
        );
        let face = station.source.face_height;
        form.length_by(
            "Monitor height",
            at.height,
            |height| {
                if height < face {
                    return Ok(());
                }
                Err("that is not below the source's face; type a height between the fixture's base and the face".into())
            },
            |l, height| {
                if let Some(monitor) = &mut l.monitor {
                    monitor.at.height = height;
                }
            },
        );
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

/// Where a typed place begins: at the first position where a detector can sit, else in the fixture's middle.
fn somewhere(station: &Station) -> Point {
    let mut positions = station.positions().into_iter().map(|p| p.at);
    let seat = positions.find(|&at| station.can_sit_on_pallet(at));
    seat.unwrap_or_else(|| station.fixture.footprint().centre)
}

fn window(ui: &mut Ui, panel: &Panel<'_>, answer: &MonitorAnswer) {
    let preferences = panel.session.preferences();
    let (mm, unit) = (preferences.length_unit, preferences.irradiance_unit);
    let named = if answer.name.is_empty() {
        String::new()
    } else {
        format!("Position {}: ", answer.name)
    };
    ui.label(format!(
        "{named}{}, {} {}, height {}; there the field changes by {} % over {} across the plan{}",
        mm.show(answer.at.x),
        mm.show(answer.at.y),
        mm.symbol(),
        mm.show_with_unit(answer.at.height),
        fixed(answer.gradient_percent_per_mm * mm.small_step(), 2),
        mm.show_with_unit(mm.small_step()),
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
    let said = |e: f64| unit.exact_with_unit(e);
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
                    "When adjusted, set to",
                    "What to aim at when the source is set anew; until then anything in the window is right. Near the upper end for a source that only fades, in the middle for one that is adjusted",
                    said(set),
                );
            }
        });
    if let (Some(set), Some(most), Some(judged)) =
        (written.set, written.most, panel.session.judged())
    {
        let rounded = if set == most {
            "; in the three digits in which it is written that is the greatest reading itself"
        } else {
            ""
        };
        ui.weak(match judged.kept {
            Kept::OnlyFades => format!(
                "Set near the upper end because this source only fades: from there it lasts longest until the least is reached{rounded}"
            ),
            Kept::Adjusted => format!(
                "Set to the middle because this source is adjusted: it may drift either way{rounded}"
            ),
        });
    }
    let inside = answer.now >= window.least && window.most.is_none_or(|most| answer.now <= most);
    if !inside {
        ui.label("What is there now lies outside this window");
    }
}
