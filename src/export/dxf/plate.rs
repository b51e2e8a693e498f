//! A plate that locates the detector.
//!
//! Layers: `OUTLINE` (the rim to cut), `BORES` (one for each position), `CUTOUTS` (openings for keep-outs), `PINS`,
//! `ENGRAVING` (texts), `FIXTURE` (where the pallet's rim lies, with the pallet out; not to be cut), `DATUM`.

use super::Groups;
use crate::geometry::Footprint;
use crate::probing::plate::Plates;

/// The drawing of one plate, counted from 0; `fixture` where the plate takes its place.
pub fn plate_dxf(plates: &Plates, plate: usize, fixture: Option<&Footprint>) -> String {
    let mut out = Groups::begin(&[
        ("OUTLINE", 7),
        ("BORES", 1),
        ("CUTOUTS", 3),
        ("PINS", 6),
        ("ENGRAVING", 5),
        ("FIXTURE", 8),
        ("DATUM", 2),
    ]);
    out.outline(&plates.outline, "OUTLINE");
    for position in plates.bored(plate) {
        out.outline(&plates.openings[position], "BORES");
    }
    for cut_out in &plates.cut_outs {
        out.outline(cut_out, "CUTOUTS");
    }
    for pin in &plates.pins {
        out.outline(pin, "PINS");
    }
    for text in plates.engraved(plate) {
        out.centred(&text.text, text.at, text.size, "ENGRAVING");
    }
    if let Some(fixture) = fixture {
        out.outline(fixture, "FIXTURE");
    }
    out.datum();
    out.end()
}
