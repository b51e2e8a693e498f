//! Words that findings, refusals and undo have in common.

use crate::geometry::Point;
use crate::units::LengthUnit;

/// A word before a name: `site D1`. A name that begins with the word stands alone: `Survey 2`.
pub fn named(what: &str, name: &str) -> String {
    let (word, rest) = (name.get(..what.len()), name.get(what.len()..));
    let says_it = word.is_some_and(|word| word.eq_ignore_ascii_case(what))
        && rest.is_some_and(|rest| !rest.starts_with(char::is_alphabetic));
    if says_it {
        name.to_owned()
    } else {
        format!("{what} {name}")
    }
}

/// `12.5, 40 mm`
pub(super) fn at(point: Point, length: LengthUnit) -> String {
    format!(
        "{}, {}",
        length.show(point.x),
        length.show_with_unit(point.y)
    )
}

/// A word with a name, where there is one: `site D1`; a name that begins with the word says it already.
pub(super) fn called(what: &str, name: &str) -> String {
    if name.is_empty() {
        format!("a {what} without a name")
    } else {
        named(what, name)
    }
}
