//! The picture of a station as a [`Drawing`]: the same for the window, the map and the plan.

use std::sync::Arc;

use super::colour::ColourScale;
use super::drawing::Drawing;
use crate::assess::Answer;
use crate::field::{Contour, Raster};
use crate::station::Station;

/// What to show.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Layers {
    /// The map of irradiance.
    pub map: bool,
    /// Lines of equal irradiance with their values.
    pub contours: bool,
    /// The source's face.
    pub face: bool,
    /// Parts with their names.
    pub sites: bool,
    /// Keep-outs.
    pub keep_outs: bool,
    /// Planned positions with their names.
    pub positions: bool,
    /// The detector's body at each planned position.
    pub bodies: bool,
    /// Readings near the picture's height.
    pub readings: bool,
    /// Coldest and hottest spot.
    pub spots: bool,
}

/// Everything a picture is made of.
#[derive(Debug, Clone, Copy)]
pub struct Picture<'a> {
    /// The document.
    pub station: &'a Station,
    /// Whose readings.
    pub survey: Option<usize>,
    /// Readings within 0.5 mm of this height are shown; `None`: all.
    pub height: Option<f64>,
    /// The map and its colours.
    pub map: Option<(&'a Arc<Raster>, ColourScale)>,
    /// Lines of equal irradiance of that map.
    pub contours: &'a [Contour],
    /// Where it is coldest and hottest.
    pub answer: Option<&'a Answer>,
    /// What to show.
    pub layers: Layers,
}

impl Picture<'_> {
    /// The drawing: map, contours, fixture, face, keep-outs, sites, positions, readings, spots, in
    /// this order of painting. Contour labels say the level in mW/cm² with the digits of the levels'
    /// spacing through `level_text`.
    pub fn drawing(&self, level_text: &dyn Fn(f64) -> String) -> Drawing {
        todo!("paper helper: {}", level_text(0.0))
    }
}
