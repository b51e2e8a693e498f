//! Numbers in fields and cells: enough digits that nobody's typing is lost, few enough to be read.

use crate::units::{IrradianceUnit, LengthUnit, fixed};

/// Significant digits shown: more than any instrument of the trade resolves, fewer than where unit
/// conversions leave their traces.
const DIGITS: usize = 7;

/// Significant digits of an irradiance: one more than a radiometer shows.
const IRRADIANCE_DIGITS: usize = 6;

/// A number as text without trailing zeros, to seven significant digits.
pub(in crate::gui) fn number_text(value: f64) -> String {
    to_digits(value, DIGITS)
}

fn to_digits(value: f64, digits: usize) -> String {
    let rounded = format!("{value:.*e}", digits - 1)
        .parse::<f64>()
        .unwrap_or(value);
    // adding zero takes the sign of -0.0 away
    (rounded + 0.0).to_string()
}

/// A length in mm as text in this unit, without the unit: to 0.01 mm or 0.0001 in, finer than anyone can place a
/// detector and fine enough for sixteenths of an inch.
pub(super) fn length_text(unit: LengthUnit, mm: f64) -> String {
    let value = unit.from_mm(mm);
    let rounded = fixed(value, unit.decimals() + 1);
    number_text(rounded.parse().unwrap_or(value))
}

/// An irradiance in mW/cm² as text in this unit, without the unit.
pub(super) fn irradiance_text(unit: IrradianceUnit, mw_cm2: f64) -> String {
    to_digits(unit.from_mw_cm2(mw_cm2), IRRADIANCE_DIGITS)
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
    }

    #[test]
    fn lengths_and_irradiances_have_the_digits_that_their_unit_earns() {
        assert_eq!(length_text(LengthUnit::Inch, 12.7), "0.5");
        assert_eq!(length_text(LengthUnit::Inch, 9.0), "0.3543");
        assert_eq!(length_text(LengthUnit::Inch, 0.1875 * 25.4), "0.1875");
        assert_eq!(length_text(LengthUnit::Mm, 100.0 / 3.0), "33.33");
        assert_eq!(length_text(LengthUnit::Mm, -0.001), "0");
        let of = |unit, e| irradiance_text(unit, e);
        assert_eq!(of(IrradianceUnit::MilliwattPerCm2, 250.0 / 3.0), "83.3333");
        assert_eq!(of(IrradianceUnit::WattPerCm2, 1234.56), "1.23456");
        assert_eq!(of(IrradianceUnit::WattPerM2, 81.25), "812.5");
    }

    #[test]
    fn counts_are_whole_and_above_zero() {
        assert_eq!(parse_count(" 7 "), Ok(7));
        for bad in ["0", "-1", "2.5", "", "x"] {
            assert!(parse_count(bad).is_err(), "{bad:?}");
        }
    }
}
