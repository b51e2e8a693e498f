//! Writes the journal while the program runs. Each change is with the system before the window goes on,
//! or nearly so: it is waited for, but never longer than [`LONGEST_WAIT`], for the window must not hang
//! on a disk that does. A second thread has what is written put on the disk itself, so that it outlives
//! a power cut.

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
const LONGEST_WAIT: Duration = Duration::from_millis(20);

/// A journal so many times the size of the document it begins from, and this many bytes, is begun anew.
const MOST_TIMES: u64 = 4;
const SPARE_BYTES: u64 = 8 * 1024 * 1024;

enum Order {
    /// Nothing is unsaved; the next change begins from here.
    Rest(Begin),
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
    /// The journal must be begun anew before it can take changes.
    stale: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Keeper {
    /// A keeper that writes into a folder; `id` tells this run from every other.
    pub(super) fn new(folder: PathBuf, id: String, begin: Begin, wake: Wake) -> Self {
        let (orders, received) = channel();
        let (sender, wrong) = channel();
        let stale = Arc::new(AtomicBool::new(false));
        let mut writer = Writer {
            folder,
            id,
            number: 0,
            begin: Some(begin),
            file: None,
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
            stale,
            thread: started.ok(),
        }
    }

    /// What went wrong since it was asked last.
    pub(super) fn wrong(&self) -> Option<FileError> {
        self.wrong.try_iter().last()
    }

    /// Keeps a change that has been made; `begin` gives what is saved and the document after it.
    pub(super) fn change(&self, entry: Entry, begin: impl FnOnce() -> (Begin, Arc<Station>)) {
        if self.stale.swap(false, Ordering::SeqCst) {
            let (begin, now) = begin();
            self.order(Order::Anew(begin, now));
        } else {
            self.order(Order::Change(entry));
        }
    }

    /// Another document, or another state of it, is the saved one.
    pub(super) fn begin(&self, begin: Begin, now: &Arc<Station>) {
        self.stale.store(false, Ordering::SeqCst);
        if Arc::ptr_eq(&begin.station, now) || *begin.station == **now {
            self.order(Order::Rest(begin));
        } else {
            self.order(Order::Anew(begin, now.clone()));
        }
    }

    /// Takes an older journal away, once what was ordered before is written.
    pub(super) fn forget(&self, orphan: Orphan) {
        self.order(Order::Forget(Box::new(orphan)));
    }

    fn order(&self, order: Order) {
        let Some(orders) = &self.orders else { return };
        let (done, written) = sync_channel(1);
        if orders.send((order, done)).is_ok() {
            // too late or not at all: `wrong` says what there is to say
            let _ = written.recv_timeout(LONGEST_WAIT);
        }
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
    /// What the next change begins from; `None`: it is in the file already, or there is none.
    begin: Option<Begin>,
    file: Option<JournalFile>,
    most_bytes: u64,
    stale: Arc<AtomicBool>,
}

impl Writer {
    fn run(
        &mut self,
        orders: &Receiver<(Order, SyncSender<()>)>,
        wrong: &Sender<FileError>,
        wake: &Wake,
    ) {
        let (handles, to_sync) = channel();
        let syncing = std::thread::Builder::new()
            .name("journal to disk".into())
            .spawn(move || sync(&to_sync));
        while let Ok((order, done)) = orders.recv() {
            if let Err(error) = self.carry_out(order) {
                self.stale.store(true, Ordering::SeqCst);
                // the session may be gone already
                let _ = wrong.send(error);
                wake();
            }
            let _ = done.try_send(());
            if let Some(handle) = self.file.as_ref().and_then(JournalFile::handle) {
                let _ = handles.send(handle);
            }
        }
        drop(handles);
        if let Ok(syncing) = syncing {
            let _ = syncing.join();
        }
    }

    fn carry_out(&mut self, order: Order) -> Result<(), FileError> {
        match order {
            Order::Rest(begin) => {
                self.begin = Some(begin);
                if let Some(file) = self.file.take() {
                    file.remove();
                }
            }
            Order::Anew(begin, now) => self.anew(begin, Entry::Whole(now))?,
            Order::Change(entry) => match (self.begin.take(), &mut self.file) {
                (Some(begin), _) => self.anew(begin, entry)?,
                (None, Some(file)) => {
                    file.append(&[entry])?;
                    if file.bytes() > self.most_bytes {
                        self.stale.store(true, Ordering::SeqCst);
                    }
                }
                // an order before could not be carried out, and said so
                (None, None) => self.stale.store(true, Ordering::SeqCst),
            },
            Order::Forget(orphan) if self.stale.load(Ordering::SeqCst) => drop(orphan),
            Order::Forget(orphan) => orphan.remove(),
        }
        Ok(())
    }

    /// A new journal in place of the one there is; that one goes only when the new one is on the disk.
    fn anew(&mut self, begin: Begin, entry: Entry) -> Result<(), FileError> {
        self.begin = None;
        let entries = [Entry::Begin(begin), entry];
        let file = JournalFile::new(&self.folder, &self.id, &mut self.number, &entries)?;
        self.most_bytes = MOST_TIMES * file.bytes() + SPARE_BYTES;
        if let Some(old) = self.file.replace(file) {
            old.remove();
        }
        Ok(())
    }
}

/// Has what was written put on the disk: of handles of one file that wait the latest is enough, and they
/// are few enough that each may be taken.
fn sync(handles: &Receiver<File>) {
    while let Ok(first) = handles.recv() {
        let handle = handles.try_iter().last().unwrap_or(first);
        if let Err(error) = handle.sync_data() {
            log::warn!("the journal could not be put on the disk: {error}");
        }
    }
}
