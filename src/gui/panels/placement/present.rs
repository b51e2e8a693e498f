//! The sites as they are: which fall short, what moving those would give, which stay.

use eframe::egui::{Grid, Label, RichText, Ui};

use super::super::{Panel, heading};
use super::beside::waiting;
use super::figures::{column, decimals, show as shown};
use crate::placement::{Moved, Present, PresentSite, Together};
use crate::record::confidence_words;
use crate::session::Placing;
use crate::units::IrradianceUnit;

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>, placing: &mut Placing) {
    if panel.session.station().sites.is_empty() {
        return;
    }
    heading(ui, "Present sites");
    ui.checkbox(&mut placing.present, "The sites as they are")
        .on_hover_text("Which fall short, what moving those would give, and which stay");
    if !placing.present {
        return;
    }
    let held = panel.session.answers().placing().present();
    if waiting(ui, held) && held.any().is_none() {
        return;
    }
    let Some(found) = held.any() else { return };
    if found.sites.is_empty() {
        ui.add(Label::new("No site of the fixture has this part's size and bond line").wrap());
        return;
    }
    let unit = panel.session.preferences().irradiance_unit;
    let places =
        (found.sites.first()).map_or(1, |s| decimals(unit, s.site.coldest, s.site.assured));
    ui.add(Label::new(said(found, unit, places)).wrap());
    table(ui, found, (unit, places), placing);
    let others = match found.others {
        0 => None,
        1 => Some("1 more site has another size or bond line".to_owned()),
        n => Some(format!("{n} more sites have another size or bond line")),
    };
    if let Some(others) = others {
        let text = format!("{others}: ask for that part at that height to see how it does");
        ui.add(Label::new(RichText::new(text).weak()).wrap());
    }
    let good = || found.sites.iter().filter(|s| s.is_good());
    let all_stay = good().all(|s| s.stays);
    ui.horizontal_wrapped(|ui| {
        ui.add_enabled_ui(!all_stay, |ui| {
            let stay = ui.button("Let those inside stay");
            let stay = stay.on_hover_text("Arrange then places the others beside them");
            if stay.clicked() {
                for site in good().filter(|s| !s.stays) {
                    placing.wanted.locked.push(site.name.clone());
                }
            }
        });
        ui.add_enabled_ui(!placing.wanted.locked.is_empty(), |ui| {
            if ui.button("Let none stay").clicked() {
                placing.wanted.locked.clear();
            }
        });
    });
}

fn said(found: &Present, unit: IrradianceUnit, places: usize) -> String {
    let count = |is: &dyn Fn(&PresentSite) -> bool| found.sites.iter().filter(|s| is(s)).count();
    let (dim, near) = (count(&|s| !s.holds), count(&|s| !s.has_room));
    let mut short = Vec::new();
    if dim > 0 {
        short.push(format!("{dim} not proven inside the limits"));
    }
    if near > 0 {
        short.push(format!(
            "{near} nearer to what stands there than the clearance"
        ));
    }
    let mut text = if short.is_empty() {
        "No site falls short".to_owned()
    } else {
        format!("Of {} sites {}", found.sites.len(), short.join(", "))
    };
    text += &together(&found.now, (unit, places), "all at once");
    if let Some(Moved {
        sites,
        without,
        then,
    }) = &found.moved
    {
        text += &match (sites.len(), without) {
            (0, _) => ". None of those has a place inside the limits beside the others".to_owned(),
            (1, 0) => ". It has a place inside the limits beside the others".to_owned(),
            (n, 0) => format!(". All {n} have a place inside the limits beside the others"),
            (n, without) => format!(
                ". There is a place inside the limits beside the others for {n} of those, for {without} there is none"
            ),
        };
        if !sites.is_empty() {
            text += &together(then, (unit, places), "moved there, all at once");
        }
    }
    text
}

/// `; all at once with 97.1 %, at least 79.4 and at most 163.7 mW/cm²`.
fn together(all: &Together, (unit, places): (IrradianceUnit, usize), when: &str) -> String {
    let mut text = String::new();
    if let Some(share) = all.confidence {
        text += &format!(
            "; {when} inside by {} of possible fields",
            confidence_words(share)
        );
    }
    if let (Some(low), Some(high)) = (all.assured, all.at_most) {
        text += &format!(
            ", at least {} and at most {} {} with 95 %",
            shown(unit, low, places),
            shown(unit, high, places),
            unit.symbol()
        );
    }
    text
}

fn state(site: &PresentSite) -> &'static str {
    match (site.has_room, site.holds) {
        (false, _) => "too near",
        (true, true) => "inside",
        (true, false) => "not proven",
    }
}

fn table(
    ui: &mut Ui,
    found: &Present,
    (unit, places): (IrradianceUnit, usize),
    placing: &mut Placing,
) {
    let sites = &found.sites;
    let each = |of: &dyn Fn(&PresentSite) -> Option<f64>| {
        let text = |s| of(s).map_or_else(String::new, |v| shown(unit, v, places));
        column(sites.iter().map(text).collect())
    };
    let cold = each(&|s| Some(s.site.coldest));
    let least = each(&|s| s.site.assured);
    let hot = each(&|s| Some(s.site.hottest));
    Grid::new("present sites")
        .num_columns(6)
        .spacing([10.0, 2.0])
        .show(ui, |ui| {
            for name in ["Site", "Coldest", "at least", "Hottest", "", "Stays"] {
                ui.strong(name);
            }
            ui.end_row();
            for (i, site) in sites.iter().enumerate() {
                ui.label(&site.name);
                for text in [&cold[i], &least[i], &hot[i]] {
                    ui.label(RichText::new(text).monospace());
                }
                let state = RichText::new(state(site));
                ui.label(if site.is_good() {
                    state
                } else {
                    state.strong()
                });
                let mut stays = placing.wanted.locked.contains(&site.name);
                if stays_box(ui, &mut stays, &site.name) {
                    placing.wanted.locked.retain(|name| *name != site.name);
                    if stays {
                        placing.wanted.locked.push(site.name.clone());
                    }
                }
                ui.end_row();
            }
        });
}

/// A tick whose name is only spoken: its column has it in its head.
fn stays_box(ui: &mut Ui, stays: &mut bool, name: &str) -> bool {
    let tick = ui.checkbox(stays, "");
    let spoken = format!("{name} stays");
    ui.ctx()
        .accesskit_node_builder(tick.id, |node| node.set_label(spoken));
    tick.changed()
}
