//! What the session does with a file of readings.

use super::super::{Notice, Session, Step};
use super::Filling;
use super::Import;
use crate::station::{Edit, Reading, Survey};

impl Session {
    /// The file of readings that is looked at.
    pub fn import(&self) -> Option<&Import> {
        self.import.as_ref()
    }

    /// Nothing is looked at any more; the next file that was asked for has its turn.
    pub(in crate::session) fn put_import_away(&mut self) {
        self.import = None;
        self.go_on();
    }

    /// Imports what was looked at, as a new survey; nothing when it can't all be read.
    pub(in crate::session) fn finish_import(&mut self) {
        let Some(import) = &self.import else { return };
        let Some(Ok(table)) = import.outcome().current() else {
            return;
        };
        let (name, readings) = (import.name(), table.readings.clone());
        self.add_imported(&name, readings);
        self.put_import_away();
    }

    /// Fills in the empty rows of the shown survey from what was looked at, as one step to undo; nothing when it can't all
    /// be read, or fills in none.
    pub(in crate::session) fn fill_from_import(&mut self) {
        let (Some(import), Some((survey, shown))) = (&self.import, self.survey()) else {
            return;
        };
        let Some(Ok(table)) = import.outcome().current() else {
            return;
        };
        // anew, should the rows have changed since the file was opened
        let filling = Filling::of(&shown.readings, &table.readings);
        if filling.filled == 0 {
            return;
        }
        let said = filling.in_words(&shown.name, true, self.preferences.length_unit);
        let name = format!("fill in rows of survey '{}'", shown.name);
        let edit = Edit::SetReadings {
            survey,
            row: 0,
            readings: filling.readings.clone(),
            name,
        };
        self.edit(edit, None);
        self.looking.step = Step::Readings;
        // else the notice says why it was refused
        if self
            .survey()
            .is_some_and(|(_, now)| now.readings == filling.readings)
        {
            self.asking.notice = Some(Notice::done(said));
        }
        self.put_import_away();
    }

    fn add_imported(&mut self, name: &str, readings: Vec<Reading>) {
        let rows = Survey::rows_in_words(&readings);
        let survey = Survey {
            readings,
            ..self.station().new_survey(name, self.today)
        };
        let unique = survey.name.clone();
        self.edit(Edit::AddSurvey(survey), None);
        self.looking.step = Step::Readings;
        self.asking.notice = Some(Notice::done(format!(
            "Imported {rows} as survey '{unique}'; enter its date, radiometer and the state of the source"
        )));
    }
}
