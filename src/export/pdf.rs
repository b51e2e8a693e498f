//! Pages as PDF: vectors, the used part of the font inside, text that can be selected and searched.

use krilla::color::luma;
use krilla::color::rgb;
use krilla::geom::{Path, PathBuilder, Point, Size, Transform};
use krilla::image::Image;
use krilla::metadata::{DateTime, Metadata};
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, LineJoin, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::text::{Font, GlyphId, KrillaGlyph};
use krilla::{Document, SerializeSettings};

use super::ExportError;
use super::ink::{HEAVY, Ink, inks};
use super::look::Pen;
use crate::sheet::page::Page;
use crate::sheet::text;

/// What a PDF says of itself.
#[derive(Debug, Clone, PartialEq)]
pub struct PdfOptions {
    /// Shown in a viewer's title bar.
    pub title: String,
    /// The program that made it, with its version.
    pub creator: String,
    /// When it was made, without a zone; `None`: not said.
    pub date: Option<jiff::civil::DateTime>,
}

/// Points in a millimetre (1 pt = 1/72 in).
const POINTS: f64 = 72.0 / crate::units::MM_PER_INCH;

/// Pages as one PDF file. The same pages and options give the same bytes.
///
/// # Errors
/// [`ExportError::NoPages`], [`ExportError::BadSize`] for a page without a size,
/// [`ExportError::NotWritable`] when the writer refused.
pub fn pdf(pages: &[Page], options: &PdfOptions) -> Result<Vec<u8>, ExportError> {
    if pages.is_empty() {
        return Err(ExportError::NoPages);
    }
    let font = Font::new(text::FONT.into(), 0).ok_or(ExportError::NotWritable)?;
    let mut document = Document::new_with(SerializeSettings {
        enable_tagging: false,
        ..SerializeSettings::default()
    });
    for page in pages {
        let size =
            PageSettings::from_wh((page.width * POINTS) as f32, (page.height * POINTS) as f32)
                .ok_or(ExportError::BadSize)?;
        let mut sheet = document.start_page_with(size);
        let mut surface = sheet.surface();
        // from here on in millimetres
        surface.push_transform(&Transform::from_scale(POINTS as f32, POINTS as f32));
        for ink in inks(page) {
            paint(&mut surface, ink, &font);
        }
        surface.pop();
        surface.finish();
        sheet.finish();
    }
    document.set_metadata(metadata(options, pages.len()));
    document.finish().map_err(|_| ExportError::NotWritable)
}

fn metadata(options: &PdfOptions, pages: usize) -> Metadata {
    let date = options.date.map(|d| d.to_string()).unwrap_or_default();
    let metadata = Metadata::new()
        .title(options.title.clone())
        .creator(options.creator.clone())
        .producer(options.creator.clone())
        .language("en".to_owned())
        .document_id(format!(
            "{}|{}|{date}|{pages}",
            options.creator, options.title
        ));
    let Some(d) = options.date else {
        return metadata;
    };
    // a civil date's fields are in their ranges; a year before 0 has no form in PDF
    let field = |v: i8| u8::try_from(v).unwrap_or(0);
    metadata.creation_date(
        DateTime::new(u16::try_from(d.year()).unwrap_or(0))
            .month(field(d.month()))
            .day(field(d.day()))
            .hour(field(d.hour()))
            .minute(field(d.minute()))
            .second(field(d.second())),
    )
}

fn paint(surface: &mut Surface<'_>, ink: Ink, font: &Font) {
    match ink {
        Ink::Path {
            points,
            closed,
            fill,
            pen,
        } => {
            if let Some(path) = path(&points, closed) {
                surface.set_fill(fill.map(|[r, g, b]| filled(rgb::Color::new(r, g, b).into())));
                surface.set_stroke(pen.map(stroke));
                surface.draw_path(&path);
            }
        }
        Ink::Text {
            at,
            text,
            size,
            heavy,
        } => words(surface, font, at, &text, size, heavy),
        Ink::Image {
            at: [x, y],
            size: [w, h],
            columns,
            rows,
            rgba,
        } => {
            if let Some(size) = Size::from_wh(w as f32, h as f32) {
                surface.push_transform(&Transform::from_translate(x as f32, y as f32));
                surface.draw_image(Image::from_rgba8(rgba, columns, rows), size);
                surface.pop();
            }
        }
        // every clip is matched, so that one that cannot be drawn clips everything away
        Ink::Clip(outline) => {
            let nothing = || path(&[[0.0, 0.0], [0.0, 1e-3], [1e-3, 0.0]], true);
            if let Some(path) = path(&outline, true).or_else(nothing) {
                surface.push_clip_path(&path, &FillRule::NonZero);
            }
        }
        Ink::Unclip => surface.pop(),
    }
}

fn path(points: &[[f64; 2]], closed: bool) -> Option<Path> {
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

fn filled(paint: krilla::paint::Paint) -> Fill {
    Fill {
        paint,
        opacity: NormalizedF32::ONE,
        rule: FillRule::NonZero,
    }
}

fn stroke(pen: Pen) -> Stroke {
    Stroke {
        paint: luma::Color::new(pen.grey).into(),
        width: pen.width as f32,
        line_join: LineJoin::Round,
        dash: pen.dash.map(|(on, off)| StrokeDash {
            array: vec![on as f32, off as f32],
            offset: 0.0,
        }),
        ..Stroke::default()
    }
}

fn words(
    surface: &mut Surface<'_>,
    font: &Font,
    [x, y]: [f64; 2],
    said: &str,
    size: f64,
    heavy: bool,
) {
    let mut written = String::new();
    let glyphs: Vec<KrillaGlyph> = text::glyphs(said)
        .into_iter()
        .map(|g| {
            let from = written.len();
            written.push(g.character);
            KrillaGlyph::new(
                GlyphId::new(g.id),
                g.advance as f32,
                0.0,
                0.0,
                0.0,
                from..written.len(),
                None,
            )
        })
        .collect();
    if glyphs.is_empty() {
        return;
    }
    let at = Point::from_xy(x as f32, y as f32);
    surface.set_fill(Some(filled(luma::Color::black().into())));
    surface.set_stroke(heavy.then(|| {
        stroke(Pen {
            width: HEAVY * size,
            grey: 0,
            dash: None,
        })
    }));
    surface.draw_glyphs(at, &glyphs, font.clone(), &written, size as f32, false);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::page::{Align, PaperSize};

    fn options() -> PdfOptions {
        PdfOptions {
            title: "A title".to_owned(),
            creator: "Evenfield 1".to_owned(),
            date: Some(jiff::civil::date(2026, 3, 4).at(5, 6, 7, 0)),
        }
    }

    #[test]
    fn the_same_page_gives_the_same_bytes_and_says_its_date() {
        let mut page = Page::new(PaperSize::Letter);
        page.text(20.0, 20.0, "µ ± ² 窓", 4.0, Align::Left);
        page.line([0.0, 0.0], [10.0, 10.0], 0.2);
        let make = || pdf(std::slice::from_ref(&page), &options()).expect("written");
        let first = make();
        assert_eq!(first, make());
        let text = String::from_utf8_lossy(&first);
        assert!(text.starts_with("%PDF-"));
        assert!(text.contains("20260304050607"));
        // without these a viewer can neither select text nor show it without the font
        assert!(text.contains("/ToUnicode") && text.contains("/FontFile"));
        assert!(text.contains("612 792"), "a letter page is 612 pt x 792 pt");
    }

    #[test]
    fn no_pages_are_no_file() {
        assert_eq!(pdf(&[], &options()), Err(ExportError::NoPages));
    }
}
