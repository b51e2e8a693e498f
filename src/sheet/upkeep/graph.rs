//! The picture of the log on paper.

use super::picture::{LogPicture, PointKind};
use crate::sheet::figure::{TICK, backed, round_values};
use crate::sheet::page::{Align, Frame, Page, PageItem};
use crate::sheet::text;
use crate::units::{IrradianceUnit, fixed};
use crate::upkeep::moment_of;

/// Beside the frame for the figures of irradiance, and below for the days.
const LEFT: f64 = 12.0;
const BELOW: f64 = 9.0;
const ABOVE: f64 = 6.0;
/// Letters of events stand no nearer to each other.
const APART: f64 = 3.4;

/// Puts it between two edges from `top` down, `height` high.
pub(super) fn put(
    page: &mut Page,
    picture: &LogPicture,
    (left, right): (f64, f64),
    (top, height): (f64, f64),
    unit: IrradianceUnit,
) {
    let frame = Frame {
        x: left + LEFT,
        y: top + ABOVE,
        width: right - left - LEFT,
        height: height - ABOVE - BELOW,
    };
    let (Some(days), Some(range)) = (picture.days, picture.range) else {
        return;
    };
    let pad = (0.06 * (range.1 - range.0))
        .max(0.01 * range.1.abs())
        .max(1e-9);
    let graph = Graph {
        frame,
        days: (days.0 - 0.5, days.1.max(days.0 + 1.0) + 0.5),
        range: (range.0 - pad, range.1 + pad),
    };
    graph.axes(page, unit);
    graph.levels(page, picture);
    graph.window(page, picture);
    graph.events(page, picture);
    graph.points(page, picture);
    page.items.push(PageItem::Rectangle {
        frame,
        rim: Some(0.2),
        fill: None,
    });
}

struct Graph {
    frame: Frame,
    days: (f64, f64),
    range: (f64, f64),
}

impl Graph {
    fn x(&self, day: f64) -> f64 {
        let share = (day - self.days.0) / (self.days.1 - self.days.0);
        self.frame.x + self.frame.width * share.clamp(0.0, 1.0)
    }

    fn y(&self, irradiance: f64) -> f64 {
        let share = (irradiance - self.range.0) / (self.range.1 - self.range.0);
        self.frame.bottom() - self.frame.height * share.clamp(0.0, 1.0)
    }

    fn axes(&self, page: &mut Page, unit: IrradianceUnit) {
        let frame = self.frame;
        let ends = (
            unit.from_mw_cm2(self.range.0),
            unit.from_mw_cm2(self.range.1),
        );
        let values = round_values(ends.0, ends.1, frame.height / 10.0);
        let step = match values[..] {
            [a, b, ..] => b - a,
            _ => 1.0,
        };
        let decimals = (0..6).find(|d| step * 10f64.powi(*d) >= 0.999).unwrap_or(6) as usize;
        for v in values {
            let y = self.y(unit.to_mw_cm2(v));
            page.line([frame.x - 1.2, y], [frame.x, y], 0.15);
            let middle = y + 0.5 * text::CAPITAL * TICK;
            page.text(
                frame.x - 1.8,
                middle,
                fixed(v, decimals),
                TICK,
                Align::Right,
            );
        }
        page.text(
            frame.x - LEFT,
            frame.y - 2.0,
            unit.symbol(),
            TICK,
            Align::Left,
        );
        for (day, said) in self.ticks() {
            let x = self.x(day);
            page.line([x, frame.bottom()], [x, frame.bottom() + 1.2], 0.15);
            page.text(x, frame.bottom() + 3.8, said, TICK, Align::Centre);
        }
    }

    /// Days, or the first days of months, so many as have room.
    fn ticks(&self) -> Vec<(f64, String)> {
        let span = self.days.1 - self.days.0;
        let most = (self.frame.width / 19.0).max(2.0);
        if span / most < 28.0 {
            let every = [1.0, 2.0, 7.0, 14.0, 28.0];
            let every = every.into_iter().find(|e| span / e <= most).unwrap_or(28.0);
            let first = (self.days.0 / every).ceil() as i64;
            let last = (self.days.1 / every).floor() as i64;
            let days = (first..=last).map(|i| i as f64 * every);
            return days
                .filter_map(|day| Some((day, moment_of(day)?.date().to_string())))
                .collect();
        }
        let every = [1, 2, 3, 6, 12, 24, 60, 120];
        let every = every
            .into_iter()
            .find(|m| span / (30.44 * f64::from(*m)) <= most)
            .unwrap_or(240);
        let Some((first, last)) = moment_of(self.days.0).zip(moment_of(self.days.1)) else {
            return Vec::new();
        };
        let months = i32::from(first.year()) * 12..=i32::from(last.year()) * 12 + 11;
        let date = |month: i32| {
            let year = i16::try_from(month.div_euclid(12)).ok()?;
            let of_year = i8::try_from(month.rem_euclid(12) + 1).ok()?;
            jiff::civil::Date::new(year, of_year, 1).ok()
        };
        months
            .filter(|month| month.rem_euclid(every) == 0)
            .filter_map(|month| {
                let date = date(month)?;
                let day = crate::upkeep::day_of(date.at(0, 0, 0, 0));
                let said = format!("{}-{:02}", date.year(), date.month());
                (self.days.0..=self.days.1)
                    .contains(&day)
                    .then_some((day, said))
            })
            .collect()
    }

    fn levels(&self, page: &mut Page, picture: &LogPicture) {
        for lamp in &picture.levels {
            if lamp.len() < 2 {
                continue;
            }
            let at = |day: f64, e: f64| [self.x(day), self.y(e)];
            let upper = lamp.iter().map(|p| at(p.day, p.between.1));
            let lower = lamp.iter().rev().map(|p| at(p.day, p.between.0));
            page.items.push(PageItem::Path {
                points: upper.chain(lower).collect(),
                closed: true,
                line: None,
                dash: None,
                fill: Some(215),
            });
            page.items.push(PageItem::Path {
                points: lamp.iter().map(|p| at(p.day, p.level)).collect(),
                closed: false,
                line: Some(0.35),
                dash: None,
                fill: None,
            });
        }
    }

    fn window(&self, page: &mut Page, picture: &LogPicture) {
        let Some(window) = picture.window else { return };
        let lines = [
            (Some(window.least), "least", 0.4, None, 2.6),
            (window.most, "most", 0.4, None, -1.0),
            (window.set, "set to", 0.2, Some((1.6, 1.2)), -1.0),
        ];
        for (value, name, width, dash, by) in lines {
            let Some(value) = value.filter(|v| (self.range.0..=self.range.1).contains(v)) else {
                continue;
            };
            let y = self.y(value);
            page.items.push(PageItem::Path {
                points: vec![[self.frame.x, y], [self.frame.right(), y]],
                closed: false,
                line: Some(width),
                dash,
                fill: None,
            });
            backed(page, self.frame.x + 1.6, y + by, name);
        }
    }

    fn events(&self, page: &mut Page, picture: &LogPicture) {
        let mut free = f64::NEG_INFINITY;
        let steps = picture.steps.iter().map(|day| (*day, "!"));
        let events = picture.events.iter().map(|e| (e.day, e.letter));
        let mut all: Vec<(f64, &str)> = events.chain(steps).collect();
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (day, letter) in all {
            let x = self.x(day);
            page.items.push(PageItem::Path {
                points: vec![[x, self.frame.y], [x, self.frame.bottom()]],
                closed: false,
                line: Some(0.15),
                dash: Some((0.5, 0.9)),
                fill: None,
            });
            if x >= free {
                page.text(x, self.frame.y - 1.0, letter, TICK, Align::Centre);
                free = x + APART;
            }
        }
    }

    fn points(&self, page: &mut Page, picture: &LogPicture) {
        for point in &picture.points {
            if !(self.range.0..=self.range.1).contains(&point.irradiance)
                && point.kind == PointKind::Note
            {
                continue;
            }
            let [x, y] = [self.x(point.day), self.y(point.irradiance)];
            match point.kind {
                PointKind::Inside => disc(page, x, y, 0.35, true),
                PointKind::Outside => {
                    disc(page, x, y, 0.35, true);
                    disc(page, x, y, 0.95, false);
                }
                PointKind::Note => {
                    let r = 0.7;
                    page.line([x - r, y - r], [x + r, y + r], 0.15);
                    page.line([x - r, y + r], [x + r, y - r], 0.15);
                }
            }
        }
    }
}

fn disc(page: &mut Page, x: f64, y: f64, radius: f64, full: bool) {
    let points = (0..10)
        .map(|i| {
            let (sin, cos) = (std::f64::consts::TAU * f64::from(i) / 10.0).sin_cos();
            [x + radius * cos, y + radius * sin]
        })
        .collect();
    page.items.push(PageItem::Path {
        points,
        closed: true,
        line: (!full).then_some(0.2),
        dash: None,
        fill: full.then_some(0),
    });
}
