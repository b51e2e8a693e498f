//! The readings' panel: which survey, what is known about it, and its readings as a table to type
//! and paste into.

mod bench;
mod cells;
mod details;
mod drift;
mod entry;
mod marks;
mod paste;
mod repeat;
mod table;

use eframe::egui::{
    Align, Button, CollapsingHeader, Context, Label, Layout, ScrollArea, Ui, UiBuilder, vec2,
};

use super::cautions::cautions;
use super::findings::two_lines;
use super::prepare::{new_survey, prepare};
use super::{Panel, PanelState, heading, sample_link};
use crate::files::Pasted;
use crate::gui::widgets::field_row::jump_to;
use crate::gui::widgets::grid::{Cell, Grid, Look};
use crate::gui::words;
use crate::session::{Action, Command, Session};
use crate::station::{Edit, Reading, Survey, Where};
use crate::units::Units;
use cells::Field;
pub use entry::{ReadingsEntry, begin};
use marks::Marks;
use table::{Draft, Outcome, Table};

/// Shows the panel.
pub fn show(ui: &mut Ui, panel: &mut Panel<'_>) {
    let session = panel.session;
    let Some((index, survey)) = session.survey() else {
        empty(ui, panel);
        return;
    };
    let room = ui.available_height();
    // where there is no room for a table of some rows, the panel scrolls
    ScrollArea::vertical()
        .id_salt("readings")
        .auto_shrink(false)
        .show(ui, |ui| {
            if session.is_at_bench() {
                return bench::show(ui, panel, index, survey);
            }
            let top = ui.cursor().top();
            surveys(ui, panel, index, survey);
            cautions(ui);
            let unfold = std::mem::take(&mut panel.state.entry.unfold);
            CollapsingHeader::new("Details of the survey")
                .open(unfold.then_some(true))
                .show(ui, |ui| {
                    // The table keeps at least half of the height.
                    ScrollArea::vertical()
                        .id_salt("details of the survey")
                        .max_height((0.5 * room).max(100.0))
                        .show(ui, |ui| details::show(ui, panel, index, survey));
                });
            drift::show(ui, panel, index, survey);
            repeat::show(ui, panel, room);
            if let Some(message) = &panel.state.entry.message {
                ui.add(Label::new(message).wrap());
            }
            let left = room - (ui.cursor().top() - top) - 1.0;
            let size = vec2(ui.available_width(), left.max(LEAST_TABLE));
            let (_, space) = ui.allocate_space(size);
            let table = UiBuilder::new()
                .id_salt("table of readings")
                .max_rect(space);
            readings(&mut ui.new_child(table), panel, index, survey);
        });
}

/// Least height of the table with the line above it, in points: some rows under their head.
const LEAST_TABLE: f32 = 190.0;

/// Brings the person to where a finding about a survey is; whether it was one.
pub fn jump(ctx: &Context, panel: &mut Panel<'_>) -> bool {
    match panel.session.go_to() {
        Some(&Where::Reading(_, row)) => {
            let before = draft_of(panel, panel.session.survey().map(|(i, _)| i))
                .is_some_and(|draft| draft.at <= row);
            let row = row + usize::from(before);
            panel.state.readings.go_to(row, Field::Irradiance.index());
        }
        Some(Where::Survey(_, field)) => {
            panel.state.entry.unfold = true;
            jump_to(ctx, &format!("survey {field}"));
        }
        Some(Where::Repeat) => panel.state.entry.unfold_repeat = true,
        _ => return false,
    }
    true
}

/// The reading on which the table's cursor stands, by its row in the survey that is shown.
pub fn chosen(state: &PanelState, session: &Session) -> Option<usize> {
    let (survey, of) = session.survey()?;
    if session.is_at_bench() {
        return state.entry.bench.stop(of);
    }
    let row = state.readings.cursor().row;
    let draft = (state.entry.draft.as_ref()).filter(|(of, _)| *of == survey);
    let row = match draft {
        Some((_, draft)) if row == draft.at => return None,
        Some((_, draft)) if row > draft.at => row - 1,
        _ => row,
    };
    (row < of.readings.len()).then_some(row)
}

/// Whether some reading is out of line with the others.
pub fn is_flagged(state: &PanelState) -> bool {
    state.entry.marks.all_out_of_line().next().is_some()
}

/// Each reading that is out of line, with all that is said of it; a click leads there.
pub fn flagged(ui: &mut Ui, panel: &mut Panel<'_>) {
    const MOST: usize = 50;
    let Some((survey, of)) = panel.session.survey() else {
        return;
    };
    let marks = &panel.state.entry.marks;
    for (row, said) in marks.all_out_of_line().take(MOST) {
        let name = (of.readings.get(row)).map_or("", |reading| reading.position.as_str());
        let name = match name {
            "" => format!("Row {}", row + 1),
            name => format!("Row {}, position {name}", row + 1),
        };
        let text = two_lines(
            ui,
            &format!("{name} is out of line with the others"),
            said,
            false,
        );
        if ui
            .add(Button::new(text).frame_when_inactive(false).wrap())
            .clicked()
        {
            let place = Where::Reading(survey, row);
            panel.commands.push(Command::GoTo(place));
        }
    }
}

fn draft_of<'a>(panel: &'a Panel<'_>, survey: Option<usize>) -> Option<&'a Draft> {
    let (of, draft) = panel.state.entry.draft.as_ref()?;
    (Some(*of) == survey).then_some(draft)
}

/// What a survey is, and how one begins.
fn empty(ui: &mut Ui, panel: &mut Panel<'_>) {
    heading(ui, "No survey yet");
    ui.add(Label::new("A survey is one round of readings on one day, with one radiometer and the source in one state. Prepare one from the plan and type in what the radiometer shows, or bring in readings that you have.").wrap());
    cautions(ui);
    ui.horizontal_wrapped(|ui| {
        prepare(ui, panel);
        add(ui, panel);
        if ui.button(Action::Import.text().text).clicked() {
            panel.state.wish = Some(Action::Import);
        }
    });
    sample_link(ui, panel);
}

fn add(ui: &mut Ui, panel: &mut Panel<'_>) {
    if ui.button("New survey").clicked() {
        let survey = new_survey(panel.session.station(), panel.session.today());
        panel.send(Command::Edit(Edit::AddSurvey(survey)));
    }
}

/// Which survey this is, chosen in the bar above; adding and deleting.
fn surveys(ui: &mut Ui, panel: &mut Panel<'_>, index: usize, survey: &Survey) {
    heading(ui, &words::survey(survey));
    ui.horizontal_wrapped(|ui| {
        add(ui, panel);
        prepare(ui, panel);
        let button = Button::new("Read at the bench");
        let pressed = ui
            .add_enabled(!survey.readings.is_empty(), button)
            .on_hover_text(
                "Stop by stop along the route, with large letters and buttons, the keyboard alone or a meter that types",
            )
            .on_disabled_hover_text("The survey has no rows yet: prepare one from the plan");
        if pressed.clicked() {
            panel.state.entry.bench = bench::state::Bench::by(&panel.session.station().plan);
            panel.send(Command::ReadAtBench(true));
        }
        if ui.button("Delete survey").clicked() {
            panel.send(Command::Edit(Edit::RemoveSurvey(index)));
        }
    });
}

/// The table, and what the person did with it.
fn readings(ui: &mut Ui, panel: &mut Panel<'_>, index: usize, survey: &Survey) {
    let session = panel.session;
    let units = session.preferences().units();
    let entry = &mut panel.state.entry;
    entry.marks.renew(session, index, units);
    if let Some(row) = out_of_line(ui, &entry.marks) {
        panel
            .commands
            .push(Command::GoTo(Where::Reading(index, row)));
    }
    let draft = (entry.draft.take())
        .filter(|(of, draft)| *of == index && draft.at <= survey.readings.len())
        .map(|(_, draft)| draft);
    let columns = units.columns();
    let cell = |row: usize, column: usize| {
        let field = Field::ALL[column];
        match &draft {
            Some(draft) if row == draft.at => draft_cell(draft, field, units),
            Some(draft) if row > draft.at => reading_cell(
                &survey.readings[row - 1],
                row - 1,
                field,
                units,
                &entry.marks,
            ),
            _ => reading_cell(&survey.readings[row], row, field, units, &entry.marks),
        }
    };
    let actions = Grid {
        name: "Readings",
        columns: &columns,
        rows: survey.readings.len() + usize::from(draft.is_some()),
        cell: &cell,
        rows_can_change: true,
    }
    .show(ui, &mut panel.state.readings);
    let was_asked = entry.question.is_some();
    let answered = answered(ui, &mut entry.question, index);
    if was_asked && entry.question.is_none() {
        let at = panel.state.readings.cursor();
        panel.state.readings.go_to(at.row, at.column);
    }
    if actions.is_empty() && answered.is_none() {
        entry.draft = draft.map(|draft| (index, draft));
        return;
    }
    entry.message = None;
    let mut table = Table {
        station: session.station(),
        survey: index,
        units,
        readings: survey.readings.clone(),
        draft,
    };
    let pasted = answered.map(|(row, pasted)| table.paste_under_header(row, &pasted));
    let outcomes = actions.into_iter().map(|action| table.take(action));
    for outcome in pasted.into_iter().chain(outcomes) {
        match outcome {
            Outcome::Nothing => {}
            Outcome::Edit(edit) => panel.commands.push(Command::Edit(*edit)),
            Outcome::Said(edit, said) => {
                panel.commands.push(Command::Edit(*edit));
                entry.message = Some(said);
            }
            Outcome::Ask(row, pasted) => {
                entry.question = Some(paste::Question::new(index, row, pasted, units));
            }
            Outcome::RefuseCell {
                row,
                column,
                text,
                message,
            } => panel.state.readings.refuse(row, column, text, message),
            Outcome::Refuse(message) => entry.message = Some(message),
        }
    }
    entry.draft = table.draft.map(|draft| (index, draft));
}

/// Asks for the units of a pasted block; once they are known, the block and the row that it was pasted at.
fn answered(
    ui: &Ui,
    asked: &mut Option<paste::Question>,
    survey: usize,
) -> Option<(usize, Pasted)> {
    let question = asked
        .as_mut()
        .filter(|question| question.survey == survey)?;
    let reply = paste::ask(ui, question)?;
    let question = asked.take()?.answered();
    match reply {
        paste::Reply::Paste => Some((question.row, question.pasted)),
        paste::Reply::Nothing => None,
    }
}

/// A line about the readings that are out of line; the row to go to where one was clicked. It is always one line high, so
/// that the table below stays where it is when something is found.
fn out_of_line(ui: &mut Ui, marks: &Marks) -> Option<usize> {
    /// Rows that are named; more are counted.
    const NAMED: usize = 4;
    let all: Vec<(usize, &str)> = marks.all_out_of_line().collect();
    let mut gone_to = None;
    let size = vec2(ui.available_width(), ui.spacing().interact_size.y);
    let line = Layout::left_to_right(Align::Center);
    ui.allocate_ui_with_layout(size, line, |ui| {
        ui.set_min_size(size);
        match all.len() {
            0 => return,
            1 => ui.label("1 reading is out of line with the others:"),
            n => ui.label(format!("{n} readings are out of line with the others:")),
        };
        for &(row, said) in all.iter().take(NAMED) {
            let link = ui.link(format!("row {}", row + 1));
            if link.on_hover_text(said).clicked() {
                gone_to = Some(row);
            }
        }
        if all.len() > NAMED {
            ui.label(format!("and {} more", all.len() - NAMED));
        }
    });
    gone_to
}

fn reading_cell(
    reading: &Reading,
    row: usize,
    field: Field,
    units: Units,
    marks: &Marks,
) -> Cell<'static> {
    let finding = marks.finding(row);
    let out_of_line = marks
        .out_of_line(row)
        .filter(|_| field == Field::Irradiance);
    let excluded = (reading.excluded.as_ref()).map(|reason| format!("Excluded: {reason}"));
    let look = if excluded.is_some() {
        Look::Muted
    } else if out_of_line.is_some() || (finding.is_some() && field == Field::Position) {
        Look::Flagged
    } else if field == Field::Irradiance && reading.irradiance.is_none() {
        Look::Missing
    } else {
        Look::Normal
    };
    let said: Vec<&str> = (excluded.as_deref().into_iter())
        .chain(out_of_line)
        .chain(finding)
        .collect();
    Cell {
        text: units.text(reading, field).into(),
        look,
        hover: (!said.is_empty()).then(|| said.join("\n").into()),
    }
}

fn draft_cell(draft: &Draft, field: Field, units: Units) -> Cell<'static> {
    if draft.knows(field) {
        return Cell::new(units.text(&draft.reading, field));
    }
    Cell {
        text: "".into(),
        look: Look::Missing,
        hover: Some(
            "Type x and y, or the name of a position of the plan, and the row becomes a reading"
                .into(),
        ),
    }
}
