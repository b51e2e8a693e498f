//! What is drawn and written, before any painter. A [`Drawing`](drawing::Drawing) is in true
//! millimetres from the datum, y up, and says roles instead of colours; a page is paper, y down, and
//! places drawings, text and tables on it. Screen, PDF, SVG and PNG paint the same values.

pub mod colour;
pub mod drawing;
pub mod picture;
