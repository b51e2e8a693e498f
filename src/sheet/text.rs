//! How wide text is. Every painter and every layout asks here, so that a line that fits on the page
//! fits in all of its forms: glyphs stand side by side by their advance, without kerning or
//! ligatures. What the bundled font has no glyph for is replaced before anything is measured.

use std::sync::LazyLock;

use skrifa::instance::{LocationRef, Size};
use skrifa::metrics::GlyphMetrics;
use skrifa::outline::DrawSettings;
pub use skrifa::outline::OutlinePen;
use skrifa::{FontRef, MetadataProvider};

/// The one font of all pages.
pub const FONT: &[u8] = epaint_default_fonts::UBUNTU_LIGHT;

/// Height of a capital letter above the baseline, in font sizes.
pub const CAPITAL: f64 = 0.69;

/// One glyph of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Glyph {
    /// The character it stands for, after replacement.
    pub character: char,
    /// Its number in [`FONT`].
    pub id: u32,
    /// To the next glyph, in font sizes.
    pub advance: f64,
}

static FACE: LazyLock<FontRef<'static>> =
    LazyLock::new(|| FontRef::new(FONT).expect("the bundled font can be read"));

/// The glyphs of one line of text. Line ends and tabs become blanks, other control characters go, and
/// a character without a glyph becomes a near equivalent or `?`.
pub fn glyphs(text: &str) -> Vec<Glyph> {
    let charmap = FACE.charmap();
    let metrics = GlyphMetrics::new(&FACE, Size::new(1.0), LocationRef::default());
    let glyph = |character: char| {
        charmap.map(character).map(|id| Glyph {
            character,
            id: id.to_u32(),
            advance: f64::from(metrics.advance_width(id).unwrap_or(0.0)),
        })
    };
    text.chars()
        .flat_map(|c| match near_equivalent(c) {
            Some(other) => other.chars().filter_map(glyph).collect::<Vec<_>>(),
            None if c.is_control() => Vec::new(),
            None => glyph(c).or_else(|| glyph('?')).into_iter().collect(),
        })
        .collect()
}

/// What stands for characters that people do type and the font lacks, and for blanks of all widths.
fn near_equivalent(c: char) -> Option<&'static str> {
    Some(match c {
        '\n' | '\r' | '\t' | '\u{a0}' | '\u{2002}'..='\u{200a}' | '\u{202f}' => " ",
        '\u{200b}'..='\u{200f}' | '\u{feff}' => "",
        '→' => "->",
        '←' => "<-",
        '↔' => "<->",
        '⁻' => "-",
        '⌀' | '∅' => "Ø",
        '✓' | '✔' => "ok",
        '∙' | '●' | '■' => "·",
        'Ω' => "Ω",
        _ => return None,
    })
}

/// Draws a glyph, in font sizes from its place on the baseline, y up; one without an outline draws nothing.
pub fn outline(glyph: Glyph, pen: &mut impl OutlinePen) {
    let settings = DrawSettings::unhinted(Size::new(1.0), LocationRef::default());
    if let Some(outline) = FACE.outline_glyphs().get(skrifa::GlyphId::new(glyph.id)) {
        // what the bundled font can't draw stays blank
        let _ = outline.draw(settings, pen);
    }
}

/// Width of one line of text, in the unit of `size`.
pub fn width(text: &str, size: f64) -> f64 {
    size * glyphs(text).iter().map(|g| g.advance).sum::<f64>()
}

/// How far the letters of one line reach above and below the baseline, in font sizes.
pub fn reach(text: &str) -> (f64, f64) {
    let metrics = GlyphMetrics::new(&FACE, Size::new(1.0), LocationRef::default());
    glyphs(text)
        .iter()
        .filter_map(|g| metrics.bounds(skrifa::GlyphId::new(g.id)))
        .map(|b| (f64::from(b.y_max), f64::from(-b.y_min)))
        .fold((0.0, 0.0), |(above, below), (a, b)| {
            (above.max(a), below.max(b))
        })
}

/// Breaks text into lines no wider than `width`, between words where it can and within a word that is
/// wider than a whole line. At least one line, possibly empty.
pub fn wrap(text: &str, size: f64, room: f64) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let joined = if line.is_empty() {
            word.to_owned()
        } else {
            format!("{line} {word}")
        };
        if width(&joined, size) <= room {
            line = joined;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for c in word.chars() {
            line.push(c);
            if line.chars().count() > 1 && width(&line, size) > room {
                line.pop();
                lines.push(std::mem::replace(&mut line, c.to_string()));
            }
        }
    }
    lines.push(line);
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(text: &str) -> String {
        glyphs(text).iter().map(|g| g.character).collect()
    }

    #[test]
    fn figures_are_all_as_wide() {
        let widths: Vec<f64> = ('0'..='9').map(|c| width(&c.to_string(), 1.0)).collect();
        assert!(widths.iter().all(|w| (w - widths[0]).abs() < 1e-9));
        assert!(widths[0] > 0.3);
    }

    #[test]
    fn letters_reach_as_far_as_they_are_tall() {
        let (above, below) = reach("H0");
        assert!(
            (above - CAPITAL).abs() < 0.03 && below < 0.03,
            "{above} {below}"
        );
        assert!(reach("g").1 > 0.15 && reach("(").1 > 0.1);
        assert_eq!(reach(""), (0.0, 0.0));
    }

    #[test]
    fn nothing_is_left_without_a_glyph() {
        assert_eq!(said("a→b\tc\u{7}"), "a->b c");
        assert_eq!(said("窓"), "?");
        assert_eq!(said("mW/cm² ± µ · ° × – …"), "mW/cm² ± µ · ° × – …");
        assert!(glyphs("any ⌀ text 窓 \u{1F512}").iter().all(|g| g.id != 0));
    }

    #[test]
    fn wrapped_lines_fit_and_lose_nothing() {
        let text = "a station with quite-a-long-name-without-any-blank-in-it and more words";
        let lines = wrap(text, 3.0, 25.0);
        assert!(lines.len() > 2);
        assert!(lines.iter().all(|l| width(l, 3.0) <= 25.0), "{lines:?}");
        let without = |s: &str| s.replace(' ', "");
        assert_eq!(without(&lines.concat()), without(text));
        assert_eq!(wrap("", 3.0, 25.0), [""]);
    }
}
