//! The verdict, why it is so, and what would settle it.

use eframe::egui::style::ScrollStyle;
use eframe::egui::{Grid, RichText, ScrollArea, Sense, Shape, Stroke, Ui, vec2};

use super::parts::{go_to, point};
use crate::assess::Answer;
use crate::assess::limits::{Borne, Both, Hanging, Judged, MoreReadings, Outlook, Side, Verdict};
use crate::files::Preferences;
use crate::gui::panels::{Panel, heading, heading_of};
use crate::gui::words;
use crate::record::scale_name;
use crate::session::{Command, Step};
use crate::station::limits::TO_SETTLE;
use crate::station::{Edit, Reading, Where, named};
use crate::units::fixed;
use crate::work::Held;

/// Shows the verdict with its reasons; what has no room scrolls. Gives the height that all of it would take.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) -> f32 {
    let top = ui.cursor().top();
    let answers = panel.session.answers();
    let failed = match (panel.session.survey(), answers.fit(), answers.answer()) {
        (None, ..) => Some(
            "There is no survey yet, so there is no field to hold against the limits".to_owned(),
        ),
        (_, Held::Failed(why, _), _) | (_, _, Held::Failed(why, _)) => Some(why.to_owned()),
        _ => None,
    };
    let updating = answers.is_answering();
    let answer = answers.answer().any().cloned().filter(|_| failed.is_none());
    let judged = answer.as_ref().and_then(|a| a.judged());
    let verdict = judged.map(|j| j.verdict);
    ui.add_space(4.0);
    ui.horizontal(|ui| {
        sign(ui, verdict);
        let word = verdict.map_or("No verdict yet", words::verdict);
        ui.label(RichText::new(word).size(21.0).strong());
        match (verdict, updating) {
            (Some(_), true) => ui.weak("updating: as before the last change"),
            (Some(_), false) => ui.weak("all parts together"),
            (None, true) => ui.weak("working"),
            (None, false) => ui.weak(""),
        };
    });
    ui.separator();
    // a bar that is seen without pointing at it: there may be more below
    ui.spacing_mut().scroll = ScrollStyle::solid();
    let shown = ScrollArea::vertical()
        .auto_shrink([false, false])
        .id_salt("verdict")
        .min_scrolled_height(0.0)
        .show(ui, |ui| match (failed, &answer, judged) {
            (Some(why), ..) => {
                ui.label(why);
                go_to(ui, panel, Step::Readings);
            }
            (None, Some(answer), Some(judged)) => {
                let preferences = panel.session.preferences().clone();
                judgement(ui, answer, judged, &preferences);
                settle(ui, panel, judged);
                sites(ui, answer, judged);
            }
            (None, Some(answer), None) => {
                if let Some(Err(why)) = &answer.judged {
                    ui.label(why);
                }
            }
            (None, None, _) => {
                ui.label("Working out the field from the readings");
            }
        });
    const BELOW: f32 = 6.0;
    shown.inner_rect.top() - top + shown.content_size.y + BELOW
}

fn judgement(ui: &mut Ui, answer: &Answer, judged: &Judged, preferences: &Preferences) {
    let show = |e: f64| words::irradiance(e, &answer.coldest, preferences);
    let exact = |e| preferences.irradiance_unit.exact_with_unit(e);
    for reason in judged.reasons(&judged.saying(&show, &exact)) {
        point(ui, &reason);
    }
    ui.add_space(4.0);
    sides(ui, answer, judged, preferences);
}

/// Filled disk, triangle, ring: as the steps' signs are.
fn sign(ui: &mut Ui, verdict: Option<Verdict>) {
    const R: f32 = 8.0;
    let (rect, _) = ui.allocate_exact_size(vec2(2.4 * R, 2.4 * R), Sense::hover());
    let at = rect.center();
    let stroke = Stroke::new(2.0, ui.visuals().text_color());
    let painter = ui.painter();
    match verdict {
        Some(Verdict::Meets) => painter.circle_filled(at, R, stroke.color),
        Some(Verdict::NotProven) | None => painter.circle_stroke(at, R, stroke),
        Some(Verdict::Fails) => painter.add(Shape::closed_line(
            vec![
                at + vec2(0.0, -R),
                at + vec2(R, 0.8 * R),
                at + vec2(-R, 0.8 * R),
            ],
            stroke,
        )),
    };
}

fn sides(ui: &mut Ui, answer: &Answer, judged: &Judged, preferences: &Preferences) {
    let unit = preferences.irradiance_unit;
    let number = |ui: &mut Ui, value: Option<f64>| {
        let u = answer.coldest.uncertainty;
        let text = value.map_or_else(|| "-".into(), |e| unit.show(e, u));
        ui.label(RichText::new(text).monospace());
    };
    Grid::new("sides")
        .num_columns(6)
        .striped(true)
        .spacing([14.0, 3.0])
        .show(ui, |ui| {
            ui.strong(unit.symbol());
            for (title, tip) in [
                ("Field", "The field's own value at the bond"),
                (
                    "Assured",
                    "With 95 % confidence; by the relative or the absolute bound, as the limit's origin calls for",
                ),
                ("Limit", "Unrounded: what the field is held against"),
                (
                    "Headroom",
                    "How far the assured value lies inside the limit, allowances used up",
                ),
                (
                    "Bound",
                    "Which assured value is held against the limit, by where the limit comes from",
                ),
            ] {
                ui.strong(title).on_hover_text(tip);
            }
            ui.end_row();
            let mut row = |name: &str, side: &Side, assured: Option<f64>| {
                ui.label(name);
                number(ui, Some(side.estimate));
                number(ui, assured);
                ui.label(RichText::new(unit.exact(side.limit.value)).monospace());
                let text = side
                    .headroom_percent
                    .map_or_else(|| "not known".into(), |h| format!("{} %", fixed(h, 1)));
                ui.label(RichText::new(text).monospace());
                ui.label(scale_name(side.limit.scale))
                    .on_hover_text(words::scale_tip(side.limit.scale));
                ui.end_row();
            };
            row("Coldest", &judged.coldest, judged.coldest.bounds.at_least);
            if let Some(hottest) = &judged.hottest {
                row("Hottest", hottest, hottest.bounds.at_most);
            }
        });
    if judged.hottest.is_none() {
        ui.weak("No upper limit is held: nothing is said of parts that get too much");
    }
    if judged.through_substrate {
        ui.weak("Figures are at the bond, behind the substrate");
    }
    let fading = &judged.fading;
    if judged.verdict != Verdict::Fails {
        let text = match fading.assured_percent {
            Some(p) if p > 0.0 => format!(
                "The source may fade by {} % before the coldest spot reaches the lower limit, with 95 % confidence",
                fixed(p, 1)
            ),
            Some(_) => format!(
                "Assured, there is no room to fade; by the field's own value {} %",
                fixed(fading.estimate_percent, 1)
            ),
            None => format!(
                "By the field's own value the source may fade by {} %",
                fixed(fading.estimate_percent, 1)
            ),
        };
        let hours = (fading.hours.filter(|h| *h > 0.0)).map_or_else(String::new, |h| {
            format!("; at the typed rate in {h:.0} hours")
        });
        ui.label(text + &hours);
    }
    if let Some(dose) = &judged.dose {
        ui.label(format!(
            "Dose: coldest {}, mean {}, hottest {} mJ/cm²",
            fixed(dose.coldest, 0),
            fixed(dose.mean, 0),
            fixed(dose.hottest, 0)
        ));
    }
}

fn settle(ui: &mut Ui, panel: &mut Panel<'_>, judged: &Judged) {
    let outlook = panel.session.answers().outlook();
    if let Held::Failed(why, _) = outlook {
        ui.label(why);
    }
    // the verdict above is soon there, and this is not: until then it is marked, or withheld
    let updating = outlook.is_updating();
    let Some(outlook) = outlook.any().cloned() else {
        if judged.verdict == Verdict::NotProven {
            ui.weak("Working out what would settle it");
        }
        return;
    };
    if judged.verdict == Verdict::NotProven {
        what_would(ui, panel, &outlook, updating);
    }
    if judged.verdict == Verdict::Meets {
        hangs_on(ui, panel, &outlook.hanging, updating);
        bears(ui, &outlook.borne, updating);
    }
    if let Some(both) = &outlook.with_excluded {
        excluded(ui, panel, both, updating);
    }
}

/// Single positions without which it would not be met.
fn hangs_on(ui: &mut Ui, panel: &mut Panel<'_>, hanging: &[Hanging], updating: bool) {
    if hanging.is_empty() {
        return;
    }
    heading_of(ui, "What it hangs on", updating);
    for hanging in hanging {
        point(ui, &hanging.sentence);
        let at = &hanging.position;
        let label = match at.as_str() {
            "" => "Add a row for it to the readings".to_owned(),
            name => format!("Add a row for {} to the readings", named("position", name)),
        };
        if ui.button(label).clicked() {
            let again = MoreReadings {
                position: at.clone(),
                at: hanging.at,
                repeats: 1,
            };
            add_rows(panel, &again);
        }
    }
}

/// How much it bears of errors that all readings share.
fn bears(ui: &mut Ui, borne: &[Borne], updating: bool) {
    if borne.is_empty() {
        return;
    }
    heading_of(ui, "What no reading shows", updating);
    for borne in borne {
        point(ui, &borne.sentence);
    }
}

fn what_would(ui: &mut Ui, panel: &mut Panel<'_>, outlook: &Outlook, updating: bool) {
    if outlook.settle.is_empty() {
        return;
    }
    heading_of(ui, "What would settle it", updating);
    for settle in &outlook.settle {
        for sentence in &settle.sentences {
            point(ui, sentence);
        }
        if let Some(more) = &settle.readings {
            let rows = if more.repeats == 1 { "row" } else { "rows" };
            if ui
                .button(format!("Add {} {rows} to the readings", more.repeats))
                .on_hover_text(
                    "They are kept and counted like all others, and noted as what they are",
                )
                .clicked()
            {
                add_rows(panel, more);
            }
        }
    }
    ui.weak("This is about the limit alone; which positions make the coldest spot itself surer is asked in the step Field");
}

/// Rows for the readings that would settle it, at the end of the survey.
fn add_rows(panel: &mut Panel<'_>, more: &MoreReadings) {
    let Some((survey, of)) = panel.session.survey() else {
        return;
    };
    let here = |r: &&Reading| r.place() == more.at;
    let before = of
        .readings
        .iter()
        .filter(here)
        .map(|r| r.repeat)
        .max()
        .unwrap_or(0);
    let readings = (1..=more.repeats)
        .map(|i| Reading {
            position: more.position.clone(),
            repeat: before.saturating_add(i),
            note: TO_SETTLE.to_owned(),
            ..Reading::new(more.at, None)
        })
        .collect();
    let row = of.readings.len();
    panel.send(Command::Edit(Edit::InsertReadings {
        survey,
        row,
        readings,
    }));
    // brings the keyboard there too
    panel.send(Command::GoTo(Where::Reading(survey, row)));
}

fn excluded(ui: &mut Ui, panel: &Panel<'_>, both: &Both, updating: bool) {
    let unit = panel.session.preferences().irradiance_unit;
    let answer = panel.session.answers().answer();
    let earned = answer.any().and_then(|a| a.coldest.uncertainty);
    let them = if both.excluded == 1 {
        "the one excluded reading".to_owned()
    } else {
        format!("the {} excluded readings", both.excluded)
    };
    if updating {
        // another verdict beside the one above would be one of other limits
        ui.weak(format!("With {them} counted: being worked out"));
        return;
    }
    let bound = |e: Option<f64>, word: &str| {
        e.map_or_else(String::new, |e| {
            format!(" ({word} {})", unit.show(e, earned))
        })
    };
    ui.label(format!(
        "With {them} counted: coldest {}{}, hottest {}{} {}{}",
        unit.show(both.coldest.0, earned),
        bound(both.judged.0, "assured"),
        unit.show(both.hottest.0, earned),
        bound(both.judged.1, "at most"),
        unit.symbol(),
        both.verdict
            .map_or_else(String::new, |v| format!("; verdict: {}", v.words()))
    ));
}

fn sites(ui: &mut Ui, answer: &Answer, judged: &Judged) {
    if answer.sites.is_empty() {
        return;
    }
    heading(ui, "Each site by itself");
    ui.weak("With 95 % confidence for that one site; all parts together is the stricter question");
    for verdict in [Verdict::Fails, Verdict::NotProven, Verdict::Meets] {
        let names: Vec<&str> = answer
            .sites
            .iter()
            .zip(&judged.sites)
            .filter(|(_, v)| **v == verdict)
            .map(|(s, _)| s.site.trim())
            .collect();
        if !names.is_empty() {
            ui.horizontal_top(|ui| {
                sign_small(ui, verdict);
                ui.vertical(|ui| {
                    ui.label(format!("{}: {}", words::verdict(verdict), names.join(", ")))
                });
            });
        }
    }
}

fn sign_small(ui: &mut Ui, verdict: Verdict) {
    ui.scope(|ui| {
        ui.set_max_width(22.0);
        sign(ui, Some(verdict));
    });
}
