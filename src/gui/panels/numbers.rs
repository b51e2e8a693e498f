//! Numbers in fields and cells: enough digits that nobody's typing is lost, few enough to be read.

use crate::units::LengthUnit;

/// Significant digits shown: more than any instrument of the trade resolves, fewer than where unit
/// conversions leave their traces.
const DIGITS: usize = 7;

/// A number as text without trailing zeros, to seven significant digits.
pub(in crate::gui) fn number_text(value: f64) -> String {
    let rounded = format!("{value:.*e}", DIGITS - 1)
        .parse::<f64>()
        .unwrap_or(value);
    // adding zero takes the sign of -0.0 away
    (rounded + 0.0).to_string()
}

/// A length in mm as text in this unit, without the unit.
pub(super) fn length_text(unit: LengthUnit, mm: f64) -> String {
    number_text(unit.from_mm(mm))
}

/// A whole number from one up.
pub(super) fn parse_count(text: &str) -> Result<u32, String> {
    let text = text.trim();
    match text.parse::<u32>() {
        Ok(count) if count > 0 => Ok(count),
        _ => Err(format!(
            "'{text}' is not a whole number from 1 up; type one such as 5"
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_keep_what_people_type_and_no_traces_of_conversion() {
        assert_eq!(number_text(12.0), "12");
        assert_eq!(number_text(81.25), "81.25");
        assert_eq!(number_text(812.0 * 0.1), "81.2");
        assert_eq!(number_text(-0.0), "0");
        assert_eq!(number_text(0.1 + 0.2), "0.3");
        assert_eq!(length_text(LengthUnit::Inch, 12.7), "0.5");
    }

    #[test]
    fn counts_are_whole_and_above_zero() {
        assert_eq!(parse_count(" 7 "), Ok(7));
        for bad in ["0", "-1", "2.5", "", "x"] {
            assert!(parse_count(bad).is_err(), "{bad:?}");
        }
    }
}
