//! Pages as PNG: painted from the same list as PDF and SVG, letters by the outlines of the bundled font.

use tiny_skia::{
    Color, FillRule, FilterQuality, IntSize, LineJoin, Mask, Paint, Path, PathBuilder, Pattern,
    Pixmap, Rect, SpreadMode, Stroke, StrokeDash, Transform,
};

use super::ExportError;
use super::ink::{HEAVY, Ink, inks};
use super::look::Pen;
use super::pixels::encode;
use crate::sheet::page::Page;
use crate::sheet::text::{self, OutlinePen};

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
/// As [`png()`].
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
    let (width, height) = (width as u32, height as u32);
    let mut pixmap = Pixmap::new(width, height).ok_or(ExportError::BadSize)?;
    pixmap.fill(Color::WHITE);
    let mut canvas = Canvas {
        fit: Transform::from_scale(
            width as f32 / page.width as f32,
            height as f32 / page.height as f32,
        ),
        pixmap,
        clips: Vec::new(),
    };
    for ink in inks(page) {
        canvas.paint(ink);
    }
    // the page is opaque white, so that premultiplied and plain colours are the same
    Ok(Pixels {
        width,
        height,
        rgba: canvas.pixmap.take(),
    })
}

/// What is painted on, in millimetres of paper.
struct Canvas {
    pixmap: Pixmap,
    fit: Transform,
    /// What shows, each inside the one before.
    clips: Vec<Mask>,
}

impl Canvas {
    fn paint(&mut self, ink: Ink) {
        match ink {
            Ink::Path {
                points,
                closed,
                fill,
                pen,
            } => {
                let Some(path) = outline(&points, closed) else {
                    return;
                };
                if let Some([r, g, b]) = fill {
                    self.fill(&path, solid(r, g, b));
                }
                if let Some(pen) = pen {
                    self.stroke(&path, pen);
                }
            }
            Ink::Text {
                at,
                text,
                size,
                heavy,
            } => self.words(at, &text, size, heavy),
            Ink::Image {
                at,
                size,
                columns,
                rows,
                rgba,
            } => self.image(at, size, (columns, rows), rgba),
            Ink::Clip(outline) => self.clip(&outline),
            Ink::Unclip => {
                self.clips.pop();
            }
        }
    }

    fn fill(&mut self, path: &Path, paint: Paint<'_>) {
        let clip = self.clips.last();
        self.pixmap
            .fill_path(path, &paint, FillRule::Winding, self.fit, clip);
    }

    fn stroke(&mut self, path: &Path, pen: Pen) {
        let stroke = Stroke {
            width: pen.width as f32,
            line_join: LineJoin::Round,
            dash: (pen.dash)
                .and_then(|(on, off)| StrokeDash::new(vec![on as f32, off as f32], 0.0)),
            ..Stroke::default()
        };
        let paint = solid(pen.grey, pen.grey, pen.grey);
        let clip = self.clips.last();
        self.pixmap
            .stroke_path(path, &paint, &stroke, self.fit, clip);
    }

    /// A line of text; heavier letters are stroked too.
    fn words(&mut self, [x, y]: [f64; 2], said: &str, size: f64, heavy: bool) {
        let mut letters = Letters {
            path: PathBuilder::new(),
            at: [x, y],
            size,
        };
        for glyph in text::glyphs(said) {
            text::outline(glyph, &mut letters);
            letters.at[0] += glyph.advance * size;
        }
        let Some(letters) = letters.path.finish() else {
            return;
        };
        self.fill(&letters, solid(0, 0, 0));
        if heavy {
            let pen = Pen {
                width: HEAVY * size,
                grey: 0,
                dash: None,
            };
            self.stroke(&letters, pen);
        }
    }

    /// Pixels as they are, without anything between them.
    fn image(
        &mut self,
        [x, y]: [f64; 2],
        [width, height]: [f64; 2],
        (columns, rows): (u32, u32),
        mut rgba: Vec<u8>,
    ) {
        for pixel in rgba.chunks_exact_mut(4) {
            if pixel[3] == 0 {
                pixel.fill(0);
            }
        }
        // pixels that do not fill their image cannot come from a raster; nothing to show then
        let pixels = IntSize::from_wh(columns, rows).and_then(|size| Pixmap::from_vec(rgba, size));
        let place = Rect::from_xywh(x as f32, y as f32, width as f32, height as f32);
        let (Some(pixels), Some(place)) = (pixels, place) else {
            return;
        };
        let across = place.width() / columns as f32;
        let down = place.height() / rows as f32;
        let paint = Paint {
            shader: Pattern::new(
                pixels.as_ref(),
                SpreadMode::Pad,
                FilterQuality::Nearest,
                1.0,
                Transform::from_row(across, 0.0, 0.0, down, place.left(), place.top()),
            ),
            ..Paint::default()
        };
        let path = PathBuilder::from_rect(place);
        let clip = self.clips.last();
        self.pixmap
            .fill_path(&path, &paint, FillRule::Winding, self.fit, clip);
    }

    /// An outline that cannot be filled hides everything.
    fn clip(&mut self, points: &[[f64; 2]]) {
        let (width, height) = (self.pixmap.width(), self.pixmap.height());
        let path = outline(points, true);
        let mask = match (self.clips.last(), &path) {
            (Some(before), Some(path)) => {
                let mut mask = before.clone();
                mask.intersect_path(path, FillRule::Winding, true, self.fit);
                Some(mask)
            }
            (None, Some(path)) => Mask::new(width, height).map(|mut mask| {
                mask.fill_path(path, FillRule::Winding, true, self.fit);
                mask
            }),
            (_, None) => Mask::new(width, height),
        };
        self.clips.extend(mask);
    }
}

/// Outlines of letters, in font sizes and y up, put on the page.
struct Letters {
    path: PathBuilder,
    /// Where the next letter stands on its baseline, mm.
    at: [f64; 2],
    /// mm.
    size: f64,
}

impl Letters {
    fn on_page(&self, x: f32, y: f32) -> (f32, f32) {
        let [left, baseline] = self.at;
        (
            (left + f64::from(x) * self.size) as f32,
            (baseline - f64::from(y) * self.size) as f32,
        )
    }
}

impl OutlinePen for Letters {
    fn move_to(&mut self, x: f32, y: f32) {
        let (x, y) = self.on_page(x, y);
        self.path.move_to(x, y);
    }

    fn line_to(&mut self, x: f32, y: f32) {
        let (x, y) = self.on_page(x, y);
        self.path.line_to(x, y);
    }

    fn quad_to(&mut self, cx0: f32, cy0: f32, x: f32, y: f32) {
        let ((a, b), (x, y)) = (self.on_page(cx0, cy0), self.on_page(x, y));
        self.path.quad_to(a, b, x, y);
    }

    fn curve_to(&mut self, cx0: f32, cy0: f32, cx1: f32, cy1: f32, x: f32, y: f32) {
        let ((a, b), (c, d)) = (self.on_page(cx0, cy0), self.on_page(cx1, cy1));
        let (x, y) = self.on_page(x, y);
        self.path.cubic_to(a, b, c, d, x, y);
    }

    fn close(&mut self) {
        self.path.close();
    }
}

fn outline(points: &[[f64; 2]], closed: bool) -> Option<Path> {
    let mut builder = PathBuilder::new();
    for (i, [x, y]) in points.iter().enumerate() {
        if i == 0 {
            builder.move_to(*x as f32, *y as f32);
        } else {
            builder.line_to(*x as f32, *y as f32);
        }
    }
    if closed {
        builder.close();
    }
    builder.finish()
}

fn solid(r: u8, g: u8, b: u8) -> Paint<'static> {
    let mut paint = Paint::default();
    paint.set_color_rgba8(r, g, b, 255);
    paint
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
