//! A block that was pasted under a header, understood as a file of readings is. Unlike a file it need not say where a
//! reading was taken: the survey that it is pasted into may know that.

use super::headers::{Field, Use, number_of};
use super::raw::Raw;
use super::understanding::List;
use super::{FileError, readings};
use crate::station::Reading;

/// A pasted block whose first row says what stands under it.
#[derive(Debug, Clone)]
pub struct Pasted {
    raw: Raw,
    list: List,
}

impl Pasted {
    /// A block of two rows or more whose first one holds no number and names at least one column that readings have;
    /// `None`: it has no header, and means what the columns mean that it is pasted into.
    pub fn under_header(cells: &[Vec<String>]) -> Option<Self> {
        let raw = Raw::of_block(cells);
        let rows = &raw.sheets[0].rows;
        let header = rows.first().filter(|_| rows.len() > 1)?;
        let is_known = |text: &str| Use::of_header(text.trim()) != Use::Nothing;
        let is_header = header.cells.iter().all(|cell| number_of(cell).is_none())
            && header.cells.iter().any(|cell| is_known(&cell.text));
        let list = is_header.then(|| List::under(&raw, 0, Some(0), None))?;
        Some(Self { raw, list })
    }

    /// Whether a column says it.
    pub fn says(&self, field: Field) -> bool {
        self.list.column(field).is_some()
    }

    /// Columns that name a quantity and no known unit: which column, what its header is, and the quantity.
    pub fn without_unit(&self) -> Vec<(usize, &str, Field)> {
        let header = &self.raw.sheets[0].rows[0];
        let columns = self.list.columns.iter().zip(&header.cells).enumerate();
        columns
            .filter_map(|(i, (column, cell))| match column {
                Use::NoUnit(field) => Some((i, cell.text.trim(), *field)),
                _ => None,
            })
            .collect()
    }

    /// Takes this from a column.
    pub fn take(&mut self, column: usize, what: Use) {
        if let Some(column) = self.list.columns.get_mut(column) {
            *column = what;
        }
    }

    /// The rows under the header, each with its line in the block, counted from 1. What no column says stands in them as
    /// nothing: 0 for a place, 1 for the repeat.
    ///
    /// # Errors
    /// Everything that is wrong, at least one, in the order of the rows; nothing is read by halves.
    pub fn read(&self) -> Result<Vec<(usize, Reading)>, Vec<FileError>> {
        readings::under_header(&self.raw, &self.list)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::{USES, parse_block};

    fn block(text: &str) -> Option<Pasted> {
        Pasted::under_header(&parse_block(text))
    }

    #[test]
    fn headers_name_columns_and_units_as_in_a_file() {
        let pasted =
            block("Probe position\tIntensity [W/m²]\n\nA1\t812,5\nA2\t790").expect("a header");
        assert!(pasted.says(Field::Position) && pasted.says(Field::Irradiance));
        assert!(!pasted.says(Field::X) && pasted.without_unit().is_empty());
        let rows = pasted.read().expect("two readings");
        let said: Vec<_> = (rows
            .iter()
            .map(|(line, r)| (*line, &*r.position, r.irradiance)))
        .collect();
        assert_eq!(said, [(3, "A1", Some(81.25)), (4, "A2", Some(79.0))]);
        // a row of units
        let pasted = block("x\ty\tirradiance\nin\tin\tmW/cm²\n1\t2\t80").expect("a header");
        let (_, first) = pasted.read().expect("a reading")[0].clone();
        assert_eq!(
            (first.x, first.y, first.irradiance),
            (25.4, 50.8, Some(80.0))
        );
    }

    #[test]
    fn a_unit_that_nobody_says_is_to_be_asked_for() {
        let mut pasted = block("position\tirradiance\nA1\t80").expect("a header");
        assert_eq!(
            pasted.without_unit(),
            [(1, "irradiance", Field::Irradiance)]
        );
        let errors = pasted.read().expect_err("no unit");
        assert!(
            errors[0]
                .to_string()
                .contains("'irradiance' does not say a known unit"),
            "{errors:?}"
        );
        pasted.take(1, USES[11].1);
        assert_eq!(
            pasted.read().map(|rows| rows[0].1.irradiance),
            Ok(Some(80_000.0))
        );
    }

    #[test]
    fn what_has_no_header_is_left_to_the_columns() {
        for text in ["A1\t80\nA2\t81", "80\n81", "note", "position\t12\nA1\t80"] {
            assert!(block(text).is_none(), "{text:?}");
        }
    }
}
