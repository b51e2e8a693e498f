//! Pages as SVG in millimetres. Each letter has its own place and the font comes along, so that a
//! viewer with other fonts shows the same page.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;

use super::ink::{HEAVY, Ink, inks};
use super::look::Pen;
use super::pixels::encode;
use crate::sheet::page::Page;
use crate::sheet::text;

/// What the font is called inside the file.
const FAMILY: &str = "Evenfield text";

/// A page as an SVG file: one user unit is one millimetre.
pub fn svg(page: &Page) -> String {
    let font = format!(
        "<style>@font-face{{font-family:'{FAMILY}';src:url(data:font/ttf;base64,{}) format('truetype')}}</style>\n",
        STANDARD.encode(text::FONT)
    );
    written(page, &font)
}

/// Blanks are kept in both ways that readers know, or a second blank would be dropped and the letters
/// after it take each other's places.
fn written(page: &Page, font: &str) -> String {
    let (w, h) = (short(page.width), short(page.height));
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\">\n\
         {font}<rect width=\"{w}\" height=\"{h}\" fill=\"#fff\"/>\n\
         <g font-family=\"'{FAMILY}',sans-serif\" stroke-linejoin=\"round\" xml:space=\"preserve\" style=\"white-space:pre\">\n"
    );
    let mut clips = 0;
    for ink in inks(page) {
        match ink {
            Ink::Path {
                points,
                closed,
                fill,
                pen,
            } => out.push_str(&path(&points, closed, fill, pen)),
            Ink::Text {
                at,
                text,
                size,
                heavy,
            } => out.push_str(&words(at, &text, size, heavy)),
            Ink::Image {
                at: [x, y],
                size: [w, h],
                columns,
                rows,
                rgba,
            } => {
                // pixels that do not fill their image cannot come from a raster; nothing to show then
                if let Some(png) = encode(columns, rows, &rgba, None) {
                    out.push_str(&format!(
                        "<image x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" preserveAspectRatio=\"none\" \
                         style=\"image-rendering:pixelated\" href=\"data:image/png;base64,{}\"/>\n",
                        short(x),
                        short(y),
                        short(w),
                        short(h),
                        STANDARD.encode(png)
                    ));
                }
            }
            Ink::Clip(outline) => {
                clips += 1;
                out.push_str(&format!(
                    "<clipPath id=\"clip{clips}\"><path d=\"{}\"/></clipPath>\n<g clip-path=\"url(#clip{clips})\">\n",
                    data(&outline, true)
                ));
            }
            Ink::Unclip => out.push_str("</g>\n"),
        }
    }
    out.push_str("</g>\n</svg>\n");
    out
}

fn path(points: &[[f64; 2]], closed: bool, fill: Option<[u8; 3]>, pen: Option<Pen>) -> String {
    let fill = fill.map_or_else(
        || "none".to_owned(),
        |[r, g, b]| format!("#{r:02x}{g:02x}{b:02x}"),
    );
    let stroke = pen.map_or_else(String::new, |pen| {
        let g = pen.grey;
        let dash = pen.dash.map_or_else(String::new, |(on, off)| {
            format!(" stroke-dasharray=\"{},{}\"", short(on), short(off))
        });
        format!(
            " stroke=\"#{g:02x}{g:02x}{g:02x}\" stroke-width=\"{}\"{dash}",
            short(pen.width)
        )
    });
    format!(
        "<path d=\"{}\" fill=\"{fill}\"{stroke}/>\n",
        data(points, closed)
    )
}

fn data(points: &[[f64; 2]], closed: bool) -> String {
    let mut d = String::new();
    for (i, [x, y]) in points.iter().enumerate() {
        d.push(if i == 0 { 'M' } else { 'L' });
        d.push_str(&format!("{},{}", short(*x), short(*y)));
    }
    if closed {
        d.push('Z');
    }
    d
}

fn words([x, y]: [f64; 2], said: &str, size: f64, heavy: bool) -> String {
    let glyphs = text::glyphs(said);
    let mut places = Vec::with_capacity(glyphs.len());
    let mut at = x;
    for glyph in &glyphs {
        places.push(short(at));
        at += glyph.advance * size;
    }
    let rim = if heavy {
        format!(" stroke=\"#000\" stroke-width=\"{}\"", short(HEAVY * size))
    } else {
        String::new()
    };
    let escaped: String = glyphs
        .iter()
        .map(|g| match g.character {
            '&' => "&amp;".to_owned(),
            '<' => "&lt;".to_owned(),
            '>' => "&gt;".to_owned(),
            c => c.to_string(),
        })
        .collect();
    format!(
        "<text x=\"{}\" y=\"{}\" font-size=\"{}\"{rim}>{escaped}</text>\n",
        places.join(" "),
        short(y),
        short(size)
    )
}

/// A number to a thousandth of a millimetre, as short as it goes.
fn short(value: f64) -> String {
    let rounded = (value * 1e3).round() / 1e3;
    format!(
        "{}",
        if rounded.is_finite() {
            rounded + 0.0
        } else {
            0.0
        }
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Bounds, Point};
    use crate::sheet::drawing::{Drawing, Item, Role};
    use crate::sheet::page::{Align, Frame, PageItem, PaperSize, Placed};

    #[test]
    fn a_hundred_millimetres_at_one_to_one_are_a_hundred_on_paper() {
        let corner = |x, y| Point::new(x, y);
        let points = vec![
            corner(0.0, 0.0),
            corner(100.0, 0.0),
            corner(100.0, 100.0),
            corner(0.0, 100.0),
        ];
        let bounds = Bounds {
            min: corner(-5.0, -5.0),
            max: corner(105.0, 105.0),
        };
        let mut page = Page::new(PaperSize::A4);
        page.items.push(PageItem::Drawing(Placed {
            drawing: Drawing {
                bounds,
                items: vec![Item::Path {
                    points,
                    closed: true,
                    role: Role::Fixture,
                }],
            },
            frame: Frame {
                x: 20.0,
                y: 30.0,
                width: 110.0,
                height: 110.0,
            },
            scale: 1.0,
        }));
        let text = svg(&page);
        assert!(text.contains("width=\"210mm\" height=\"297mm\" viewBox=\"0 0 210 297\""));
        assert!(
            text.contains("M25,135L125,135L125,35L25,35Z"),
            "{}",
            &text[..600]
        );
    }

    #[test]
    fn text_is_escaped_and_each_letter_placed() {
        let mut page = Page::new(PaperSize::Letter);
        page.text(10.0, 20.0, "a<b & \"c\"", 3.0, Align::Left);
        let text = written(&page, "");
        assert!(text.contains(">a&lt;b &amp; \"c\"</text>"), "{text}");
        let places = text
            .split("<text x=\"")
            .nth(1)
            .and_then(|rest| rest.split('"').next())
            .expect("a text element");
        assert_eq!(places.split(' ').count(), 9);
    }
}
