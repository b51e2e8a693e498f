//! Levels in words, in the unit of who reads them.

use crate::station::trials::Varied;
use crate::units::{IrradianceUnit, fixed};

/// A number with at most four digits that count, and no zeros at its end.
pub fn number(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return fixed(value, 0);
    }
    let decimals = (3 - value.abs().log10().floor() as i32).clamp(0, 9) as usize;
    let text = fixed(value, decimals);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// `80 mW/cm²`, `12 s`: a level of what is varied, mW/cm² or s.
pub fn level(varied: Varied, value: f64, unit: IrradianceUnit) -> String {
    match varied {
        Varied::Irradiance => format!("{} {}", number(unit.from_mw_cm2(value)), unit.symbol()),
        Varied::Time => format!("{} s", number(value)),
    }
}

/// As [`level`], of what was chosen first.
pub fn held(varied: Varied, value: f64, unit: IrradianceUnit) -> String {
    level(other(varied), value, unit)
}

/// What is varied.
pub fn name(varied: Varied) -> &'static str {
    match varied {
        Varied::Irradiance => "irradiance",
        Varied::Time => "exposure time",
    }
}

/// What was chosen first, with its article.
pub fn held_name(varied: Varied) -> &'static str {
    match varied {
        Varied::Irradiance => "an exposure time",
        Varied::Time => "an irradiance",
    }
}

/// What was chosen first, many.
pub fn held_names(varied: Varied) -> &'static str {
    match varied {
        Varied::Irradiance => "exposure times",
        Varied::Time => "irradiances",
    }
}

fn other(varied: Varied) -> Varied {
    match varied {
        Varied::Irradiance => Varied::Time,
        Varied::Time => Varied::Irradiance,
    }
}
