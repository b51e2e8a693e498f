//! Working distances and the budget of uncertainties.

use eframe::egui::{CollapsingHeader, Grid, RichText, Ui};

use super::parts::wide;
use crate::assess::Answer;
use crate::assess::limits::{AtDistance, Budget, Counts, Distances, Judged, Slip, Verdict, Window};
use crate::gui::panels::Panel;
use crate::record::{basis_words, counts_name, scale_name};
use crate::units::{IrradianceUnit, LengthUnit, fixed};

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let outlook = panel.session.answers().outlook();
    let updating = outlook.is_updating();
    let Some(outlook) = outlook.any().cloned() else {
        return;
    };
    // beside a heading it would make the panel wider, and what is typed into would move
    if updating {
        ui.weak("Updating: what follows is as before the last change");
    }
    let titled = |title: &str| CollapsingHeader::new(title).id_salt(title);
    let answer = panel.session.answers().answer().any().cloned();
    let Some((answer, judged)) = answer.as_ref().and_then(|a| Some((a, a.judged()?))) else {
        return;
    };
    let preferences = panel.session.preferences();
    let (mm, unit) = (preferences.length_unit, preferences.irradiance_unit);
    ui.add_space(8.0);
    titled("Working distance")
        .default_open(true)
        .show(ui, |ui| {
            distances(ui, &outlook.distances, (answer, judged), (mm, unit));
            slip(ui, &outlook.slip, mm);
        });
    titled("Where the uncertainty at the coldest spot comes from")
        .default_open(true)
        .show(ui, |ui| budget(ui, &outlook.budget, mm));
}

fn window_text(window: Option<&Window>, unit: IrradianceUnit) -> String {
    let said = |e: f64| unit.exact(e);
    match window.map(Window::written) {
        None => "-".to_owned(),
        Some(w) => match w.most {
            Some(most) if w.least <= most => format!("{} to {}", said(w.least), said(most)),
            Some(_) => "none".to_owned(),
            None => format!("from {}", said(w.least)),
        },
    }
}

/// Whether all parts would lie inside the limits with the lamp's face there; the allowances are those of the verdict.
fn inside(row: &AtDistance, judged: &Judged) -> &'static str {
    let terms = &judged.terms;
    match judged.verdict {
        Verdict::Meets if row.in_use => return "inside",
        Verdict::NotProven if row.in_use => return "not proven",
        _ => {}
    }
    let (left, grown) = judged.allowed();
    let least = row.judged.map(|e| e * left);
    let most = row.judged_most.map(|e| e * grown);
    let warm = least.is_some_and(|e| e >= terms.lower.value);
    let upper = terms.upper.as_ref().map(|u| u.value);
    let cool = upper.is_none_or(|upper| most.is_some_and(|e| e <= upper));
    if warm && cool {
        "inside"
    } else if row.coldest < terms.lower.value {
        "too cold"
    } else if upper.is_some_and(|upper| row.hottest > upper) {
        "too hot"
    } else {
        "not proven"
    }
}

fn distances(
    ui: &mut Ui,
    distances: &Distances,
    (answer, judged): (&Answer, &Judged),
    (mm, unit): (LengthUnit, IrradianceUnit),
) {
    let (length, symbol) = (mm.symbol(), unit.symbol());
    // as many digits as the same figures have above
    let earned = answer.coldest.uncertainty;
    wide(ui, "distances", |ui| {
        Grid::new("distances")
            .num_columns(9)
            .striped(true)
            .spacing([12.0, 3.0])
            .show(ui, |ui| {
                for (title, tip) in [
                    (
                        format!("Face at\n{length}"),
                        "Height of the lamp's face above the fixture's base",
                    ),
                    (
                        format!("Distance\n{length}"),
                        "From the lamp's face down to the bond line of the coldest part",
                    ),
                    (
                        format!("Coldest\n{symbol}"),
                        "The field's own value at the bond of the coldest part",
                    ),
                    (
                        format!("Assured\n{symbol}"),
                        "The assured minimum that the lower limit is held against, with 95 % confidence",
                    ),
                    (
                        format!("Hottest\n{symbol}"),
                        "The field's own value at the bond of the hottest part",
                    ),
                    (
                        "Evenness\nmin / max".to_owned(),
                        "Coldest over hottest; 1 is an even field",
                    ),
                    (
                        "Limits\n".to_owned(),
                        "Whether all parts lie inside the limits there, with 95 % confidence; too cold and too hot are by the field's own value",
                    ),
                    (
                        format!("Monitor reads\n{symbol}"),
                        "What the radiometer must read at the monitor position so that all parts are inside the limits; none: no reading does",
                    ),
                    (String::new(), ""),
                ] {
                    ui.strong(title).on_hover_text(tip);
                }
                ui.end_row();
                for (i, row) in distances.rows.iter().enumerate() {
                    let number = |e: Option<f64>| e.map_or_else(|| "-".into(), |e| unit.show(e, earned));
                    let mono = |text: String| {
                        let text = RichText::new(text).monospace();
                        // the row in use stands out also where its mark is scrolled out of sight
                        if row.in_use { text.strong() } else { text }
                    };
                    ui.label(mono(mm.show(row.face_height)));
                    ui.label(mono(mm.show(row.working_distance)));
                    ui.label(mono(number(Some(row.coldest))));
                    ui.label(mono(number(row.judged)));
                    ui.label(mono(number(Some(row.hottest))));
                    ui.label(mono(fixed(row.min_over_max, 3)));
                    ui.label(inside(row, judged));
                    ui.label(mono(window_text(row.window.as_ref(), unit)));
                    let widest = distances.widest == Some(i);
                    ui.label(match (row.in_use, widest) {
                        (true, true) => "in use, widest range",
                        (true, false) => "in use",
                        (false, true) => "widest range",
                        (false, false) => "",
                    });
                    ui.end_row();
                }
            });
    });
    ui.weak(format!(
        "{}. Assured: {}, 95 %. Widest range: where the monitor's reading may vary most",
        distances.said,
        scale_name(answer.scale())
    ));
    let out_of_reach = distances
        .restored
        .iter()
        .position(|r| r.face_height.is_none());
    let shown = out_of_reach.map_or(distances.restored.len(), |i| i + 1);
    for r in distances.restored.iter().take(shown) {
        let lost = fixed(r.faded_percent, 0);
        ui.label(match (r.face_height, r.coldest) {
            (Some(face), Some(coldest)) => format!(
                "Faded by {lost} %: the face at {} restores the monitor's reading; the coldest part then gets {}",
                mm.show_with_unit(face),
                unit.show_with_unit(coldest, earned)
            ),
            _ => format!("Faded by {lost} % or more: no distance within the measured heights restores the monitor's reading"),
        });
    }
}

fn slip(ui: &mut Ui, slip: &Slip, mm: LengthUnit) {
    let (step, by) = (mm.show_with_unit(mm.small_step()), mm.small_step());
    ui.label(format!(
        "At the coldest spot {step} nearer to the lamp changes the irradiance by {} %, and {step} aside by up to {} %",
        fixed(slip.height_percent_per_mm * by, 2),
        fixed(slip.plan_percent_per_mm * by, 2)
    ));
}

fn budget(ui: &mut Ui, budget: &Budget, mm: LengthUnit) {
    wide(ui, "budget", |ui| {
        Grid::new("budget")
            .num_columns(3)
            .striped(true)
            .spacing([14.0, 3.0])
            .show(ui, |ui| {
                for (title, tip) in [
                    ("Component", "What leaves the irradiance there uncertain"),
                    ("% (k = 1)", "Standard uncertainty; twice that is about 95 %"),
                    (
                        "Counts",
                        "In which bound: 'in the field' is a part of the first line; absolute bounds have the calibration in them",
                    ),
                ] {
                    ui.strong(title).on_hover_text(tip);
                }
                ui.end_row();
                for c in &budget.components {
                    ui.label(c.what).on_hover_text(basis_words(c.from, mm));
                    let text = c
                        .percent
                        .map_or_else(|| "not known".into(), |p| fixed(p, 2));
                    ui.label(RichText::new(text).monospace());
                    ui.label(match c.counts {
                        Counts::Both => "relative and absolute",
                        Counts::Beside => "in neither",
                        other => counts_name(other),
                    });
                    ui.end_row();
                }
                let mut sum = |name: &str, percent: f64| {
                    ui.strong(name);
                    ui.label(RichText::new(fixed(percent, 2)).monospace().strong());
                    ui.label("");
                    ui.end_row();
                };
                sum("Relative, combined", budget.relative.0);
                if let Some((u, _)) = budget.absolute {
                    sum("Absolute, combined", u);
                }
            });
    });
    ui.weak("Combined as the GUM does (JCGM 100), for a person to judge. The verdict itself takes the field as a whole, with what spacer blocks, drift over noted minutes and the detector's directional response leave open in it, and for an absolute bound the calibration");
}
