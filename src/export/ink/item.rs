//! What is left to paint.

use crate::export::look::Pen;

/// One thing to paint. Places are in mm from the page's upper left corner, y down.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::export) enum Ink {
    /// A line or an area.
    Path {
        points: Vec<[f64; 2]>,
        closed: bool,
        fill: Option<[u8; 3]>,
        pen: Option<Pen>,
    },
    /// A line of text from its left end on the baseline.
    Text {
        at: [f64; 2],
        text: String,
        size: f64,
        heavy: bool,
    },
    /// Pixels, row by row from the upper left.
    Image {
        at: [f64; 2],
        size: [f64; 2],
        columns: u32,
        rows: u32,
        rgba: Vec<u8>,
    },
    /// What follows shows only inside these outlines, until as many [`Ink::Unclip`].
    Clip(Vec<[f64; 2]>),
    Unclip,
}

pub(super) const WHITE: u8 = 255;

pub(super) fn corners(left: f64, top: f64, right: f64, bottom: f64) -> Vec<[f64; 2]> {
    vec![[left, top], [right, top], [right, bottom], [left, bottom]]
}
