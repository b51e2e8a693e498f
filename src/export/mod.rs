//! Sheets as files: PDF, SVG and PNG of pages, grids and plans as CSV. All are functions from a value
//! to bytes or text; the same value gives the same bytes.

pub mod bundle;
pub mod change;
mod csv;
mod dxf;
mod ink;
mod look;
mod no_bundle;
mod pdf;
mod pixels;
mod placed;
mod png;
pub mod repeat;
mod svg;

pub use csv::{field_csv, placement_csv, plan_csv};
pub use dxf::{Outlined, placement_dxf, plate_dxf};
pub use pdf::{PdfOptions, pdf};
pub use placed::Arranged;
pub use png::{Pixels, pixels, png};
pub use svg::svg;

/// Why a file could not be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ExportError {
    /// There is nothing to write.
    NoPages,
    /// The picture would have more pixels than are allowed: its width and height.
    TooManyPixels(u64, u64),
    /// A size is not above zero or not a number.
    BadSize,
    /// The writer of this format refused the page.
    NotWritable,
}

impl std::fmt::Display for ExportError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoPages => f.write_str("there are no pages to write; make a map or a plan first"),
            Self::TooManyPixels(w, h) => write!(
                f,
                "a picture of {w} x {h} pixels is too large; choose fewer dots per inch"
            ),
            Self::BadSize => {
                f.write_str("the page or its resolution has no size; give sizes above zero")
            }
            Self::NotWritable => {
                f.write_str("this page cannot be written in this format; choose another format")
            }
        }
    }
}

impl std::error::Error for ExportError {}
