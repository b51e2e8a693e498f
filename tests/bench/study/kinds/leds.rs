//! Panels of LEDs.

use evenfield::geometry::{Footprint, Point, Shape};
use evenfield::lamps::{Emitters, Lobe};
use evenfield::station::SourceKind;

use super::{Lit, Over, about, rectangle};
use crate::chance::Chance;

pub fn lit(panel: Emitters, face: Footprint) -> Lit {
    Lit {
        lamp: Box::new(panel),
        face,
        told: SourceKind::LedPanel,
        pallet_out: None,
    }
}

pub fn many(chance: &mut Chance, face: Footprint, face_height: f64) -> Lit {
    let counts = (chance.whole(9, 14), chance.whole(6, 9));
    lit(panel(chance, &face, face_height, counts), face)
}

pub fn few(chance: &mut Chance, face: Footprint, face_height: f64) -> Lit {
    let counts = (chance.whole(3, 5), chance.whole(2, 4));
    lit(panel(chance, &face, face_height, counts), face)
}

pub fn with_dead(chance: &mut Chance, face: Footprint, face_height: f64) -> Lit {
    let (columns, rows) = (chance.whole(4, 12), chance.whole(3, 8));
    let whole = panel(chance, &face, face_height, (columns, rows));
    let dead = dead(chance, columns as usize, rows as usize);
    lit(whole.with_dead(&dead), face)
}

/// About as large as what it is over.
pub fn lit_over(chance: &mut Chance, cell: &Footprint, face_height: f64) -> Lit {
    let face = super::rectangle_over(chance, cell);
    let counts = (chance.whole(3, 7), chance.whole(3, 8));
    lit(panel(chance, &face, face_height, counts), face)
}

/// Smaller than the fixture along both sides.
pub fn small(chance: &mut Chance, fixture: &Footprint, face_height: f64) -> Lit {
    let (width, depth) = fixture.shape.size();
    let face = Footprint {
        shape: Shape::Rectangle {
            width: width * chance.between(0.45, 0.8),
            depth: depth * chance.between(0.45, 0.8),
        },
        centre: about(chance, fixture),
        turn: chance.between(-2.0, 2.0),
    };
    let counts = (chance.whole(5, 13), chance.whole(4, 9));
    lit(panel(chance, &face, face_height, counts), face)
}

/// A regular array with a pitch of half to one and a half working distances, turned and put anywhere against the positions.
pub fn sparse(chance: &mut Chance, over: Over<'_>) -> Option<Lit> {
    let (width, depth) = over.fixture.shape.size();
    let away = over.face_height - over.assessed;
    let pitch = away * chance.between(0.5, 1.5);
    let other = pitch * chance.between(0.85, 1.18);
    let count = |extent: f64, pitch: f64, share: f64| (extent * share / pitch).round() as u32;
    let columns = count(width, pitch, chance.between(0.75, 1.4));
    let rows = count(depth, other, chance.between(0.75, 1.4));
    if columns < 1 || rows < 1 || columns * rows < 4 || columns * rows > 150 {
        return None;
    }
    let aside = |chance: &mut Chance, pitch: f64| pitch.min(24.0) * chance.between(-0.5, 0.5);
    let middle = over.fixture.centre;
    let centre = Point::new(
        middle.x + aside(chance, pitch),
        middle.y + aside(chance, other),
    );
    let shape = Shape::Rectangle {
        width: pitch * f64::from(columns),
        depth: other * f64::from(rows),
    };
    let face = Footprint {
        shape,
        centre,
        turn: chance.between(-5.0, 5.0),
    };
    let errors = (chance.between(0.0, 0.05), chance.between(0.01, 0.08));
    let power = chance.between(15_000.0, 60_000.0);
    let lobe = lobe(chance);
    let array = Emitters::scattered(
        &face,
        over.face_height,
        (columns, rows),
        lobe,
        power,
        errors,
        chance.seed(),
    );
    Some(lit(array, face))
}

/// Dense modules with gaps of one to four centimetres; one may be a good deal weaker.
pub fn modules(chance: &mut Chance, fixture: &Footprint, face_height: f64) -> Option<Lit> {
    let (width, depth) = fixture.shape.size();
    let (columns, rows) = (chance.whole(1, 3), chance.whole(1, 3));
    if columns * rows < 2 {
        return None;
    }
    let centre = about(chance, fixture);
    let (whole_x, whole_y) = (
        width * chance.between(0.7, 1.2),
        depth * chance.between(0.7, 1.2),
    );
    let gap = chance.between(10.0, 40.0);
    let side = |whole: f64, n: u32| (whole - gap * f64::from(n - 1)) / f64::from(n);
    let (module_x, module_y) = (side(whole_x, columns), side(whole_y, rows));
    if module_x.min(module_y) < 15.0 {
        return None;
    }
    let (lobe, counts) = (lobe(chance), (chance.whole(3, 7), chance.whole(3, 7)));
    let power = chance.between(15_000.0, 60_000.0) / f64::from(columns * rows);
    let weak = chance.happens(0.3).then(|| {
        (
            chance.whole(0, columns * rows - 1),
            chance.between(0.5, 0.8),
        )
    });
    let mut emitters = Vec::new();
    for i in 0..columns * rows {
        let from_middle =
            |k: u32, n: u32, module: f64| (f64::from(k) - 0.5 * f64::from(n - 1)) * (module + gap);
        let middle = Point::new(
            centre.x + from_middle(i % columns, columns, module_x),
            centre.y + from_middle(i / columns, rows, module_y),
        );
        let drive = weak.filter(|w| w.0 == i).map_or(1.0, |w| w.1) * chance.between(0.9, 1.1);
        let module = Emitters::scattered(
            &rectangle(module_x, module_y, middle),
            face_height,
            counts,
            lobe.clone(),
            power * drive,
            (0.05, 0.04),
            chance.seed(),
        );
        emitters.extend(module.emitters);
    }
    let all = Emitters {
        face_height,
        lobe,
        emitters,
    };
    Some(lit(all, rectangle(whole_x, whole_y, centre)))
}

fn lobe(chance: &mut Chance) -> Lobe {
    match chance.whole(0, 3) {
        0 => Lobe::lambertian(),
        1 => Lobe::flat_window(),
        2 => Lobe::domed(),
        _ => Lobe::batwing(),
    }
}

pub fn panel(
    chance: &mut Chance,
    face: &Footprint,
    face_height: f64,
    counts: (u32, u32),
) -> Emitters {
    let lobe = lobe(chance);
    let errors = (chance.between(0.05, 0.3), chance.between(0.02, 0.1));
    let panel = Emitters::scattered(
        face,
        face_height,
        counts,
        lobe,
        chance.between(15_000.0, 60_000.0),
        errors,
        chance.seed(),
    );
    // one side older than the other
    let (middle, (width, depth)) = (face.centre, face.shape.size());
    let (along_x, along_y) = (chance.between(-0.1, 0.1), chance.between(-0.1, 0.1));
    panel.dimmed(|p| 1.0 + along_x * (p.x - middle.x) / width + along_y * (p.y - middle.y) / depth)
}

/// One to four emitters anywhere, or a row or column of them.
fn dead(chance: &mut Chance, columns: usize, rows: usize) -> Vec<usize> {
    if chance.happens(0.3) {
        if chance.happens(0.5) {
            let row = chance.whole(0, rows as u32 - 1) as usize;
            (0..columns).map(|column| row * columns + column).collect()
        } else {
            let column = chance.whole(0, columns as u32 - 1) as usize;
            (0..rows).map(|row| row * columns + column).collect()
        }
    } else {
        let last = (columns * rows) as u32 - 1;
        (0..chance.whole(1, 4))
            .map(|_| chance.whole(0, last) as usize)
            .collect()
    }
}

pub fn total(panel: &Emitters) -> f64 {
    panel.emitters.iter().map(|e| e.power).sum()
}
