//! Readings on their way in: a file that was taken apart, how it is understood, and what that gives. The
//! person looks at it, corrects it, and only then is anything imported.

use std::path::PathBuf;
use std::sync::Arc;

use crate::files::{Cut, FileError, Raw, Table, Understanding};
use crate::station::Reading;
use crate::work::{Held, Latest, Wake};

mod filling;
mod turns;

pub use filling::Filling;

/// What an understanding gives: readings, or everything that is wrong.
pub type Outcome = Result<Table, Vec<FileError>>;

/// What is found out about an understanding, away from the window.
struct Found {
    outcome: Outcome,
    filling: Option<Filling>,
}

/// A file of readings that is looked at before it is imported.
pub struct Import {
    /// Where it is.
    pub path: PathBuf,
    /// Its cells.
    pub raw: Arc<Raw>,
    /// How they are understood.
    pub understanding: Understanding,
    /// Why the text could not be cut as it was asked for last.
    pub not_cut: Option<String>,
    /// Counts the understandings.
    version: u64,
    found: Latest<u64, Found>,
    /// The rows of the survey that was shown when the file was opened.
    rows: Arc<[Reading]>,
}

impl Import {
    /// `rows`: of the survey that is shown, if there is one.
    pub(super) fn new(
        path: PathBuf,
        raw: Raw,
        understanding: Understanding,
        rows: &[Reading],
        wake: Wake,
    ) -> Self {
        let mut import = Self {
            path,
            raw: Arc::new(raw),
            understanding,
            not_cut: None,
            version: 0,
            found: Latest::new(wake),
            rows: rows.into(),
        };
        import.ask();
        import
    }

    /// What the understanding gives.
    pub fn outcome(&self) -> Held<'_, Outcome> {
        self.found.held().map(|found| &found.outcome)
    }

    /// What the file comes to in the rows of the shown survey, where it fills in some that are empty.
    pub fn filling(&self) -> Option<&Filling> {
        self.found.held().current()?.filling.as_ref()
    }

    fn ask(&mut self) {
        self.version += 1;
        let (raw, understanding) = (self.raw.clone(), self.understanding.clone());
        let rows = self.rows.clone();
        self.found.ask(self.version, || {
            move |_: &_| {
                let outcome = understanding.read(&raw);
                let filling = (outcome.as_ref().ok())
                    .map(|table| Filling::of(&rows, &table.readings))
                    .filter(|filling| filling.filled > 0);
                Some(Ok(Found { outcome, filling }))
            }
        });
    }

    pub(super) fn collect(&mut self) {
        self.found.collect();
    }

    pub(super) fn understand(&mut self, understanding: Understanding) {
        self.understanding = understanding;
        self.ask();
    }

    /// Cuts the text otherwise and guesses anew what its cells are.
    pub(super) fn cut(&mut self, cut: Cut) {
        match self.raw.cut(cut) {
            Ok(raw) => {
                self.raw = Arc::new(raw);
                self.not_cut = None;
                let decimal = self.understanding.decimal;
                self.understanding = Understanding {
                    decimal,
                    ..Understanding::guess(&self.raw, None)
                };
                self.ask();
            }
            Err(error) => self.not_cut = Some(error.to_string()),
        }
    }

    /// What the survey will be called.
    pub fn name(&self) -> String {
        let stem = self.path.file_stem();
        stem.map_or_else(|| "Imported".into(), |s| s.to_string_lossy().into_owned())
    }
}
