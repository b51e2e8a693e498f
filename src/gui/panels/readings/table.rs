//! A survey's readings while the grid's wishes are worked in: each becomes an edit with a name of its
//! own, or a refusal, and the next one sees what the one before did.

use std::ops::Range;

use super::cells::Field;
use crate::files::Pasted;
use crate::geometry::Place;
use crate::gui::widgets::grid::GridAction;
use crate::station::{Edit, Reading, Station};
use crate::units::Units;

/// A row without a place yet. It becomes a reading as soon as x and y are known.
#[derive(Debug, Clone)]
pub(super) struct Draft {
    /// The row where it stands among the readings.
    pub at: usize,
    /// What is known of it; its place counts only where `known` says so.
    pub reading: Reading,
    /// Whether x, y and height are known.
    pub known: [bool; 3],
    /// It was put in before a row, rather than begun at the end.
    inserted: bool,
}

impl Draft {
    fn new(at: usize, inserted: bool) -> Self {
        Self {
            at,
            reading: Reading::new(Place::new(0.0, 0.0, 0.0), None),
            known: [false; 3],
            inserted,
        }
    }

    /// Whether the field's text stands for something.
    pub(super) fn knows(&self, field: Field) -> bool {
        match field {
            Field::X => self.known[0],
            Field::Y => self.known[1],
            Field::Height => self.known[2],
            _ => true,
        }
    }

    fn write(&mut self, units: Units, field: Field, text: &str) -> Result<(), String> {
        let known = match field {
            Field::X => Some(0),
            Field::Y => Some(1),
            Field::Height => Some(2),
            _ => None,
        };
        if let Some(i) = known {
            self.known[i] = !text.trim().is_empty();
            if !self.known[i] {
                return Ok(());
            }
        }
        units.write(&mut self.reading, field, text)
    }

    fn is_blank(&self) -> bool {
        self.known == [false; 3] && self.reading == Self::new(self.at, false).reading
    }

    /// The reading, once it has a place: x and y typed or those of the plan's position of that name,
    /// the height typed or that of the row above or the plan's first.
    fn complete(&self, station: &Station, above: Option<&Reading>) -> Result<Reading, Field> {
        let mut reading = self.reading.clone();
        if !(self.known[0] && self.known[1]) {
            let planned = (station.positions().into_iter())
                .find(|p| !reading.position.is_empty() && p.name == reading.position)
                .ok_or(if self.known[0] { Field::Y } else { Field::X })?;
            if !self.known[0] {
                reading.x = planned.at.x;
            }
            if !self.known[1] {
                reading.y = planned.at.y;
            }
        }
        if !self.known[2] {
            reading.height = above
                .map(|r| r.height)
                .or(station.plan.heights.first().copied())
                .ok_or(Field::Height)?;
        }
        Ok(reading)
    }
}

/// What became of one wish.
#[derive(Debug)]
pub(super) enum Outcome {
    /// Nothing to do.
    Nothing,
    /// The document is to change so.
    Edit(Box<Edit>),
    /// A typed text can't be taken, with a sentence of why.
    RefuseCell {
        row: usize,
        column: usize,
        text: String,
        message: String,
    },
    /// The document is to change so, and that is to be said of it.
    Said(Box<Edit>, String),
    /// A block can't be taken, with a sentence of why.
    Refuse(String),
    /// A block does not say in which units it is: the row that it was pasted at, and the block.
    Ask(usize, Pasted),
}

/// The readings with the draft among them.
pub(super) struct Table<'a> {
    pub station: &'a Station,
    pub survey: usize,
    pub units: Units,
    pub readings: Vec<Reading>,
    pub draft: Option<Draft>,
}

/// A row of the grid, as it stands among the readings.
enum Row {
    Reading(usize),
    Draft,
    New,
}

impl Table<'_> {
    fn row(&self, row: usize) -> Row {
        match &self.draft {
            Some(draft) if row == draft.at => Row::Draft,
            Some(draft) if row > draft.at => self.reading_row(row - 1),
            _ => self.reading_row(row),
        }
    }

    /// Which reading stands in a row.
    pub(super) fn reading_at(&self, row: usize) -> Option<usize> {
        match self.row(row) {
            Row::Reading(at) => Some(at),
            Row::Draft | Row::New => None,
        }
    }

    fn reading_row(&self, row: usize) -> Row {
        if row < self.readings.len() {
            Row::Reading(row)
        } else {
            Row::New
        }
    }

    /// Works one wish in.
    pub(super) fn take(&mut self, action: GridAction) -> Outcome {
        match action {
            GridAction::Type { row, column, text } => match Field::ALL.get(column) {
                Some(&field) => self.type_cell(row, field, text),
                None => Outcome::Nothing,
            },
            GridAction::Paste { row, column, cells } => match Pasted::under_header(&cells) {
                Some(pasted) if pasted.without_unit().is_empty() => {
                    self.paste_under_header(row, &pasted)
                }
                Some(pasted) => Outcome::Ask(row, pasted),
                None => (self.paste(row, column, &cells)).unwrap_or_else(Outcome::Refuse),
            },
            GridAction::Clear { rows, columns } => {
                self.clear(rows, columns).unwrap_or_else(Outcome::Refuse)
            }
            GridAction::DeleteRows(rows) => self.delete(rows),
            GridAction::InsertRow(row) => {
                let at = match self.row(row) {
                    Row::Reading(at) => at,
                    Row::Draft | Row::New => return Outcome::Nothing,
                };
                self.draft = Some(Draft::new(at, true));
                Outcome::Nothing
            }
        }
    }

    fn type_cell(&mut self, row: usize, field: Field, text: String) -> Outcome {
        let refuse = |text: String, message: String| Outcome::RefuseCell {
            row,
            column: field.index(),
            text,
            message,
        };
        let at = match self.row(row) {
            Row::Reading(at) => {
                let old = &self.readings[at];
                let mut reading = old.clone();
                if let Err(message) = self.units.write(&mut reading, field, &text) {
                    return refuse(text, message);
                }
                let name = match (field, &old.excluded, &reading.excluded) {
                    (Field::Excluded, None, Some(_)) => format!("exclude row {}", row + 1),
                    (Field::Excluded, Some(_), None) => format!("count row {} again", row + 1),
                    _ => typed(row, field),
                };
                return self.replace(at..at + 1, vec![reading], name);
            }
            Row::New if self.draft.is_some() => {
                let message = "The row above has no place yet; type its x and y, or delete it";
                return refuse(text, message.into());
            }
            Row::New => self.readings.len(),
            Row::Draft => row,
        };
        let mut draft = self.draft.clone().unwrap_or_else(|| Draft::new(at, false));
        if let Err(message) = draft.write(self.units, field, &text) {
            return refuse(text, message);
        }
        let above = at.checked_sub(1).map(|i| &self.readings[i]);
        match draft.complete(self.station, above) {
            Ok(reading) => {
                let name = if draft.inserted {
                    "insert a row".to_owned()
                } else {
                    typed(row, field)
                };
                self.draft = None;
                self.replace(at..at, vec![reading], name)
            }
            Err(_) => {
                self.draft = (draft.inserted || !draft.is_blank()).then_some(draft);
                Outcome::Nothing
            }
        }
    }

    /// All or nothing: an error says row, column and what was expected.
    fn paste(
        &mut self,
        row: usize,
        column: usize,
        cells: &[Vec<String>],
    ) -> Result<Outcome, String> {
        let mut pasted: Vec<Reading> = Vec::with_capacity(cells.len());
        // The rows that the block takes the place of: one run, since rows are.
        let mut start = None;
        let mut replaced = 0;
        let mut count = 0;
        let mut draft_used = false;
        for (down, line) in cells.iter().enumerate() {
            let row = row + down;
            let wrong = |field: Field, message: String| {
                format!(
                    "Nothing was pasted. Row {}, {}: {message}",
                    row + 1,
                    field.title()
                )
            };
            if (line.iter().skip(Field::ALL.len().saturating_sub(column)))
                .any(|text| !text.trim().is_empty())
            {
                return Err(format!(
                    "Nothing was pasted. Row {} of the block has {} cells, more than there are columns from here on; begin further left or copy fewer columns",
                    down + 1,
                    line.len()
                ));
            }
            let cells = || Field::ALL.iter().copied().skip(column).zip(line);
            match self.row(row) {
                Row::Reading(at) => {
                    let mut reading = self.readings[at].clone();
                    for (field, text) in cells() {
                        (self.units.write(&mut reading, field, text))
                            .map_err(|message| wrong(field, message))?;
                    }
                    start.get_or_insert(at);
                    replaced += 1;
                    pasted.push(reading);
                }
                place @ (Row::Draft | Row::New) => {
                    if line.iter().all(|text| text.trim().is_empty()) {
                        continue;
                    }
                    let at = match (&place, &self.draft) {
                        (Row::Draft, Some(draft)) => draft.at,
                        _ => self.readings.len(),
                    };
                    let begun = self.draft.clone().filter(|_| matches!(place, Row::Draft));
                    draft_used |= begun.is_some();
                    let mut draft = begun.unwrap_or_else(|| Draft::new(at, false));
                    for (field, text) in cells() {
                        (draft.write(self.units, field, text))
                            .map_err(|message| wrong(field, message))?;
                    }
                    let begin = *start.get_or_insert(at);
                    let above = pasted.last().or_else(|| {
                        let above = begin.checked_sub(1)?;
                        self.readings.get(above)
                    });
                    let reading = draft.complete(self.station, above).map_err(|field| {
                        wrong(
                            field,
                            "a new reading needs x and y, or a position of the plan".into(),
                        )
                    })?;
                    pasted.push(reading);
                }
            }
            count += line.len().min(Field::ALL.len().saturating_sub(column));
        }
        let Some(start) = start else {
            return Ok(Outcome::Nothing);
        };
        if draft_used {
            self.draft = None;
        }
        Ok(self.replace(start..start + replaced, pasted, many("paste", count)))
    }

    fn clear(&mut self, rows: Range<usize>, columns: Range<usize>) -> Result<Outcome, String> {
        let fields = Field::ALL.get(columns).unwrap_or_default();
        let count = rows.len() * fields.len();
        let mut cleared = Vec::new();
        let mut start = None;
        let mut draft = self.draft.clone();
        for row in rows {
            match self.row(row) {
                Row::Reading(at) => {
                    let mut reading = self.readings[at].clone();
                    for &field in fields {
                        (self.units.write(&mut reading, field, "")).map_err(|message| {
                            format!(
                                "Nothing was cleared. Row {}, {}: {message}",
                                row + 1,
                                field.title()
                            )
                        })?;
                    }
                    start.get_or_insert(at);
                    cleared.push(reading);
                }
                Row::Draft => {
                    if let Some(draft) = &mut draft {
                        for &field in fields {
                            draft.write(self.units, field, "")?;
                        }
                    }
                }
                Row::New => {}
            }
        }
        self.draft = draft.filter(|d| d.inserted || !d.is_blank());
        Ok(match start {
            Some(at) => self.replace(at..at + cleared.len(), cleared, many("clear", count)),
            None => Outcome::Nothing,
        })
    }

    fn delete(&mut self, rows: Range<usize>) -> Outcome {
        let mut gone = Vec::new();
        let mut draft_gone = false;
        for row in rows {
            match self.row(row) {
                Row::Reading(at) => gone.push(at),
                Row::Draft => draft_gone = true,
                Row::New => {}
            }
        }
        if draft_gone {
            self.draft = None;
        }
        let Some(&first) = gone.first() else {
            return Outcome::Nothing;
        };
        if let Some(draft) = &mut self.draft
            && draft.at > first
        {
            draft.at -= gone.len();
        }
        self.readings.drain(first..first + gone.len());
        Outcome::Edit(Box::new(Edit::RemoveReadings {
            survey: self.survey,
            rows: gone,
        }))
    }

    /// Other readings in place of a run of them. Where their number changes, those after them are
    /// part of the edit too.
    pub(super) fn replace(
        &mut self,
        run: Range<usize>,
        with: Vec<Reading>,
        name: String,
    ) -> Outcome {
        if self.readings[run.clone()] == with {
            return Outcome::Nothing;
        }
        let row = run.start;
        let len = if run.len() == with.len() {
            with.len()
        } else {
            self.readings.len() - run.len() + with.len() - row
        };
        self.readings.splice(run, with);
        Outcome::Edit(Box::new(Edit::SetReadings {
            survey: self.survey,
            row,
            readings: self.readings[row..row + len].to_vec(),
            name,
        }))
    }
}

fn typed(row: usize, field: Field) -> String {
    format!("type {} in row {}", field.in_words(), row + 1)
}

fn many(verb: &str, cells: usize) -> String {
    let plural = if cells == 1 { "" } else { "s" };
    format!("{verb} {cells} cell{plural}")
}
