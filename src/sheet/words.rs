//! The document's choices as words on paper.

use crate::field;
use crate::station::{Family, GoverningRule, Pallet, SourceKind};

/// What stands where nothing was recorded.
pub(super) const NOT_RECORDED: &str = "not recorded";

pub(super) fn recorded(text: &str) -> String {
    if text.trim().is_empty() {
        NOT_RECORDED.to_owned()
    } else {
        text.trim().to_owned()
    }
}

pub(super) fn family(family: Family) -> &'static str {
    match family {
        Family::OrdinaryKriging => "ordinary kriging",
        Family::UniversalKriging => "universal kriging",
        Family::InverseDistance => "inverse distance",
    }
}

pub(super) fn scored_family(scored: field::Family) -> &'static str {
    family(match scored {
        field::Family::OrdinaryKriging => Family::OrdinaryKriging,
        field::Family::UniversalKriging => Family::UniversalKriging,
        field::Family::InverseDistance => Family::InverseDistance,
    })
}

pub(super) fn rule(rule: GoverningRule) -> &'static str {
    match rule {
        GoverningRule::AssuredMinimum => "the assured minimum",
        GoverningRule::LowerOfReadingAndSpot => "the lower of coldest reading and coldest spot",
        GoverningRule::ColdestReading => "the coldest reading alone",
    }
}

pub(super) fn source_kind(kind: SourceKind) -> &'static str {
    match kind {
        SourceKind::ReflectorArc => "arc lamp in a reflector",
        SourceKind::LinearArc => "linear arc lamp",
        SourceKind::LedPanel => "LED panel",
        SourceKind::Other => "kind not said",
    }
}

pub(super) fn pallet(pallet: Pallet) -> &'static str {
    match pallet {
        Pallet::NotSaid => NOT_RECORDED,
        Pallet::Empty => "empty",
        Pallet::Loaded => "loaded",
    }
}
