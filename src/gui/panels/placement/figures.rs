//! Irradiances of parts, with the digits that their bounds earn.

pub(super) use crate::record::decimals_by_bound as decimals;
use crate::units::{IrradianceUnit, fixed};

/// A value in this unit, without the unit.
pub(super) fn show(unit: IrradianceUnit, value: f64, decimals: usize) -> String {
    fixed(unit.from_mw_cm2(value), decimals)
}

/// A value and its bound with the unit: `84.2 mW/cm²; at least 79.4 with 95 %`.
pub(super) fn with_bound(
    unit: IrradianceUnit,
    value: f64,
    bound: Option<f64>,
    word: &str,
) -> String {
    let decimals = decimals(unit, value, bound);
    let bound = bound.map_or_else(String::new, |b| {
        format!("; {word} {} with 95 %", show(unit, b, decimals))
    });
    format!("{} {}{bound}", show(unit, value, decimals), unit.symbol())
}

/// Texts below one another, their ends in line: in letters of one width points stand below points.
pub(super) fn column(texts: Vec<String>) -> Vec<String> {
    let width = texts.iter().map(|t| t.chars().count()).max().unwrap_or(0);
    let wide = |text: String| format!("{text:>width$}");
    texts.into_iter().map(wide).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bound_says_how_many_digits_a_value_earns() {
        let unit = IrradianceUnit::MilliwattPerCm2;
        assert_eq!(
            with_bound(unit, 84.153, Some(79.44), "at least"),
            "84.2 mW/cm²; at least 79.4 with 95 %"
        );
        assert_eq!(with_bound(unit, 84.153, None, "at least"), "84.15 mW/cm²");
        let texts = vec!["7.5".to_owned(), String::new(), "120.0".to_owned()];
        assert_eq!(column(texts), ["  7.5", "     ", "120.0"]);
    }
}
