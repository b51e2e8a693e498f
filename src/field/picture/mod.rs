//! A fitted field as pictures: on a lattice, as lines of equal irradiance, as a map, and the lamp's face.

mod brightness;
mod contour;
mod map;
mod raster;

pub use contour::{Contour, contours, round_levels};
pub use map::Map;
pub use raster::Raster;
