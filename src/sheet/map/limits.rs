//! Limits and verdict on the map's pages.

use super::sheet::{FIGURE_TEXT, MapSheet, ON_PAPER};
use crate::assess::limits::{Class, Judged, Line, MonitorAnswer, Outlook, Side, Verdict, Window};
use crate::record::scale_name;
use crate::sheet::against::Against;
use crate::sheet::figure;
use crate::sheet::flow::Flow;
use crate::sheet::page::{Align, Frame, Page, PageItem, Placed};
use crate::sheet::picture::{Layers, Picture, level_text};
use crate::sheet::words::position;
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
    let exact = |e| unit.exact_with_unit(e);
    for reason in judged.reasons(&judged.saying(&show, &exact)) {
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
        for borne in &outlook.borne {
            flow.point(&borne.sentence);
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

/// What a limit is rounded to, where that is another figure.
fn rounded(limit: &Line, way: &str, unit: IrradianceUnit) -> String {
    if limit.written == limit.value {
        return String::new();
    }
    format!(", rounded {way} to {}", unit.exact(limit.written))
}

fn pairs(sheet: &MapSheet<'_>, judged: &Judged) -> Vec<(String, String)> {
    let unit = sheet.irradiance;
    let symbol = unit.symbol();
    let terms = &judged.terms;
    let mut all = vec![
        (
            "Lower limit",
            format!(
                "{} {symbol}{}; held against the {} bound",
                unit.exact(terms.lower.value),
                rounded(&terms.lower, "up", unit),
                scale_name(terms.lower.scale)
            ),
        ),
        (
            "Least irradiance",
            format!(
                "{} {symbol}, and {} % on top; {}",
                unit.exact(terms.least),
                IrradianceUnit::MilliwattPerCm2.exact(terms.safety_factor_percent),
                terms.least_from
            ),
        ),
        (
            "Upper limit",
            terms.upper.as_ref().map_or_else(
                || "none is held".to_owned(),
                |upper| {
                    format!(
                        "{} {symbol}{}; held against the {} bound",
                        unit.exact(upper.value),
                        rounded(upper, "down", unit),
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
                IrradianceUnit::MilliwattPerCm2.exact(s),
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
    let proposed = if monitor.proposed { "; proposed" } else { "" };
    position(&monitor.name, monitor.at, sheet.length) + proposed
}

fn window_words(monitor: &MonitorAnswer, unit: IrradianceUnit) -> String {
    let said = |e: f64| unit.exact(e);
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

/// The map drawn against the limits, with what its patterns and lines mean.
pub(super) fn picture<'a>(sheet: &'a MapSheet<'_>, figure: f64, flow: &mut Flow<'a>) {
    let Some(against) = sheet.against else {
        return;
    };
    flow.figure(FIGURE_TEXT + KEY + figure, move |flow| {
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
        flow.heading("Against the limits", figure);
        let (left, right, top) = (flow.left(), flow.right(), flow.y);
        flow.y = figure::put(
            flow.page(),
            drawing,
            (left, right),
            (top, figure),
            sheet.length,
            None,
        );
        key(flow, !against.lines.is_empty());
        flow.paragraph(&format!(
            "At height {}, each place by itself with 95 % confidence: all parts together is the stricter question.",
            sheet.length.show_with_unit(sheet.raster.height)
        ));
    });
}

/// Height of the key, mm.
const KEY: f64 = 17.0;

/// Swatches of the four classes and samples of the lines, with what they mean.
fn key(flow: &mut Flow<'_>, limits: bool) {
    const SIZE: (f64, f64) = (12.0, 5.0);
    const TEXT: f64 = 2.7;
    /// A map of this size has strokes as near to each other as the swatches do, mm.
    const EXTENT: f64 = 110.0;
    let (left, right, top) = (flow.left(), flow.right(), flow.y + 1.0);
    let step = (right - left) / 4.0;
    let frame = |i: usize, row: f64| Frame {
        x: left + step * i as f64,
        y: top + 7.5 * row,
        width: SIZE.0,
        height: SIZE.1,
    };
    let say = |page: &mut Page, frame: Frame, text: &str| {
        let y = frame.y + 0.5 * SIZE.1 + 0.35 * TEXT;
        page.text(frame.right() + 2.0, y, text, TEXT, Align::Left);
    };
    let page = flow.page();
    for (i, (class, text)) in [
        (Class::Below, "below the lower limit"),
        (Class::NotProven, "not proven"),
        (Class::Inside, "inside the limits"),
        (Class::Above, "above the upper limit"),
    ]
    .into_iter()
    .enumerate()
    {
        let frame = frame(i, 0.0);
        page.items.push(PageItem::Drawing(Placed {
            drawing: Against::swatch(class, SIZE.0, SIZE.1, EXTENT),
            frame,
            scale: 1.0,
        }));
        page.items.push(PageItem::Rectangle {
            frame,
            rim: Some(0.2),
            fill: None,
        });
        say(page, frame, text);
    }
    let mut samples = vec![(0, 0.4, "where one of these ends")];
    if limits {
        samples.push((
            2,
            0.15,
            "with its value: where the field itself equals a limit",
        ));
    }
    for (i, width, text) in samples {
        let frame = frame(i, 1.0);
        let y = frame.y + 0.5 * SIZE.1;
        page.line([frame.x, y], [frame.right(), y], width);
        say(page, frame, text);
    }
    flow.y += KEY;
}
