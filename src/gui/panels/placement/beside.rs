//! What is asked beside an arrangement: other working distances, simple remedies.

use eframe::egui::{Grid, Label, RichText, Ui};

use super::super::{Panel, heading};
use super::figures::{column, decimals, show as shown};
use crate::placement::{AtHeight, Placed};
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
        remedies(ui, panel, mm, light);
    }
}

pub(super) fn waiting<T>(ui: &mut Ui, held: Held<'_, T>) -> bool {
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
    /// A figure of a row and the bound that says how many of its digits count.
    type Figure = (f64, Option<f64>);
    let each = |of: &dyn Fn(&AtHeight) -> Option<Figure>| {
        let text = |row| {
            of(row).map_or_else(String::new, |(e, bound)| {
                shown(light, e, decimals(light, e, bound))
            })
        };
        column(heights.rows.iter().map(text).collect())
    };
    let cold = each(&|row| Some((row.placed.coldest()?, row.placed.assured)));
    let hot = each(&|row| Some((row.placed.hottest()?, row.placed.at_most)));
    let count = |row: &AtHeight| row.placed.sites.len().to_string();
    let counts = column(heights.rows.iter().map(count).collect());
    Grid::new("placement distances")
        .num_columns(6)
        .striped(true)
        .spacing([10.0, 2.0])
        .show(ui, |ui| {
            for name in ["Distance", "Parts", "Coldest", "Hottest", "Window", ""] {
                ui.strong(name);
            }
            ui.end_row();
            for (i, row) in heights.rows.iter().enumerate() {
                let mark = match (heights.best == Some(i), row.in_use) {
                    (true, true) => "the best, in use",
                    (true, false) => "the best",
                    (false, true) => "in use",
                    _ => "",
                };
                let window = row.window.map_or_else(String::new, |w| fixed(w, 3));
                ui.label(mm.show(row.working_distance));
                for text in [&counts[i], &cold[i], &hot[i], &window] {
                    ui.label(RichText::new(text).monospace());
                }
                ui.strong(mark);
                ui.end_row();
            }
        });
    let text = format!(
        "Distance in {} from the face to the bond line, irradiance in {}. The window is by how much the source may vary before a part leaves the limits, greatest over least",
        mm.symbol(),
        light.symbol()
    );
    ui.add(Label::new(text).wrap());
}

fn remedies(ui: &mut Ui, panel: &Panel<'_>, mm: LengthUnit, light: IrradianceUnit) {
    let held = panel.session.answers().placing().remedies();
    if waiting(ui, held) {
        return;
    }
    let Some(found) = held.current() else { return };
    let said = |placed: &Placed| {
        let show = |value: Option<f64>, bound: Option<f64>| {
            let both = value.zip(bound);
            both.map_or_else(
                || "not known".to_owned(),
                |(e, b)| shown(light, b, decimals(light, e, bound)),
            )
        };
        format!(
            "{} parts, at least {}, at most {} {}",
            placed.sites.len(),
            show(placed.coldest(), placed.assured),
            show(placed.hottest(), placed.at_most),
            light.symbol()
        )
    };
    ui.add(Label::new(format!("As it is: {}", said(&found.before))).wrap());
    for remedy in &found.each {
        let mut words = remedy_words(remedy.kind, mm);
        if let Some(first) = words.get_mut(..1) {
            first.make_ascii_uppercase();
        }
        ui.add(Label::new(format!("{words}: {}", said(&remedy.placed))).wrap());
    }
}
