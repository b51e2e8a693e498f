//! Writes the journal while the program runs. Each change is with the system before the window goes on:
//! it is waited for, which takes less than a millisecond, unless the system itself hangs; then the window
//! waits once, for [`LONGEST_WAIT`], and says so. A second thread has what is written put on the disk
//! itself, so that it outlives a power cut.

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{
    Receiver, RecvTimeoutError, Sender, SyncSender, TryRecvError, channel, sync_channel,
};
use std::thread::JoinHandle;
use std::time::Duration;

use crate::files::{Begin, Drive, FileError, JournalFile, JournalLine, Orphan, ToDisk};
use crate::station::Station;
use crate::work::Wake;

/// The longest that the window waits for a change to be written.
const LONGEST_WAIT: Duration = Duration::from_millis(500);

/// A journal so many times the size of the document it begins from, and this many bytes, is begun anew.
const MOST_TIMES: u64 = 4;
const SPARE_BYTES: u64 = 8 * 1024 * 1024;

enum Order {
    /// Nothing is unsaved; the next change begins from here.
    Rest(Begin),
    /// Nothing is unsaved, and nothing more will come.
    End,
    /// Begin a journal anew, with all that is not saved.
    Anew(Begin, Arc<Station>),
    /// One more change.
    Change(JournalLine),
    /// Take this one away if what came before could be written.
    Forget(Box<Orphan>),
}

/// What became of an order.
type Carried = Result<(), FileError>;

/// The journal of this run.
pub(super) struct Keeper {
    orders: Option<Sender<(Order, SyncSender<Carried>)>>,
    wrong: Receiver<FileError>,
    /// An order that was not carried out in time.
    late: Option<Receiver<Carried>>,
    /// The journal must be begun anew before it can take changes.
    stale: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Keeper {
    /// A keeper that writes into a folder; `id` tells this run from every other.
    pub(super) fn new(drive: Drive, folder: PathBuf, id: String, wake: Wake) -> Self {
        let (orders, received) = channel();
        let (sender, wrong) = channel();
        let stale = Arc::new(AtomicBool::new(false));
        let mut writer = Writer {
            drive,
            folder,
            id,
            number: 0,
            file: None,
            is_whole: false,
            has_changes: false,
            most_bytes: 0,
            stale: stale.clone(),
        };
        let started = std::thread::Builder::new()
            .name("journal".into())
            .spawn(move || writer.run(&received, &sender, &wake));
        if let Err(error) = &started {
            log::error!("no thread could be started: {error}");
        }
        Self {
            orders: Some(orders),
            wrong,
            late: None,
            stale,
            thread: started.ok(),
        }
    }

    /// What went wrong since it was asked last.
    pub(super) fn wrong(&self) -> Option<FileError> {
        self.wrong.try_iter().last()
    }

    /// Keeps a change that has been made; `begin` gives what is saved and the document after it.
    ///
    /// # Errors
    /// When it could not be written, or was not in time: then it may be yet.
    pub(super) fn change(
        &mut self,
        entry: JournalLine,
        begin: impl FnOnce() -> (Begin, Arc<Station>),
    ) -> Result<(), FileError> {
        let order = if self.stale.swap(false, Ordering::SeqCst) {
            let (begin, now) = begin();
            Order::Anew(begin, now)
        } else {
            Order::Change(entry)
        };
        let written = self.order(order);
        // one order that hangs is waited for once, not with each change that comes after it
        let hangs = |late: &Receiver<Carried>| matches!(late.try_recv(), Err(TryRecvError::Empty));
        if !self.late.as_ref().is_some_and(hangs) {
            self.late = None;
            match written.recv_timeout(LONGEST_WAIT) {
                Ok(carried) => {
                    if carried.is_ok() {
                        // what went wrong before is in the journal by now
                        self.wrong.try_iter().for_each(drop);
                    }
                    return carried;
                }
                Err(RecvTimeoutError::Timeout) => self.late = Some(written),
                Err(RecvTimeoutError::Disconnected) => {}
            }
        }
        Err(FileError::new(
            "the disk with the journal does not answer",
            "wait for it or save to another one",
        ))
    }

    /// Another document, or another state of it, is the saved one.
    pub(super) fn begin(&mut self, begin: Begin, now: &Arc<Station>) {
        self.stale.store(false, Ordering::SeqCst);
        if Arc::ptr_eq(&begin.station, now) || *begin.station == **now {
            self.order(Order::Rest(begin));
        } else {
            self.order(Order::Anew(begin, now.clone()));
        }
    }

    /// Nothing that is not saved is wanted.
    pub(super) fn end(&self) {
        self.order(Order::End);
    }

    /// Takes an older journal away, once what was ordered before is written.
    pub(super) fn forget(&self, orphan: Orphan) {
        self.order(Order::Forget(Box::new(orphan)));
    }

    /// Hears when the order is carried out, or that it never will be.
    fn order(&self, order: Order) -> Receiver<Carried> {
        let (done, written) = sync_channel(1);
        if let Some(orders) = &self.orders {
            // without its thread the answer is that there is none
            let _ = orders.send((order, done));
        }
        written
    }
}

impl Drop for Keeper {
    fn drop(&mut self) {
        self.orders = None;
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

struct Writer {
    drive: Drive,
    folder: PathBuf,
    id: String,
    /// Journals of this run so far.
    number: u64,
    file: Option<JournalFile>,
    /// Whether all changes up to now are in the file. One that is told by what is missing would be another one.
    is_whole: bool,
    /// Whether there is more in the file than what it begins from.
    has_changes: bool,
    most_bytes: u64,
    stale: Arc<AtomicBool>,
}

/// A journal that another one has replaced.
enum Replaced {
    Own(JournalFile),
    Older(Box<Orphan>),
}

impl Replaced {
    fn remove(self) {
        match self {
            Self::Own(file) => file.remove(),
            Self::Older(orphan) => orphan.remove(),
        }
    }
}

/// What is to be put on the disk, and the journal that is taken away then.
type Syncing = (ToDisk, Option<Replaced>);

impl Writer {
    fn run(
        &mut self,
        orders: &Receiver<(Order, SyncSender<Carried>)>,
        wrong: &Sender<FileError>,
        wake: &Wake,
    ) {
        let (to_disk, received) = channel();
        let syncing = std::thread::Builder::new()
            .name("journal to disk".into())
            .spawn(move || sync(&received));
        while let Ok((order, done)) = orders.recv() {
            let carried = self.carry_out(order, &to_disk);
            if let Err(error) = &carried {
                self.is_whole = false;
                self.stale.store(true, Ordering::SeqCst);
                // the session may be gone already
                let _ = wrong.send(error.clone());
                wake();
            }
            let _ = done.try_send(carried);
        }
        drop(to_disk);
        if let Ok(syncing) = syncing {
            let _ = syncing.join();
        }
        if let Some(file) = self.file.take().filter(|_| !self.has_changes) {
            file.remove();
        }
    }

    fn carry_out(&mut self, order: Order, to_disk: &Sender<Syncing>) -> Result<(), FileError> {
        match order {
            // before the first change comes: of a large document this takes a while
            Order::Rest(begin) => self.anew(vec![JournalLine::Begin(begin)], to_disk)?,
            Order::End => {
                if let Some(file) = self.file.take() {
                    file.remove();
                }
            }
            Order::Anew(begin, now) => {
                self.anew(
                    vec![JournalLine::Begin(begin), JournalLine::Whole(now)],
                    to_disk,
                )?;
            }
            Order::Change(entry) => match self.file.as_mut().filter(|_| self.is_whole) {
                Some(file) => {
                    file.append(&[entry])?;
                    self.has_changes = true;
                    if file.bytes() > self.most_bytes {
                        self.stale.store(true, Ordering::SeqCst);
                    }
                    if let Some(handle) = file.to_disk() {
                        let _ = to_disk.send((handle, None));
                    }
                }
                None => {
                    return Err(FileError::new(
                        "the changes before could not be kept",
                        "a new journal is begun with the next change",
                    ));
                }
            },
            Order::Forget(orphan) => {
                let handle = self.file.as_ref().and_then(JournalFile::to_disk);
                if let Some(handle) = handle.filter(|_| self.is_whole) {
                    let _ = to_disk.send((handle, Some(Replaced::Older(orphan))));
                }
            }
        }
        Ok(())
    }

    /// A new journal in place of the one there is; that one goes only when the new one is on the disk.
    fn anew(
        &mut self,
        entries: Vec<JournalLine>,
        to_disk: &Sender<Syncing>,
    ) -> Result<(), FileError> {
        let (folder, number) = (&self.folder, &mut self.number);
        let file = JournalFile::new(&self.drive, folder, &self.id, number, &entries)?;
        self.is_whole = true;
        self.most_bytes = MOST_TIMES * file.bytes() + SPARE_BYTES;
        self.has_changes = entries.len() > 1;
        let handle = file.to_disk();
        let old = self.file.replace(file);
        if let Some(handle) = handle {
            let _ = to_disk.send((handle, old.map(Replaced::Own)));
        }
        Ok(())
    }
}

/// Has what was written put on the disk. Of one journal's handles the last that waits is enough.
fn sync(to_disk: &Receiver<Syncing>) {
    // could not be replaced: they stay, and stay locked, until the program ends
    let mut kept = Vec::new();
    while let Ok((mut handle, mut old)) = to_disk.recv() {
        while old.is_none()
            && let Ok(next) = to_disk.try_recv()
        {
            (handle, old) = next;
        }
        match (handle.sync(), old) {
            (Ok(()), Some(old)) => old.remove(),
            (Ok(()), None) => {}
            (Err(error), old) => {
                log::warn!("the journal could not be put on the disk: {error}");
                kept.extend(old);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use std::io;
    use std::sync::{Condvar, Mutex};

    use super::*;
    use crate::files::{Touch, orphans};
    use crate::geometry::Shape;
    use crate::session::History;
    use crate::station::Edit;

    /// Writing waits as long as this is shut.
    #[derive(Default)]
    struct Gate(Mutex<bool>, Condvar);

    impl Gate {
        fn set(&self, is_shut: bool) {
            *self.0.lock().expect("never poisoned") = is_shut;
            self.1.notify_all();
        }

        fn pass(&self) {
            let shut = self.0.lock().expect("never poisoned");
            drop(
                self.1
                    .wait_while(shut, |shut| *shut)
                    .expect("never poisoned"),
            );
        }
    }

    fn day() -> jiff::civil::Date {
        jiff::civil::date(2026, 11, 25)
    }

    struct Run {
        keeper: Keeper,
        history: History,
        saved: Arc<Station>,
    }

    impl Run {
        fn new(drive: Drive, folder: &std::path::Path) -> Self {
            let shape = Shape::Circle { diameter: 90.0 };
            let saved = Arc::new(Station::new("begin", shape, 100.0));
            let wake: Wake = Arc::new(|| {});
            let mut run = Self {
                keeper: Keeper::new(drive, folder.to_owned(), "a".into(), wake),
                history: History::new(saved.clone()),
                saved,
            };
            let begin = run.begin();
            run.keeper.begin(begin, &run.saved);
            run
        }

        fn begin(&self) -> Begin {
            Begin {
                path: None,
                stamp: None,
                is_sample: false,
                station: self.saved.clone(),
                replaces: Vec::new(),
            }
        }

        fn rename(&mut self, name: &str) -> Result<(), FileError> {
            let edit = Edit::Rename(name.into());
            (self.history.apply(edit.clone(), None, day())).expect("it can be called so");
            let begin = (self.begin(), self.history.now().clone());
            let entry = JournalLine::Edit(Box::new(edit), None, day());
            self.keeper.change(entry, || begin)
        }

        /// The same until it is in the journal, however busy the machine is.
        fn keeps(&mut self, name: &str) {
            let mut tries = 0;
            while self.rename(name).is_err() {
                tries += 1;
                assert!(tries < 1000, "{name} is never kept");
                std::thread::sleep(Duration::from_millis(5));
            }
        }
    }

    /// What the changes of the only journal in a folder come to.
    fn left_in(folder: &std::path::Path) -> String {
        let (found, wrong) = orphans(&Drive::default(), folder, "b");
        assert_eq!((found.len(), wrong), (1, vec![]));
        let journal = &found[0].journal;
        assert!(!journal.is_damaged);
        let mut history = History::new(journal.begin.station.clone());
        for change in &journal.changes {
            match change {
                JournalLine::Edit(edit, gesture, day) => {
                    (history.apply(Edit::clone(edit), *gesture, *day)).expect("made before");
                }
                JournalLine::Whole(station) => history = History::new(station.clone()),
                other => panic!("{other:?}"),
            }
        }
        history.now().name.clone()
    }

    #[test]
    fn a_disk_that_hangs_twice_keeps_what_comes_after() {
        let folder = tempfile::tempdir().expect("a folder");
        let gate = Arc::new(Gate::default());
        let at_gate = gate.clone();
        let drive = Drive::watched(move |touch, _| {
            if touch == Touch::Write {
                at_gate.pass();
            }
            Ok(())
        });
        let mut run = Run::new(drive, folder.path());
        run.keeps("kept");
        for hanging in ["hangs", "hangs again"] {
            gate.set(true);
            assert!(run.rename(hanging).is_err(), "it is waited for once");
            assert!(run.rename("not waited for").is_err());
            gate.set(false);
            run.keeps(&format!("after it {hanging}"));
        }
        run.keeps("the last");
        drop(run);
        assert_eq!(left_in(folder.path()), "the last");
    }

    #[test]
    fn after_a_change_that_was_not_written_all_are_written_anew() {
        let folder = tempfile::tempdir().expect("a folder");
        let is_full = Arc::new(AtomicBool::new(false));
        let full = is_full.clone();
        let drive = Drive::watched(move |touch, _| {
            if touch == Touch::Write && full.load(Ordering::SeqCst) {
                return Err(io::ErrorKind::StorageFull.into());
            }
            Ok(())
        });
        let mut run = Run::new(drive, folder.path());
        run.keeps("one");
        is_full.store(true, Ordering::SeqCst);
        for name in ["two", "three", "four"] {
            assert!(run.rename(name).is_err(), "full");
        }
        is_full.store(false, Ordering::SeqCst);
        run.keeps("five");
        run.keeps("six");
        assert_eq!(run.keeper.wrong(), None, "all is kept by now");
        drop(run);
        assert_eq!(left_in(folder.path()), "six");
    }

    #[test]
    fn a_journal_that_somebody_takes_away_is_begun_anew() {
        let folder = tempfile::tempdir().expect("a folder");
        let mut run = Run::new(Drive::default(), folder.path());
        run.keeps("one");
        for entry in std::fs::read_dir(folder.path()).expect("listed") {
            std::fs::remove_file(entry.expect("an entry").path()).expect("removed");
        }
        assert!(run.rename("two").is_err(), "it is noticed");
        run.keeps("three");
        drop(run);
        assert_eq!(left_in(folder.path()), "three");
    }
}
