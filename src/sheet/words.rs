//! The document's choices as words on paper.

use crate::geometry::Place;
use crate::station::{Pallet, SourceKind};
use crate::units::LengthUnit;

/// What stands where nothing was recorded.
pub(super) const NOT_RECORDED: &str = "not recorded";

pub(super) fn recorded(text: &str) -> String {
    if text.trim().is_empty() {
        NOT_RECORDED.to_owned()
    } else {
        text.trim().to_owned()
    }
}

/// A named position: `position D4, x 90, y 60, height 10 mm`; without a name where it is alone.
pub(super) fn position(name: &str, at: Place, mm: LengthUnit) -> String {
    let named = match name {
        "" => String::new(),
        name => format!("position {name}, "),
    };
    format!("{named}{}", coordinates(at, mm))
}

/// `x 90, y 60, height 10 mm`.
pub(super) fn coordinates(at: Place, mm: LengthUnit) -> String {
    format!(
        "x {}, y {}, height {}",
        mm.show(at.x),
        mm.show(at.y),
        mm.show_with_unit(at.height)
    )
}

/// `None` for a kind that is none of the known ones.
pub(super) fn source_kind(kind: SourceKind) -> Option<&'static str> {
    match kind {
        SourceKind::ReflectorArc => Some("arc lamp in a reflector"),
        SourceKind::LinearArc => Some("linear arc lamp"),
        SourceKind::LedPanel => Some("LED panel"),
        SourceKind::Other => None,
    }
}

pub(super) fn pallet(pallet: Pallet) -> &'static str {
    match pallet {
        Pallet::NotSaid => NOT_RECORDED,
        Pallet::Empty => "empty",
        Pallet::Loaded => "loaded",
        Pallet::Out => "out",
    }
}
