//! Nothing that was entered is lost: the journal of this run, and what an earlier run left unsaved.

use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::SystemTime;

use super::disk::OpenFile;
use super::history::History;
use super::keeper::Keeper;
use super::{Notice, Question, Session, Step, Tone};
use crate::files::{self, Begin, Drive, Entry, FileError, Journal, Orphan};
use crate::station::{Difference, Edit, Station};
use crate::work::{Job, Look};

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

impl Session {
    /// From now on each change is kept in a journal until it is saved, and files that are open get a
    /// sign; what earlier runs left unsaved is looked for and asked about.
    pub fn keep_in(&mut self, keep: Keep) {
        let wake = self.wake.clone();
        self.disk.sign_as(keep.who);
        let folder = keep.folder.clone();
        let (drive, run) = (self.disk.drive(), keep.run.clone());
        let keeper = Keeper::new(drive.clone(), keep.folder, keep.run, wake.clone());
        self.keeping.keeper = Some(keeper);
        self.begin_journal();
        self.keeping.looking = Some(Job::start(wake, move |_| {
            Some(Ok(look(&drive, &folder, &run)))
        }));
    }

    /// What is saved.
    fn begin(&self) -> Begin {
        let file = self.disk.file();
        let file = file.filter(|file| file.path.to_str().is_some());
        Begin {
            path: file.map(|file| file.path.clone()),
            stamp: file.map(|OpenFile { stamp, .. }| *stamp),
            is_sample: self.disk.is_sample,
            station: self.disk.saved().clone(),
            replaces: self.keeping.taken_up.clone(),
        }
    }

    /// Another document has come, or this one was saved.
    pub(super) fn begin_journal(&mut self) {
        self.keeping.said = false;
        let (begin, now) = (self.begin(), self.station().clone());
        if let Some(keeper) = &mut self.keeping.keeper {
            keeper.begin(begin, &now);
        }
    }

    /// What is not saved is not wanted any more.
    pub(super) fn forget_journal(&self) {
        if let Some(keeper) = &self.keeping.keeper {
            keeper.end();
        }
    }

    /// Keeps a change that was made.
    pub(super) fn keep(&mut self, entry: Entry) {
        let Some(mut keeper) = self.keeping.keeper.take() else {
            return;
        };
        let kept = keeper.change(entry, || (self.begin(), self.station().clone()));
        self.keeping.keeper = Some(keeper);
        match kept {
            // from here on it is safe again, and would be told of again
            Ok(()) => self.keeping.said = false,
            Err(error) => self.not_kept(&error),
        }
    }

    /// Keeps the document as it is after undo and the like, told by how it was before.
    pub(super) fn keep_other(&mut self, before: &Station) {
        let difference = Difference::of(self.station(), before);
        self.keep(Entry::Other(Box::new(difference)));
    }

    /// Says, once until the next save, that the journal can't be written.
    fn not_kept(&mut self, error: &FileError) {
        if !std::mem::replace(&mut self.keeping.said, true) {
            self.notice = Some(Notice::trouble(format!(
                "What you enter can't be kept safe against a crash: {error}. Save often until then"
            )));
        }
    }

    /// Whether what is not saved is kept in a journal too.
    pub(super) fn is_kept(&self) -> bool {
        self.keeping.keeper.is_some() && !self.keeping.said
    }

    /// Once a frame: what the journal has to say, and what there is to ask about.
    pub(super) fn collect_keeping(&mut self) {
        if let Some(error) = self.keeping.keeper.as_ref().and_then(Keeper::wrong) {
            self.not_kept(&error);
        }
        match self.keeping.looking.as_ref().map(Job::look) {
            None | Some(Look::Working) => {}
            Some(ended) => {
                self.keeping.looking = None;
                if let Look::Ended(Ok((found, wrong))) = ended {
                    self.keeping.found.extend(found);
                    if !wrong.is_empty() {
                        self.notice = Some(Notice {
                            tone: Tone::Trouble,
                            text: "Unsaved work of an earlier start could not be read".into(),
                            details: wrong.iter().map(ToString::to_string).collect(),
                        });
                    }
                }
            }
        }
        if self.disk.question().is_none()
            && self.disk.is_at_rest()
            && !self.is_changed()
            && let Some(found) = self.keeping.found.front()
        {
            self.disk.ask(Question::TakeUp(found.said()));
        }
        if self.disk.question().is_none()
            && let Some(is_gone) = self.disk.found_changed()
        {
            self.somebody_changed(is_gone);
        }
    }

    /// The document's file is another one, or gone.
    fn somebody_changed(&mut self, is_gone: bool) {
        let Some(path) = self.disk.file().map(|file| file.path.clone()) else {
            return;
        };
        let place = path.display();
        if is_gone {
            self.notice = Some(Notice::trouble(format!(
                "{place} is not there any more; what you see is kept here, and Save writes it again"
            )));
        } else if self.is_changed() {
            self.notice = Some(Notice::trouble(format!(
                "{place} was changed by somebody else while you changed it here; Save as keeps both versions, Save asks before it replaces theirs"
            )));
        } else {
            self.disk.ask(Question::TheirVersion(path));
        }
    }

    /// Takes up what an earlier run left unsaved.
    pub(super) fn take_up(&mut self) {
        if self.is_changed() || !self.disk.is_at_rest() {
            // something has come in between that would be lost; it is asked again
            return;
        }
        let Some(found) = self.keeping.found.pop_front() else {
            return;
        };
        let said = found.said();
        self.disk.take_up(found.orphan.journal.begin.clone());
        self.history = found.history;
        self.history.end_gesture();
        self.step = Step::Readings;
        self.look_at_newest();
        self.keeping.taken_up.push(found.orphan.name());
        self.begin_journal();
        if let Some(keeper) = &self.keeping.keeper {
            keeper.forget(found.orphan);
        }
        let changes = match said.changes {
            1 => "One change is".to_owned(),
            n => format!("{n} changes are"),
        };
        let mend = match &said.path {
            Some(path) => format!("Save writes to {}", path.display()),
            None => "Save asks for a file".to_owned(),
        };
        let damaged = if said.is_damaged {
            "; what came after them could not be read"
        } else {
            ""
        };
        let others = self.disk.others().map(|who| {
            let who = if who.is_empty() { "somebody" } else { who };
            format!(". {who} has the file open too")
        });
        self.notice = Some(Notice::done(format!(
            "{changes} restored and not saved yet{damaged}. {mend}{}",
            others.unwrap_or_default()
        )));
    }

    /// Forgets what an earlier run left unsaved, for good or until the next start.
    pub(super) fn leave_unsaved(&mut self, for_good: bool) {
        let Some(found) = self.keeping.found.pop_front() else {
            return;
        };
        if for_good {
            found.orphan.remove();
        }
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
        let (history, changes) = replay(drive, &mut orphan.journal);
        orphan.journal.is_damaged |= changes < orphan.journal.changes.len();
        if orphan.journal.begin.station == *history.now() && !orphan.journal.is_damaged {
            orphan.remove();
        } else {
            found.push(Found {
                orphan,
                history,
                changes,
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
fn replay(drive: &Drive, journal: &mut Journal) -> (History, usize) {
    let begin = &mut journal.begin;
    let now = (begin.path.as_ref()).and_then(|path| files::read_on(drive, path).ok());
    let mut own = now.filter(|(_, stamp)| Some(*stamp) != begin.stamp);
    let mut history = History::new(begin.station.clone());
    for (made, entry) in journal.changes.iter().enumerate() {
        match entry {
            Entry::Edit(edit, gesture, day) => {
                if history.apply(Edit::clone(edit), *gesture, *day).is_err() {
                    return (history, made);
                }
            }
            Entry::Other(difference) => {
                let other = difference.restored(history.now());
                // what a damaged journal says of readings may be anything
                let Some(other) = other.filter(|station| station.unsound().is_empty()) else {
                    return (history, made);
                };
                history.put(Arc::new(other), TAKEN_UP);
            }
            Entry::Whole(station) => history.put(Arc::clone(station), TAKEN_UP),
            Entry::Begin(_) => return (history, made),
        }
        if let Some((_, stamp)) = own.take_if(|(station, _)| *station == **history.now()) {
            begin.station = history.now().clone();
            begin.stamp = Some(stamp);
            begin.is_sample = false;
        }
    }
    (history, journal.changes.len())
}
