//! Levels in words.

use crate::station::trials::Varied;
use crate::units::fixed;

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

/// `80 mW/cm²`, `12 s`: a level of what is varied.
pub fn level(varied: Varied, value: f64) -> String {
    format!("{} {}", number(value), unit(varied))
}

/// As [`level`], of what was chosen first.
pub fn held(varied: Varied, value: f64) -> String {
    level(other(varied), value)
}

/// The unit of what is varied.
pub fn unit(varied: Varied) -> &'static str {
    match varied {
        Varied::Irradiance => "mW/cm²",
        Varied::Time => "s",
    }
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
