//! Drift over the round: at each visit of the reference, and whether it is taken out.

use eframe::egui::{CollapsingHeader, Grid, RichText, Sense, Ui, WidgetInfo, pos2, vec2};

use crate::assess::{ENOUGH_VISITS, MOST_VISITS, drift_of_visits, takes_out, visits};
use crate::field::Drift;
use crate::gui::panels::Panel;
use crate::gui::theme::look;
use crate::record::DriftRecord;
use crate::session::Command;
use crate::sheet::drawing::Role;
use crate::station::{Edit, Settings, Survey};
use crate::units::fixed;

const HEIGHT: f32 = 70.0;

/// Shows it; nothing of a survey without a reference.
pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>, index: usize, survey: &Survey) {
    let Some(reference) = &survey.reference else {
        return;
    };
    CollapsingHeader::new("Drift over the round").show(ui, |ui| {
        let settings = panel.session.station().settings.clone();
        let count = visits(survey).len();
        let out = takes_out(settings.drift, count);
        let mut ticked = out;
        if count >= 2 {
            let tick = ui.checkbox(&mut ticked, "Take the drift out of the readings");
            if tick.changed() {
                panel.send(Command::Edit(Edit::SetSettings(Settings {
                    drift: Some(ticked),
                    ..settings.clone()
                })));
            }
        }
        let fit = panel.session.answers().fit().any();
        let of_field = fit
            .filter(|fit| fit.survey == index)
            .and_then(|fit| fit.field.drift().cloned())
            .filter(|_| out);
        let found = of_field.or_else(|| drift_of_visits(survey).map(|(drift, _)| drift));
        let Some(drift) = found else {
            ui.label(if count > MOST_VISITS {
                format!("Reference {reference} has {count} readings: too many to be visits; choose another position")
            } else {
                let plural = if count == 1 { "" } else { "s" };
                format!("Reference {reference}: {count} reading{plural} that count; read it again at the end of the round and between")
            });
            return;
        };
        let record = DriftRecord::from(&drift);
        ui.label(format!("Lamp and radiometer together: {}", record.words()));
        if settings.drift.is_none() && count < ENOUGH_VISITS {
            ui.weak(format!(
                "Left in: of {count} visits one that slipped can't be told from drift; from {ENOUGH_VISITS} on it is taken out"
            ));
        }
        plot(ui, &drift, &record);
        table(ui, survey, &record);
        ui.weak(if drift.with_field {
            "Found together with the field, whose bounds carry what is not known of it; the map is that of the round's mean"
        } else {
            "From the visits alone"
        });
    });
}

/// The drift at each visit with two standard uncertainties, against time.
fn plot(ui: &mut Ui, drift: &Drift, record: &DriftRecord) {
    let size = vec2(ui.available_width().min(420.0), HEIGHT);
    let (space, response) = ui.allocate_exact_size(size, Sense::hover());
    let said = format!("Drift against time: {}", record.words());
    response.widget_info(|| WidgetInfo::labeled(eframe::egui::Role::Image, true, &said));
    let [first, .., last] = &drift.visits[..] else {
        return;
    };
    let most = (drift.visits.iter())
        .map(|v| v.drift.abs() + 2.0 * v.uncertainty)
        .fold(0.005, f64::max);
    let inner = space.shrink(8.0);
    let span = (last.at - first.at).max(f64::MIN_POSITIVE);
    let at = |t: f64, drift: f64| {
        let along = ((t - first.at) / span) as f32;
        let up = (drift / most) as f32;
        pos2(
            inner.left() + along * inner.width(),
            inner.center().y - 0.5 * up * inner.height(),
        )
    };
    let painter = ui.painter_at(space);
    let weak = ui.visuals().weak_text_color();
    painter.hline(inner.x_range(), inner.center().y, (1.0, weak));
    let shown = look(Role::Reading, ui.theme());
    for visit in &drift.visits {
        let ends = [-2.0, 2.0].map(|k| at(visit.at, visit.drift + k * visit.uncertainty));
        painter.line_segment(ends, (1.5, shown.ink));
        painter.circle_filled(at(visit.at, visit.drift), 3.5, shown.ink);
    }
    for pair in drift.visits.windows(2) {
        let ends = [0, 1].map(|i: usize| at(pair[i].at, pair[i].drift));
        painter.line_segment(ends, (1.0, shown.ink));
    }
}

fn table(ui: &mut Ui, survey: &Survey, record: &DriftRecord) {
    let noted = survey.readings.iter().any(|r| r.minute.is_some());
    Grid::new("drift")
        .num_columns(3)
        .striped(true)
        .spacing([14.0, 3.0])
        .show(ui, |ui| {
            ui.strong(if noted { "Minute" } else { "Row" });
            ui.strong("Against the mean").on_hover_text(
                "What lamp and radiometer gave at this visit over what they gave in the mean of the round",
            );
            ui.strong("Uncertainty, k = 2");
            ui.end_row();
            for visit in &record.visits {
                let number = |text: String| RichText::new(text).monospace();
                let at = if noted { visit.at } else { visit.at + 1.0 };
                ui.label(number(fixed(at, if noted { 1 } else { 0 })));
                ui.label(number(format!("{} %", fixed(visit.drift_percent, 2))));
                ui.label(number(format!("{} %", fixed(2.0 * visit.uncertainty_percent, 2))));
                ui.end_row();
            }
        });
}
