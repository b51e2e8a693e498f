//! Limits and verdict on the map's pages.

use super::{MapSheet, ON_PAPER};
use crate::assess::limits::{Judged, MonitorAnswer, Outlook, Side, Verdict, Window};
use crate::record::scale_name;
use crate::sheet::against::LEGEND;
use crate::sheet::figure;
use crate::sheet::flow::Flow;
use crate::sheet::picture::{Layers, Picture, level_text};
use crate::units::{IrradianceUnit, fixed};

/// The verdict with its reasons, the limits, and what follows; nothing for a station without limits.
pub(super) fn verdict(sheet: &MapSheet<'_>, flow: &mut Flow<'_>) {
    let judged = match &sheet.answer.judged {
        None => return,
        Some(Err(why)) => {
            flow.heading("Verdict", 10.0);
            flow.paragraph(&format!("None: {why}"));
            return;
        }
        Some(Ok(judged)) => judged,
    };
    let unit = sheet.irradiance;
    let show = |e: f64| unit.show_with_unit(e, sheet.answer.coldest.uncertainty);
    flow.heading(&format!("Verdict: {}", judged.verdict.words()), 14.0);
    for reason in judged.reasons(&show) {
        flow.point(&reason);
    }
    flow.pairs(&pairs(sheet, judged));
    if let Some(outlook) = sheet.outlook {
        for sentence in outlook.settle.iter().flat_map(|s| &s.sentences) {
            flow.point(sentence);
        }
        for hanging in &outlook.hanging {
            flow.point(&hanging.sentence);
        }
        for why in closed(outlook) {
            flow.point(why);
        }
    }
    flow.paragraph("Limits and safety factor are the user's to validate.");
}

fn closed(outlook: &Outlook) -> &[String] {
    outlook.monitor.as_ref().map_or(&[], |m| &m.closed)
}

/// A limit with all its digits.
fn exact(e: f64, unit: IrradianceUnit) -> String {
    let text = fixed(unit.from_mw_cm2(e), 4);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn pairs(sheet: &MapSheet<'_>, judged: &Judged) -> Vec<(String, String)> {
    let unit = sheet.irradiance;
    let symbol = unit.symbol();
    let terms = &judged.terms;
    let mut all = vec![
        (
            "Lower limit",
            format!(
                "{} {symbol}, written {}; held against the {} bound",
                exact(terms.lower.value, unit),
                exact(terms.lower.written, unit),
                scale_name(terms.lower.scale)
            ),
        ),
        (
            "Least irradiance",
            format!(
                "{} {symbol}, and {} % on top; {}",
                exact(terms.least, unit),
                exact(terms.safety_factor_percent, IrradianceUnit::MilliwattPerCm2),
                terms.least_from
            ),
        ),
        (
            "Upper limit",
            terms.upper.as_ref().map_or_else(
                || "none is held".to_owned(),
                |upper| {
                    format!(
                        "{} {symbol}, written {}; held against the {} bound",
                        exact(upper.value, unit),
                        exact(upper.written, unit),
                        scale_name(upper.scale)
                    )
                },
            ),
        ),
    ];
    if let Some(dose) = &judged.dose {
        let s = terms.effective_s.unwrap_or_default();
        all.push((
            "Exposure and dose",
            format!(
                "{} s; coldest {:.0}, mean {:.0}, hottest {:.0} mJ/cm²",
                exact(s, IrradianceUnit::MilliwattPerCm2),
                dose.coldest,
                dose.mean,
                dose.hottest
            ),
        ));
    }
    let headroom = |side: &Side, which: &str| match side.headroom_percent {
        Some(h) => format!("{} % to the {which} limit", fixed(h, 1)),
        None => format!("not proven to the {which} limit"),
    };
    let mut text = headroom(&judged.coldest, "lower");
    if let Some(hottest) = &judged.hottest {
        text += &format!(", {}", headroom(hottest, "upper"));
    }
    all.push(("Headroom, assured", text));
    if judged.verdict != Verdict::Fails
        && let Some(percent) = judged.fading.assured_percent
    {
        all.push((
            "May fade by",
            format!("{} % with 95 % confidence", fixed(percent, 1)),
        ));
    }
    if let Some(monitor) = sheet.outlook.and_then(|o| o.monitor.as_ref()) {
        all.push(("Monitor position", monitor_words(sheet, monitor)));
        all.push(("Must read there", window_words(monitor, unit)));
    }
    if let Some(both) = sheet.outlook.and_then(|o| o.with_excluded.as_ref()) {
        all.push((
            "With excluded readings",
            format!(
                "coldest {}, hottest {} {symbol}{}",
                unit.show(both.coldest.0, sheet.answer.coldest.uncertainty),
                unit.show(both.hottest.0, sheet.answer.hottest.uncertainty),
                both.verdict
                    .map_or_else(String::new, |v| format!("; {}", v.words()))
            ),
        ));
    }
    all.into_iter()
        .map(|(label, value)| (label.to_owned(), value))
        .collect()
}

fn monitor_words(sheet: &MapSheet<'_>, monitor: &MonitorAnswer) -> String {
    let mm = sheet.length;
    let name = if monitor.name.is_empty() {
        String::new()
    } else {
        format!("{}, ", monitor.name)
    };
    format!(
        "{name}x {}, y {}, height {}{}",
        mm.show(monitor.at.x),
        mm.show(monitor.at.y),
        mm.show_with_unit(monitor.at.height),
        if monitor.proposed { "; proposed" } else { "" }
    )
}

fn window_words(monitor: &MonitorAnswer, unit: IrradianceUnit) -> String {
    let said = |e: f64| exact(e, unit);
    match monitor.window.as_ref().map(Window::written) {
        Err(why) => why.clone(),
        Ok(w) if !w.is_open() => "the window is empty".to_owned(),
        Ok(w) => {
            let most = w.most.map_or_else(
                || format!(" {}, no upper end", unit.symbol()),
                |m| format!(", at most {} {}", said(m), unit.symbol()),
            );
            let set = w.set.map_or_else(String::new, |s| {
                format!("; when the source is set anew, to {}", said(s))
            });
            format!(
                "at least {}{most}{set}; at the working distance in use",
                said(w.least)
            )
        }
    }
}

/// The map drawn against the limits.
pub(super) fn picture(sheet: &MapSheet<'_>, flow: &mut Flow<'_>) {
    let Some(against) = sheet.against else {
        return;
    };
    let levels: Vec<f64> = against.lines.iter().map(|c| c.level).collect();
    let drawing = Picture {
        station: sheet.station,
        survey: Some(sheet.answer.survey),
        height: Some(sheet.raster.height),
        map: None,
        unit: sheet.irradiance,
        contours: &against.lines,
        against: Some(against),
        proposed: &[],
        answer: Some(sheet.answer),
        layers: Layers {
            readings: false,
            ..ON_PAPER
        },
    }
    .drawing(&level_text(&levels, sheet.irradiance));
    flow.heading("Against the limits", 120.0);
    let (left, right, top) = (flow.left(), flow.right(), flow.y);
    let room = flow.room().clamp(60.0, 130.0);
    let lower = figure::put(
        flow.page(),
        drawing,
        (left, right),
        (top, room),
        sheet.length,
        None,
    );
    flow.y = lower;
    flow.paragraph(LEGEND);
}
