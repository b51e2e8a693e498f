//! What the session does so that nothing entered is lost.

use super::super::disk::OpenFile;
use super::super::keeper::Keeper;
use super::super::{Notice, Question, Session, Step, Tone};
use super::{Keep, look};
use crate::files::{Begin, FileError, JournalLine};
use crate::station::{Difference, Station};
use crate::work::{Job, Look};

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
    pub(in crate::session) fn begin_journal(&mut self) {
        self.keeping.said = false;
        let (begin, now) = (self.begin(), self.station().clone());
        if let Some(keeper) = &mut self.keeping.keeper {
            keeper.begin(begin, &now);
        }
    }

    /// What is not saved is not wanted any more.
    pub(in crate::session) fn forget_journal(&self) {
        if let Some(keeper) = &self.keeping.keeper {
            keeper.end();
        }
    }

    /// Keeps a change that was made.
    pub(in crate::session) fn keep(&mut self, entry: JournalLine) {
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
    pub(in crate::session) fn keep_other(&mut self, before: &Station) {
        let difference = Difference::of(self.station(), before);
        self.keep(JournalLine::Other(Box::new(difference)));
    }

    /// Says, once until the next save, that the journal can't be written.
    fn not_kept(&mut self, error: &FileError) {
        if !std::mem::replace(&mut self.keeping.said, true) {
            self.asking.notice = Some(Notice::trouble(format!(
                "What you enter can't be kept safe against a crash: {error}. Save often until then"
            )));
        }
    }

    /// Whether what is not saved is kept in a journal too.
    pub(in crate::session) fn is_kept(&self) -> bool {
        self.keeping.keeper.is_some() && !self.keeping.said
    }

    /// Once a frame: what the journal has to say, and what there is to ask about.
    pub(in crate::session) fn collect_keeping(&mut self) {
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
                        self.asking.notice = Some(Notice {
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
            self.asking.notice = Some(Notice::trouble(format!(
                "{place} is not there any more; what you see is kept here, and Save writes it again"
            )));
        } else if self.is_changed() {
            self.asking.notice = Some(Notice::trouble(format!(
                "{place} was changed by somebody else while you changed it here; Save as keeps both versions, Save asks before it replaces theirs"
            )));
        } else {
            self.disk.ask(Question::TheirVersion(path));
        }
    }

    /// Takes up what an earlier run left unsaved.
    pub(in crate::session) fn take_up(&mut self) {
        if self.is_changed() || !self.disk.is_at_rest() {
            // something has come in between that would be lost; it is asked again
            return;
        }
        let Some(found) = self.keeping.found.pop_front() else {
            return;
        };
        let said = found.said();
        self.disk
            .take_up(found.orphan.journal.begin.clone(), found.trail);
        self.history = found.history;
        self.history.end_gesture();
        self.looking.step = Step::Readings;
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
        self.asking.notice = Some(Notice::done(format!(
            "{changes} restored and not saved yet{damaged}. {mend}{}",
            others.unwrap_or_default()
        )));
    }

    /// Forgets what an earlier run left unsaved, for good or until the next start.
    pub(in crate::session) fn leave_unsaved(&mut self, for_good: bool) {
        let Some(found) = self.keeping.found.pop_front() else {
            return;
        };
        if for_good {
            found.orphan.remove();
        }
    }
}
