//! Kriging: of any values, and of the logarithm of irradiance with parameters that the readings tell.

mod likelihood;
mod linear;
mod log;

pub(in crate::field) use likelihood::Prior;
pub(in crate::field) use linear::BLOCK;
pub use linear::{Kriging, Prediction};
pub(in crate::field) use log::{LogKriging, Made, make};
