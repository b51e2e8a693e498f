//! Upkeep on paper: the irradiance log, and its picture.

mod graph;
mod pages;
pub mod picture;

pub use pages::{LogSheet, log_pages};
