//! The cure trials that the lower limit was found with: the ladder, the curve and the bound.

use super::sheet::{FIGURE_TEXT, MapSheet};
use crate::sheet::figure::{TICK, backed, round_values};
use crate::sheet::flow::Flow;
use crate::sheet::page::{Align, Frame, Page, PageItem};
use crate::sheet::text;
use crate::station::Trials;
use crate::station::limits::Least;
use crate::station::trials::{Better, Varied};
use crate::trials::picture::Picture;
use crate::trials::{Analysis, analyse, words};
use crate::units::{IrradianceUnit, fixed};

/// Beside the diagram and below it, for figures and names of the axes, mm.
const LEFT: f64 = 16.0;
const RIGHT: f64 = 8.0;
const ABOVE: f64 = 4.5;
const BELOW: f64 = 10.0;
/// From stroke to stroke of the hatched strip, mm.
const STROKES: f64 = 2.2;

/// The trials with what they tell.
pub(super) struct Ladder<'a> {
    trials: &'a Trials,
    analysis: Analysis,
    unit: IrradianceUnit,
}

/// The trials where the lower limit comes from them.
pub(super) fn of<'a>(sheet: &MapSheet<'a>) -> Option<Ladder<'a>> {
    let limits = sheet.station.limits.as_deref()?;
    let trials = sheet.station.trials.as_ref()?;
    if limits.least != Least::FromTrials || sheet.answer.judged.is_none() {
        return None;
    }
    Some(Ladder {
        trials,
        analysis: analyse(trials, sheet.irradiance).ok()?,
        unit: sheet.irradiance,
    })
}

impl<'a> Ladder<'a> {
    /// The diagram, `room` mm high, and what it shows.
    pub(super) fn picture(&'a self, room: f64, flow: &mut Flow<'a>) {
        flow.figure(FIGURE_TEXT + room, move |flow| {
            flow.heading("Cure trials", room);
            let frame = Frame {
                x: flow.left() + LEFT,
                y: flow.y + ABOVE,
                width: flow.right() - flow.left() - LEFT - RIGHT,
                height: room - ABOVE - BELOW,
            };
            let picture = Picture::of(&self.analysis);
            self.put(flow.page(), frame, &picture);
            flow.y += room;
            flow.paragraph(&self.said(&picture));
        });
    }

    fn said(&self, picture: &Picture) -> String {
        let ladder = &self.analysis.ladder;
        let held = words::held(ladder.varied, ladder.held, self.unit);
        let mut said = format!(
            "{} at {held}; {}.",
            self.trials.property.name,
            picture.words()
        );
        if let Ok(least) = &self.analysis.least {
            said += &format!(
                " Least level {}: {} % upper bound; {}.",
                words::level(ladder.varied, least.level(), self.unit),
                fixed(100.0 * least.confidence, 0),
                least.method
            );
        }
        said
    }

    fn put(&self, page: &mut Page, frame: Frame, picture: &Picture) {
        // in the units that are said
        let size = match self.analysis.ladder.varied {
            Varied::Irradiance => self.unit.in_mw_cm2(),
            Varied::Time => 1.0,
        };
        let at = |x: f64, y: f64| {
            [
                frame.x + frame.width * (x / picture.top).clamp(0.0, 1.0),
                frame.bottom() - frame.height * (y / picture.highest).clamp(0.0, 1.0),
            ]
        };
        let path = |points: Vec<[f64; 2]>, line, fill| PageItem::Path {
            points,
            closed: fill,
            line,
            dash: None,
            fill: fill.then_some(205),
        };
        if self.trials.property.better != Better::Pass && picture.curve.len() > 1 {
            let lower = picture.curve.iter().map(|c| at(c.0, c.1 - c.2));
            let upper = picture.curve.iter().rev().map(|c| at(c.0, c.1 + c.2));
            page.items
                .push(path(lower.chain(upper).collect(), None, true));
        }
        if let Some((low, high)) = picture.interval {
            strip(page, frame, at(low, 0.0)[0], at(high, 0.0)[0]);
        }
        for (i, &(y, name)) in picture.across.iter().enumerate() {
            let y = at(0.0, y)[1];
            page.items.push(PageItem::Path {
                points: vec![[frame.x, y], [frame.right(), y]],
                closed: false,
                line: Some(0.2),
                dash: Some(if i == 0 { (3.0, 1.2) } else { (1.2, 1.2) }),
                fill: None,
            });
            let below = if i == 0 { -1.0 } else { 3.0 };
            backed(page, frame.x + 2.0, y + below, name);
        }
        let curve: Vec<[f64; 2]> = picture.curve.iter().map(|c| at(c.0, c.1)).collect();
        if curve.len() > 1 {
            page.items.push(path(curve, Some(0.4), false));
        }
        for &(x, y) in &picture.parts {
            dot(page, at(x, y));
        }
        if let Some(level) = picture.level.filter(|l| *l <= picture.top) {
            let x = at(level, 0.0)[0];
            page.line([x, frame.y], [x, frame.bottom()], 0.6);
            let name = format!("least level at most {}", words::number(level / size));
            let width = text::width(&name, TICK);
            let left = if x + width + 4.0 < frame.right() {
                x + 1.6
            } else {
                x - 1.6 - width
            };
            backed(page, left, frame.bottom() - 2.0, &name);
        }
        self.axes(page, frame, picture, size);
    }

    fn axes(&self, page: &mut Page, frame: Frame, picture: &Picture, size: f64) {
        page.items.push(PageItem::Rectangle {
            frame,
            rim: Some(0.2),
            fill: None,
        });
        let top = picture.top / size;
        for v in round_values(0.0, top, frame.width / 18.0) {
            let x = frame.x + frame.width * v / top;
            page.line([x, frame.bottom()], [x, frame.bottom() + 1.2], 0.15);
            let y = frame.bottom() + 3.6;
            page.text(x, y, words::number(v), TICK, Align::Centre);
        }
        for v in round_values(0.0, picture.highest, frame.height / 9.0) {
            let y = frame.bottom() - frame.height * v / picture.highest;
            page.line([frame.x, y], [frame.x - 1.2, y], 0.15);
            let middle = y + 0.5 * text::CAPITAL * TICK;
            page.text(frame.x - 1.8, middle, words::number(v), TICK, Align::Right);
        }
        let x_name = match self.analysis.ladder.varied {
            Varied::Irradiance => format!("irradiance, {}", self.unit.symbol()),
            Varied::Time => "exposure, s".to_owned(),
        };
        let y_name = match self.trials.property.better {
            Better::Pass => "passed, %".to_owned(),
            _ => format!(
                "{}, {}",
                self.trials.property.name, self.trials.property.unit
            ),
        };
        let y = frame.bottom() + 7.0;
        page.text(frame.right(), y, x_name, TICK, Align::Right);
        page.text(frame.x, frame.y - 1.4, y_name, TICK, Align::Left);
    }
}

/// Slanting strokes from one level to another, so that the strip is told from the grey band without colour.
fn strip(page: &mut Page, frame: Frame, left: f64, right: f64) {
    let mut from = left - frame.height;
    while from < right {
        // up to the right, cut at the strip's sides
        let (low, high) = (from.max(left), (from + frame.height).min(right));
        if high > low {
            let y = |x: f64| frame.bottom() - (x - from);
            page.line([low, y(low)], [high, y(high)], 0.1);
        }
        from += STROKES;
    }
    for x in [left, right] {
        page.line([x, frame.y], [x, frame.bottom()], 0.1);
    }
}

fn dot(page: &mut Page, [x, y]: [f64; 2]) {
    const RADIUS: f64 = 0.7;
    let points = (0..16)
        .map(|i| {
            let (sin, cos) = (std::f64::consts::TAU * f64::from(i) / 16.0).sin_cos();
            [x + RADIUS * cos, y + RADIUS * sin]
        })
        .collect();
    page.items.push(PageItem::Path {
        points,
        closed: true,
        line: Some(0.2),
        dash: None,
        fill: Some(0),
    });
}
