//! What comes then, and what was read.

use eframe::egui::{Align, Layout, Ui};

use super::super::super::Panel;
use super::super::super::numbers::irradiance_text;
use super::value::short_name;
use crate::assess::visits;
use crate::station::Survey;
use crate::units::fixed;

/// What comes then, and what the reference says.
pub(super) fn beside(ui: &mut Ui, panel: &Panel<'_>, survey: &Survey, row: usize) {
    ui.add_space(6.0);
    let next: Vec<String> = (survey.stops_after(row).take(2))
        .map(|i| short_name(&survey.readings[i], i))
        .collect();
    if !next.is_empty() {
        ui.weak(format!("Then {}", next.join(", then ")));
    }
    if let Some((visits, percent)) = reference(survey) {
        ui.label(format!(
            "Reference {}: {} {} % from its first to its last of {visits} readings",
            survey.reference.as_deref().unwrap_or_default(),
            if percent < 0.0 { "down" } else { "up" },
            fixed(percent.abs(), 1)
        ));
    }
    ui.with_layout(Layout::top_down(Align::LEFT), |ui| {
        let unit = panel.session.preferences().irradiance_unit;
        let last: Vec<String> = (survey.readings.iter().enumerate().take(row).rev())
            .filter_map(|(i, r)| {
                Some(format!(
                    "{} {}",
                    short_name(r, i),
                    irradiance_text(unit, r.irradiance?)
                ))
            })
            .take(3)
            .collect();
        if !last.is_empty() {
            ui.weak(format!("Before: {}", last.join(", ")));
        }
    });
}

/// How often the reference was read, and by how much the last is above the first, percent.
fn reference(survey: &Survey) -> Option<(usize, f64)> {
    let visits: Vec<f64> = (visits(survey).into_iter())
        .filter_map(|row| survey.readings[row].counted())
        .collect();
    let (first, last) = (visits.first()?, visits.last()?);
    (visits.len() > 1).then(|| (visits.len(), 100.0 * (last / first - 1.0)))
}
