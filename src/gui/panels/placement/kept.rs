//! Arrangements that are kept side by side.

use std::sync::Arc;

use eframe::egui::{Grid, Label, RichText, Ui};

use super::super::{Panel, heading};
use super::figures::{column, decimals, show as shown};
use crate::export::Arranged;
use crate::geometry::Shape;
use crate::record::{parts_per_hour, placement_kind_words};
use crate::session::Command;
use crate::units::{IrradianceUnit, LengthUnit, fixed};

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let all = panel.session.arrangements();
    if all.is_empty() {
        return;
    }
    heading(ui, "Kept side by side");
    let now = panel.session.shown_arrangement();
    let preferences = panel.session.preferences();
    let (mm, light) = (preferences.length_unit, preferences.irradiance_unit);
    let mut commands = Vec::new();
    table(ui, all, light, now, &mut commands);
    for (i, arranged) in all.iter().enumerate() {
        let mut text = format!("{}: {}", i + 1, what(arranged, mm));
        if is_earlier(panel, arranged) {
            text += "; by an earlier field, ask again to compare it";
        }
        ui.add(Label::new(RichText::new(text).weak()).wrap());
    }
    for command in commands {
        panel.send(command);
    }
}

fn table(
    ui: &mut Ui,
    all: &[Arc<Arranged>],
    light: IrradianceUnit,
    now: Option<usize>,
    commands: &mut Vec<Command>,
) {
    let bound = |value: Option<f64>, bound: Option<f64>| {
        let (e, b) = value.zip(bound)?;
        Some((b, shown(light, b, decimals(light, e, bound))))
    };
    let each = |of: &dyn Fn(&Arranged) -> Option<(f64, String)>| {
        let found: Vec<_> = all.iter().map(|a| of(a)).collect();
        let best = found
            .iter()
            .flatten()
            .map(|v| v.0)
            .fold(f64::NEG_INFINITY, f64::max);
        let is_best = move |v: &Option<(f64, String)>| v.as_ref().is_some_and(|v| v.0 == best);
        let bests: Vec<bool> = found.iter().map(is_best).collect();
        let texts = found
            .into_iter()
            .map(|v| v.map_or_else(String::new, |v| v.1));
        column(texts.collect())
            .into_iter()
            .zip(bests)
            .collect::<Vec<_>>()
    };
    let parts = each(&|a| {
        let n = a.placed.sites.len();
        Some((n as f64, n.to_string()))
    });
    let sure = each(&|a| a.placed.confidence.map(|c| (c, fixed(100.0 * c, 1))));
    let least = each(&|a| bound(a.placed.coldest(), a.placed.assured));
    // the least of the greatest is best
    let most = each(&|a| bound(a.placed.hottest(), a.placed.at_most).map(|(b, text)| (-b, text)));
    Grid::new("kept arrangements")
        .num_columns(6)
        .striped(true)
        .spacing([10.0, 3.0])
        .show(ui, |ui| {
            for name in ["", "Parts", "Sure, %", "At least", "At most", ""] {
                ui.strong(name);
            }
            ui.end_row();
            for i in 0..all.len() {
                ui.label((i + 1).to_string());
                for cells in [&parts, &sure, &least, &most] {
                    let (text, is_best) = &cells[i];
                    let text = RichText::new(text).monospace();
                    let marked = *is_best && all.len() > 1;
                    ui.label(if marked {
                        text.strong().underline()
                    } else {
                        text
                    });
                }
                ui.horizontal(|ui| {
                    let seen = now == Some(i);
                    if ui
                        .selectable_label(seen, format!("Show {}", i + 1))
                        .clicked()
                    {
                        commands.push(Command::ShowArrangement((!seen).then_some(i)));
                    }
                    if ui.small_button(format!("Drop {}", i + 1)).clicked() {
                        commands.push(Command::DropArrangement(i));
                    }
                });
                ui.end_row();
            }
        });
    if all.len() > 1 {
        ui.weak("Underlined: the best of its column");
    }
}

/// What was asked, and what the table has no room for.
fn what(arranged: &Arranged, mm: LengthUnit) -> String {
    let ask = &arranged.asked.ask;
    let part = match ask.part.shape {
        Shape::Circle { diameter } => format!("diameter {}", mm.show_with_unit(diameter)),
        _ => {
            let (w, d) = ask.part.shape.size();
            format!("{} x {}", mm.show(w), mm.show_with_unit(d))
        }
    };
    let turned = if ask.part.may_turn {
        ", may be turned"
    } else {
        ""
    };
    let stay = match arranged.asked.stay.len() {
        0 => String::new(),
        1 => ", beside 1 site that stays".to_owned(),
        n => format!(", beside {n} sites that stay"),
    };
    let pace = parts_per_hour(&arranged.asked, arranged.placed.sites.len())
        .map_or_else(String::new, |n| {
            format!(", {} in an hour at most", fixed(n, 0))
        });
    format!(
        "{}, {part}{turned}, {} apart, bond line at {}{stay}{pace}",
        placement_kind_words(ask.kind),
        mm.show_with_unit(ask.part.clearance),
        mm.show_with_unit(ask.bed.height),
    )
}

/// It was made from readings that are not those shown.
fn is_earlier(panel: &Panel<'_>, arranged: &Arranged) -> bool {
    let fit = panel.session.answers().fit();
    fit.current()
        .is_some_and(|fit| !Arc::ptr_eq(&fit.field, &arranged.asked.ask.field))
}
