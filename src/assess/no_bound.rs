//! Why a field has no bounds, in plain words.

use crate::field;
use crate::station::Family;

/// Why a field of a family has none, as the end of a sentence: the family never has any, what stands in the light leaves none
/// at the bond, or the readings leave none.
pub(super) fn no_bound(family: Family, unproven_at_bond: bool) -> &'static str {
    if unproven_at_bond {
        "something stands in the light's way, and how sure its shadow is has not been shown; move it, or prove the part by \
         trials there"
    } else if field::Family::from(family).has_draws() {
        "the readings contradict each other by so much that no field can be drawn through them; look for slips and for \
         readings in a shadow, and read there again or exclude them with the reason"
    } else {
        "this model says nothing of how far off the field may be; choose source-aware or a kriging"
    }
}
