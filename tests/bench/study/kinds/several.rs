//! More lamps than one over a fixture.

use evenfield::geometry::{Footprint, Point, Shape};
use evenfield::lamps::{AnyLamp, Dimmed, Lamps};
use evenfield::station::SourceKind;

use super::leds::{self, panel, total};
use super::mirrors::{self, Laid, bowl};
use super::{Lit, Over, around, rectangle};
use crate::chance::Chance;

/// Lamps of any make in a row, each with its own power and height.
pub fn unequal(chance: &mut Chance, over: Over<'_>, count: u32) -> Option<Lit> {
    let (width, depth) = over.fixture.shape.size();
    let along_x = chance.happens(if width >= depth { 0.8 } else { 0.2 });
    let n = f64::from(count);
    let (cell_x, cell_y) = if along_x {
        (width / n, depth)
    } else {
        (width, depth / n)
    };
    let spread = chance.between(0.9, 1.25);
    let bright = chance.between(60.0, 300.0);
    let alike = chance.happens(0.5).then(|| chance.whole(0, 3));
    let (mut lamps, mut told, mut outline): (Vec<AnyLamp>, Vec<SourceKind>, _) =
        (Vec::new(), Vec::new(), None);
    for i in 0..count {
        let aside = spread * (f64::from(i) - 0.5 * (n - 1.0));
        let middle = over.fixture.centre;
        let centre = if along_x {
            Point::new(middle.x + aside * cell_x, middle.y)
        } else {
            Point::new(middle.x, middle.y + aside * cell_y)
        };
        let cell = rectangle(cell_x, cell_y, centre);
        let own = Over {
            fixture: &cell,
            face_height: over.face_height + chance.between(0.0, 12.0),
            assessed: over.assessed,
        };
        let drawn = chance.whole(0, 3);
        let lit = match alike.unwrap_or(drawn) {
            0 => leds::small(chance, &cell, own.face_height),
            1 => leds::lit_over(chance, &cell, own.face_height),
            2 => mirrors::facets(chance, own, Laid::Square)?,
            _ => bowl(chance, &cell, own.face_height)?,
        };
        let cells = cell.cells(10.0);
        let lit_up: f64 = cells
            .iter()
            .map(|p| lit.lamp.irradiance(p.at_height(over.assessed)))
            .sum();
        let mean = lit_up / cells.len() as f64;
        if mean <= 0.0 {
            return None;
        }
        lamps.push(Box::new(Dimmed {
            lamp: lit.lamp,
            share: bright * chance.between(0.45, 1.0) / mean,
        }));
        let bounds = lit.face.bounds();
        outline = Some(outline.map_or(bounds, |o: evenfield::geometry::Bounds| o.union(bounds)));
        told.push(lit.told);
    }
    let told = if told.iter().all(|t| *t == told[0]) {
        told[0]
    } else {
        SourceKind::Other
    };
    Some(Lit {
        lamp: Box::new(Lamps(lamps)),
        face: around(outline?),
        told,
        pallet_out: None,
    })
}

/// Two panels or two bowls beside each other along x, one up to a fifth weaker, one a little higher.
pub fn two_alike(chance: &mut Chance, face: &Footprint, face_height: f64) -> Option<Lit> {
    let (width, depth) = face.shape.size();
    let gap = chance.between(0.0, 25.0);
    let half = 0.5 * (width - gap);
    let place = |side: f64| {
        let aside = side * 0.5 * (half + gap);
        Footprint::new(
            Shape::Rectangle { width: half, depth },
            Point::new(face.centre.x + aside, face.centre.y),
        )
    };
    let higher = face_height + chance.between(0.0, 3.0);
    if chance.happens(0.4) {
        let (first, second) = (
            bowl(chance, &place(-1.0), face_height)?,
            bowl(chance, &place(1.0), higher)?,
        );
        let bounds = first.face.bounds().union(second.face.bounds());
        let shape = Shape::Rectangle {
            width: bounds.width(),
            depth: bounds.depth(),
        };
        let outline = Footprint::new(shape, bounds.centre());
        return Some(Lit {
            lamp: Box::new(Lamps(vec![first.lamp, second.lamp])),
            face: outline,
            told: SourceKind::ReflectorArc,
            pallet_out: None,
        });
    }
    let counts = (chance.whole(3, 7), chance.whole(3, 8));
    let first = panel(chance, &place(-1.0), face_height, counts);
    let second = panel(chance, &place(1.0), higher, counts);
    // both are driven alike, whatever they were drawn for, and one is older
    let matched = chance.between(0.8, 1.0) * total(&first) / total(&second);
    let second = second.dimmed(|_| matched);
    let outline = Footprint::new(face.shape.clone(), face.centre);
    let lamps: Vec<AnyLamp> = vec![Box::new(first), Box::new(second)];
    Some(Lit {
        lamp: Box::new(Lamps(lamps)),
        face: outline,
        told: SourceKind::LedPanel,
        pallet_out: None,
    })
}
