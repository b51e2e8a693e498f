//! The course of an exposure as points, typed or pasted from a spreadsheet: cells as text and back.

use super::rows::Outcome;
use crate::gui::panels::numbers::number_text;
use crate::gui::widgets::grid::{Cell, Column, GridAction, Look};
use crate::station::Exposure;
use crate::units::parse_number;

const TITLES: [&str; 2] = ["Time", "Irradiance"];

pub(super) fn columns() -> [Column; 2] {
    [("s", 90.0), ("any unit", 110.0)].map(|(unit, width)| {
        let title = TITLES[usize::from(unit != "s")].to_owned();
        Column {
            title,
            unit: Some(unit.to_owned()),
            width,
            align_right: true,
            editable: true,
        }
    })
}

/// A point of which only one number has been typed.
pub(super) type Half = [Option<f64>; 2];

/// The points as the wishes before left them.
pub(super) struct Points {
    /// Time in s and irradiance, ascending in time.
    pub(super) points: Vec<(f64, f64)>,
    /// Stands behind them until it is whole.
    pub(super) half: Option<Half>,
}

/// The cell of a row, which may be the half typed point behind all others.
pub(super) fn cell(
    points: &[(f64, f64)],
    half: Option<Half>,
    row: usize,
    column: usize,
) -> Cell<'static> {
    let of = |pair: [Option<f64>; 2]| pair.get(column).copied().flatten();
    match (points.get(row), half) {
        (Some(&(time, value)), _) => Cell::new(
            of([Some(time), Some(value)])
                .map(number_text)
                .unwrap_or_default(),
        ),
        (None, Some(half)) => Cell {
            text: of(half).map(number_text).unwrap_or_default().into(),
            look: match of(half) {
                Some(_) => Look::Normal,
                None => Look::Missing,
            },
            hover: Some("A point needs its time and its irradiance".into()),
        },
        (None, None) => Cell::default(),
    }
}

/// A number, or a sentence that names the column.
fn number(column: usize, text: &str) -> Result<f64, String> {
    match text.trim() {
        "" => Err(format!(
            "a point needs its {}; type a number, or delete the row",
            TITLES[column.min(1)].to_lowercase()
        )),
        text => parse_number(text).map_err(|wrong| wrong.to_string()),
    }
}

/// The points in the order of time, if the document would take them.
fn sound(mut points: Vec<(f64, f64)>) -> Result<Vec<(f64, f64)>, String> {
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let exposure = Exposure::Measured {
        points,
        reference: None,
    };
    exposure
        .sound()
        .map_err(|(_, (what, mend))| format!("{what}; {mend}"))?;
    match exposure {
        Exposure::Measured { points, .. } => Ok(points),
        Exposure::Model(_) => Ok(Vec::new()),
    }
}

impl Points {
    pub(super) fn take(&mut self, action: GridAction) -> Outcome {
        match action {
            GridAction::Type { row, column, text } => match self.typed(row, column, &text) {
                Ok(outcome) => outcome,
                Err(why) => Outcome::RefuseCell(row, column, text, why),
            },
            GridAction::Paste { row, column, cells } => match self.paste(row, column, &cells) {
                Ok(outcome) => outcome,
                Err(why) => Outcome::Refuse(format!("Nothing was pasted. {why}")),
            },
            GridAction::Clear { rows, columns } if columns.len() >= TITLES.len() => {
                self.delete(rows)
            }
            GridAction::Clear { .. } => Outcome::Refuse(
                "A point needs its time and its irradiance; select both columns to delete points"
                    .into(),
            ),
            GridAction::DeleteRows(rows) => self.delete(rows),
            GridAction::InsertRow(_) => Outcome::Refuse(
                "Type the new point in the last row; it is put in the order of time".into(),
            ),
        }
    }

    fn delete(&mut self, rows: std::ops::Range<usize>) -> Outcome {
        let all = self.points.len();
        if rows.end > all {
            self.half = None;
        }
        let rows = rows.start.min(all)..rows.end.min(all);
        match rows.len() {
            0 => Outcome::Nothing,
            n => {
                self.points.drain(rows);
                Outcome::Named(format!("delete {n} points"))
            }
        }
    }

    fn typed(&mut self, row: usize, column: usize, text: &str) -> Result<Outcome, String> {
        let mut points = self.points.clone();
        if let Some(point) = points.get_mut(row) {
            let value = number(column, text)?;
            let cell = if column == 0 {
                &mut point.0
            } else {
                &mut point.1
            };
            if *cell == value {
                return Ok(Outcome::Nothing);
            }
            *cell = value;
            self.points = sound(points)?;
            return Ok(Outcome::Named("type a point".into()));
        }
        let mut half = self.half.unwrap_or_default();
        if let Some(cell) = half.get_mut(column) {
            *cell = match text.trim() {
                "" => None,
                text => Some(number(column, text)?),
            };
        }
        if let [Some(time), Some(value)] = half {
            points.push((time, value));
            self.points = sound(points)?;
            self.half = None;
            return Ok(Outcome::Named("type a point".into()));
        }
        self.half = Some(half).filter(|half| *half != [None, None]);
        Ok(Outcome::Nothing)
    }

    /// All or nothing; a sentence says which line of the block was wrong. A first line without any number is
    /// taken for the heads of the columns.
    fn paste(
        &mut self,
        row: usize,
        column: usize,
        cells: &[Vec<String>],
    ) -> Result<Outcome, String> {
        let mut points = self.points.clone();
        let is_head =
            |line: &[String]| cells.len() > 1 && line.iter().all(|t| parse_number(t).is_err());
        let mut row = row.min(points.len());
        let mut count = 0;
        let mut before: Option<f64> = None;
        for (down, line) in cells.iter().enumerate() {
            let is_blank = line.iter().all(|text| text.trim().is_empty());
            if is_blank || (down == 0 && is_head(line)) {
                continue;
            }
            let there = TITLES.len().saturating_sub(column);
            if line.iter().skip(there).any(|text| !text.trim().is_empty()) {
                return Err(format!(
                    "Line {} has {} columns; copy two, time and irradiance, and paste them at Time",
                    down + 1,
                    line.len()
                ));
            }
            let wrong = |column: usize| {
                move |why: String| format!("Line {}, {}: {why}", down + 1, TITLES[column.min(1)])
            };
            let (mut time, mut value) = match points.get(row) {
                Some(&(time, value)) => (Some(time), Some(value)),
                None => (None, None),
            };
            for (at, text) in (column..).zip(line.iter().take(there)) {
                let read = Some(number(at, text).map_err(wrong(at))?);
                if at == 0 {
                    time = read;
                } else {
                    value = read;
                }
            }
            let (Some(time), Some(value)) = (time, value) else {
                return Err(format!(
                    "Line {}: a new point needs time and irradiance; copy both columns and paste them at Time",
                    down + 1
                ));
            };
            if let Some(before) = before.filter(|&before| time <= before) {
                return Err(format!(
                    "Line {}, Time: {} s does not come after {} s in the line above; put the lines in the order of time, each time once",
                    down + 1,
                    number_text(time),
                    number_text(before)
                ));
            }
            before = Some(time);
            match points.get_mut(row) {
                Some(point) => *point = (time, value),
                None => points.push((time, value)),
            }
            row += 1;
            count += 1;
        }
        let points = sound(points)?;
        if row > self.points.len() {
            self.half = None;
        }
        if points == self.points {
            return Ok(Outcome::Nothing);
        }
        self.points = points;
        Ok(Outcome::Named(format!("paste {count} points")))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn block(text: &str) -> Vec<Vec<String>> {
        let line = |line: &str| line.split('\t').map(str::to_owned).collect();
        text.lines().map(line).collect()
    }

    fn paste(points: &mut Points, row: usize, text: &str) -> Outcome {
        let (column, cells) = (0, block(text));
        points.take(GridAction::Paste { row, column, cells })
    }

    fn type_in(points: &mut Points, row: usize, column: usize, text: &str) -> Outcome {
        let text = text.to_owned();
        points.take(GridAction::Type { row, column, text })
    }

    fn empty() -> Points {
        Points {
            points: Vec::new(),
            half: None,
        }
    }

    #[test]
    fn two_columns_with_their_heads_and_decimal_commas() {
        let mut points = empty();
        let said = paste(&mut points, 0, "t in s\tE\n0\t0\n0,5\t80\n\n1,5\t0\n");
        assert_eq!(said, Outcome::Named("paste 3 points".into()));
        assert_eq!(points.points, [(0.0, 0.0), (0.5, 80.0), (1.5, 0.0)]);
        // over some of them, and past the last
        paste(&mut points, 2, "2\t1\n3\t0");
        assert_eq!(points.points[2..], [(2.0, 1.0), (3.0, 0.0)]);
    }

    #[test]
    fn a_wrong_line_is_named_and_nothing_changes() {
        for (text, said) in [
            ("0\t1\n1\tx", "Line 2, Irradiance: 'x' is not a number"),
            (
                "0\t1\n1\t2\n1\t3",
                "Line 3, Time: 1 s does not come after 1 s",
            ),
            ("0\t1\n\t2", "Line 2, Time: a point needs its time"),
            ("0\t1\n1", "Line 2: a new point needs time and irradiance"),
            ("0\t1\t2", "Line 1 has 3 columns"),
            ("0\t1\n1e9\t2", "the time of the exposure"),
        ] {
            let mut points = empty();
            let Outcome::Refuse(why) = paste(&mut points, 0, text) else {
                panic!("{text:?} was taken");
            };
            assert!(
                why.starts_with("Nothing was pasted. ") && why.contains(said),
                "{why}"
            );
            assert!(points.points.is_empty());
        }
    }

    #[test]
    fn a_point_is_one_as_soon_as_it_is_whole_and_comes_in_the_order_of_time() {
        let mut points = empty();
        paste(&mut points, 0, "0\t0\n2\t80");
        assert_eq!(type_in(&mut points, 2, 0, "1"), Outcome::Nothing);
        assert_eq!(points.half, Some([Some(1.0), None]));
        assert_eq!(cell(&points.points, points.half, 2, 0).text, "1");
        assert_eq!(cell(&points.points, points.half, 2, 1).look, Look::Missing);
        type_in(&mut points, 2, 1, "70");
        assert_eq!(points.points, [(0.0, 0.0), (1.0, 70.0), (2.0, 80.0)]);
        assert_eq!(points.half, None);
        type_in(&mut points, 0, 0, "3");
        assert_eq!(points.points[2], (3.0, 0.0));
        for (row, text) in [(0, "3"), (1, ""), (1, "soon")] {
            let said = type_in(&mut points, row, 0, text);
            assert!(matches!(said, Outcome::RefuseCell(..)), "{said:?}");
        }
        let said = points.take(GridAction::Clear {
            rows: 0..2,
            columns: 0..2,
        });
        assert_eq!(said, Outcome::Named("delete 2 points".into()));
        assert_eq!(points.points, [(3.0, 0.0)]);
    }
}
