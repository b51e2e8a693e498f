//! What the session does on the disk, always in the background: opening, saving, importing, exporting; what the person is
//! asked before something would be lost, and what follows the answer.
//!
//! Orders wait in lanes, and none ever replaces another: those of the document as a whole (open, save, leave), exports,
//! imports. What follows a save belongs to that save; a question belongs to the order that it was asked about, which is
//! carried out, or dropped, with the answer.

mod jobs;
mod lane;
mod last;
mod turns;

use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::Command;
use super::question::{Question, Wish};
use crate::files::{self, Drive, Stamp, Trail, TrailGap};
use crate::station::{LogEntry, Station};
use crate::work::{Job, Look, Wake};
use jobs::{Done, Export, Imported, InFile, Leave, Order, Place, Save, Written};
use lane::Lane;
pub(super) use last::Exported;
use last::Sign;

/// The file that the document came from or was saved to.
#[derive(Debug, Clone)]
pub struct OpenFile {
    /// Where.
    pub path: PathBuf,
    /// As it was when it was read or written last.
    pub(super) stamp: Stamp,
    /// What else this program may have left there: saves that the disk said no to.
    tried: Vec<Stamp>,
}

impl OpenFile {
    fn new(path: PathBuf, stamp: Stamp) -> Self {
        Self {
            path,
            stamp,
            tried: Vec::new(),
        }
    }

    /// The stamps of what is ours in that file.
    fn own(&self) -> Vec<Stamp> {
        self.tried.iter().copied().chain([self.stamp]).collect()
    }
}

/// How a file is that was looked at because somebody may have changed it.
enum Looked {
    /// As it was, or not to be seen: who can't read it is told so when saving.
    Same,
    /// Written by somebody else.
    Changed(Stamp),
    /// Not there any more.
    Gone,
}

/// The document's file, what is to be done on the disk, and what is asked about it.
pub(super) struct Disk {
    place: Place,
    file: Option<OpenFile>,
    saved: Arc<Station>,
    /// Who saved it when, as its file says.
    trail: Arc<Trail>,
    gaps: Vec<TrailGap>,
    exported: Option<Exported>,
    pub is_sample: bool,
    sign: Sign,
    look: Option<Job<Looked>>,
    /// The last version of somebody else's that was told of, or that the file is gone.
    told: Option<Option<Stamp>>,
    document: Lane<Order, Done>,
    exports: Lane<Export, Written>,
    imports: Lane<PathBuf, Imported>,
    /// Files of logs that are being read, and those that wait.
    logs: VecDeque<(PathBuf, Job<Vec<LogEntry>>)>,
    /// The first one is open.
    questions: VecDeque<Question>,
    wish: Option<Wish>,
    /// What follows the save whose path is asked for.
    after_path: Option<Command>,
    quit: bool,
}

impl Disk {
    pub fn new(station: Arc<Station>, wake: Wake) -> Self {
        Self {
            place: Place {
                drive: Drive::default(),
                wake,
                who: None,
            },
            file: None,
            saved: station,
            trail: Arc::default(),
            gaps: Vec::new(),
            exported: None,
            is_sample: false,
            sign: Sign::default(),
            look: None,
            told: None,
            document: Lane::default(),
            exports: Lane::default(),
            imports: Lane::default(),
            logs: VecDeque::new(),
            questions: VecDeque::new(),
            wish: None,
            after_path: None,
            quit: false,
        }
    }

    /// Everything is read from and written to that disk from now on.
    pub fn work_on(&mut self, drive: Drive) {
        self.place.drive = drive;
    }

    pub fn drive(&self) -> Drive {
        self.place.drive.clone()
    }

    /// Puts a sign beside each file that is open from now on.
    pub fn sign_as(&mut self, who: String) {
        self.place.who = Some(who);
    }

    fn new_document(&mut self, station: Arc<Station>, is_sample: bool) {
        self.trail = Arc::default();
        self.gaps.clear();
        self.file = None;
        self.sign = Sign::default();
        self.look = None;
        self.told = None;
        self.saved = station;
        self.exported = None;
        self.is_sample = is_sample;
        self.after_path = None;
    }

    /// Takes up a document whose changes were not saved: `begin` is what they began from, `trail` that of its file.
    pub fn take_up(&mut self, begin: files::Begin, trail: Arc<Trail>) {
        self.new_document(begin.station, begin.is_sample);
        self.trail = trail;
        if let (Some(path), Some(stamp)) = (begin.path, begin.stamp) {
            self.sign = self.place.signed(&path, Sign::default());
            self.file = Some(OpenFile::new(path, stamp));
        }
    }

    pub fn file(&self) -> Option<&OpenFile> {
        self.file.as_ref()
    }

    /// Who else has the document's file open.
    pub fn others(&self) -> Option<&str> {
        self.sign.theirs.as_deref()
    }

    /// Looks whether somebody else has changed the document's file. Not while it is being written: what is found then may
    /// be our own.
    pub fn look_at_file(&mut self) {
        let Some(file) = self.file.clone() else {
            return;
        };
        if self.look.is_some() || !self.document.is_idle() {
            return;
        }
        let drive = self.drive();
        self.look = Some(Job::start(self.place.wake.clone(), move |_| {
            Some(Ok(match Stamp::on(&drive, &file.path) {
                Ok(Some(now)) if file.own().contains(&now) => Looked::Same,
                Ok(Some(now)) => Looked::Changed(now),
                Ok(None) => Looked::Gone,
                Err(_) => Looked::Same,
            }))
        }));
    }

    /// What the look at the file has found, said once for each version: whether the file is gone.
    pub fn found_changed(&mut self) -> Option<bool> {
        let looked = match self.look.as_ref()?.look() {
            Look::Working => return None,
            looked => looked,
        };
        self.look = None;
        let now = match looked {
            Look::Ended(Ok(Looked::Changed(now))) => Some(now),
            Look::Ended(Ok(Looked::Gone)) => None,
            _ => return None,
        };
        (self.told.replace(now) != Some(now)).then_some(now.is_none())
    }

    pub fn is_looking(&self) -> bool {
        self.look.is_some()
    }

    /// The document as it was when it was last in its file (or when it was new).
    pub fn saved(&self) -> &Arc<Station> {
        &self.saved
    }

    /// Who saved the document when, as its file says.
    pub fn trail(&self) -> &Arc<Trail> {
        &self.trail
    }

    /// What does not fit in that.
    pub fn gaps(&self) -> &[TrailGap] {
        &self.gaps
    }

    /// Whether the document's file may hold something else than what was saved last: a save that the disk said no to.
    pub fn is_unsure(&self) -> bool {
        self.file
            .as_ref()
            .is_some_and(|file| !file.tried.is_empty())
    }

    /// What was exported last.
    pub fn exported(&self) -> Option<&Exported> {
        self.exported.as_ref()
    }

    /// What runs, in words, and how far it is.
    pub fn busy(&self) -> Option<(&'static str, f64)> {
        let document = self
            .document
            .running()
            .map(|(order, fraction)| match order {
                Order::Save(_) => ("Saving", fraction),
                Order::Open(..) | Order::Leave(_) => ("Opening", fraction),
            });
        let exports = || Some(("Exporting", self.exports.running()?.1));
        let imports = || Some(("Reading", self.imports.running()?.1));
        let logs = || Some(("Reading", self.logs.front()?.1.fraction()));
        document.or_else(exports).or_else(imports).or_else(logs)
    }

    /// Whether nothing is being done to the document as a whole, nor waits for its turn.
    pub fn is_at_rest(&self) -> bool {
        self.document.is_idle() && self.exports.is_idle()
    }

    pub fn cancel_export(&self) {
        self.exports.cancel();
    }

    /// The open question.
    pub fn question(&self) -> Option<&Question> {
        self.questions.front()
    }

    /// Asks, after what is asked already.
    pub fn ask(&mut self, question: Question) {
        self.questions.push_back(question);
    }

    /// Reads a file of an irradiance log.
    pub fn read_log(&mut self, path: PathBuf) {
        let (drive, of) = (self.drive(), path.clone());
        let job = Job::start(self.place.wake.clone(), move |_| {
            Some(files::read_log(&drive, &of).map_err(|errors| {
                /// So many are named.
                const NAMED: usize = 5;
                let mut lines: Vec<String> =
                    errors.iter().take(NAMED).map(ToString::to_string).collect();
                if errors.len() > NAMED {
                    lines.push(format!("and {} more", errors.len() - NAMED));
                }
                lines.join("\n")
            }))
        });
        self.logs.push_back((path, job));
    }

    /// The first file of a log that was read, or could not be.
    pub fn log_read(&mut self) -> Option<(PathBuf, Result<Vec<LogEntry>, String>)> {
        let ending = match self.logs.front()?.1.look() {
            Look::Working => return None,
            Look::Ended(ending) => ending,
            Look::Cancelled => Err("it was stopped".to_owned()),
        };
        let (path, _) = self.logs.pop_front()?;
        Some((path, ending))
    }

    pub fn take_wish(&mut self) -> Option<Wish> {
        self.wish.take()
    }

    pub fn wants_quit(&self) -> bool {
        self.quit
    }

    /// Leaves the document when all is done that was asked before; the program after everything else.
    fn order_to_leave(&mut self, leave: Leave) {
        let waiting = self.document.waiting();
        let quits = matches!(waiting.back(), Some(order) if order.quits());
        let order = Order::Leave(leave);
        if !(quits && order.quits()) {
            waiting.insert(waiting.len() - usize::from(quits), order);
        }
    }

    /// Leaves the document as soon as it is saved where that was asked for.
    fn leave_next(&mut self, leave: Leave) {
        let at = self.saves_waiting();
        self.document.waiting().insert(at, Order::Leave(leave));
    }

    /// Saves the document as it is now. A save is of the document that is there when it is asked for, so it comes before
    /// anything that leaves that; one that waits already and would be followed by the same one is left to this.
    fn order_save(&mut self, save: Save) {
        let at = self.saves_waiting();
        let waiting = self.document.waiting();
        match at.checked_sub(1).and_then(|last| waiting.get_mut(last)) {
            Some(Order::Save(last))
                if last.to.is_none() && last.then.is_none() && save.to.is_none() =>
            {
                *last = save;
            }
            _ => waiting.insert(at, Order::Save(save)),
        }
    }

    /// How many saves wait: they come first.
    fn saves_waiting(&mut self) -> usize {
        let waiting = self.document.waiting().iter();
        waiting
            .take_while(|order| matches!(order, Order::Save(_)))
            .count()
    }

    /// Something went wrong or was not wanted: the person is to see it, so the program stays.
    fn stay(&mut self) {
        self.document.waiting().retain(|order| !order.quits());
    }

    /// Begins to save. `None` when there is no file to save to.
    fn begin_save(&mut self, save: Save) -> Option<()> {
        // what a look finds from now on may be our own
        self.look = None;
        let path = match &save.to {
            Some(path) => path.clone(),
            None => self.file.as_ref()?.path.clone(),
        };
        let file = self.file.as_ref().filter(|file| file.path == path);
        let own = file.map(OpenFile::own);
        let before = InFile {
            station: self.saved.clone(),
            trail: self.trail.clone(),
            gaps: Vec::new(),
        };
        let sign = self.sign.clone();
        let job = self.place.save(save.clone(), path, before, own, sign);
        self.document.run(Order::Save(save), job);
        Some(())
    }

    fn begin_open(&mut self, path: PathBuf, given_up: jobs::GivenUp) {
        let job = self.place.open(path.clone(), self.sign.clone());
        self.document.run(Order::Open(path, given_up), job);
    }

    fn opened(&mut self, path: PathBuf, held: InFile, stamp: Stamp, sign: Sign) {
        self.new_document(held.station, false);
        self.trail = held.trail;
        self.gaps = held.gaps;
        self.file = Some(OpenFile::new(path, stamp));
        self.sign = sign;
    }

    fn has_saved(&mut self, path: PathBuf, held: InFile, stamp: Stamp, sign: Sign) {
        self.saved = held.station;
        self.trail = held.trail;
        self.gaps = held.gaps;
        self.is_sample = false;
        self.sign = sign;
        self.told = None;
        self.file = Some(OpenFile::new(path, stamp));
    }

    fn has_not_saved(&mut self, path: &Path, stamp: Option<Stamp>) {
        if let Some(file) = self.file.as_mut().filter(|file| file.path == path) {
            file.tried
                .extend(stamp.filter(|&stamp| stamp != file.stamp));
        }
    }

    fn has_exported(&mut self, mut now: Exported) {
        if let Some(before) = &self.exported
            && *before.station == *now.station
        {
            now.sheets = now.sheets.and(before.sheets);
        }
        self.exported = Some(now);
    }
}

impl Order {
    /// Whether it leaves the program.
    fn quits(&self) -> bool {
        matches!(
            self,
            Self::Leave(Leave {
                next: Command::Quit,
                ..
            })
        )
    }
}

/// The built-in sample station.
pub fn sample() -> Station {
    let text = include_str!("../../../sample-maps/rain-gauge-pallet.ron");
    files::parse(text.as_bytes()).expect("the built-in sample is read by the test `sample`")
}
