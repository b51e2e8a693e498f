//! The document's choices as words on paper.

use crate::station::{Pallet, SourceKind};

/// What stands where nothing was recorded.
pub(super) const NOT_RECORDED: &str = "not recorded";

pub(super) fn recorded(text: &str) -> String {
    if text.trim().is_empty() {
        NOT_RECORDED.to_owned()
    } else {
        text.trim().to_owned()
    }
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
