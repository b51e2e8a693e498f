//! What the parts need and bear, and where that comes from.

use eframe::egui::{CollapsingHeader, Ui};

use super::parts::{plain, point};
use crate::assess::limits::{Line, Terms};
use crate::gui::panels::form::Form;
use crate::gui::panels::{Panel, heading, room_for};
use crate::gui::words;
use crate::record::scale_name;
use crate::session::Command;
use crate::station::limits::{Figure, Kept, Least, Limits, Origin, Transmission, Upper};
use crate::station::{Edit, Radiometer, SourceKind};
use crate::units::{IrradianceUnit, fixed};
use crate::work::Held;

/// Puts changed limits into the document.
pub(super) fn edit(limits: Limits) -> Edit {
    Edit::SetLimits(Box::new(limits))
}

const ORIGINS: [(Origin, &str); 3] = [
    (Origin::SamePair, "the radiometer pair that judges"),
    (Origin::OtherPair, "another pair or calibration"),
    (Origin::DataSheet, "a data sheet"),
];

pub(super) fn show(ui: &mut Ui, panel: &mut Panel<'_>, limits: &Limits) {
    heading(ui, "Lower limit");
    let judge = judging(panel);
    let mut form = Form::new(ui, panel, "limits", limits.clone(), &edit);
    let sources = [(false, "typed"), (true, "from the cure trials")];
    let from_trials = matches!(limits.least, Least::FromTrials);
    form.choose("Least for full cure", from_trials, &sources, |l, trials| {
        l.least = if trials {
            Least::FromTrials
        } else {
            Least::default()
        };
    });
    if let Least::Typed(figure) = &limits.least {
        form.optional_irradiance("Least irradiance", figure.irradiance, |l, e| {
            if let Least::Typed(figure) = &mut l.least {
                figure.irradiance = e;
            }
        });
        form.choose("Found with", figure.origin, &ORIGINS, |l, origin| {
            if let Least::Typed(figure) = &mut l.least {
                take_origin(figure, origin, judge.as_ref());
            }
        });
        form.explain(origin_says(figure.origin));
    }
    form.number(
        "Safety factor",
        "%",
        limits.safety_factor_percent,
        |l, percent| l.safety_factor_percent = percent,
    );
    form.optional_number("Exposure time", "s", limits.exposure_s, |l, s| {
        l.exposure_s = s
    });
    // what was worked out last stays in place while the next is worked out
    let (holds, why) = match panel.session.answers().terms() {
        Held::Failed(why, _) => (None, Some(why.to_owned())),
        held => (held.any().cloned(), None),
    };
    let updating = panel.session.answers().terms().is_updating();
    let of_trials = holds.as_ref().and_then(|t| t.exposure_s);
    // where the trials say it, they say how
    room_for(ui, if from_trials { 7 } else { 5 }, |ui| {
        if let (None, Some(s)) = (limits.exposure_s, of_trials) {
            ui.weak(format!(
                "Exposure time left empty: {} s, as in the trials",
                seconds(s)
            ));
        }
        match (&holds, why) {
            (Some(terms), _) => {
                line(ui, panel, terms);
                if updating {
                    ui.weak("updating: as before the last change");
                }
            }
            // with an answer the sentence stands above, in place of the verdict
            (None, Some(why)) if panel.session.answers().answer().any().is_none() => {
                ui.label(why);
            }
            (None, _) => {
                ui.weak("The lower limit that follows stands here");
            }
        }
    });
    upper(ui, panel, limits, holds.as_ref());
    more(ui, panel, limits);
    if let Some(terms) = &holds {
        for warning in &terms.warnings {
            point(ui, warning);
        }
    }
    ui.weak("Limits and safety factor are yours to validate: the program holds the light against them and knows nothing of your adhesive");
}

/// The radiometer that judges: the survey's, else the plan's.
fn judging(panel: &Panel<'_>) -> Option<Radiometer> {
    let of_survey = panel
        .session
        .survey()
        .and_then(|(_, s)| s.radiometer.clone());
    of_survey.or_else(|| panel.session.station().plan_radiometer().cloned())
}

/// Another origin; with the same pair goes which pair and calibration that is.
fn take_origin(figure: &mut Figure, origin: Origin, judge: Option<&Radiometer>) {
    figure.origin = origin;
    let pair = judge.filter(|_| origin == Origin::SamePair);
    figure.pair = pair.map_or_else(String::new, |r| r.name.clone());
    figure.calibrated_on = pair.and_then(|r| r.calibrated_on);
}

fn origin_says(origin: Origin) -> &'static str {
    match origin {
        Origin::SamePair => {
            "The same pair finds and judges the limit: its calibration error is in both and cancels, so the relative bound is held against it"
        }
        Origin::OtherPair | Origin::DataSheet => {
            "The radiometer's calibration uncertainty counts in full: the absolute bound is held against the limit"
        }
    }
}

/// A time to a hundredth of a second.
fn seconds(s: f64) -> String {
    let text = fixed(s, 2);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// What a limit is rounded to for the station sheet, where that is another figure.
fn rounded(limit: &Line, way: &str, unit: IrradianceUnit) -> String {
    if limit.written == limit.value {
        return String::new();
    }
    format!(", rounded {way} to {}", unit.exact(limit.written))
}

/// The lower limit that follows.
fn line(ui: &mut Ui, panel: &Panel<'_>, terms: &Terms) {
    let unit = panel.session.preferences().irradiance_unit;
    let said = |e: f64| unit.exact(e);
    ui.strong(format!(
        "Lower limit {} {}{}",
        said(terms.lower.value),
        unit.symbol(),
        rounded(&terms.lower, "up", unit)
    ));
    let mut text = format!(
        "{} {} plus {} %; held against the {} bound",
        said(terms.least),
        unit.symbol(),
        plain(terms.safety_factor_percent),
        scale_name(terms.lower.scale)
    );
    if let Some(s) = terms.effective_s {
        let dose = s * terms.lower.value;
        text += &format!("; dose {dose:.0} mJ/cm² in {} s", seconds(s));
        if terms.exposure_s != terms.effective_s {
            text += " in effect";
        }
    }
    ui.label(text)
        .on_hover_text(words::scale_tip(terms.lower.scale));
    ui.weak(format!("{}: {}", said(terms.least), terms.least_from));
}

fn upper(ui: &mut Ui, panel: &mut Panel<'_>, limits: &Limits, terms: Option<&Terms>) {
    heading(ui, "Upper limit");
    let kind = panel.session.station().source.kind;
    let Some(upper) = &limits.upper else {
        ui.weak(
            "The highest irradiance that gave undamaged parts: parts that get more may overheat",
        );
        if ui.button("Add an upper limit").clicked() {
            let upper = Some(Upper {
                source: Some(kind),
                ..Upper::default()
            });
            panel.send(Command::Edit(edit(Limits {
                upper,
                ..limits.clone()
            })));
        }
        return;
    };
    let judge = judging(panel);
    let mut form = Form::new(ui, panel, "limits", limits.clone(), &edit);
    form.optional_irradiance("Highest undamaged", upper.figure.irradiance, |l, e| {
        if let Some(upper) = &mut l.upper {
            upper.figure.irradiance = e;
        }
    });
    form.choose(
        "Upper found with",
        upper.figure.origin,
        &ORIGINS,
        |l, origin| {
            if let Some(upper) = &mut l.upper {
                take_origin(&mut upper.figure, origin, judge.as_ref());
            }
        },
    );
    let kinds = [
        (None, "not recorded"),
        (Some(SourceKind::ReflectorArc), "arc lamp in a reflector"),
        (Some(SourceKind::LinearArc), "linear arc lamp"),
        (Some(SourceKind::LedPanel), "LED panel"),
        (Some(SourceKind::Other), "another kind"),
    ];
    form.choose("Holds for", upper.source, &kinds, |l, kind| {
        if let Some(upper) = &mut l.upper {
            upper.source = kind;
        }
    });
    let (near, far) = upper.distances.unzip();
    form.optional_length("Distances from", near, |l, near| {
        if let Some(upper) = &mut l.upper {
            upper.distances =
                near.map(|near| (near, upper.distances.map_or(near, |d| d.1.max(near))));
        }
    });
    if far.is_some() {
        form.optional_length("Distances to", far, |l, far| {
            if let Some(upper) = &mut l.upper {
                upper.distances = far.zip(upper.distances).map(|(far, d)| (d.0.min(far), far));
            }
        });
    }
    form.text("Drive", &upper.drive, |l, drive| {
        if let Some(upper) = &mut l.upper {
            upper.drive = drive;
        }
    });
    if form.button("Remove the upper limit") {
        form.change(|l| l.upper = None);
    }
    room_for(ui, 2, |ui| {
        if let Some(line) = terms.and_then(|t| t.upper.as_ref()) {
            let unit = panel.session.preferences().irradiance_unit;
            ui.strong(format!(
                "Upper limit {} {}{}; held against the {} bound",
                unit.exact(line.value),
                unit.symbol(),
                rounded(line, "down", unit),
                scale_name(line.scale)
            ))
            .on_hover_text(words::scale_tip(line.scale));
        }
    });
}

fn more(ui: &mut Ui, panel: &mut Panel<'_>, limits: &Limits) {
    ui.add_space(4.0);
    let open = limits.allowances != Default::default() || !limits.transmission.is_empty();
    CollapsingHeader::new("Allowances, fading and substrates")
        .id_salt("allowances")
        .default_open(open)
        .show(ui, |ui| {
            let mut form = Form::new(ui, panel, "limits", limits.clone(), &edit);
            let kept = [
                (Kept::OnlyFades, "not at all, it only fades"),
                (Kept::Adjusted, "adjusted by drive or distance"),
            ];
            form.choose("Source is", limits.kept, &kept, |l, kept| l.kept = kept);
            form.number(
                "Until the next check",
                "%",
                limits.allowances.until_check_percent,
                |l, percent| l.allowances.until_check_percent = percent,
            );
            form.number(
                "Reload and reset",
                "%",
                limits.allowances.reload_percent,
                |l, percent| l.allowances.reload_percent = percent,
            );
            form.explain("Taken off the assured minimum, and the second put on the assured maximum, before a limit is called met");
            form.optional_number(
                "Fading",
                "% in 100 h",
                limits.fading_percent_per_100_h,
                |l, rate| l.fading_percent_per_100_h = rate,
            );
            substrates(&mut form, limits);
        });
}

fn substrates(form: &mut Form<'_, '_, Limits>, limits: &Limits) {
    for (i, through) in limits.transmission.iter().enumerate() {
        form.text(
            &format!("Substrate {} on", i + 1),
            &through.sites,
            |l, name| {
                if let Some(through) = l.transmission.get_mut(i) {
                    through.sites = name;
                }
            },
        );
        form.number(
            &format!("Substrate {} lets through", i + 1),
            "%",
            through.percent,
            |l, percent| {
                if let Some(through) = l.transmission.get_mut(i) {
                    through.percent = percent;
                }
            },
        );
        if form.button(&format!("Remove substrate {}", i + 1)) {
            form.change(|l| {
                if i < l.transmission.len() {
                    l.transmission.remove(i);
                }
            });
        }
    }
    form.explain("Parts that are cured through glass or plastic: the name of a site or group, and how much of the light reaches the bond");
    if form.button("Add a substrate") {
        form.change(|l| {
            l.transmission.push(Transmission {
                sites: String::new(),
                percent: 90.0,
            });
        });
    }
}

/// Rule and limits declared final, and what was changed since.
pub(super) fn freeze(ui: &mut Ui, panel: &mut Panel<'_>, limits: &Limits) {
    heading(ui, "Frozen");
    match &limits.frozen {
        Some(frozen) => {
            let on = frozen
                .on
                .map_or_else(String::new, |day| format!(" on {day}"));
            ui.label(match frozen.readings {
                0 => format!("Rule and limits were frozen{on}, before any reading was entered"),
                n => format!("Rule and limits were frozen{on}, when {n} readings had been entered"),
            });
            if ui.button("Set them free").clicked() {
                panel.send(Command::Edit(Edit::ThawLimits));
            }
        }
        None => {
            ui.weak("Frozen before readings are entered, nobody can say that the limits were fitted to them; a later change is on record");
            if ui.button("Freeze rule and limits").clicked() {
                panel.send(Command::Edit(Edit::FreezeLimits));
            }
        }
    }
    for change in &limits.record {
        let on = change.on.map_or_else(String::new, |day| format!("{day}: "));
        point(ui, &format!("{on}{}", change.what));
    }
    if limits.frozen.is_none()
        && limits.record.is_empty()
        && ui.button("Remove the limits").clicked()
    {
        panel.send(Command::Edit(Edit::RemoveLimits));
    }
}
