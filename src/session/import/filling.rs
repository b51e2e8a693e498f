//! Readings of a file for the rows of a survey that wait for them. Nothing that was read is overwritten, and nothing
//! that the file reads is dropped.

use std::collections::HashMap;

use crate::geometry::Point;
use crate::station::Reading;
use crate::units::LengthUnit;

/// Places and heights no farther apart than this along an axis are the same, mm.
const SAME: f64 = 0.05;
/// Places that are listed one by one.
const LISTED: usize = 8;

/// What a file comes to in the rows of a survey.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Filling {
    /// All rows of the survey afterwards.
    pub readings: Vec<Reading>,
    /// Empty rows that got a reading.
    pub filled: usize,
    /// Those of them that took the file's x and y: the name of the position was the same, the place another.
    pub moved: usize,
    /// Rows at the end that had no row like them.
    pub added: usize,
    /// Rows of the file that the survey has already, or that have no irradiance where the survey has a row.
    pub left_out: usize,
    /// Places that had another irradiance, which stays: the file's is at the end as their next repeat.
    pub again: Vec<There>,
}

/// A position by its name, or by its place where it has none.
#[derive(Debug, Clone, PartialEq)]
pub struct There {
    name: String,
    at: Point,
}

impl There {
    /// `A2`, or `x 10, y 20 mm`.
    pub fn in_words(&self, length: LengthUnit) -> String {
        if self.name.is_empty() {
            let (x, y) = (length.show(self.at.x), length.show_with_unit(self.at.y));
            format!("x {x}, y {y}")
        } else {
            self.name.clone()
        }
    }
}

impl Filling {
    /// The rows of a survey with the readings of a file: a row is filled in by the reading of the same position (by place,
    /// else by name), height and repeat.
    pub fn of(rows: &[Reading], file: &[Reading]) -> Self {
        let mut all = Self {
            readings: rows.to_vec(),
            ..Self::default()
        };
        let mut known = Index::default();
        for (i, row) in rows.iter().enumerate() {
            known.add(i, row);
        }
        for reading in file {
            all.take(&mut known, reading);
        }
        all
    }

    fn take(&mut self, known: &mut Index, reading: &Reading) {
        let there = known.like(reading, &self.readings);
        let same = || {
            there
                .iter()
                .filter(|&&i| self.readings[i].repeat == reading.repeat)
        };
        if same().next().is_none() {
            self.added += 1;
            self.readings.push(reading.clone());
        } else if !is_read(reading) {
            self.left_out += 1;
        } else if let Some(&i) = same().find(|&&i| !is_read(&self.readings[i])) {
            self.filled += 1;
            self.moved += usize::from(!is_same_place(&self.readings[i], reading));
            self.readings[i] = filled(&self.readings[i], reading);
        } else if same().any(|&i| is_same_reading(&self.readings[i], reading)) {
            self.left_out += 1;
        } else {
            let last = there.iter().map(|&i| self.readings[i].repeat).max();
            let next = Reading {
                repeat: last.unwrap_or(0).saturating_add(1),
                ..reading.clone()
            };
            let row = &self.readings[there[0]];
            let name = [&row.position, &reading.position];
            let name = name.into_iter().find(|name| !name.is_empty());
            self.again.push(There {
                name: name.cloned().unwrap_or_default(),
                at: Point::new(reading.x, reading.y),
            });
            known.add(self.readings.len(), &next);
            self.readings.push(next);
        }
    }

    /// What comes of it, as a sentence without its end; `is_done`: it was done.
    pub fn in_words(&self, survey: &str, is_done: bool, length: LengthUnit) -> String {
        let rows = |n: usize| match n {
            1 => "1 row".to_owned(),
            n => format!("{n} rows"),
        };
        let filled = rows(self.filled);
        let mut said = if is_done {
            format!("Filled in {filled} of survey '{survey}'")
        } else {
            format!("{filled} of survey '{survey}' can be filled in")
        };
        if self.moved > 0 {
            said += &format!(", {} of them with the file's x and y", self.moved);
        }
        if self.added > 0 {
            said += &format!(
                "; {} at its end, with no row like it before",
                rows(self.added)
            );
        }
        if self.left_out > 0 {
            said += &format!(
                "; {} of the file left out, as the survey has them",
                rows(self.left_out)
            );
        }
        if !self.again.is_empty() {
            let listed = self
                .again
                .iter()
                .take(LISTED)
                .map(|there| there.in_words(length));
            let listed: Vec<String> = listed.collect();
            let more = match self.again.len().saturating_sub(LISTED) {
                0 => String::new(),
                more => format!(" and {more} more"),
            };
            said += &format!(
                "; {} with another irradiance already: that stays, and the file's comes at the end as the next repeat ({}{more})",
                rows(self.again.len()),
                listed.join(", ")
            );
        }
        said
    }
}

fn is_read(reading: &Reading) -> bool {
    reading.irradiance.is_some() || reading.saturated
}

fn is_same_place(a: &Reading, b: &Reading) -> bool {
    (a.x - b.x).abs() <= SAME && (a.y - b.y).abs() <= SAME
}

fn is_same_reading(a: &Reading, b: &Reading) -> bool {
    let equal = match (a.irradiance, b.irradiance) {
        (Some(a), Some(b)) => (a - b).abs() <= 1e-9 * a.abs(),
        (a, b) => a == b,
    };
    equal && a.saturated == b.saturated
}

/// An empty row with what was read there; where it was read counts, and both notes are kept.
fn filled(row: &Reading, reading: &Reading) -> Reading {
    let mut now = reading.clone();
    if is_same_place(row, reading) {
        (now.x, now.y) = (row.x, row.y);
    }
    now.height = row.height;
    if !row.position.is_empty() {
        now.position.clone_from(&row.position);
    }
    now.excluded = now.excluded.or_else(|| row.excluded.clone());
    if !row.note.is_empty() && row.note != reading.note {
        let notes = [row.note.as_str(), reading.note.as_str()];
        let notes = notes.into_iter().filter(|note| !note.is_empty());
        now.note = notes.collect::<Vec<_>>().join("; ");
    }
    now
}

/// Finds rows by place and by name without looking at all of them.
#[derive(Default)]
struct Index {
    places: HashMap<[i64; 3], Vec<usize>>,
    names: HashMap<(String, i64), Vec<usize>>,
}

impl Index {
    fn add(&mut self, i: usize, row: &Reading) {
        let [x, y, z] = cells(row);
        self.places.entry([x, y, z]).or_default().push(i);
        let name = row.position.trim();
        if !name.is_empty() {
            self.names.entry((name.to_owned(), z)).or_default().push(i);
        }
    }

    /// Rows of the same height, first those of the same place, then those of the same name.
    fn like(&self, reading: &Reading, rows: &[Reading]) -> Vec<usize> {
        let [x, y, z] = cells(reading);
        let name = reading.position.trim();
        let (mut here, mut named) = (Vec::new(), Vec::new());
        let beside = |at: i64| (-1..=1).map(move |d| at.saturating_add(d));
        for z in beside(z) {
            for x in beside(x) {
                for y in beside(y) {
                    here.extend(self.places.get(&[x, y, z]).into_iter().flatten().copied());
                }
            }
            let same = self.names.get(&(name.to_owned(), z));
            named.extend(same.into_iter().flatten().copied());
        }
        here.retain(|&i| is_same_place(&rows[i], reading));
        here.sort_by_key(|&i| (rows[i].position.trim() != name, i));
        named.sort_unstable();
        for i in named {
            if !here.contains(&i) {
                here.push(i);
            }
        }
        here.retain(|&i| (rows[i].height - reading.height).abs() <= SAME);
        here
    }
}

/// The cells of a mesh no finer than what counts as the same.
fn cells(row: &Reading) -> [i64; 3] {
    [row.x, row.y, row.height].map(|v| (v / (2.0 * SAME)).floor() as i64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Place;

    fn row(position: &str, x: f64, irradiance: Option<f64>) -> Reading {
        Reading {
            position: position.into(),
            ..Reading::new(Place::new(x, 5.0, 3.0), irradiance)
        }
    }

    fn values(filling: &Filling) -> Vec<(f64, Option<f64>, u32)> {
        let rows = filling.readings.iter();
        rows.map(|r| (r.x, r.irradiance, r.repeat)).collect()
    }

    #[test]
    fn empty_rows_are_filled_and_what_was_read_stays() {
        let mut noted = row("A1", 10.0, None);
        noted.note = "near the post".into();
        let rows = [
            noted,
            row("A2", 20.0, None),
            row("", 30.0, None),
            row("A4", 40.0, Some(80.0)),
            row("A5", 50.0, Some(81.0)),
        ];
        let mut first = row("A1", 10.04, Some(90.0));
        first.minute = Some(2.0);
        let mut high = row("A2", 20.0, Some(70.0));
        high.height = 9.0;
        let file = [
            first,
            // the name is the same, the place is not
            row("A2", 24.0, Some(91.0)),
            row("C3", 30.0, Some(92.0)),
            row("A4", 40.0, Some(85.0)),
            row("A5", 50.0, Some(81.0)),
            high,
            row("A1", 10.0, None),
        ];
        let all = Filling::of(&rows, &file);
        assert_eq!(
            values(&all),
            [
                (10.0, Some(90.0), 1),
                (24.0, Some(91.0), 1),
                (30.0, Some(92.0), 1),
                (40.0, Some(80.0), 1),
                (50.0, Some(81.0), 1),
                (40.0, Some(85.0), 2),
                (20.0, Some(70.0), 1),
            ]
        );
        let counts = (all.filled, all.moved, all.added, all.left_out);
        assert_eq!(counts, (3, 1, 1, 2));
        assert_eq!(all.again.len(), 1);
        assert_eq!(all.again[0].in_words(LengthUnit::Mm), "A4");
        assert_eq!(all.readings[0].note, "near the post");
        assert_eq!(all.readings[0].minute, Some(2.0));
        assert_eq!(all.readings[2].position, "C3");
        // once more: all of it is there
        let twice = Filling::of(&all.readings, &file[..3]);
        assert_eq!((twice.filled, twice.left_out), (0, 3));
        assert_eq!(twice.readings, all.readings);
    }

    #[test]
    fn a_place_read_twice_in_the_file_is_its_next_repeat() {
        let file = [
            row("A1", 10.0, Some(80.0)),
            row("A1", 10.0, Some(82.0)),
            row("A1", 10.0, Some(84.0)),
        ];
        let all = Filling::of(&[row("A1", 10.0, None)], &file);
        assert_eq!(
            values(&all),
            [
                (10.0, Some(80.0), 1),
                (10.0, Some(82.0), 2),
                (10.0, Some(84.0), 3)
            ]
        );
        // an over-range reading is one
        let mut over = row("A1", 10.0, None);
        over.saturated = true;
        let all = Filling::of(&[over.clone()], &file[..1]);
        assert_eq!(all.readings[0], over);
        assert_eq!((all.filled, all.again.len()), (0, 1));
    }
}
