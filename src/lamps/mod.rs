//! Simulated lamps with known truth, for the sample, for tests and for studies. A lamp answers the
//! same question as a fitted field, the irradiance at a place, so the two can be held against each
//! other directly. Nothing here shares a formula with [`crate::field`]: truth that came from the
//! model's own kernel would flatter the model.
//!
//! Lengths are in mm from the fixture's datum, powers in mW, intensities in mW/sr, exitance and
//! irradiance in mW/cm². Every lamp shines down and is read by a plane that faces up.

mod emitters;
mod faces;
mod housing;
mod line;
mod reading;
mod reflector;
mod together;

pub use emitters::{Emitter, Emitters, Lobe};
pub use faces::{UniformDisk, UniformPanel};
pub use housing::{Housing, HousingLamp, WornMirror};
pub use line::{LineLamp, SideReflectors};
pub use reading::{Errors, Reader};
pub use reflector::{Arc, Reflector, ReflectorLamp, Worn};
pub use together::{AnyLamp, Axis, BetweenWalls, Lamps, Wall};

use crate::geometry::{Place, Point};

/// A lamp whose field is known everywhere.
pub trait Lamp {
    /// Irradiance in mW/cm² on a level plane at a place; zero at and above the lamp's face.
    fn irradiance(&self, at: Place) -> f64;

    /// Of the face above the fixture's base, mm.
    fn face_height(&self) -> f64;
}

/// mW/mm² in one mW/cm².
const PER_CM2: f64 = 100.0;

/// A plan point in axes whose origin is `centre` and that are turned by `degrees` counter-clockwise.
fn own_axes(p: Point, centre: Point, degrees: f64) -> Point {
    let (sin, cos) = degrees.to_radians().sin_cos();
    let (x, y) = (p.x - centre.x, p.y - centre.y);
    Point::new(x * cos + y * sin, y * cos - x * sin)
}
