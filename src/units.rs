//! Quantities as people write them.
//!
//! Inside the program every length is in millimetres and every irradiance in mW/cm²; this module is
//! the only place where other units come in or go out. Number text is read here too, so that a
//! decimal comma means the same in a form, a paste and a file.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

/// Millimetres in an inch (exact: international inch, 1959).
pub const MM_PER_INCH: f64 = 25.4;

/// The unit in which lengths are shown and typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum LengthUnit {
    /// Millimetres.
    #[default]
    Mm,
    /// Inches, decimal.
    Inch,
}

/// The unit in which irradiance is shown and typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum IrradianceUnit {
    /// Milliwatts per square centimetre, the trade's unit.
    #[default]
    MilliwattPerCm2,
    /// Watts per square centimetre.
    WattPerCm2,
    /// Watts per square metre, the SI's unit.
    WattPerM2,
}

/// The units in which one person reads.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Units {
    /// Of lengths.
    pub length: LengthUnit,
    /// Of irradiance.
    pub irradiance: IrradianceUnit,
}

impl LengthUnit {
    /// All units, for menus and tests.
    pub const ALL: [Self; 2] = [Self::Mm, Self::Inch];

    /// The symbol that stands beside a number.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Mm => "mm",
            Self::Inch => "in",
        }
    }

    /// A small step that is a round number in this unit, mm: what a change along a length is said for.
    pub fn small_step(self) -> f64 {
        match self {
            Self::Mm => 1.0,
            Self::Inch => 0.1 * MM_PER_INCH,
        }
    }

    /// How many millimetres one of this unit is.
    pub fn in_mm(self) -> f64 {
        match self {
            Self::Mm => 1.0,
            Self::Inch => MM_PER_INCH,
        }
    }

    /// Millimetres of a length given in this unit.
    pub fn to_mm(self, value: f64) -> f64 {
        value * self.in_mm()
    }

    /// A length in millimetres, said in this unit.
    pub fn from_mm(self, mm: f64) -> f64 {
        mm / self.in_mm()
    }

    /// Decimals that show a tenth of a millimetre and no more.
    pub fn decimals(self) -> usize {
        match self {
            Self::Mm => 1,
            Self::Inch => 3,
        }
    }

    /// A length in millimetres as text without its unit, trailing zeros dropped: `12.5`, `40`.
    pub fn show(self, mm: f64) -> String {
        trim_zeros(fixed(self.from_mm(mm), self.decimals()))
    }

    /// A length in millimetres as text with its unit: `12.5 mm`.
    pub fn show_with_unit(self, mm: f64) -> String {
        format!("{} {}", self.show(mm), self.symbol())
    }

    /// With one decimal more than anybody measures, and its unit: for steps of a raster and what blocks are off by.
    pub fn show_finely(self, mm: f64) -> String {
        let text = trim_zeros(fixed(self.from_mm(mm), self.decimals() + 1));
        format!("{text} {}", self.symbol())
    }

    /// Several with one symbol: `10, 20 and 30 mm`; empty without any.
    pub fn show_list(self, mm: &[f64]) -> String {
        match mm {
            [] => String::new(),
            [one] => self.show_with_unit(*one),
            [first @ .., last] => {
                let first: Vec<String> = first.iter().map(|&l| self.show(l)).collect();
                format!("{} and {}", first.join(", "), self.show_with_unit(*last))
            }
        }
    }
}

impl IrradianceUnit {
    /// All units, for menus and tests.
    pub const ALL: [Self; 3] = [Self::MilliwattPerCm2, Self::WattPerCm2, Self::WattPerM2];

    /// The symbol that stands beside a number.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::MilliwattPerCm2 => "mW/cm²",
            Self::WattPerCm2 => "W/cm²",
            Self::WattPerM2 => "W/m²",
        }
    }

    /// How many mW/cm² one of this unit is. 1 mW/cm² = 10 W/m² (SI prefixes).
    pub fn in_mw_cm2(self) -> f64 {
        match self {
            Self::MilliwattPerCm2 => 1.0,
            Self::WattPerCm2 => 1000.0,
            Self::WattPerM2 => 0.1,
        }
    }

    /// mW/cm² of an irradiance given in this unit.
    pub fn to_mw_cm2(self, value: f64) -> f64 {
        value * self.in_mw_cm2()
    }

    /// An irradiance in mW/cm², said in this unit.
    pub fn from_mw_cm2(self, mw_cm2: f64) -> f64 {
        mw_cm2 / self.in_mw_cm2()
    }

    /// An irradiance in mW/cm² as text without its unit, with the digits its standard uncertainty
    /// earns: the last digit shown is the uncertainty's second significant digit, never more than
    /// four significant digits of the value when no uncertainty is known.
    pub fn show(self, mw_cm2: f64, uncertainty_mw_cm2: Option<f64>) -> String {
        let value = self.from_mw_cm2(mw_cm2);
        fixed(value, self.decimals(mw_cm2, uncertainty_mw_cm2))
    }

    /// As [`show`](Self::show), with the unit.
    pub fn show_with_unit(self, mw_cm2: f64, uncertainty_mw_cm2: Option<f64>) -> String {
        format!(
            "{} {}",
            self.show(mw_cm2, uncertainty_mw_cm2),
            self.symbol()
        )
    }

    /// A figure that somebody set, such as a limit: with its digits, five that count at most: none that
    /// come from changing units or from working it out.
    pub fn exact(self, mw_cm2: f64) -> String {
        let value = self.from_mw_cm2(mw_cm2);
        let rounded: f64 = format!("{value:.4e}").parse().unwrap_or(value);
        rounded.to_string()
    }

    /// As [`exact`](Self::exact), with the unit.
    pub fn exact_with_unit(self, mw_cm2: f64) -> String {
        format!("{} {}", self.exact(mw_cm2), self.symbol())
    }

    /// `81.2 ± 1.1 (k = 2)`, without the unit; both from a standard uncertainty.
    pub fn show_expanded(self, mw_cm2: f64, standard_uncertainty_mw_cm2: f64) -> String {
        let decimals = self.decimals(mw_cm2, Some(standard_uncertainty_mw_cm2));
        format!(
            "{} ± {} (k = 2)",
            fixed(self.from_mw_cm2(mw_cm2), decimals),
            fixed(
                self.from_mw_cm2(2.0 * standard_uncertainty_mw_cm2),
                decimals
            )
        )
    }

    /// Decimals for a value with its standard uncertainty, both in mW/cm².
    pub fn decimals(self, mw_cm2: f64, uncertainty_mw_cm2: Option<f64>) -> usize {
        let exponent = |x: f64| x.abs().log10().floor() as i32;
        let value = self.from_mw_cm2(mw_cm2);
        let wanted = match uncertainty_mw_cm2.map(|u| self.from_mw_cm2(u)) {
            Some(u) if u.is_finite() && u > 0.0 => 1 - exponent(2.0 * u),
            _ if value.is_finite() && value != 0.0 => 3 - exponent(value),
            _ => 1,
        };
        // The display never pretends to more than the instruments of the trade resolve.
        wanted.clamp(0, 5) as usize
    }
}

/// A number as fixed-point text; `-0.0` never shows its sign.
pub fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|b| matches!(b, b'0' | b'.')) => rest.to_owned(),
        _ => text,
    }
}

/// Without zeros at the end of its decimals.
pub fn trim_zeros(text: String) -> String {
    if !text.contains('.') {
        return text;
    }
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Why a text is not a number, as a sentence for the person who typed it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotANumber {
    /// What was typed.
    pub text: String,
    /// What is wrong and what is expected.
    pub expected: &'static str,
}

impl std::fmt::Display for NotANumber {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "'{}' is not a number; {}", self.text, self.expected)
    }
}

impl std::error::Error for NotANumber {}

/// Reads one finite number as people type it: surrounding blanks, a leading `+`, a decimal point or a
/// decimal comma, a true minus sign, an exponent. A text with both point and comma, or with two of
/// either, could mean two numbers and is refused.
///
/// # Errors
/// [`NotANumber`] with what was typed and what is expected.
pub fn parse_number(text: &str) -> Result<f64, NotANumber> {
    let fail = |expected| NotANumber {
        text: text.trim().chars().take(40).collect(),
        expected,
    };
    let plain: String = text
        .trim()
        .chars()
        .map(|c| match c {
            '\u{2212}' => '-',
            ',' => '.',
            other => other,
        })
        .collect();
    if plain.is_empty() {
        return Err(fail("type a number such as 12.5"));
    }
    if plain.matches('.').count() > 1 {
        return Err(fail(
            "use one decimal point or comma and no thousands separators",
        ));
    }
    if !plain
        .bytes()
        .all(|b| b.is_ascii_digit() || matches!(b, b'.' | b'-' | b'+' | b'e' | b'E'))
    {
        return Err(fail("type a number such as 12.5"));
    }
    match plain.parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(value),
        _ => Err(fail("type a number such as 12.5")),
    }
}

/// Reads a date as people write it: year, month and day as `2026-05-26`, or day, month and year with points, `26.5.2026`.
/// Slashes are refused: which of the first two numbers is the month differs from country to country.
///
/// # Errors
/// A sentence with what was typed and what to type.
pub fn parse_date(text: &str) -> Result<Date, String> {
    let text = text.trim();
    let parts: Vec<&str> = text.split('.').map(str::trim).collect();
    let dotted = match parts[..] {
        [day, month, year] if year.len() == 4 => year
            .parse()
            .ok()
            .zip(month.parse().ok())
            .zip(day.parse().ok())
            .and_then(|((year, month), day)| Date::new(year, month, day).ok()),
        _ => None,
    };
    dotted.or_else(|| text.parse().ok()).ok_or_else(|| {
        format!(
            "'{text}' is not a date; type year, month and day such as 2026-03-31, or day, month and year such as 31.3.2026"
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_milliwatt_per_square_centimetre_is_ten_watts_per_square_metre() {
        assert_eq!(IrradianceUnit::WattPerM2.from_mw_cm2(1.0), 10.0);
        assert_eq!(IrradianceUnit::WattPerCm2.from_mw_cm2(1500.0), 1.5);
        assert_eq!(LengthUnit::Inch.to_mm(2.0), 50.8);
    }

    #[test]
    fn units_round_trip() {
        for value in [0.001, 0.7, 81.2, 12_345.6] {
            for unit in IrradianceUnit::ALL {
                let there = unit.to_mw_cm2(unit.from_mw_cm2(value));
                assert!((there / value - 1.0).abs() < 1e-15, "{unit:?} {value}");
            }
            for unit in LengthUnit::ALL {
                let there = unit.to_mm(unit.from_mm(value));
                assert!((there / value - 1.0).abs() < 1e-15, "{unit:?} {value}");
            }
        }
    }

    #[test]
    fn digits_follow_the_uncertainty() {
        let unit = IrradianceUnit::MilliwattPerCm2;
        assert_eq!(unit.show_expanded(81.234, 0.55), "81.2 ± 1.1 (k = 2)");
        assert_eq!(unit.show(81.234, Some(12.0)), "81");
        assert_eq!(unit.show(81.234, None), "81.23");
        assert_eq!(unit.show(0.0, None), "0.0");
        assert_eq!(unit.exact_with_unit(71.25), "71.25 mW/cm²");
        assert_eq!(IrradianceUnit::WattPerM2.exact(112.3), "1123");
    }

    #[test]
    fn numbers_as_people_type_them() {
        assert_eq!(parse_number(" 12,5 "), Ok(12.5));
        assert_eq!(parse_number("+3"), Ok(3.0));
        assert_eq!(parse_number("\u{2212}0.5"), Ok(-0.5));
        assert_eq!(parse_number("1e3"), Ok(1000.0));
        for bad in [
            "", "abc", "1.234,5", "1,234,5", "inf", "NaN", "1 2", "1e999", "--1",
        ] {
            assert!(parse_number(bad).is_err(), "{bad:?} was read as a number");
        }
    }

    #[test]
    fn dates_as_people_write_them() {
        let wanted = Ok(jiff::civil::date(2026, 5, 26));
        for text in ["2026-05-26", " 26.5.2026 ", "26.05.2026", "26. 5. 2026"] {
            assert_eq!(parse_date(text), wanted, "{text:?}");
        }
        for bad in [
            "",
            "26.5.26",
            "5/26/2026",
            "31.4.2026",
            "2026",
            "26.5.2026.",
            "a.b.2026",
        ] {
            assert!(parse_date(bad).is_err(), "{bad:?} was read as a date");
        }
    }

    #[test]
    fn minus_zero_has_no_sign() {
        assert_eq!(fixed(-0.01, 1), "0.0");
        assert_eq!(LengthUnit::Mm.show(-0.04), "0");
        assert_eq!(LengthUnit::Mm.show(100.0), "100");
    }
}
