//! What is engraved on a plate: names beside their bores, and which plate it is.

use crate::geometry::{Bounds, Footprint, Point, Shape};

/// A line of text on a plate.
#[derive(Debug, Clone, PartialEq)]
pub struct Engraved {
    /// What it says.
    pub text: String,
    /// The middle of it.
    pub at: Point,
    /// Of its letters, mm.
    pub size: f64,
    /// The position whose name it is, by its index; `None`: it is of the plate as a whole.
    pub position: Option<usize>,
}

/// Heights of letters that are tried, mm; smaller ones are not read at a bench (common practice, no source).
const SIZES: [f64; 3] = [3.0, 2.4, 1.8];

/// From a bore, an edge or another text, mm.
const FREE: f64 = 0.8;

/// Width of a letter that no engraver exceeds, in heights.
const WIDEST: f64 = 0.95;

/// A bore with the name that belongs beside it.
pub(super) struct Named<'a> {
    /// Of the position, in the plan.
    pub position: usize,
    pub name: &'a str,
    pub opening: &'a Footprint,
}

/// What is engraved on a plate, and the positions whose names have no room. `open`: the other openings of the plate.
pub(super) fn engrave(
    outline: &Footprint,
    bores: &[Named<'_>],
    open: &[Footprint],
    title: String,
) -> (Vec<Engraved>, Vec<usize>) {
    let openings = bores.iter().map(|bore| bore.opening);
    let mut room = Room {
        outline,
        taken: openings.chain(open).cloned().collect(),
    };
    let (mut engraved, mut without) = (Vec::new(), Vec::new());
    for &Named {
        position,
        name,
        opening,
    } in bores
    {
        let name = name.trim();
        if name.is_empty() {
            continue;
        }
        let placed = beside(opening.bounds(), name)
            .into_iter()
            .find(|(at, size)| room.is_free(*at, name, *size));
        match placed {
            Some((at, size)) => {
                room.take(at, name, size);
                engraved.push(Engraved {
                    text: name.to_owned(),
                    at,
                    size,
                    position: Some(position),
                });
            }
            None => without.push(position),
        }
    }
    engraved.extend(room.anywhere(&title).map(|(at, size)| Engraved {
        text: title,
        at,
        size,
        position: None,
    }));
    (engraved, without)
}

/// Width and height that a text takes, mm.
fn extent(text: &str, size: f64) -> (f64, f64) {
    (WIDEST * size * text.chars().count() as f64, size)
}

/// Middles and sizes of a text around a bore, the best first: above or below it, else at its right, where nobody takes it for
/// a neighbour's; small letters only then.
fn beside(bore: Bounds, text: &str) -> Vec<(Point, f64)> {
    let [large, medium, small] = SIZES;
    let (middle, gap) = (bore.centre(), FREE + 0.01);
    let extent = |size| extent(text, size);
    let over = |size: f64| {
        let up = 0.5 * bore.depth() + gap + 0.5 * extent(size).1;
        [up, -up].map(|dy| (Point::new(middle.x, middle.y + dy), size))
    };
    let aside = |side: f64| {
        move |size: f64| {
            let (width, depth) = extent(size);
            let across = 0.5 * bore.width() + gap + 0.5 * width;
            let up = 0.5 * bore.depth() + gap + 0.5 * depth;
            // in the corners beside a round bore there is more room than beside a square one
            let near = 0.5 * bore.width();
            [
                (near, up - 0.15 * bore.depth()),
                (near, 0.15 * bore.depth() - up),
                (across, 0.0),
                (across, up),
                (across, -up),
            ]
            .map(|(dx, dy)| (Point::new(middle.x + side * dx, middle.y + dy), size))
        }
    };
    let mut all = Vec::new();
    all.extend([large, medium].into_iter().flat_map(over));
    all.extend(SIZES.into_iter().flat_map(aside(1.0)));
    all.extend(over(small));
    all.extend(SIZES.into_iter().flat_map(aside(-1.0)));
    all
}

/// What is free of a plate.
struct Room<'a> {
    outline: &'a Footprint,
    taken: Vec<Footprint>,
}

impl Room<'_> {
    fn is_free(&self, at: Point, text: &str, size: f64) -> bool {
        let frame = frame(at, text, size, FREE);
        self.outline.covers(&frame) && !self.taken.iter().any(|taken| taken.overlaps(&frame))
    }

    fn take(&mut self, at: Point, text: &str, size: f64) {
        self.taken.push(frame(at, text, size, 0.0));
    }

    /// Along the front edge or the back one, else wherever there is room.
    fn anywhere(&self, text: &str) -> Option<(Point, f64)> {
        const STEPS: u32 = 40;
        let bounds = self.outline.bounds();
        SIZES.into_iter().find_map(|size| {
            let (width, depth) = extent(text, size);
            let inner = bounds.grown(-FREE - 0.01);
            let (from, to) = (inner.min, inner.max);
            let on = |share: u32, low: f64, high: f64| {
                low + (high - low) * f64::from(share) / f64::from(STEPS)
            };
            let rows = (0..=STEPS).map(|i| if i % 2 == 0 { i / 2 } else { STEPS - i / 2 });
            rows.flat_map(|row| (0..=STEPS).map(move |column| (row, column)))
                .map(|(row, column)| {
                    Point::new(
                        on(column, from.x + 0.5 * width, to.x - 0.5 * width),
                        on(row, from.y + 0.5 * depth, to.y - 0.5 * depth),
                    )
                })
                .find(|at| self.is_free(*at, text, size))
                .map(|at| (at, size))
        })
    }
}

fn frame(at: Point, text: &str, size: f64, margin: f64) -> Footprint {
    let (width, depth) = extent(text, size);
    let shape = Shape::Rectangle {
        width: width + 2.0 * margin,
        depth: depth + 2.0 * margin,
    };
    Footprint::new(shape, at)
}
