//! Writes the journal while the program runs. Each change is with the system before the window goes on:
//! it is waited for, which takes less than a millisecond, unless the system itself hangs; then the window
//! waits once, for [`LONGEST_WAIT`], and says so. A second thread has what is written put on the disk
//! itself, so that it outlives a power cut.

use std::fs::File;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, SyncSender, channel, sync_channel};
use std::thread::JoinHandle;
use std::time::Duration;

use crate::files::{Begin, Entry, FileError, JournalFile, Orphan};
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
    Change(Entry),
    /// Take this one away if what came before could be written.
    Forget(Box<Orphan>),
}

/// The journal of this run.
pub(super) struct Keeper {
    orders: Option<Sender<(Order, SyncSender<()>)>>,
    wrong: Receiver<FileError>,
    /// An order that was not carried out in time.
    late: Option<Receiver<()>>,
    /// The journal must be begun anew before it can take changes.
    stale: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Keeper {
    /// A keeper that writes into a folder; `id` tells this run from every other.
    pub(super) fn new(folder: PathBuf, id: String, wake: Wake) -> Self {
        let (orders, received) = channel();
        let (sender, wrong) = channel();
        let stale = Arc::new(AtomicBool::new(false));
        let mut writer = Writer {
            folder,
            id,
            number: 0,
            file: None,
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
    /// When it was not written in time. It may be yet.
    pub(super) fn change(
        &mut self,
        entry: Entry,
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
        let waits = self
            .late
            .as_ref()
            .is_none_or(|late| late.try_recv().is_ok());
        if waits && written.recv_timeout(LONGEST_WAIT).is_ok() {
            self.late = None;
            return Ok(());
        }
        self.late.get_or_insert(written);
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
    fn order(&self, order: Order) -> Receiver<()> {
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
    folder: PathBuf,
    id: String,
    /// Journals of this run so far.
    number: u64,
    file: Option<JournalFile>,
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
type ToDisk = (File, Option<Replaced>);

impl Writer {
    fn run(
        &mut self,
        orders: &Receiver<(Order, SyncSender<()>)>,
        wrong: &Sender<FileError>,
        wake: &Wake,
    ) {
        let (to_disk, received) = channel();
        let syncing = std::thread::Builder::new()
            .name("journal to disk".into())
            .spawn(move || sync(&received));
        while let Ok((order, done)) = orders.recv() {
            if let Err(error) = self.carry_out(order, &to_disk) {
                self.stale.store(true, Ordering::SeqCst);
                // the session may be gone already
                let _ = wrong.send(error);
                wake();
            }
            let _ = done.try_send(());
        }
        drop(to_disk);
        if let Ok(syncing) = syncing {
            let _ = syncing.join();
        }
        if let Some(file) = self.file.take().filter(|_| !self.has_changes) {
            file.remove();
        }
    }

    fn carry_out(&mut self, order: Order, to_disk: &Sender<ToDisk>) -> Result<(), FileError> {
        match order {
            // before the first change comes: of a large document this takes a while
            Order::Rest(begin) => self.anew(vec![Entry::Begin(begin)], to_disk)?,
            Order::End => {
                if let Some(file) = self.file.take() {
                    file.remove();
                }
            }
            Order::Anew(begin, now) => {
                self.anew(vec![Entry::Begin(begin), Entry::Whole(now)], to_disk)?;
            }
            Order::Change(entry) => match &mut self.file {
                Some(file) => {
                    file.append(&[entry])?;
                    self.has_changes = true;
                    if file.bytes() > self.most_bytes {
                        self.stale.store(true, Ordering::SeqCst);
                    }
                    if let Some(handle) = file.handle() {
                        let _ = to_disk.send((handle, None));
                    }
                }
                // an order before could not be carried out, and said so
                None => self.stale.store(true, Ordering::SeqCst),
            },
            Order::Forget(orphan) => {
                let written = !self.stale.load(Ordering::SeqCst);
                let handle = self.file.as_ref().and_then(JournalFile::handle);
                if let Some(handle) = handle.filter(|_| written) {
                    let _ = to_disk.send((handle, Some(Replaced::Older(orphan))));
                }
            }
        }
        Ok(())
    }

    /// A new journal in place of the one there is; that one goes only when the new one is on the disk.
    fn anew(&mut self, entries: Vec<Entry>, to_disk: &Sender<ToDisk>) -> Result<(), FileError> {
        let file = JournalFile::new(&self.folder, &self.id, &mut self.number, &entries)?;
        self.most_bytes = MOST_TIMES * file.bytes() + SPARE_BYTES;
        self.has_changes = entries.len() > 1;
        let handle = file.handle();
        let old = self.file.replace(file);
        if let Some(handle) = handle {
            let _ = to_disk.send((handle, old.map(Replaced::Own)));
        }
        Ok(())
    }
}

/// Has what was written put on the disk. Of one journal's handles the last that waits is enough.
fn sync(to_disk: &Receiver<ToDisk>) {
    // could not be replaced: they stay, and stay locked, until the program ends
    let mut kept = Vec::new();
    while let Ok((mut handle, mut old)) = to_disk.recv() {
        while old.is_none()
            && let Ok(next) = to_disk.try_recv()
        {
            (handle, old) = next;
        }
        match (handle.sync_data(), old) {
            (Ok(()), Some(old)) => old.remove(),
            (Ok(()), None) => {}
            (Err(error), old) => {
                log::warn!("the journal could not be put on the disk: {error}");
                kept.extend(old);
            }
        }
    }
}
