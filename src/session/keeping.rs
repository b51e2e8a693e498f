//! Nothing that was entered is lost: the journal of this run, and what an earlier run left unsaved.
//!
//! The journal goes when its changes are saved and on the disk. One that nobody has locked is of a program that ended: the
//! next start offers it, as steps of undo. A half typed cell, and a row that has no place yet, are not in it.

mod turns;

use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::SystemTime;

use super::history::History;
use super::keeper::Keeper;
use crate::files::{self, Drive, FileError, Journal, JournalLine, Orphan, Trail};
use crate::station::Edit;
use crate::work::Job;

/// Who runs the program, and where it may keep what is not saved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Keep {
    /// The folder of journals; made when it is not there.
    pub folder: PathBuf,
    /// A word that no other run of the program has, fit for a file's name.
    pub run: String,
    /// What others are told of who has a file open, such as `ana on bench-2`.
    pub who: String,
}

/// Work that an earlier run left unsaved, as it is asked about.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftUnsaved {
    /// The station's name.
    pub name: String,
    /// Its file, if it has one.
    pub path: Option<PathBuf>,
    /// When the last change was made.
    pub changed: Option<SystemTime>,
    /// How many changes there are.
    pub changes: usize,
    /// What the last one is called, as undo calls it.
    pub last: Option<String>,
    /// Whether a part of it could not be read.
    pub is_damaged: bool,
    /// Whether another window may be at it yet: the disk can't tell.
    pub may_run: bool,
}

/// What an earlier run left, taken up as far as it goes.
struct Found {
    orphan: Orphan,
    history: History,
    /// Changes that could be made again.
    changes: usize,
    /// That of its file.
    trail: Arc<Trail>,
}

type Looked = (Vec<Found>, Vec<FileError>);

/// The journal of this run and those of earlier ones.
#[derive(Default)]
pub(super) struct Keeping {
    keeper: Option<Keeper>,
    looking: Option<Job<Looked>>,
    found: VecDeque<Found>,
    /// Names of the journals of earlier runs that were taken up by this one.
    taken_up: Vec<String>,
    /// The person has heard that the journal can't be written.
    said: bool,
}

impl Keeping {
    pub(super) fn is_looking(&self) -> bool {
        self.looking.is_some()
    }
}

impl Found {
    fn said(&self) -> LeftUnsaved {
        LeftUnsaved {
            name: self.history.now().name.clone(),
            path: self.orphan.journal.begin.path.clone(),
            changed: self.orphan.changed,
            changes: self.changes,
            last: self.history.undo_name().map(str::to_owned),
            is_damaged: self.orphan.journal.is_damaged,
            may_run: self.orphan.may_run,
        }
    }
}

/// What earlier runs left unsaved in a folder. A journal whose changes are in the station's file already
/// (the program ended just after saving), or came to nothing, is taken away.
fn look(drive: &Drive, folder: &Path, run: &str) -> Looked {
    let (orphans, wrong) = files::orphans(drive, folder, run);
    let mut found = Vec::new();
    for mut orphan in orphans {
        let (history, changes, trail) = replay(drive, &mut orphan.journal);
        orphan.journal.is_damaged |= changes < orphan.journal.changes.len();
        if orphan.journal.begin.station == *history.now() && !orphan.journal.is_damaged {
            orphan.remove();
        } else {
            found.push(Found {
                orphan,
                history,
                changes,
                trail,
            });
        }
    }
    (found, wrong)
}

/// What undo calls a step of an earlier session that was no edit.
const TAKEN_UP: &str = "work of an earlier session, restored";

/// The changes of a journal made again, each a step of undo, and how many could be. Where the file holds
/// the document as it was on the way, the program had saved it before it ended: then that is what is
/// saved, and nobody else's.
fn replay(drive: &Drive, journal: &mut Journal) -> (History, usize, Arc<Trail>) {
    let begin = &mut journal.begin;
    let now = (begin.path.as_ref()).and_then(|path| files::open_on(drive, path).ok());
    let trail = now.as_ref().map(|(opened, _)| opened.trail.clone());
    let trail = Arc::new(trail.unwrap_or_default());
    let mut own = now.filter(|(_, stamp)| Some(*stamp) != begin.stamp);
    let mut history = History::new(begin.station.clone());
    for (made, entry) in journal.changes.iter().enumerate() {
        match entry {
            JournalLine::Edit(edit, gesture, day) => {
                if history.apply(Edit::clone(edit), *gesture, *day).is_err() {
                    return (history, made, trail);
                }
            }
            JournalLine::Other(difference) => {
                let other = difference.restored(history.now());
                // what a damaged journal says of readings may be anything
                let Some(other) = other.filter(|station| station.unsound().is_empty()) else {
                    return (history, made, trail);
                };
                history.put(Arc::new(other), TAKEN_UP);
            }
            JournalLine::Whole(station) => history.put(Arc::clone(station), TAKEN_UP),
            JournalLine::Begin(_) => return (history, made, trail),
        }
        if let Some((_, stamp)) = own.take_if(|(opened, _)| opened.station == **history.now()) {
            begin.station = history.now().clone();
            begin.stamp = Some(stamp);
            begin.is_sample = false;
        }
    }
    (history, journal.changes.len(), trail)
}
