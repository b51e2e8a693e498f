//! A drawing on paper at a round scale, with axes, a scale bar and a colour bar.

use super::colour::ColourScale;
use super::drawing::Drawing;
use super::page::{Align, Frame, Page, PageItem, Placed};
use super::text;
use crate::units::LengthUnit;

/// Size of figures on axes and of names in diagrams, mm.
pub(super) const TICK: f64 = 2.4;
/// Beside the drawing: for the figures of the y axis, and below: for those of the x axis and the
/// scale bar.
const LEFT: f64 = 13.0;
const BELOW: f64 = 16.0;
const ABOVE: f64 = 4.5;
/// Beside the drawing, for the colour bar.
const BAR: f64 = 24.0;

/// A colour bar: values with their text, and the unit.
pub(super) struct ColourBar {
    pub(super) scale: ColourScale,
    pub(super) ticks: Vec<(f64, String)>,
    pub(super) unit: &'static str,
}

/// The greatest scale, paper over truth, at which something of `width` x `height` mm fits into the
/// room, of 1 : 1, 1.5, 2, 2.5, 5, 10, 15, 20, 25, 50 ... and 2 : 1, 5 : 1, 10 : 1.
pub(super) fn round_scale(width: f64, height: f64, room: (f64, f64)) -> f64 {
    let most = (room.0 / width).min(room.1 / height);
    if let Some(enlarged) = [10.0, 5.0, 2.0].into_iter().find(|&s| s <= most) {
        return enlarged;
    }
    (0..9)
        .flat_map(|decade| [1.0, 1.5, 2.0, 2.5, 5.0].map(|m| m * 10f64.powi(decade)))
        .map(|one_in| 1.0 / one_in)
        .find(|&s| s <= most * (1.0 + 1e-9))
        .unwrap_or(most)
}

/// `1 : 2.5` or `2 : 1`.
pub(super) fn scale_text(scale: f64) -> String {
    if scale > 1.0 {
        format!("{scale:.0} : 1")
    } else {
        format!("1 : {}", LengthUnit::Mm.show(1.0 / scale))
    }
}

/// A text on a white plate, so that it is read over lines.
pub(super) fn backed(page: &mut Page, x: f64, y: f64, said: &str) {
    page.items.push(PageItem::Rectangle {
        frame: Frame {
            x: x - 0.6,
            y: y - 0.85 * TICK,
            width: text::width(said, TICK) + 1.2,
            height: 1.15 * TICK,
        },
        rim: None,
        fill: Some([255; 3]),
    });
    page.text(x, y, said, TICK, Align::Left);
}

/// A round step (1, 2 or 5 times a power of ten) that divides an extent into at most `most` parts.
fn round_step(extent: f64, most: f64) -> f64 {
    let raw = extent / most.max(1.0);
    let decade = 10f64.powf(raw.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .map(|m| m * decade)
        .into_iter()
        .find(|&s| s >= raw * (1.0 - 1e-9))
        .unwrap_or(10.0 * decade);
    if step.is_finite() && step > 0.0 {
        step
    } else {
        1.0
    }
}

/// Multiples of a round step from `low` to `high`.
pub(super) fn round_values(low: f64, high: f64, most: f64) -> Vec<f64> {
    let step = round_step(high - low, most);
    let from = (low / step - 1e-9).ceil() as i64;
    let to = (high / step + 1e-9).floor() as i64;
    // an extent of no size would ask for no end of values
    (from..=to.min(from.saturating_add(200)))
        .map(|i| i as f64 * step)
        .collect()
}

/// Puts a drawing into the room between two edges from `top` down, centred; returns its lower edge.
pub(super) fn put(
    page: &mut Page,
    drawing: Drawing,
    (left, right): (f64, f64),
    (top, room): (f64, f64),
    unit: LengthUnit,
    bar: Option<&ColourBar>,
) -> f64 {
    let beside = if bar.is_some() { BAR } else { 0.0 };
    let (w, d) = (drawing.bounds.width(), drawing.bounds.depth());
    let free = (right - left - LEFT - beside, room - ABOVE - BELOW);
    let scale = round_scale(w, d, free);
    let frame = Frame {
        x: left + LEFT + 0.5 * (free.0 - w * scale),
        y: top + ABOVE,
        width: w * scale,
        height: d * scale,
    };
    let placed = Placed {
        drawing,
        frame,
        scale,
    };
    axes(page, &placed, unit);
    page.items.push(PageItem::Drawing(placed));
    page.items.push(PageItem::Rectangle {
        frame,
        rim: Some(0.2),
        fill: None,
    });
    scale_bar(page, frame, right, scale, unit);
    if let Some(bar) = bar {
        colour_bar(page, bar, frame);
    }
    frame.bottom() + BELOW
}

fn axes(page: &mut Page, placed: &Placed, unit: LengthUnit) {
    let (frame, bounds) = (placed.frame, placed.drawing.bounds);
    let said = |mm: f64| unit.from_mm(mm);
    let most = |extent: f64, each: f64| (extent / each).clamp(1.0, 12.0);
    for v in round_values(
        said(bounds.min.x),
        said(bounds.max.x),
        most(frame.width, 14.0),
    ) {
        let x = frame.x + (unit.to_mm(v) - bounds.min.x) * placed.scale;
        page.line([x, frame.bottom()], [x, frame.bottom() + 1.2], 0.15);
        let text = unit.show(unit.to_mm(v));
        page.text(x, frame.bottom() + 3.6, text, TICK, Align::Centre);
    }
    for v in round_values(
        said(bounds.min.y),
        said(bounds.max.y),
        most(frame.height, 10.0),
    ) {
        let y = frame.bottom() - (unit.to_mm(v) - bounds.min.y) * placed.scale;
        page.line([frame.x, y], [frame.x - 1.2, y], 0.15);
        let text = unit.show(unit.to_mm(v));
        page.text(
            frame.x - 1.8,
            y + 0.5 * text::CAPITAL * TICK,
            text,
            TICK,
            Align::Right,
        );
    }
    let symbol = unit.symbol();
    page.text(
        frame.right(),
        frame.bottom() + 7.0,
        format!("x, {symbol}"),
        TICK,
        Align::Right,
    );
    page.text(
        frame.x,
        frame.y - 1.4,
        format!("y, {symbol}"),
        TICK,
        Align::Left,
    );
}

/// A bar of a round length, in two halves, with the scale in words: below a frame, and not beyond the right edge.
fn scale_bar(page: &mut Page, frame: Frame, right: f64, scale: f64, unit: LengthUnit) {
    const SIZE: f64 = 2.7;
    let length = round_step(unit.from_mm(40.0 / scale), 2.0);
    let on_paper = unit.to_mm(length) * scale;
    let said = format!(
        "{}   scale {}, printed at 100 %",
        unit.show_with_unit(unit.to_mm(length)),
        scale_text(scale)
    );
    let left = (frame.x).min(right - on_paper - 2.0 - text::width(&said, SIZE));
    let y = frame.bottom() + 9.5;
    for (i, fill) in [Some([0, 0, 0]), None].into_iter().enumerate() {
        page.items.push(PageItem::Rectangle {
            frame: Frame {
                x: left + 0.5 * on_paper * i as f64,
                y,
                width: 0.5 * on_paper,
                height: 1.2,
            },
            rim: Some(0.2),
            fill,
        });
    }
    page.text(left + on_paper + 2.0, y + 1.6, said, SIZE, Align::Left);
}

fn colour_bar(page: &mut Page, bar: &ColourBar, beside: Frame) {
    const SLICES: usize = 96;
    let height = beside.height.clamp(30.0, 90.0).min(beside.height);
    let frame = Frame {
        x: beside.right() + 5.0,
        y: beside.y + 0.5 * (beside.height - height) + 2.0,
        width: 5.0,
        height: height - 2.0,
    };
    let slice = frame.height / SLICES as f64;
    let (low, high) = (bar.scale.low, bar.scale.high);
    for i in 0..SLICES {
        let share = (i as f64 + 0.5) / SLICES as f64;
        // reaches under the next slice, which is painted over it, so that no seam shows
        let under = if i + 1 < SLICES { 0.5 * slice } else { 0.0 };
        page.items.push(PageItem::Rectangle {
            frame: Frame {
                y: frame.bottom() - (i + 1) as f64 * slice - under,
                height: slice + under,
                ..frame
            },
            rim: None,
            fill: bar.scale.colour(low + share * (high - low)),
        });
    }
    page.items.push(PageItem::Rectangle {
        frame,
        rim: Some(0.2),
        fill: None,
    });
    page.text(frame.x, frame.y - 2.0, bar.unit, TICK, Align::Left);
    let mut last = f64::INFINITY;
    for (value, text) in &bar.ticks {
        let share = if high > low {
            (value - low) / (high - low)
        } else {
            0.5
        };
        let y = frame.bottom() - share * frame.height;
        if !(-1e-9..=1.0 + 1e-9).contains(&share) || last - y < 3.0 {
            continue;
        }
        last = y;
        page.line([frame.right(), y], [frame.right() + 1.2, y], 0.15);
        page.text(
            frame.right() + 1.8,
            y + 0.5 * text::CAPITAL * TICK,
            text.as_str(),
            TICK,
            Align::Left,
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_are_round_and_fit() {
        assert_eq!(round_scale(150.0, 100.0, (160.0, 120.0)), 1.0);
        assert_eq!(round_scale(200.0, 100.0, (160.0, 120.0)), 1.0 / 1.5);
        assert_eq!(round_scale(390.0, 100.0, (160.0, 120.0)), 1.0 / 2.5);
        assert_eq!(round_scale(20.0, 20.0, (160.0, 120.0)), 5.0);
        assert_eq!(scale_text(1.0 / 1.5), "1 : 1.5");
        assert_eq!(scale_text(5.0), "5 : 1");
        assert_eq!(scale_text(1.0), "1 : 1");
    }

    #[test]
    fn round_values_stay_inside_and_end() {
        assert_eq!(
            round_values(-9.0, 189.0, 10.0),
            [
                0.0, 20.0, 40.0, 60.0, 80.0, 100.0, 120.0, 140.0, 160.0, 180.0
            ]
        );
        assert_eq!(round_values(0.0, 1.0, 2.0), [0.0, 0.5, 1.0]);
        assert!(round_values(3.0, 3.0, 5.0).len() < 300);
    }
}
