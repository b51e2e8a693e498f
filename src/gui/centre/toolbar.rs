//! What the plan view shows, and at which height.

use eframe::egui::containers::menu::{MenuButton, MenuConfig};
use eframe::egui::{Checkbox, ComboBox, DragValue, PopupCloseBehavior, Ui};

use crate::gui::widgets::list::open_on;
use crate::session::{Command, MapOf, Session, Step};
use crate::sheet::picture::Layers;
use crate::station::Station;
use crate::work::Held;

/// Shows the tools of this step; `mapped`: there is a map of irradiance.
pub(super) fn show(
    ui: &mut Ui,
    session: &Session,
    layers: &mut Layers,
    mapped: bool,
    against: &mut bool,
    commands: &mut Vec<Command>,
) {
    ui.horizontal_wrapped(|ui| {
        let is_against = *against && session.step() == Step::Limits && session.judged().is_some();
        show_menu(ui, layers, is_against);
        if session.step() == Step::Plan && session.answers().planning().tried().is_updating() {
            ui.weak("updating the pattern");
        }
        if !mapped || !(layers.map || layers.contours) {
            return;
        }
        if layers.map && session.step() == Step::Placement && session.shows_usable() {
            ui.label("Usable part of the pallet");
            return;
        }
        if layers.map && !is_against {
            what_of(ui, session, commands);
        }
        if session.map_of() != MapOf::Brightness {
            if is_against || !layers.map {
                ui.label("Map");
            }
            heights(ui, session, commands);
        }
        if session.step() == Step::Limits && session.judged().is_some() {
            ui.separator();
            ui.checkbox(against, "Against the limits").on_hover_text(
                "What can be said of each place with 95 % confidence: below, not proven, inside, above",
            );
        }
        let answers = session.answers();
        let is_updating = answers.map().is_updating()
            || answers.against().is_updating()
            || answers.uncertainty().is_updating();
        if is_updating {
            ui.weak("updating the map");
        }
    });
}

/// What is not drawn on the map against the limits.
const READINGS: [&str; 2] = ["Readings", "Readings as numbers"];

/// `against`: the map is drawn against the limits.
fn show_menu(ui: &mut Ui, layers: &mut Layers, against: bool) {
    // several are ticked in one go
    let stays = MenuConfig::new().close_behavior(PopupCloseBehavior::CloseOnClickOutside);
    let (button, _) = MenuButton::new("Show").config(stays).ui(ui, |ui| {
        for (layer, name) in [
            (&mut layers.map, "Map"),
            (&mut layers.contours, "Contours"),
            (&mut layers.spots, "Coldest and hottest spot"),
            (&mut layers.sites, "Sites"),
            (&mut layers.keep_outs, "Keep-outs"),
            (&mut layers.positions, "Positions"),
            (&mut layers.bodies, "Detector's body at each position"),
            (&mut layers.readings, READINGS[0]),
            (&mut layers.numbers, READINGS[1]),
            (&mut layers.face, "Source's face"),
        ] {
            let hides = against && READINGS.contains(&name);
            ui.add_enabled(!hides, Checkbox::new(layer, name))
                .on_disabled_hover_text(
                    "Not drawn on the map against the limits: they would cover small areas of it",
                );
        }
    });
    button.on_hover_text("What the plan view shows in this step");
}

/// What the map is of, and what there is to say of that.
fn what_of(ui: &mut Ui, session: &Session, commands: &mut Vec<Command>) {
    let now = session.map_of();
    let label = ui.label("Map of");
    ComboBox::from_id_salt("map of")
        .selected_text(now.name())
        .show_ui(ui, |ui| {
            for (what, tip) in [
                (MapOf::Irradiance, "What the light is at each place"),
                (
                    MapOf::Uncertainty,
                    "How far off the map of irradiance may be, without the radiometer's calibration uncertainty",
                ),
                (
                    MapOf::Brightness,
                    "How bright each part of the lamp's face is, worked back from the readings by the law of distance: where it is dead or worn",
                ),
            ] {
                if what == MapOf::Brightness && session.step() != Step::Field {
                    continue;
                }
                let row = ui.selectable_label(what == now, what.name());
                open_on(ui, &row, what == now);
                if row.on_hover_text(tip).clicked() {
                    ui.close();
                    commands.push(Command::ShowMapOf(what));
                }
            }
        })
        .response
        .labelled_by(label.id);
    if now == MapOf::Irradiance {
        at_bond(ui, session, commands);
    }
    let held = match now {
        MapOf::Irradiance => return,
        MapOf::Uncertainty => session.answers().uncertainty(),
        MapOf::Brightness => session.answers().brightness(),
    };
    match held {
        Held::Failed(why, _) => {
            ui.label(why);
        }
        held if held.any().is_some() && now == MapOf::Brightness => {
            ui.weak("inferred, not measured");
        }
        _ => {}
    }
}

/// Whether the map shows the light at bonds or in the open, where these are two.
fn at_bond(ui: &mut Ui, session: &Session, commands: &mut Vec<Command>) {
    let answer = session.answers().answer();
    if answer.any().is_none_or(|answer| answer.bond.is_none()) {
        return;
    }
    let open = session.is_in_the_open();
    for (wanted, name, tip) in [
        (
            false,
            "At the bond",
            "Past clamps, rim and parts, on the bond's own plane and through what lies over it",
        ),
        (
            true,
            "In the open",
            "On a level plane with nothing in its way: what a radiometer can check",
        ),
    ] {
        if ui
            .selectable_label(open == wanted, name)
            .on_hover_text(tip)
            .clicked()
        {
            commands.push(Command::ShowInTheOpen(wanted));
        }
    }
}

fn heights(ui: &mut Ui, session: &Session, commands: &mut Vec<Command>) {
    let unit = session.preferences().length_unit;
    let mut height = unit.from_mm(session.height());
    ui.label("at height");
    let field = ui
        .add(
            DragValue::new(&mut height)
                .speed(0.2 / unit.in_mm())
                .fixed_decimals(unit.decimals())
                .suffix(format!(" {}", unit.symbol())),
        )
        .on_hover_text("Above the fixture's base; drag or type")
        .accessible_name("Height of the map");
    if session.step() == Step::Limits && session.deciding_height().is_some() {
        let tip = "The map is at the height of the coldest part that is judged, where the lower limit is decided, until another height is chosen here";
        let follows = ui.selectable_label(session.is_at_coldest(), "Coldest part");
        if follows.on_hover_text(tip).clicked() {
            commands.push(Command::HeightOfColdest);
        }
    }
    if field.changed() || field.drag_stopped() {
        commands.push(Command::SetHeight {
            height: unit.to_mm(height),
            sliding: field.dragged(),
        });
    }
    for (name, at) in bond_lines(session.station()) {
        let tip = format!("The bond line of {name}");
        if ui
            .small_button(unit.show_with_unit(at))
            .on_hover_text(tip)
            .clicked()
        {
            commands.push(Command::SetHeight {
                height: at,
                sliding: false,
            });
        }
    }
}

/// Distinct bond-line heights with the group that has each.
fn bond_lines(station: &Station) -> Vec<(String, f64)> {
    let mut lines: Vec<(String, f64)> = Vec::new();
    for group in &station.sites {
        if !lines.iter().any(|(_, h)| (h - group.height).abs() < 0.05) {
            let name = if group.name.is_empty() {
                "the sites".to_owned()
            } else {
                format!("sites {}", group.name)
            };
            lines.push((name, group.height));
        }
    }
    lines.truncate(4);
    lines
}
