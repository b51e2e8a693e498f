//! What stands around a lamp and throws light back.

use evenfield::geometry::Footprint;
use evenfield::lamps::{Axis, BetweenWalls, Lamps, Ledges, OverPallet, Pallet, Wall};
use evenfield::station::SourceKind;

use super::leds::panel;
use super::{Lit, Over, about, rectangle};
use crate::chance::Chance;

/// From the fixture's rim to walls at least, mm: a detector reads around the rim before them.
const ROOM: f64 = 15.0;

/// A panel over a pallet that scatters light back to the lamp's window, with bright upright ledges just outside its rim.
pub fn pallet(chance: &mut Chance, over: Over<'_>) -> Option<Lit> {
    let (width, depth) = over.fixture.shape.size();
    let centre = about(chance, over.fixture);
    let face = rectangle(
        width * chance.between(0.65, 0.98),
        depth * chance.between(0.65, 0.98),
        centre,
    );
    let counts = (chance.whole(5, 13), chance.whole(4, 9));
    let panel = panel(chance, &face, over.face_height, counts);
    let bounds = over.fixture.bounds();
    let (face_x, face_y) = face.shape.size();
    let frame = chance.between(8.0, 40.0);
    let pallet = Pallet {
        bounds,
        height: 0.0,
        scattered: chance.between(0.2, 0.6),
        ledges: Ledges {
            around: bounds.grown(chance.between(1.0, 6.0)),
            top: chance.between(8.0, 30.0),
            rounded: chance.between(2.0, 6.0),
            reflectance: chance.between(0.2, 0.7),
        },
        window: rectangle(face_x + frame, face_y + frame, centre),
        mirrored: chance.between(0.1, 0.5),
    };
    let lamp = OverPallet::new(panel.clone(), pallet)?;
    Some(Lit {
        lamp: Box::new(lamp),
        face,
        told: SourceKind::LedPanel,
        pallet_out: Some(Box::new(panel)),
    })
}

/// Walls just outside both lamp and fixture: on one side, on two opposite ones, or all around.
pub fn walled(chance: &mut Chance, fixture: &Footprint, inner: Lit) -> Lit {
    let bounds = fixture.bounds().grown(ROOM).union(inner.face.bounds());
    let mut wall = |at: f64, outwards: f64| Wall {
        at: at + outwards * chance.between(3.0, 40.0),
        reflectance: chance.between(0.4, 0.85),
    };
    let left = wall(bounds.min.x, -1.0);
    let right = wall(bounds.max.x, 1.0);
    let front = wall(bounds.min.y, -1.0);
    let back = wall(bounds.max.y, 1.0);
    let form = chance.whole(0, 4);
    let mut lamp = inner.lamp;
    let mut stand = |axis, low, high| {
        let bare = std::mem::replace(&mut lamp, Box::new(Lamps(vec![])));
        lamp = Box::new(BetweenWalls {
            lamp: bare,
            axis,
            low,
            high,
        });
    };
    match form {
        0 => stand(Axis::X, Some(left), Some(right)),
        1 => stand(Axis::Y, Some(front), Some(back)),
        2 => stand(Axis::X, Some(left), None),
        3 => stand(Axis::Y, None, Some(back)),
        _ => {
            stand(Axis::X, Some(left), Some(right));
            stand(Axis::Y, Some(front), Some(back));
        }
    }
    Lit { lamp, ..inner }
}
