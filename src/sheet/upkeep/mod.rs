//! Upkeep on paper: the irradiance log, and its picture.

pub mod picture;
