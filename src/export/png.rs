//! Pages as PNG: painted from the SVG with the bundled font and no other.

use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{FontResolver, Options, Tree, fontdb};

use super::ExportError;
use super::pixels::encode;
use super::svg::without_font;
use crate::sheet::page::Page;
use crate::sheet::text;

/// More pixels than this along a side, or in all, would take more memory than an office machine has
/// to spare.
const MOST_ALONG: u64 = 20_000;
const MOST_IN_ALL: u64 = 150_000_000;

/// A page as a PNG file of `dpi` pixels an inch, on white; the file says its resolution.
///
/// # Errors
/// [`ExportError::BadSize`] and [`ExportError::TooManyPixels`] for what a picture cannot be,
/// [`ExportError::NotWritable`] when the page could not be painted.
pub fn png(page: &Page, dpi: f64) -> Result<Vec<u8>, ExportError> {
    let Pixels {
        width,
        height,
        rgba,
    } = pixels(page, dpi)?;
    encode(width, height, &rgba, Some(dpi)).ok_or(ExportError::NotWritable)
}

/// A page as pixels, row by row from the upper left, red, green, blue and opacity of each.
#[derive(Debug, Clone, PartialEq)]
pub struct Pixels {
    /// Along a row.
    pub width: u32,
    /// Rows.
    pub height: u32,
    /// Four bytes a pixel.
    pub rgba: Vec<u8>,
}

/// A page as pixels, `dpi` of them an inch, on white.
///
/// # Errors
/// As [`png`].
pub fn pixels(page: &Page, dpi: f64) -> Result<Pixels, ExportError> {
    let scale = dpi / crate::units::MM_PER_INCH;
    let pixels = |mm: f64| (mm * scale).round();
    let (width, height) = (pixels(page.width), pixels(page.height));
    if !(width >= 1.0 && height >= 1.0) {
        return Err(ExportError::BadSize);
    }
    // a float beyond u64 becomes its greatest value, which is too many as well
    let (width, height) = (width as u64, height as u64);
    if width > MOST_ALONG || height > MOST_ALONG || width * height > MOST_IN_ALL {
        return Err(ExportError::TooManyPixels(width, height));
    }
    let mut fonts = fontdb::Database::new();
    let ours = fonts
        .load_font_source(fontdb::Source::Binary(std::sync::Arc::new(text::FONT)))
        .first()
        .copied();
    let options = Options {
        fontdb: std::sync::Arc::new(fonts),
        font_resolver: FontResolver {
            select_font: Box::new(move |_, _| ours),
            select_fallback: Box::new(|_, _, _| None),
        },
        ..Options::default()
    };
    let tree =
        Tree::from_str(&without_font(page), &options).map_err(|_| ExportError::NotWritable)?;
    let (width, height) = (width as u32, height as u32);
    let mut pixmap = Pixmap::new(width, height).ok_or(ExportError::BadSize)?;
    let size = tree.size();
    let fit = Transform::from_scale(width as f32 / size.width(), height as f32 / size.height());
    resvg::render(&tree, fit, &mut pixmap.as_mut());
    // the page is opaque white, so that premultiplied and plain colours are the same
    Ok(Pixels {
        width,
        height,
        rgba: pixmap.take(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::page::{Align, Frame, PageItem, PaperSize};

    fn decoded(bytes: &[u8]) -> (u32, u32, Vec<u8>) {
        let mut reader = png::Decoder::new(std::io::Cursor::new(bytes))
            .read_info()
            .expect("a PNG");
        let mut pixels = vec![0; reader.output_buffer_size().expect("a size")];
        let info = reader.next_frame(&mut pixels).expect("one frame");
        (info.width, info.height, pixels)
    }

    #[test]
    fn letters_and_lines_are_painted_where_they_stand() {
        let mut page = Page::new(PaperSize::A4);
        page.text(100.0, 100.0, "HHHH", 10.0, Align::Left);
        page.items.push(PageItem::Rectangle {
            frame: Frame {
                x: 10.0,
                y: 10.0,
                width: 20.0,
                height: 20.0,
            },
            rim: None,
            fill: Some([255, 0, 0]),
        });
        let (width, height, pixels) = decoded(&png(&page, 50.8).expect("painted"));
        assert_eq!((width, height), (420, 594));
        let at = |x_mm: f64, y_mm: f64| {
            let i = ((y_mm * 2.0) as usize * 420 + (x_mm * 2.0) as usize) * 4;
            [pixels[i], pixels[i + 1], pixels[i + 2]]
        };
        assert_eq!(at(20.0, 20.0), [255, 0, 0]);
        assert_eq!(at(60.0, 60.0), [255; 3]);
        let dark = |x: f64| (0..20).any(|i| at(x + 0.5 * f64::from(i), 96.5)[0] < 160);
        assert!(dark(100.0), "no letter where it should be");
        assert!(!dark(150.0));
    }

    #[test]
    fn more_blanks_than_one_keep_each_letter_at_its_place() {
        let mut whole = Page::new(PaperSize::A4);
        whole.text(20.0, 20.0, "H   I O", 10.0, Align::Left);
        let mut parts = Page::new(PaperSize::A4);
        for (before, letter) in [("", "H"), ("H   ", "I"), ("H   I ", "O")] {
            let x = 20.0 + text::width(before, 10.0);
            parts.text(x, 20.0, letter, 10.0, Align::Left);
        }
        let painted = |page| decoded(&png(page, 100.0).expect("painted"));
        assert_eq!(painted(&whole), painted(&parts));
    }

    #[test]
    fn sizes_that_cannot_be_are_refused() {
        let page = Page::new(PaperSize::A4);
        assert_eq!(png(&page, 0.0), Err(ExportError::BadSize));
        assert_eq!(png(&page, f64::NAN), Err(ExportError::BadSize));
        assert!(matches!(
            png(&page, 1e9),
            Err(ExportError::TooManyPixels(..))
        ));
    }
}
