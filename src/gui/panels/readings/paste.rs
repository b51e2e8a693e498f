//! A block pasted under its header: it is understood as a file is that is imported, and goes where a file would go. Where
//! it names places, it fills in the rows of these places; else it goes to the rows from the cursor on.

use eframe::egui::{Id, Label, Modal, Ui};

use super::table::{Outcome, Table};
use crate::files::{Field, FileError, Pasted, USES, Use};
use crate::gui::widgets::list::list;
use crate::session::Filling;
use crate::station::{Edit, Reading};
use crate::units::Units;

/// Errors that are named; more are counted.
const NAMED: usize = 3;

/// A block that waits for the units of some of its columns.
#[derive(Debug, Clone)]
pub(super) struct Question {
    pub survey: usize,
    /// The row of the grid at which it was pasted.
    pub row: usize,
    pub pasted: Pasted,
    /// The columns without a unit, and what is to be taken from them.
    chosen: Vec<(usize, String, Use)>,
}

impl Question {
    /// The units that the person sees elsewhere are offered first.
    pub(super) fn new(survey: usize, row: usize, pasted: Pasted, units: Units) -> Self {
        let chosen = (pasted.without_unit().into_iter())
            .map(|(column, header, field)| {
                let size = match field {
                    Field::Irradiance => units.irradiance.in_mw_cm2(),
                    _ => units.length.in_mm(),
                };
                (column, header.to_owned(), Use::Is(field, size))
            })
            .collect();
        Self {
            survey,
            row,
            pasted,
            chosen,
        }
    }

    /// The block with the units that were chosen.
    pub(super) fn answered(mut self) -> Self {
        for (column, _, what) in &self.chosen {
            self.pasted.take(*column, *what);
        }
        self
    }
}

/// What came of asking.
pub(super) enum Reply {
    Paste,
    Nothing,
}

/// Asks for the units that the block does not say.
pub(super) fn ask(ui: &Ui, question: &mut Question) -> Option<Reply> {
    let mut reply = None;
    let modal = Modal::new(Id::unique("units of a pasted block")).show(ui.ctx(), |ui| {
        ui.set_max_width(420.0);
        ui.heading("In which unit are they?");
        ui.add(
            Label::new("The first row of what you paste names these quantities and no unit").wrap(),
        );
        ui.add_space(6.0);
        for (column, header, what) in &mut question.chosen {
            ui.horizontal(|ui| {
                let label = ui.label(header.as_str()).id;
                let same = |(_, of): &&(&str, Use)| of.field() == what.field();
                let options: Vec<(Use, &str)> = (USES.iter().filter(same))
                    .map(|&(name, of)| (of, name))
                    .collect();
                list(ui, ("unit of column", *column), what, &options).labelled_by(label);
            });
        }
        ui.add_space(8.0);
        ui.horizontal(|ui| {
            let paste = ui.button("Paste");
            if ui.memory(|memory| memory.focused().is_none()) {
                paste.request_focus();
            }
            if paste.clicked() {
                reply = Some(Reply::Paste);
            }
            if ui.button("Cancel").clicked() {
                reply = Some(Reply::Nothing);
            }
        });
    });
    if modal.should_close() {
        reply = Some(Reply::Nothing);
    }
    reply
}

impl Table<'_> {
    /// Takes a block that says all its units; all or nothing.
    pub(super) fn paste_under_header(&mut self, row: usize, pasted: &Pasted) -> Outcome {
        let taken = (pasted.read().map_err(|errors| first_few(&errors))).and_then(|rows| {
            if pasted.says(Field::Position) || (pasted.says(Field::X) && pasted.says(Field::Y)) {
                self.fill_in(rows, pasted)
            } else {
                self.at_cursor(row, rows, pasted)
            }
        });
        taken.unwrap_or_else(|why| Outcome::Refuse(format!("Nothing was pasted. {why}")))
    }

    /// Fills in the rows of the places that the block names, as an import does.
    fn fill_in(&mut self, rows: Vec<(usize, Reading)>, pasted: &Pasted) -> Result<Outcome, String> {
        let mut placed = Vec::with_capacity(rows.len());
        for (line, mut reading) in rows {
            self.place(&mut reading, pasted)
                .map_err(|why| format!("Line {line}: {why}"))?;
            reading
                .sound()
                .map_err(|(what, mend)| format!("Line {line}: {what}; {mend}"))?;
            placed.push(reading);
        }
        let filling = Filling::of(&self.readings, &placed);
        if filling.readings == self.readings {
            return Err("The survey has all of these readings already".to_owned());
        }
        self.readings = filling.readings.clone();
        let survey = &self.station.surveys[self.survey].name;
        Ok(Outcome::Said(
            Box::new(Edit::SetReadings {
                survey: self.survey,
                row: 0,
                readings: filling.readings.clone(),
                name: format!("paste {} rows", placed.len()),
            }),
            filling.in_words(survey, true, self.units.length),
        ))
    }

    /// Gives a reading the place that the block does not say: that of the row or the planned position of the same name, and
    /// the height at which that position, or else all, is read.
    fn place(&self, reading: &mut Reading, pasted: &Pasted) -> Result<(), String> {
        let name = reading.position.trim().to_owned();
        let named = || {
            self.readings
                .iter()
                .filter(|r| !name.is_empty() && r.position.trim() == name)
        };
        let in_plan = || {
            let planned = self.station.positions();
            planned
                .into_iter()
                .find(|p| !name.is_empty() && p.name == name)
        };
        let place = named()
            .next()
            .map(|r| (r.x, r.y))
            .or_else(|| in_plan().map(|p| (p.at.x, p.at.y)));
        for (field, is_x) in [(Field::X, true), (Field::Y, false)] {
            if pasted.says(field) {
                continue;
            }
            let Some((x, y)) = place else {
                return Err(match name.as_str() {
                    "" => "it names no position; add one, or columns x_mm and y_mm".to_owned(),
                    _ => format!(
                        "there is no position '{name}' in the survey or in the plan; check the name, or add columns x_mm and y_mm"
                    ),
                });
            };
            *(if is_x { &mut reading.x } else { &mut reading.y }) = if is_x { x } else { y };
        }
        if !pasted.says(Field::Height) {
            let heights: Vec<f64> = match named().next() {
                Some(_) => named().map(|r| r.height).collect(),
                None if self.readings.is_empty() => self.station.plan.heights.clone(),
                None => self.readings.iter().map(|r| r.height).collect(),
            };
            reading.height = match heights.split_first() {
                Some((first, rest)) if rest.iter().all(|height| height == first) => *first,
                Some(_) => {
                    return Err("there are several heights, and the block does not say which; add a column height_mm".to_owned());
                }
                None => {
                    return Err("nobody says at which height; add a column height_mm".to_owned());
                }
            };
        }
        Ok(())
    }

    /// Puts what the columns say into the rows from the cursor on.
    fn at_cursor(
        &mut self,
        row: usize,
        rows: Vec<(usize, Reading)>,
        pasted: &Pasted,
    ) -> Result<Outcome, String> {
        let Some(first) = self.reading_at(row) else {
            return Err("The block names no position and no x and y, so it fits only on rows that are there; choose the first of them".to_owned());
        };
        let there = self.readings.len() - first;
        if let Some((line, _)) = rows.get(there) {
            return Err(format!(
                "Line {line}: there is no row left for it, and the block names no position and no x and y"
            ));
        }
        let run = first..first + rows.len();
        let mut with = self.readings[run.clone()].to_vec();
        for (now, (line, said)) in with.iter_mut().zip(rows) {
            take_over(now, &said, pasted);
            now.sound()
                .map_err(|(what, mend)| format!("Line {line}: {what}; {mend}"))?;
        }
        let name = format!("paste {} rows", run.len());
        Ok(self.replace(run, with, name))
    }
}

/// Takes over what the columns say.
fn take_over(now: &mut Reading, said: &Reading, pasted: &Pasted) {
    let Reading {
        position,
        x,
        y,
        height,
        irradiance,
        repeat,
        minute,
        excluded,
        saturated,
        note,
    } = said.clone();
    let says = |field| pasted.says(field);
    if says(Field::Position) {
        now.position = position;
    }
    if says(Field::X) {
        now.x = x;
    }
    if says(Field::Y) {
        now.y = y;
    }
    if says(Field::Height) {
        now.height = height;
    }
    if says(Field::Irradiance) {
        now.irradiance = irradiance;
    }
    if says(Field::Repeat) {
        now.repeat = repeat;
    }
    if says(Field::Minute) {
        now.minute = minute;
    }
    if says(Field::Excluded) {
        now.excluded = excluded;
    }
    if says(Field::Saturated) {
        now.saturated = saturated;
    }
    if says(Field::Note) {
        now.note = note;
    }
}

/// The first errors in a sentence. A pasted block is counted in cells: its columns are those of the block.
fn first_few(errors: &[FileError]) -> String {
    let said = errors.iter().take(NAMED).map(|error| {
        let place = match (error.line, error.column) {
            (Some(line), Some(column)) => format!("Line {line}, column {column}: "),
            (Some(line), None) => format!("Line {line}: "),
            _ => String::new(),
        };
        format!("{place}{}; {}", error.what, error.mend)
    });
    let mut said = said.collect::<Vec<_>>().join(". ");
    if errors.len() > NAMED {
        said += &format!(". And {} more", errors.len() - NAMED);
    }
    said
}
