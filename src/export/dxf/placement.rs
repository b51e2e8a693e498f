//! An arrangement of parts.
//!
//! Layers: `FIXTURE`, `KEEPOUTS`, `STAYING` (sites that stay), `PARTS`, `CENTRES` (points), `NAMES` (texts), `DATUM`.

use super::Groups;
use crate::geometry::Footprint;

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
    let mut out = Groups::begin(&[
        ("FIXTURE", 7),
        ("KEEPOUTS", 1),
        ("STAYING", 8),
        ("PARTS", 3),
        ("CENTRES", 5),
        ("NAMES", 7),
        ("DATUM", 2),
    ]);
    out.outline(fixture, "FIXTURE");
    for keep_out in keep_outs {
        out.outline(keep_out, "KEEPOUTS");
    }
    for site in stay {
        out.outline(&site.footprint, "STAYING");
        name(&mut out, site);
    }
    for part in parts {
        out.outline(&part.footprint, "PARTS");
        out.point(part.footprint.centre, "CENTRES");
        name(&mut out, part);
    }
    out.datum();
    out.end()
}

fn name(out: &mut Groups, part: &Outlined) {
    let bounds = part.footprint.bounds();
    let size = 0.2 * bounds.width().min(bounds.depth());
    out.text(&part.name, part.footprint.centre, size, "NAMES");
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Point, Shape};

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
