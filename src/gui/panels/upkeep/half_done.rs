//! What is typed or opened in this step and not part of the document.

use crate::record::upkeep_words::moment_words;
use crate::station::LogEntry;

/// What is half done in this step.
#[derive(Default)]
pub struct UpkeepEntry {
    pub(super) entry: Typed,
    /// The row of the log that is chosen.
    pub chosen: Option<usize>,
    /// Bring the chosen row into view.
    pub(super) scroll: bool,
    /// The event, the comparison whose form is open.
    pub(super) event: Option<usize>,
    pub(super) beside: Option<usize>,
    /// The reason that is typed for setting an entry aside.
    pub(super) reason: String,
}

impl UpkeepEntry {
    /// Chooses a row of the log and brings it into view.
    pub fn choose(&mut self, row: usize) {
        self.chosen = Some(row);
        self.scroll = true;
    }
}

/// What is typed and not logged yet.
#[derive(Default)]
pub(super) struct Typed {
    pub(super) when: String,
    pub(super) reading: String,
    pub(super) radiometer: Option<String>,
    pub(super) hours: String,
    pub(super) coldest: String,
    pub(super) by: String,
    pub(super) note: String,
    pub(super) wrong: Option<String>,
    /// The row that is being changed instead of a further one.
    pub(super) changes: Option<usize>,
}

impl Typed {
    /// Takes an entry up to be changed.
    pub(super) fn take(&mut self, row: usize, entry: &LogEntry, show: impl Fn(f64) -> String) {
        *self = Self {
            when: moment_words(entry.at),
            reading: match entry.saturated {
                true => "over".to_owned(),
                false => show(entry.irradiance),
            },
            radiometer: Some(entry.radiometer.clone()),
            hours: entry.lamp_hours.map(|h| h.to_string()).unwrap_or_default(),
            coldest: entry.at_coldest.map(show).unwrap_or_default(),
            by: entry.by.clone(),
            note: entry.note.clone(),
            wrong: None,
            changes: Some(row),
        };
    }
}
