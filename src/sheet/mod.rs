//! What is drawn and written, before any painter. A [`Drawing`](drawing::Drawing) is in true
//! millimetres from the datum, y up, and says roles instead of colours; a [`Page`](page::Page) is
//! paper, y down, and places drawings, text and tables on it. Screen, PDF, SVG and PNG paint the same
//! values.

pub mod against;
pub mod cautions;
pub mod change;
pub mod colour;
pub mod drawing;
mod figure;
mod flow;
pub mod map;
pub mod page;
pub mod picture;
pub mod placement;
pub mod plan;
pub mod plate;
pub mod posted;
pub mod repeat;
pub mod report;
mod table;
pub mod text;
mod title;
pub mod upkeep;
mod words;
