//! Whose turn it is on the disk, and what the session makes of what has ended.

use std::path::PathBuf;
use std::sync::Arc;

use super::jobs::{Done, Export, Imported, InFile, Leave, Order, Save, Written};
use super::{OpenFile, Question, Wish, sample};
use crate::export::bundle;
use crate::files::{Drive, TrailGap};
use crate::geometry::Shape;
use crate::session::{Command, Import, Notice, Reply, Session, Step, Tone};
use crate::station::Station;

impl Session {
    /// Everything is read from and written to that disk from now on; to be called before anything is.
    pub fn work_on(&mut self, drive: Drive) {
        self.disk.work_on(drive);
    }

    /// Where the document came from.
    pub fn file(&self) -> Option<&OpenFile> {
        self.disk.file()
    }

    /// Whether the document is the built-in sample, unchanged or not.
    pub fn is_sample(&self) -> bool {
        self.disk.is_sample
    }

    /// The open question.
    pub fn question(&self) -> Option<&Question> {
        self.disk.question()
    }

    /// Whether the program may end.
    pub fn wants_quit(&self) -> bool {
        self.disk.wants_quit()
    }

    /// What runs on the disk, in words, and how far it is.
    pub fn busy(&self) -> Option<(&'static str, f64)> {
        self.disk.busy()
    }

    /// What the window has to ask for; given out once.
    pub fn take_wish(&mut self) -> Option<Wish> {
        self.disk.take_wish()
    }

    /// Whether files are being read or written, or looked for.
    pub fn is_at_files(&self) -> bool {
        let is_importing = |import: &Import| import.outcome().is_updating();
        self.disk.busy().is_some()
            || self.disk.is_looking()
            || self.keeping.is_looking()
            || self.import.as_ref().is_some_and(is_importing)
    }

    /// Saves where the document came from.
    pub(in crate::session) fn save(&mut self) {
        self.disk.order_save(Save {
            to: None,
            replace: false,
            station: self.station().clone(),
            at: self.saved_at(),
            then: None,
        });
        self.go_on();
    }

    /// Saves at a path, which may be the answer to where a save is to go that something follows.
    pub(in crate::session) fn save_as(&mut self, path: PathBuf, replace: bool) {
        let path = match path.extension() {
            None => path.with_extension("ron"),
            Some(_) => path,
        };
        let then = self.disk.after_path.take();
        self.disk.order_save(Save {
            to: Some(path),
            replace,
            station: self.station().clone(),
            at: self.saved_at(),
            then,
        });
        self.go_on();
    }

    /// No path was given: what was to follow the save does not.
    pub(in crate::session) fn save_nowhere(&mut self) {
        self.disk.after_path = None;
    }

    /// Leaves the document for another one, or the program.
    pub(in crate::session) fn leave_for(&mut self, next: Command) {
        self.disk.order_to_leave(Leave::for_the(next));
        self.go_on();
    }

    /// Looks at a file of readings, when those before it are done with.
    pub(in crate::session) fn look_into(&mut self, path: PathBuf) {
        self.disk.imports.waiting().push_back(path);
        self.go_on();
    }

    /// Writes the sheets that are wanted and can be made.
    pub(in crate::session) fn export(&mut self, folder: PathBuf) {
        let sheets = self.sheets_to_write();
        if bundle::names(sheets).is_empty() {
            self.asking.notice = Some(Notice::trouble(
                "None of the chosen sheets can be made yet; plan positions, or enter readings",
            ));
            return;
        }
        let (station, survey) = (self.station().clone(), self.looking.survey);
        let fit = self.answers.fit_for(&station, survey);
        let export = Export {
            folder,
            replace: false,
            sheets,
            arranged: self.arranged(),
            fit: fit.and_then(|fit| fit.current().cloned()),
            station,
            survey,
            height: self.looking.height,
            colours: self.looking.colours,
            preferences: self.preferences.clone(),
            today: self.today,
            period: self.looking.period,
            trail: self.disk.trail().clone(),
        };
        self.disk.exports.waiting().push_back(export);
        self.go_on();
    }

    /// Answers the open question.
    pub(in crate::session) fn reply(&mut self, reply: Reply) {
        let Some(question) = self.disk.questions.pop_front() else {
            return;
        };
        match question {
            Question::TakeUp(_) => match reply {
                Reply::Yes => self.take_up(),
                Reply::No | Reply::Cancel => self.leave_unsaved(reply == Reply::No),
            },
            Question::TheirVersion(path) => {
                if reply == Reply::Yes {
                    let theirs = Command::Open(path);
                    self.disk.order_to_leave(Leave::for_the(theirs));
                }
            }
            Question::Unsaved(_) | Question::Replace(_) | Question::ChangedOnDisk(_) => {
                match self.disk.document.answered() {
                    Some(Order::Leave(leave)) => self.answer_unsaved(leave, reply),
                    Some(Order::Save(mut save)) if reply == Reply::Yes => {
                        save.replace = true;
                        self.disk.document.waiting().push_front(Order::Save(save));
                    }
                    // what was to follow goes with it
                    _ => self.disk.stay(),
                }
            }
            Question::ReplaceExports { .. } => match self.disk.exports.answered() {
                Some(mut export) if reply == Reply::Yes => {
                    export.replace = true;
                    self.disk.exports.waiting().push_front(export);
                }
                _ => self.disk.stay(),
            },
        }
        self.go_on();
    }

    fn answer_unsaved(&mut self, leave: Leave, reply: Reply) {
        let station = self.station().clone();
        match reply {
            Reply::Yes => {
                let save = Save {
                    to: None,
                    replace: false,
                    station,
                    at: self.saved_at(),
                    then: Some(leave.next),
                };
                self.disk.document.waiting().push_front(Order::Save(save));
            }
            Reply::No => self.disk.leave_next(Leave {
                given_up: Some(station),
                ..leave
            }),
            Reply::Cancel => self.disk.stay(),
        }
    }

    /// Begins what can be begun.
    pub(in crate::session) fn go_on(&mut self) {
        if let Some(export) = self.disk.exports.next() {
            let job = self.disk.place.export(export.clone());
            self.disk.exports.run(export, job);
        }
        // one is looked at after the other
        if self.import.is_none()
            && let Some(path) = self.disk.imports.next()
        {
            let job = self.disk.place.import(path.clone());
            self.disk.imports.run(path, job);
        }
        while !self.disk.quit
            && let Some(order) = self.disk.document.next()
        {
            match order {
                Order::Leave(leave) => {
                    if !self.leave(leave) {
                        break;
                    }
                }
                Order::Open(path, given_up) => self.disk.begin_open(path, given_up),
                Order::Save(save) => {
                    let then = save.then.clone();
                    if self.disk.begin_save(save).is_none() {
                        self.disk.after_path = then;
                        self.disk.wish = Some(Wish::SavePath);
                    }
                }
            }
        }
    }

    /// Whether what is in memory is in the file, or is not wanted.
    fn may_go(&self, given_up: Option<&Arc<Station>>) -> bool {
        let now = self.station();
        let is_now = |other: &Arc<Station>| Arc::ptr_eq(other, now) || **other == **now;
        let is_saved = !self.disk.is_unsure() && is_now(self.disk.saved());
        is_saved || given_up.is_some_and(is_now)
    }

    /// Leaves the document, or asks whether it may be left; whether the next one has its turn.
    fn leave(&mut self, mut leave: Leave) -> bool {
        if leave.next == Command::Quit && !self.disk.exports.is_idle() {
            if !std::mem::replace(&mut leave.is_told, true) {
                self.asking.notice = Some(Notice::done(
                    "Evenfield closes as soon as the files are exported; to close it at once, stop the export",
                ));
            }
            self.disk.order_to_leave(leave);
            return self.disk.document.waiting().len() > 1;
        }
        if !self.may_go(leave.given_up.as_ref()) {
            self.ask_unsaved(leave);
            return false;
        }
        match leave.next {
            Command::New => {
                let station = Arc::new(empty_station());
                self.disk.new_document(station.clone(), false);
                self.take_document(station, Step::Fixture);
                self.asking.notice = None;
            }
            Command::OpenSample => {
                let station = Arc::new(sample());
                self.disk.new_document(station.clone(), true);
                self.take_document(station, Step::Field);
                self.asking.notice = Some(super::super::sample_notice());
            }
            Command::Open(path) => {
                let order = Order::Open(path, leave.given_up);
                self.disk.document.waiting().push_front(order);
            }
            Command::Quit => {
                // what is not saved by now is not wanted
                self.forget_journal();
                self.disk.quit = true;
            }
            _ => {}
        }
        true
    }

    fn ask_unsaved(&mut self, leave: Leave) {
        self.disk
            .ask(Question::Unsaved(Box::new(leave.next.clone())));
        self.disk.document.ask_about(Order::Leave(leave));
    }

    /// Takes in what has ended on the disk.
    pub(in crate::session) fn collect_disk(&mut self) {
        if let Some((order, ending)) = self.disk.document.ended() {
            match (order, ending) {
                (Order::Open(path, given_up), Some(Ok(Done::Opened(held, stamp, sign)))) => {
                    let open = Leave {
                        given_up,
                        ..Leave::for_the(Command::Open(path.clone()))
                    };
                    if self.disk.saves_waiting() > 0 {
                        // of the document that is still there: first that, then once more
                        self.disk.order_to_leave(open);
                    } else if self.may_go(open.given_up.as_ref()) {
                        let station = held.station.clone();
                        self.disk.opened(path, held, stamp, sign);
                        self.arrived(station);
                    } else {
                        // it was changed while the file was read
                        self.ask_unsaved(open);
                    }
                }
                (Order::Save(save), Some(Ok(Done::Saved(path, trail, stamp, sign)))) => {
                    let held = InFile {
                        station: save.station,
                        trail: trail.0,
                        gaps: trail.1,
                    };
                    self.disk.has_saved(path.clone(), held, stamp, sign);
                    self.preferences.remember(&path);
                    self.begin_journal();
                    self.asking.notice = Some(Notice::done(format!("Saved {}", path.display())));
                    if let Some(next) = save.then {
                        self.disk.leave_next(Leave::for_the(next));
                    }
                }
                (Order::Save(_), Some(Ok(Done::NotSaved(path, why, stamp)))) => {
                    self.disk.has_not_saved(&path, stamp);
                    self.not_saved(&why);
                }
                (Order::Save(_), Some(Err(why))) => self.not_saved(&why),
                (order, Some(Ok(Done::Kept(question)))) => {
                    self.disk.ask(question);
                    self.disk.document.ask_about(order);
                }
                (_, Some(Err(why))) => self.trouble(why),
                (_, Some(Ok(_)) | None) => {}
            }
        }
        if let Some((export, ending)) = self.disk.exports.ended() {
            self.exported(export, ending);
        }
        if let Some((path, ending)) = self.disk.imports.ended() {
            match ending {
                Some(Ok(imported)) => self.look_at_import(path, imported),
                Some(Err(why)) => self.asking.notice = Some(Notice::trouble(why)),
                None => {}
            }
        }
        self.go_on();
    }

    fn arrived(&mut self, station: Arc<Station>) {
        if let Some(file) = self.disk.file() {
            self.preferences.remember(&file.path);
        }
        let gaps = self.disk.gaps().to_vec();
        self.take_document(station, Step::Field);
        let others = self.disk.others().map(also_open);
        self.asking.notice = match (changed_outside(&gaps), others) {
            (Some(changed), Some(others)) => Some(Notice::trouble(format!(
                "{}. {}",
                changed.text, others.text
            ))),
            (changed, others) => changed.or(others),
        };
    }

    fn exported(&mut self, export: Export, ending: super::lane::Ending<Written>) {
        match ending {
            Some(Ok(Written::Files(files, now))) => {
                self.disk.has_exported(now);
                self.asking.notice = Some(Notice {
                    tone: Tone::Done,
                    text: format!("Wrote {} files to {}", files.len(), export.folder.display()),
                    details: files,
                });
            }
            Some(Ok(Written::Kept(question))) => {
                self.disk.ask(question);
                self.disk.exports.ask_about(export);
            }
            Some(Err(why)) => self.trouble(why),
            None => {}
        }
    }

    fn look_at_import(&mut self, path: PathBuf, (raw, understanding): Imported) {
        let wake = self.wake.clone();
        let rows = self.survey().map_or(&[][..], |(_, shown)| &shown.readings);
        self.import = Some(Import::new(path, *raw, understanding, rows, wake));
    }

    fn not_saved(&mut self, why: &str) {
        let kept = if self.is_kept() {
            " and would be offered again after a crash"
        } else {
            ""
        };
        self.trouble(format!(
            "{why}. What you entered is still here{kept}; Save as puts it somewhere else"
        ));
    }

    fn trouble(&mut self, why: String) {
        self.disk.stay();
        self.asking.notice = Some(Notice::trouble(why));
    }
}

/// What is said of a file that somebody else has open.
fn also_open(who: &str) -> Notice {
    let who = if who.is_empty() { "somebody" } else { who };
    Notice::trouble(format!(
        "This file is open in another window too, by {who}. Agree on who saves, or save under another name; a version that the other one saved is never replaced without asking"
    ))
}

/// What is said of a file whose trail does not fit what it holds.
fn changed_outside(gaps: &[TrailGap]) -> Option<Notice> {
    let what = match gaps.first()? {
        TrailGap::Entry(revision) => format!("revision {revision} of this file's trail"),
        TrailGap::Document => "what this file holds".to_owned(),
    };
    Some(Notice::trouble(format!(
        "By other means than Evenfield {what} was changed since it was saved; compare it with a copy that is kept elsewhere before anything is relied on. The step Upkeep has the trail"
    )))
}

/// What "New station" begins with: a fixture of a common size, to be changed, and a plan that is read around the parts.
fn empty_station() -> Station {
    let shape = Shape::Rectangle {
        width: 200.0,
        depth: 150.0,
    };
    Station::new("New station", shape, 100.0).read_around()
}
