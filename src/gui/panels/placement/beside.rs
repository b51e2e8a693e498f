//! What is asked beside an arrangement: other working distances, simple remedies, the sites as they are.

use eframe::egui::{Grid, Label, Ui};

use super::super::{Panel, heading};
use crate::record::remedy_words;
use crate::session::Placing;
use crate::units::{IrradianceUnit, LengthUnit, fixed};
use crate::work::Held;

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>, placing: &mut Placing) {
    if !placing.go {
        return;
    }
    heading(ui, "Beside it");
    let preferences = panel.session.preferences();
    let (mm, light) = (preferences.length_unit, preferences.irradiance_unit);
    ui.checkbox(&mut placing.distances, "Other working distances");
    if placing.distances {
        distances(ui, panel, mm, light);
    }
    ui.checkbox(&mut placing.remedies, "Remedies for an uneven field");
    if placing.remedies {
        remedies(ui, panel, light);
    }
    if !panel.session.station().sites.is_empty() {
        ui.checkbox(&mut placing.present, "The sites as they are");
        if placing.present {
            present(ui, panel);
        }
    }
}

fn waiting<T>(ui: &mut Ui, held: Held<'_, T>) -> bool {
    match held {
        Held::Current(_) => return false,
        Held::Failed(why, _) => {
            ui.add(Label::new(why).wrap());
        }
        Held::Updating(_, fraction) => {
            ui.weak(format!("working, {:.0} % done", 100.0 * fraction));
        }
        Held::Nothing => {
            ui.weak("as soon as the arrangement is there");
        }
    }
    true
}

fn distances(ui: &mut Ui, panel: &Panel<'_>, mm: LengthUnit, light: IrradianceUnit) {
    let held = panel.session.answers().placing().heights();
    if waiting(ui, held) {
        return;
    }
    let Some(heights) = held.current() else {
        return;
    };
    Grid::new("placement distances")
        .num_columns(5)
        .striped(true)
        .spacing([10.0, 2.0])
        .show(ui, |ui| {
            for name in ["Distance", "Parts", "Coldest", "Hottest", "Window"] {
                ui.strong(name);
            }
            ui.end_row();
            for (i, row) in heights.rows.iter().enumerate() {
                let show = |e: Option<f64>| e.map_or_else(String::new, |e| light.show(e, None));
                let mark = match (heights.best == Some(i), row.in_use) {
                    (true, _) => ", the best",
                    (_, true) => ", in use",
                    _ => "",
                };
                ui.label(format!("{}{mark}", mm.show(row.working_distance)));
                ui.label(row.placed.sites.len().to_string());
                ui.label(show(row.placed.coldest()));
                ui.label(show(row.placed.hottest()));
                ui.label(row.window.map_or_else(String::new, |w| fixed(w, 3)));
                ui.end_row();
            }
        });
    ui.add(Label::new("The window is by how much the source may vary before a part leaves the limits, greatest over least").wrap());
}

fn remedies(ui: &mut Ui, panel: &Panel<'_>, light: IrradianceUnit) {
    let held = panel.session.answers().placing().remedies();
    if waiting(ui, held) {
        return;
    }
    let Some(found) = held.current() else { return };
    let said = |count: usize, cold: Option<f64>, hot: Option<f64>| {
        let show =
            |e: Option<f64>| e.map_or_else(|| "not known".to_owned(), |e| light.show(e, None));
        format!(
            "{count} parts, at least {}, at most {} {}",
            show(cold),
            show(hot),
            light.symbol()
        )
    };
    let before = &found.before;
    ui.add(
        Label::new(format!(
            "As it is: {}",
            said(before.sites.len(), before.assured, before.at_most)
        ))
        .wrap(),
    );
    for remedy in &found.each {
        let placed = &remedy.placed;
        let mut words = remedy_words(remedy.kind);
        if let Some(first) = words.get_mut(..1) {
            first.make_ascii_uppercase();
        }
        let said = said(placed.sites.len(), placed.assured, placed.at_most);
        ui.add(Label::new(format!("{words}: {said}")).wrap());
    }
}

fn present(ui: &mut Ui, panel: &Panel<'_>) {
    let held = panel.session.answers().placing().present();
    if waiting(ui, held) {
        return;
    }
    let Some(found) = held.current() else { return };
    if found.sites.is_empty() {
        ui.add(Label::new("No site of the fixture has this part's size").wrap());
        return;
    }
    let short: Vec<&str> = found
        .sites
        .iter()
        .filter(|s| !(s.holds && s.has_room))
        .map(|s| s.name.as_str())
        .collect();
    let all = found.confidence.map_or_else(String::new, |c| {
        format!("; all at once with {} %", fixed(100.0 * c, 1))
    });
    let text = match (&found.moved, short.is_empty()) {
        (_, true) => format!("No site falls short{all}"),
        (Some(moved), _) => format!(
            "{} of {} sites fall short: {}{all}. With the others left where they are there is a place inside the limits for {} of them",
            short.len(),
            found.sites.len(),
            short.join(", "),
            moved.sites.len()
        ),
        (None, _) => format!(
            "{} sites fall short: {}{all}",
            short.len(),
            short.join(", ")
        ),
    };
    ui.add(Label::new(text).wrap());
}
