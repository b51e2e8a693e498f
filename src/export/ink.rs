//! A page as strokes, fills, texts and images in millimetres of paper: what roles and scales have
//! become when nothing is left to decide. PDF and SVG write the same list.

use super::look::{Look, Pen, look};
use crate::sheet::drawing::{Item, MarkForm, Role};
use crate::sheet::page::{Align, Page, PageItem, Placed};
use crate::sheet::text;

mod field;
mod item;
mod labels;

use item::{WHITE, corners};

pub(super) use item::Ink;

/// Heavier letters are stroked with this much of their size.
pub(super) const HEAVY: f64 = 0.035;

pub(super) fn inks(page: &Page) -> Vec<Ink> {
    let mut inks = Vec::new();
    for item in &page.items {
        match item {
            PageItem::Text {
                x,
                y,
                text,
                size,
                heavy,
                align,
            } => inks.push(Ink::Text {
                at: [x - share(*align) * text::width(text, *size), *y],
                text: text.clone(),
                size: *size,
                heavy: *heavy,
            }),
            PageItem::Line { from, to, width } => inks.push(Ink::Path {
                points: vec![*from, *to],
                closed: false,
                fill: None,
                pen: Some(pen(*width)),
            }),
            PageItem::Path {
                points,
                closed,
                line,
                dash,
                fill,
            } => inks.push(Ink::Path {
                points: points.clone(),
                closed: *closed,
                fill: fill.map(|grey| [grey; 3]),
                pen: line.map(|width| Pen {
                    dash: *dash,
                    ..pen(width)
                }),
            }),
            PageItem::Rectangle { frame, rim, fill } => inks.push(Ink::Path {
                points: corners(frame.x, frame.y, frame.right(), frame.bottom()),
                closed: true,
                fill: *fill,
                pen: rim.map(pen),
            }),
            PageItem::Drawing(placed) => drawing(placed, &mut inks),
        }
    }
    inks
}

fn share(align: Align) -> f64 {
    match align {
        Align::Left => 0.0,
        Align::Centre => 0.5,
        Align::Right => 1.0,
    }
}

fn pen(width: f64) -> Pen {
    Pen {
        width,
        grey: 0,
        dash: None,
    }
}

/// Lines and map first, inside the frame; then marks and texts, which may reach over its edge.
fn drawing(placed: &Placed, inks: &mut Vec<Ink>) {
    let frame = placed.frame;
    inks.push(Ink::Clip(corners(
        frame.x,
        frame.y,
        frame.right(),
        frame.bottom(),
    )));
    for item in &placed.drawing.items {
        match item {
            Item::Field { raster, scale } => field::image(placed, raster, *scale, inks),
            Item::Path {
                points,
                closed,
                role,
            } => {
                let points = points.iter().map(|&p| placed.on_page(p)).collect();
                path(points, *closed, &look(*role), inks);
            }
            Item::Mark { .. } | Item::Label { .. } => {}
        }
    }
    inks.push(Ink::Unclip);
    for item in &placed.drawing.items {
        if let Item::Mark { at, form, role } = item {
            mark(placed.on_page(*at), *form, *role, inks);
        }
    }
    labels::put(placed, inks);
}

/// A path with its casing under it and its hatching inside.
fn path(points: Vec<[f64; 2]>, closed: bool, look: &Look, inks: &mut Vec<Ink>) {
    let stroke = |points: Vec<[f64; 2]>, closed, pen| Ink::Path {
        points,
        closed,
        fill: None,
        pen: Some(pen),
    };
    if let Some(width) = look.casing {
        let under = Pen {
            width,
            grey: WHITE,
            dash: None,
        };
        inks.push(stroke(points.clone(), closed, under));
    }
    if let Some(distance) = look.hatch.filter(|_| closed) {
        for line in hatching(&points, distance) {
            inks.push(stroke(line.to_vec(), false, look.pen));
        }
    }
    inks.push(stroke(points, closed, look.pen));
}

/// Slanting strokes inside a convex outline, `distance` mm apart along x.
fn hatching(outline: &[[f64; 2]], distance: f64) -> Vec<[[f64; 2]; 2]> {
    // along a stroke x + y stays the same
    let across = |p: &[f64; 2]| p[0] + p[1];
    let (low, high) = outline
        .iter()
        .map(across)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), c| {
            (l.min(c), h.max(c))
        });
    let strokes = ((high - low) / distance).floor().clamp(0.0, 5000.0) as usize;
    (1..=strokes)
        .filter_map(|i| {
            let c = low + (i as f64 - 0.5) * distance;
            let mut cuts = outline
                .iter()
                .zip(outline.iter().cycle().skip(1))
                .filter(|(a, b)| (across(a) < c) != (across(b) < c))
                .map(|(a, b)| {
                    let t = (c - across(a)) / (across(b) - across(a));
                    [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]
                });
            Some([cuts.next()?, cuts.next()?])
        })
        .collect()
}

fn mark([x, y]: [f64; 2], form: MarkForm, role: Role, inks: &mut Vec<Ink>) {
    let look = look(role);
    let r = 0.5 * look.mark;
    let round = |r: f64| {
        (0..24)
            .map(|i| {
                let (sin, cos) = (std::f64::consts::TAU * f64::from(i) / 24.0).sin_cos();
                [x + r * cos, y + r * sin]
            })
            .collect::<Vec<_>>()
    };
    let filled = |points: Vec<[f64; 2]>, fill: u8, inks: &mut Vec<Ink>| {
        if let Some(casing) = look.casing {
            inks.push(Ink::Path {
                points: points.clone(),
                closed: true,
                fill: None,
                pen: Some(Pen {
                    width: look.pen.width + casing,
                    grey: WHITE,
                    dash: None,
                }),
            });
        }
        inks.push(Ink::Path {
            points,
            closed: true,
            fill: Some([fill; 3]),
            pen: Some(look.pen),
        });
    };
    match form {
        MarkForm::Dot => filled(round(r), 0, inks),
        MarkForm::Ring => filled(round(r), WHITE, inks),
        MarkForm::Square => filled(corners(x - r, y - r, x + r, y + r), WHITE, inks),
        // filled and empty, so that a copier tells them apart
        MarkForm::TriangleDown => filled(vec![[x - r, y - r], [x + r, y - r], [x, y + r]], 0, inks),
        MarkForm::TriangleUp => filled(
            vec![[x - r, y + r], [x + r, y + r], [x, y - r]],
            WHITE,
            inks,
        ),
        MarkForm::Plus => {
            if let Some(radius) = look.ground {
                inks.push(Ink::Path {
                    points: round(radius),
                    closed: true,
                    fill: Some([WHITE; 3]),
                    pen: None,
                });
            }
            path(vec![[x - r, y], [x + r, y]], false, &look, inks);
            path(vec![[x, y - r], [x, y + r]], false, &look, inks);
        }
        MarkForm::Cross => {
            path(vec![[x - r, y - r], [x + r, y + r]], false, &look, inks);
            path(vec![[x - r, y + r], [x + r, y - r]], false, &look, inks);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hatching_stays_inside() {
        let lines = hatching(&corners(0.0, 0.0, 10.0, 5.0), 1.0);
        assert_eq!(lines.len(), 15);
        for [x, y] in lines.into_iter().flatten() {
            assert!((-1e-9..=10.0 + 1e-9).contains(&x) && (-1e-9..=5.0 + 1e-9).contains(&y));
        }
        assert_eq!(hatching(&[], 1.0), Vec::<[[f64; 2]; 2]>::new());
    }
}
