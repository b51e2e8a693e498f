//! Outlines for a machine: DXF R12 (AC1009), text, in mm from the datum, y to the back.
//!
//! Layers: `FIXTURE`, `KEEPOUTS`, `STAYING` (sites that stay), `PARTS`, `CENTRES` (points), `NAMES` (texts), `DATUM`. Written by the published
//! description of that format: groups of a code and a value, a line each; names are in the letters that R12 knows.

use crate::geometry::{Footprint, Point, Shape};

/// What is drawn of one part: its outline and its name.
#[derive(Debug, Clone)]
pub struct Outlined {
    /// Outline.
    pub footprint: Footprint,
    /// Such as A1 or 7.
    pub name: String,
}

/// The drawing of an arrangement, with the sites that stay.
pub fn placement_dxf(
    fixture: &Footprint,
    keep_outs: &[Footprint],
    stay: &[Outlined],
    parts: &[Outlined],
) -> String {
    let mut out = Groups(String::new());
    out.pairs(&[
        (0, "SECTION"),
        (2, "HEADER"),
        (9, "$ACADVER"),
        (1, "AC1009"),
    ]);
    // 4: millimetres
    out.pairs(&[(9, "$INSUNITS"), (70, "4"), (0, "ENDSEC")]);
    out.pairs(&[
        (0, "SECTION"),
        (2, "TABLES"),
        (0, "TABLE"),
        (2, "LAYER"),
        (70, "7"),
    ]);
    for (name, colour) in [
        ("FIXTURE", "7"),
        ("KEEPOUTS", "1"),
        ("STAYING", "8"),
        ("PARTS", "3"),
        ("CENTRES", "5"),
        ("NAMES", "7"),
        ("DATUM", "2"),
    ] {
        out.pairs(&[
            (0, "LAYER"),
            (2, name),
            (70, "0"),
            (62, colour),
            (6, "CONTINUOUS"),
        ]);
    }
    out.pairs(&[
        (0, "ENDTAB"),
        (0, "ENDSEC"),
        (0, "SECTION"),
        (2, "ENTITIES"),
    ]);
    out.outline(fixture, "FIXTURE");
    for keep_out in keep_outs {
        out.outline(keep_out, "KEEPOUTS");
    }
    for site in stay {
        out.outline(&site.footprint, "STAYING");
        out.name(site);
    }
    for part in parts {
        out.outline(&part.footprint, "PARTS");
        out.point(part.footprint.centre, "CENTRES");
        out.name(part);
    }
    let arm = 10.0;
    out.line(Point::new(0.0, 0.0), Point::new(arm, 0.0), "DATUM");
    out.line(Point::new(0.0, 0.0), Point::new(0.0, arm), "DATUM");
    out.pairs(&[(0, "ENDSEC"), (0, "EOF")]);
    out.0
}

struct Groups(String);

impl Groups {
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
        self.number(11, to.x);
        self.number(21, to.y);
        self.number(31, 0.0);
    }

    fn name(&mut self, part: &Outlined) {
        let bounds = part.footprint.bounds();
        let plain: String = (part.name.chars())
            .map(|c| {
                if c.is_ascii_graphic() || c == ' ' {
                    c
                } else {
                    '_'
                }
            })
            .collect();
        self.pairs(&[(0, "TEXT"), (8, "NAMES")]);
        self.at(part.footprint.centre);
        self.number(40, 0.2 * bounds.width().min(bounds.depth()));
        self.pairs(&[(1, &plain)]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn groups_come_in_pairs_and_say_true_millimetres() {
        let rectangle = |w: f64, d: f64, x: f64, y: f64| {
            Footprint::new(Shape::Rectangle { width: w, depth: d }, Point::new(x, y))
        };
        let disk = Footprint::new(Shape::Circle { diameter: 6.0 }, Point::new(20.0, 30.0));
        let parts = [Outlined {
            footprint: rectangle(24.0, 18.0, 12.0, 9.0),
            name: "Ä1".into(),
        }];
        let stays = [Outlined {
            footprint: rectangle(20.0, 20.0, 60.0, 60.0),
            name: "Holder A1".into(),
        }];
        let text = placement_dxf(
            &rectangle(180.0, 120.0, 90.0, 60.0),
            &[disk],
            &stays,
            &parts,
        );
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines.len() % 2, 0);
        let groups: Vec<(u16, &str)> = lines
            .chunks(2)
            .map(|pair| (pair[0].trim().parse().expect("a group code"), pair[1]))
            .collect();
        assert_eq!(groups.last(), Some(&(0, "EOF")));
        let count = |what: &str| groups.iter().filter(|g| **g == (0, what)).count();
        assert_eq!(
            (count("POLYLINE"), count("SEQEND"), count("CIRCLE")),
            (3, 3, 1)
        );
        assert_eq!(count("SECTION"), count("ENDSEC"));
        // a name for each, a centre only for what is arranged
        assert_eq!((count("TEXT"), count("POINT")), (2, 1));
        // the part's far corner, and no letter that the format does not know
        assert!(text.contains(" 10\n24.0000\n 20\n18.0000\n"));
        assert!(text.is_ascii() && groups.contains(&(1, "_1")));
    }
}
