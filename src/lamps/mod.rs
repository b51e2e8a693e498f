//! Simulated lamps with known truth, for the sample, for tests and for studies. A lamp answers the
//! same question as a fitted field, the irradiance at a place, so the two can be held against each
//! other directly. Nothing here shares a formula with [`crate::field`]: truth that came from the
//! model's own kernel would flatter the model.
//!
//! Lengths are in mm from the fixture's datum, powers in mW, intensities in mW/sr, exitance and
//! irradiance in mW/cm². Every lamp shines down and is read by a plane that faces up.

pub mod drawn;
mod emitters;
mod faces;
mod faceted;
mod housing;
mod line;
mod pallet;
mod reading;
mod reflector;
mod shadowed;
mod soft;
mod together;
mod trough;

pub use emitters::{Emitter, Emitters, Lobe};
pub use faces::{UniformDisk, UniformPanel};
pub use faceted::{FacetForm, Faceted, FacetedLamp, Opening};
pub use housing::{Housing, HousingLamp, WornMirror};
pub use line::{LineLamp, SideReflectors};
pub use pallet::{Ledges, OverPallet, Pallet};
pub use reading::{Errors, Reader};
pub use reflector::{Arc, Reflector, ReflectorLamp, Worn};
pub use shadowed::{Face, Pane, Shadowed, Solid};
pub use together::{AnyLamp, Axis, BetweenWalls, Dimmed, Lamps, Wall};
pub use trough::{LongArc, Trough, TroughLamp, WornStrip};

use crate::geometry::{Place, Point};

/// A lamp whose field is known everywhere.
pub trait Lamp {
    /// What a level detector reads at a place whose directional response is the cosine to the power 1 + `slant`, mW/cm²;
    /// zero at and above the lamp's face.
    fn seen(&self, at: Place, slant: f64) -> f64;

    /// Irradiance in mW/cm² on a level plane at a place: what a detector with the cosine's own response reads.
    fn irradiance(&self, at: Place) -> f64 {
        self.seen(at, 0.0)
    }

    /// Tells each beam that reaches a place: where it seems to come from and what it gives on a level plane, mW/cm². `false`
    /// for a lamp that does not know its beams one by one.
    fn beams(&self, _at: Place, _each: &mut dyn FnMut([f64; 3], f64)) -> bool {
        false
    }

    /// Of the face above the fixture's base, mm.
    fn face_height(&self) -> f64;
}

/// mW/mm² in one mW/cm².
const PER_CM2: f64 = 100.0;

/// What a detector with this slant reads of light from an angle with this cosine, over what reaches a plane.
fn slanting(cos: f64, slant: f64) -> f64 {
    if slant == 0.0 { 1.0 } else { cos.powf(slant) }
}

/// A plan point in axes whose origin is `centre` and that are turned by `degrees` counter-clockwise.
fn own_axes(p: Point, centre: Point, degrees: f64) -> Point {
    let (sin, cos) = degrees.to_radians().sin_cos();
    let (x, y) = (p.x - centre.x, p.y - centre.y);
    Point::new(x * cos + y * sin, y * cos - x * sin)
}
