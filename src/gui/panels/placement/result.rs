//! The arrangement that is shown: how many, how sure, every part's figures.

use std::sync::Arc;

use eframe::egui::{Grid, Label, RichText, ScrollArea, Ui};

use super::super::Panel;
use crate::export::Arranged;
use crate::placement::{Placed, site_groups};
use crate::record::{PlacementRecord, method_words, parts_per_hour};
use crate::session::Command;
use crate::station::{Edit, SiteGroup, SiteLayout, Station};
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
    let shown = session
        .shown_arrangement()
        .and_then(|i| session.arrangements().get(i).cloned());
    let Some(arranged) = shown.clone().or_else(|| placing.seen()) else {
        return;
    };
    let is_current = shown.is_some() || placing.placed().current().is_some();
    let survey = session.survey().map_or(0, |(i, _)| i);
    let record = PlacementRecord::new(session.station(), survey, &arranged.asked, &arranged.placed);
    figures(ui, panel, &arranged, &record);
    buttons(ui, panel, &arranged, is_current, shown.is_some());
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
    let light = |e: f64| preferences.irradiance_unit.show_with_unit(e, None);
    let mm = preferences.length_unit;
    let so_far = if placed.so_far { " so far" } else { "" };
    ui.label(
        RichText::new(format!("{} parts{so_far}", placed.sites.len()))
            .size(19.0)
            .strong(),
    );
    if let (Some(verdict), false) = (record.verdict, placed.so_far) {
        let share = placed.confidence.map_or_else(String::new, |c| {
            format!(", {} % of possible fields", fixed(100.0 * c, 1))
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
                let bound = |b: Option<f64>, word: &str| {
                    b.map_or_else(String::new, |b| format!("; {word} {} with 95 %", light(b)))
                };
                row(
                    "Coldest part",
                    format!("{}{}", light(cold), bound(placed.assured, "at least")),
                );
                row(
                    "Hottest part",
                    format!("{}{}", light(hot), bound(placed.at_most, "at most")),
                );
            }
            if let Some(l) = placed.lattice {
                row(
                    "Pitch",
                    format!("{} x {}", mm.show(l.pitch_x), mm.show_with_unit(l.pitch_y)),
                );
            }
            if let Some(n) = parts_per_hour(&arranged.asked, placed.sites.len()) {
                row("Parts in an hour", format!("{} at most", fixed(n, 0)));
            }
        });
    if let Some(bound) = placed.bound {
        ui.weak(format!("The bound: {}", method_words(bound.method)));
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
                let edit = Edit::ArrangeSites(groups(panel.session.station(), arranged));
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
fn groups(station: &Station, arranged: &Arranged) -> Vec<SiteGroup> {
    let asked = &arranged.asked.ask;
    let stay = station
        .all_sites()
        .into_iter()
        .filter(|s| asked.bed.barred.contains(&s.footprint));
    let mut groups: Vec<SiteGroup> = stay
        .map(|site| SiteGroup {
            name: site.name,
            shape: site.footprint.shape.clone(),
            turn: site.footprint.turn,
            height: site.height,
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
    let mut sites: Vec<_> = placed.sites.iter().collect();
    sites.sort_by_key(|s| s.rank);
    ui.add_space(4.0);
    ui.weak(format!(
        "Best places first; {} and {}, middle of each part from the datum",
        mm.symbol(),
        light.symbol()
    ));
    ScrollArea::vertical()
        .id_salt("placed sites")
        .max_height(220.0)
        .show(ui, |ui| {
            Grid::new("placed sites")
                .num_columns(6)
                .striped(true)
                .spacing([10.0, 2.0])
                .show(ui, |ui| {
                    for name in ["Rank", "x", "y", "Coldest", "at least", "Hottest"] {
                        ui.strong(name);
                    }
                    ui.end_row();
                    for s in sites {
                        ui.label(s.rank.to_string());
                        ui.label(mm.show(s.centre.x));
                        ui.label(format!(
                            "{}{}",
                            mm.show(s.centre.y),
                            if s.turned { " turned" } else { "" }
                        ));
                        ui.label(light.show(s.coldest, None));
                        ui.label(s.assured.map_or_else(String::new, |a| light.show(a, None)));
                        ui.label(light.show(s.hottest, None));
                        ui.end_row();
                    }
                });
        });
}
