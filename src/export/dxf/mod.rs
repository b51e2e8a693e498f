//! Drawings for a machine: DXF R12 (AC1009), text, in mm from the datum, y to the back. Written by the published description
//! of that format: groups of a code and a value, a line each; texts are in the letters that R12 knows.

mod placement;
mod plate;

pub use placement::{Outlined, placement_dxf};
pub use plate::plate_dxf;

use crate::geometry::{Footprint, Point, Shape};

/// A drawing while it is written.
struct Groups(String);

impl Groups {
    /// With layers and their colours, by the numbers of the format.
    fn begin(layers: &[(&str, u8)]) -> Self {
        let mut out = Self(String::new());
        out.pairs(&[
            (0, "SECTION"),
            (2, "HEADER"),
            (9, "$ACADVER"),
            (1, "AC1009"),
        ]);
        // 4: millimetres
        out.pairs(&[(9, "$INSUNITS"), (70, "4"), (0, "ENDSEC")]);
        let count = layers.len().to_string();
        out.pairs(&[
            (0, "SECTION"),
            (2, "TABLES"),
            (0, "TABLE"),
            (2, "LAYER"),
            (70, &count),
        ]);
        for (name, colour) in layers {
            out.pairs(&[
                (0, "LAYER"),
                (2, name),
                (70, "0"),
                (62, &colour.to_string()),
                (6, "CONTINUOUS"),
            ]);
        }
        out.pairs(&[
            (0, "ENDTAB"),
            (0, "ENDSEC"),
            (0, "SECTION"),
            (2, "ENTITIES"),
        ]);
        out
    }

    fn end(mut self) -> String {
        self.pairs(&[(0, "ENDSEC"), (0, "EOF")]);
        self.0
    }

    fn pairs(&mut self, pairs: &[(u16, &str)]) {
        for (code, value) in pairs {
            self.0.push_str(&format!("{code:>3}\n{value}\n"));
        }
    }

    fn number(&mut self, code: u16, value: f64) {
        // no minus before a zero
        let value = if value.abs() < 5e-5 { 0.0 } else { value };
        self.0.push_str(&format!("{code:>3}\n{value:.4}\n"));
    }

    fn at(&mut self, p: Point) {
        self.number(10, p.x);
        self.number(20, p.y);
        self.number(30, 0.0);
    }

    /// A second point of the same thing.
    fn to(&mut self, p: Point) {
        self.number(11, p.x);
        self.number(21, p.y);
        self.number(31, 0.0);
    }

    fn outline(&mut self, footprint: &Footprint, layer: &str) {
        if let Shape::Circle { diameter } = footprint.shape {
            self.pairs(&[(0, "CIRCLE"), (8, layer)]);
            self.at(footprint.centre);
            self.number(40, 0.5 * diameter);
            return;
        }
        // 66: vertices follow; 70: closed
        self.pairs(&[(0, "POLYLINE"), (8, layer), (66, "1"), (70, "1")]);
        self.at(Point::new(0.0, 0.0));
        for corner in footprint.outline() {
            self.pairs(&[(0, "VERTEX"), (8, layer)]);
            self.at(corner);
        }
        self.pairs(&[(0, "SEQEND"), (8, layer)]);
    }

    fn point(&mut self, at: Point, layer: &str) {
        self.pairs(&[(0, "POINT"), (8, layer)]);
        self.at(at);
    }

    fn line(&mut self, from: Point, to: Point, layer: &str) {
        self.pairs(&[(0, "LINE"), (8, layer)]);
        self.at(from);
        self.to(to);
    }

    /// Two arms from the datum along x and y.
    fn datum(&mut self) {
        let arm = 10.0;
        for to in [Point::new(arm, 0.0), Point::new(0.0, arm)] {
            self.line(Point::new(0.0, 0.0), to, "DATUM");
        }
    }

    /// A text that begins at a point.
    fn text(&mut self, text: &str, at: Point, size: f64, layer: &str) {
        self.pairs(&[(0, "TEXT"), (8, layer)]);
        self.at(at);
        self.number(40, size);
        self.pairs(&[(1, &plain(text))]);
    }

    /// A text with its middle at a point.
    fn centred(&mut self, text: &str, at: Point, size: f64, layer: &str) {
        self.text(text, at, size, layer);
        // 72: centred along, 73: centred across, about the second point
        self.pairs(&[(72, "1")]);
        self.to(at);
        self.pairs(&[(73, "2")]);
    }
}

/// In the letters that R12 knows.
fn plain(text: &str) -> String {
    let known = |c: char| c.is_ascii_graphic() || c == ' ';
    text.chars()
        .map(|c| if known(c) { c } else { '_' })
        .collect()
}
