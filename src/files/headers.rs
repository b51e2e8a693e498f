//! What the headers of a readings file mean.

use super::table::Cell;
use crate::units::MM_PER_INCH;

/// What a column can hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Field {
    /// To the right.
    X,
    /// To the back.
    Y,
    /// Above the fixture's base.
    Height,
    /// What was read.
    Irradiance,
    /// Name of the position.
    Position,
    /// Which reading there, from 1.
    Repeat,
    /// Minutes since the round began.
    Minute,
    /// Whether, or why, it does not count.
    Excluded,
    /// Whether the meter showed over-range.
    Saturated,
    /// Anything.
    Note,
}

impl Field {
    /// The name of a column that holds it, in the program's unit.
    pub fn header(self) -> &'static str {
        match self {
            Self::X => "x_mm",
            Self::Y => "y_mm",
            Self::Height => "height_mm",
            Self::Irradiance => "irradiance_mw_cm2",
            Self::Position => "position",
            Self::Repeat => "repeat",
            Self::Minute => "minute",
            Self::Excluded => "excluded",
            Self::Saturated => "saturated",
            Self::Note => "note",
        }
    }

    /// What a column that says no unit could be called.
    fn examples(self) -> &'static str {
        match self {
            Self::X => "x_mm, x_cm or x_in",
            Self::Y => "y_mm, y_cm or y_in",
            Self::Height => "height_mm, height_cm or height_in",
            Self::Irradiance => "irradiance_mw_cm2, irradiance_w_cm2 or irradiance_w_m2",
            other => other.header(),
        }
    }
}

/// What is taken from a column.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Use {
    /// Nothing.
    Nothing,
    /// This would be, but its unit is not known.
    NoUnit(Field),
    /// This, after multiplying by the factor to the program's unit.
    Is(Field, f64),
}

/// Everything that can be taken from a column, as people call it.
pub const USES: &[(&str, Use)] = &[
    ("not used", Use::Nothing),
    ("x, mm", Use::Is(Field::X, 1.0)),
    ("x, cm", Use::Is(Field::X, 10.0)),
    ("x, in", Use::Is(Field::X, MM_PER_INCH)),
    ("y, mm", Use::Is(Field::Y, 1.0)),
    ("y, cm", Use::Is(Field::Y, 10.0)),
    ("y, in", Use::Is(Field::Y, MM_PER_INCH)),
    ("height, mm", Use::Is(Field::Height, 1.0)),
    ("height, cm", Use::Is(Field::Height, 10.0)),
    ("height, in", Use::Is(Field::Height, MM_PER_INCH)),
    ("irradiance, mW/cm²", Use::Is(Field::Irradiance, 1.0)),
    ("irradiance, W/cm²", Use::Is(Field::Irradiance, 1000.0)),
    ("irradiance, W/m²", Use::Is(Field::Irradiance, 0.1)),
    ("position", Use::Is(Field::Position, 1.0)),
    ("repeat", Use::Is(Field::Repeat, 1.0)),
    ("minute", Use::Is(Field::Minute, 1.0)),
    ("excluded", Use::Is(Field::Excluded, 1.0)),
    ("saturated", Use::Is(Field::Saturated, 1.0)),
    ("note", Use::Is(Field::Note, 1.0)),
];

/// Units and their size in the program's.
type Units = [(&'static str, f64)];

/// Units of length and their size in mm.
const LENGTHS: [(&str, f64); 5] = [
    ("mm", 1.0),
    ("cm", 10.0),
    ("in", MM_PER_INCH),
    ("inch", MM_PER_INCH),
    ("inches", MM_PER_INCH),
];

/// 1 mW/cm² = 10 W/m² (SI prefixes).
const IRRADIANCES: [(&str, f64); 3] = [("mwcm2", 1.0), ("wcm2", 1000.0), ("wm2", 0.1)];

/// Letters and digits of a header, lower case: blanks, underscores, brackets, slashes don't matter.
fn plain(header: &str) -> String {
    header
        .to_lowercase()
        .chars()
        .map(|c| if c == '²' { '2' } else { c })
        .filter(|c| c.is_alphanumeric())
        .collect()
}

impl Use {
    /// What a header says.
    pub fn of_header(header: &str) -> Self {
        use Field::{
            Excluded, Height, Irradiance, Minute, Note, Position, Repeat, Saturated, X, Y,
        };
        let plain = plain(header);
        let field = match plain.as_str() {
            "position" | "probeposition" => Some(Position),
            "repeat" => Some(Repeat),
            "minute" | "minutes" | "minutemin" => Some(Minute),
            "excluded" => Some(Excluded),
            "saturated" => Some(Saturated),
            "note" | "notes" => Some(Note),
            _ => None,
        };
        if let Some(field) = field {
            return Self::Is(field, 1.0);
        }
        let quantities: [(&str, Field, &Units); 6] = [
            ("x", X, &LENGTHS),
            ("y", Y, &LENGTHS),
            ("z", Height, &LENGTHS),
            ("height", Height, &LENGTHS),
            ("irradiance", Irradiance, &IRRADIANCES),
            // as many in the trade say
            ("intensity", Irradiance, &IRRADIANCES),
        ];
        for (name, field, units) in quantities {
            let Some(unit) = plain.strip_prefix(name) else {
                continue;
            };
            let unit = unit.strip_prefix("per").unwrap_or(unit);
            match units.iter().find(|(known, _)| *known == unit) {
                Some(&(_, factor)) => return Self::Is(field, factor),
                // a longer word such as `year` is another quantity
                None if unit.is_empty() || name.len() > 1 => return Self::NoUnit(field),
                None => {}
            }
        }
        Self::Nothing
    }

    /// The same with the unit that stands in the row below the header.
    pub(super) fn with_unit(self, unit: &str) -> Self {
        let Self::NoUnit(field) = self else {
            return self;
        };
        let units: &Units = match field {
            Field::Irradiance => &IRRADIANCES,
            _ => &LENGTHS,
        };
        let unit = plain(unit);
        let known = units.iter().find(|(known, _)| *known == unit);
        known.map_or(self, |&(_, factor)| Self::Is(field, factor))
    }

    /// What it holds, were its unit known.
    pub fn field(self) -> Option<Field> {
        match self {
            Self::Nothing => None,
            Self::NoUnit(field) | Self::Is(field, _) => Some(field),
        }
    }

    /// As people call it.
    pub fn name(self) -> &'static str {
        match self {
            Self::NoUnit(Field::X) => "x, unit?",
            Self::NoUnit(Field::Y) => "y, unit?",
            Self::NoUnit(Field::Height) => "height, unit?",
            Self::NoUnit(_) => "irradiance, unit?",
            known => {
                let same = |(_, other): &&(&str, Use)| *other == known;
                USES.iter().find(same).map_or("", |(name, _)| name)
            }
        }
    }

    /// What a column of this could be called, for a sentence.
    pub(super) fn examples(self) -> &'static str {
        self.field().map_or("", Field::examples)
    }
}

/// Whether the cells of a row name a place and another quantity.
pub(super) fn names_columns<'a>(cells: impl Iterator<Item = &'a str>) -> bool {
    let fields: Vec<Field> = cells
        .filter_map(|c| Use::of_header(c.trim()).field())
        .collect();
    let is_place = |field: &&Field| matches!(field, Field::X | Field::Y);
    let is_other = |f: &Field| matches!(f, Field::Height | Field::Irradiance | Field::Position);
    let places = fields.iter().filter(is_place).count();
    places >= 2 || (places == 1 && fields.iter().any(is_other))
}

/// What a cell beside a block of readings says of it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Said {
    /// Size of a unit of length in mm.
    pub length: Option<f64>,
    /// Size of a unit of irradiance in mW/cm².
    pub irradiance: Option<f64>,
    /// Whether it speaks of the height.
    pub is_height: bool,
}

impl Said {
    /// What `height_mm`, `z [mm] = 20`, `y_mm \ x_mm`, `Irradiance (mW/cm²)` say.
    pub fn of(text: &str) -> Self {
        const LONGEST: usize = 200;
        if text.len() > LONGEST {
            return Self::default();
        }
        let glued = plain(text);
        // the longest first: each ends as the next
        let irradiance = IRRADIANCES.iter().find(|(name, _)| glued.contains(name));
        if let Some(&(_, size)) = irradiance {
            return Self {
                irradiance: Some(size),
                ..Self::default()
            };
        }
        let lower = text.to_lowercase();
        let words = || lower.split(|c: char| !c.is_alphabetic());
        let length = words().find_map(|word| LENGTHS.iter().find(|(name, _)| *name == word));
        Self {
            length: length.map(|&(_, size)| size),
            irradiance: None,
            is_height: words().any(|word| matches!(word, "height" | "z")),
        }
    }
}

/// The first number that stands in a text: 20 in `height 20 mm`.
pub(super) fn number_in(text: &str) -> Option<f64> {
    let is_part = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '\u{2212}' | '+');
    let begin = text.find(is_part)?;
    let end = text[begin..]
        .find(|c| !is_part(c))
        .map_or(text.len(), |n| begin + n);
    crate::units::parse_number(text[begin..end].trim_end_matches(['.', ','])).ok()
}

/// The number of a cell, whatever its decimal mark.
pub(super) fn number_of(cell: &Cell) -> Option<f64> {
    (cell.number).or_else(|| crate::units::parse_number(&cell.text).ok())
}

/// The headers of a file in a sentence.
pub(super) fn in_words(names: &[&str]) -> String {
    /// So many are named, each with so many letters.
    const NAMED: usize = 12;
    const LETTERS: usize = 40;
    let named = names.iter().take(NAMED).map(|name| {
        let short: String = name.chars().take(LETTERS).collect();
        format!("'{short}'")
    });
    let mut text = named.collect::<Vec<_>>().join(", ");
    if names.len() > NAMED {
        text += &format!(" and {} more", names.len() - NAMED);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_stands_beside_a_block_is_understood() {
        let said = Said::of("y_mm \\ x_mm");
        assert_eq!((said.length, said.is_height), (Some(1.0), false));
        let said = Said::of("Height [cm]: 2.5");
        assert_eq!((said.length, said.is_height), (Some(10.0), true));
        assert_eq!(number_in("Height [cm]: 2.5"), Some(2.5));
        assert_eq!(number_in("z = -20,5mm."), Some(-20.5));
        let said = Said::of("Irradiance in mW/cm²");
        assert_eq!((said.length, said.irradiance), (None, Some(1.0)));
        assert_eq!(Said::of("Winding"), Said::default());
    }

    #[test]
    fn every_use_has_its_name() {
        for (name, of) in USES {
            assert_eq!(of.name(), *name);
        }
        assert_eq!(Use::of_header("intensity [mW/cm²]"), USES[10].1);
        assert_eq!(Use::of_header("x").with_unit("(mm)"), USES[1].1);
        assert_eq!(Use::of_header("x").with_unit("ft"), Use::NoUnit(Field::X));
    }
}
