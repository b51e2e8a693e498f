//! The arrangement that is shown: how many, how sure, every part's figures.

use std::sync::Arc;

use eframe::egui::{Grid, Label, RichText, ScrollArea, Ui};

use super::super::Panel;
use super::figures::{column, decimals, show as shown, with_bound};
use crate::export::Arranged;
use crate::placement::{Placed, Site, site_groups};
use crate::record::{PlacementRecord, confidence_words, method_words, parts_per_hour_words};
use crate::session::Command;
use crate::station::{Edit, SiteGroup, SiteLayout};
use crate::units::fixed;
use crate::work::Held;

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let session = panel.session;
    let placing = session.answers().placing();
    if let (Held::Failed(why, _), None) = (placing.placed(), session.shown_arrangement()) {
        let colour = ui.visuals().warn_fg_color;
        ui.add(Label::new(RichText::new(why).color(colour)).wrap());
        return;
    }
    let Some(arranged) = session.arrangement_seen() else {
        return;
    };
    let is_kept = session.shown_arrangement().is_some();
    let is_current = is_kept || placing.placed().current().is_some();
    let survey = arranged.survey;
    let record = PlacementRecord::new(session.station(), survey, &arranged.asked, &arranged.placed);
    figures(ui, panel, &arranged, &record);
    buttons(ui, panel, &arranged, is_current, is_kept);
    if is_current {
        for warning in &record.warnings {
            ui.add(Label::new(warning).wrap());
        }
    }
    sites(ui, panel, &arranged.placed);
}

fn figures(ui: &mut Ui, panel: &Panel<'_>, arranged: &Arranged, record: &PlacementRecord) {
    let placed = &arranged.placed;
    let preferences = panel.session.preferences();
    let light = preferences.irradiance_unit;
    let mm = preferences.length_unit;
    let so_far = if placed.so_far { " so far" } else { "" };
    ui.label(
        RichText::new(format!("{} parts{so_far}", placed.sites.len()))
            .size(19.0)
            .strong(),
    );
    if let (Some(verdict), false) = (record.verdict, placed.so_far) {
        let share = placed.confidence.map_or_else(String::new, |c| {
            format!(", by {} of possible fields", confidence_words(c))
        });
        ui.add(Label::new(format!("All inside the limits at once: {verdict}{share}")).wrap());
    }
    Grid::new("placement figures")
        .num_columns(2)
        .spacing([12.0, 3.0])
        .show(ui, |ui| {
            let mut row = |label: &str, value: String| {
                ui.label(label);
                ui.add(Label::new(value).wrap());
                ui.end_row();
            };
            if let Some(bound) = placed.bound {
                let text = if placed.optimal {
                    format!("{}: no arrangement of this kind holds more", bound.count)
                } else {
                    bound.count.to_string()
                };
                row("At most", text);
            }
            if let (Some(alone), Some(plain)) = (placed.alone, placed.plain) {
                row("Each alone with 95 %", alone.to_string());
                row("By the plain field", plain.to_string());
            }
            if let (Some(cold), Some(hot)) = (placed.coldest(), placed.hottest()) {
                let (assured, at_most) = (placed.assured, placed.at_most);
                row("Coldest part", with_bound(light, cold, assured, "at least"));
                row("Hottest part", with_bound(light, hot, at_most, "at most"));
            }
            if let Some(l) = placed.lattice {
                row(
                    "Pitch",
                    format!("{} x {}", mm.show(l.pitch_x), mm.show_with_unit(l.pitch_y)),
                );
            }
            let pace = parts_per_hour_words(&arranged.asked, placed.sites.len());
            row(
                "Parts in an hour",
                pace.unwrap_or_else(|| "set an exposure time in the step Limits".to_owned()),
            );
        });
    if let Some(bound) = placed.bound {
        ui.weak(format!("The bound: {}", method_words(bound.method, mm)));
    }
}

fn buttons(
    ui: &mut Ui,
    panel: &mut Panel<'_>,
    arranged: &Arc<Arranged>,
    is_current: bool,
    is_kept: bool,
) {
    let any = !arranged.placed.sites.is_empty();
    ui.horizontal_wrapped(|ui| {
        ui.add_enabled_ui(is_current && any, |ui| {
            let take = ui
                .button("Take as sites")
                .on_hover_text("They take the place of the fixture's sites, but for those that stay; one step of undo");
            if take.clicked() {
                let edit = Edit::ArrangeSites(groups(arranged));
                panel.state.chosen = None;
                panel.send(Command::Edit(edit));
            }
        });
        if is_kept {
            if ui.button("Back to what is asked").clicked() {
                panel.send(Command::ShowArrangement(None));
            }
        } else {
            ui.add_enabled_ui(is_current && any, |ui| {
                let keep = ui
                    .button("Keep beside others")
                    .on_hover_text("To compare it with what is asked next");
                if keep.clicked() {
                    panel.send(Command::KeepArrangement);
                }
            });
        }
    });
}

/// The fixture's groups with an arrangement taken: sites that stay one by one, then the new ones.
fn groups(arranged: &Arranged) -> Vec<SiteGroup> {
    let (asked, stay) = (&arranged.asked.ask, &arranged.asked.stay);
    let mut groups: Vec<SiteGroup> = (stay.iter())
        .map(|site| SiteGroup {
            name: site.name.clone(),
            shape: site.footprint.shape.clone(),
            turn: site.footprint.turn,
            height: site.height,
            top: None,
            bond: None,
            layout: SiteLayout::Single {
                centre: site.footprint.centre,
            },
        })
        .collect();
    let names: Vec<String> = groups.iter().map(|g| g.name.clone()).collect();
    let taken = |name: &str| names.iter().any(|n| n == name);
    groups.extend(site_groups(
        &arranged.placed,
        &asked.part,
        asked.bed.height,
        &taken,
    ));
    groups
}

fn sites(ui: &mut Ui, panel: &Panel<'_>, placed: &Placed) {
    if placed.sites.is_empty() {
        return;
    }
    let preferences = panel.session.preferences();
    let (mm, light) = (preferences.length_unit, preferences.irradiance_unit);
    let mut sites: Vec<&Site> = placed.sites.iter().collect();
    sites.sort_by_key(|s| s.rank);
    let places = sites
        .first()
        .map_or(1, |s| decimals(light, s.coldest, s.assured));
    let each = |of: &dyn Fn(&Site) -> String| column(sites.iter().map(|s| of(s)).collect());
    let length = |v: f64| fixed(mm.from_mm(v), mm.decimals());
    let e = |v: f64| shown(light, v, places);
    let columns = [
        each(&|s| s.rank.to_string()),
        each(&|s| length(s.centre.x)),
        each(&|s| length(s.centre.y)),
        each(&|s| e(s.coldest)),
        each(&|s| s.assured.map_or_else(String::new, e)),
        each(&|s| e(s.hottest)),
    ];
    ui.add_space(4.0);
    ui.add(
        Label::new(
            RichText::new(format!(
                "Best places first; {} and {}, middle of each part from the datum",
                mm.symbol(),
                light.symbol()
            ))
            .weak(),
        )
        .wrap(),
    );
    ScrollArea::vertical()
        .id_salt("placed sites")
        .max_height(220.0)
        .show(ui, |ui| {
            Grid::new("placed sites")
                .num_columns(7)
                .striped(true)
                .spacing([10.0, 2.0])
                .show(ui, |ui| {
                    for name in ["Rank", "x", "y", "Coldest", "at least", "Hottest", ""] {
                        ui.strong(name);
                    }
                    ui.end_row();
                    for (i, site) in sites.iter().enumerate() {
                        for texts in &columns {
                            ui.label(RichText::new(&texts[i]).monospace());
                        }
                        ui.label(if site.turned { "turned" } else { "" });
                        ui.end_row();
                    }
                });
        });
}
