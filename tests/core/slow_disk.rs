//! The disk is slow, full for a while, says no to what it has done, or has no locks; what a person does with files in the
//! meantime is neither lost nor laid at somebody else's door.
//!
//! Some sequences run with the ordinary tests; 2,000 with
//!
//!     cargo test --no-default-features --test core slow_disk::two_thousand -- --ignored --nocapture

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Condvar, Mutex};
use std::time::{Duration, Instant};

use evenfield::export::bundle::Sheets;
use evenfield::files::{self, Drive, Preferences, Touch};
use evenfield::geometry::Shape;
use evenfield::session::{Command, Keep, Question, Reply, Session, Wish};
use evenfield::station::{Edit, Station};
use jiff::civil::date;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

fn small(name: &str) -> Station {
    Station::new(name, Shape::Circle { diameter: 90.0 }, 100.0)
}

fn start(folder: &Path, run: &str, drive: Drive) -> Session {
    let today = date(2026, 11, 25);
    let wake: evenfield::work::Wake = Arc::new(|| {});
    let mut session = Session::new(small("begin"), Preferences::default(), today, wake);
    session.work_on(drive);
    session.keep_in(Keep {
        folder: folder.join("state"),
        run: run.to_owned(),
        who: format!("{run} on bench-2"),
    });
    session
}

fn pause() {
    std::thread::sleep(Duration::from_millis(1));
}

/// Frames until something is so; a disk that never gets there is no way to wait for.
fn until(session: &mut Session, is_so: impl Fn(&Session) -> bool) {
    let begun = Instant::now();
    session.update();
    while !is_so(session) {
        assert!(begun.elapsed() < Duration::from_secs(120), "it never is");
        pause();
        session.update();
    }
}

fn rest(session: &mut Session) {
    until(session, |session| !session.is_at_files());
}

fn rename(session: &mut Session, name: &str) {
    session.handle(Command::Edit(Edit::Rename(name.into())));
}

fn save_as(path: &Path) -> Command {
    Command::SaveAs {
        path: path.to_owned(),
        replace: false,
    }
}

fn name_in(path: &Path) -> String {
    files::read(path).expect("a station").0.name
}

/// A disk on which one way of touching station files and what else is asked for waits as long as a gate is shut.
#[derive(Default)]
struct Gate {
    is_shut: Mutex<bool>,
    opened: Condvar,
    waiting: AtomicUsize,
}

impl Gate {
    fn shut(&self) {
        *self.is_shut.lock().expect("never poisoned") = true;
    }

    fn open(&self) {
        *self.is_shut.lock().expect("never poisoned") = false;
        self.opened.notify_all();
    }

    fn drive(self: &Arc<Self>, at: Touch, folder: &Path) -> Drive {
        let (gate, state) = (self.clone(), folder.join("state"));
        Drive::watched(move |touch, path| {
            if touch == at && !path.starts_with(&state) {
                let shut = gate.is_shut.lock().expect("never poisoned");
                gate.waiting.fetch_add(1, Ordering::SeqCst);
                let opened = gate.opened.wait_while(shut, |is_shut| *is_shut);
                gate.waiting.fetch_sub(1, Ordering::SeqCst);
                drop(opened.expect("never poisoned"));
            }
            Ok(())
        })
    }

    /// Until somebody stands before it.
    fn is_waited_at(&self) {
        let begun = Instant::now();
        while self.waiting.load(Ordering::SeqCst) == 0 {
            assert!(begun.elapsed() < Duration::from_secs(120), "nobody comes");
            pause();
        }
    }
}

#[test]
fn what_is_asked_while_a_save_runs_waits_for_it() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("mine.ron");
    let table = folder.path().join("round.csv");
    fs::write(&table, "x_mm,y_mm,height_mm,irradiance_mw_cm2\n1,2,3,81\n").expect("written");
    let gate = Arc::new(Gate::default());
    let mut session = start(folder.path(), "a", gate.drive(Touch::Write, folder.path()));
    rest(&mut session);
    rename(&mut session, "one");
    session.handle(save_as(&path));
    rest(&mut session);
    assert!(!session.is_changed());

    gate.shut();
    rename(&mut session, "two");
    session.handle(Command::Save);
    gate.is_waited_at();
    rename(&mut session, "three");
    session.handle(Command::Save);
    session.handle(Command::Import(table));
    // looking at the file now would find what is being written
    session.handle(Command::LookAtFile);
    session.update();
    gate.open();
    until(&mut session, |session| session.import().is_some());
    rest(&mut session);
    session.handle(Command::GiveUpImport);
    assert_eq!((session.question(), session.is_changed()), (None, false));
    assert_eq!(name_in(&path), "three");
    assert_eq!(name_in(&folder.path().join("mine.ron.bak")), "two");

    // and nobody else is accused of any of it
    rename(&mut session, "four");
    session.handle(Command::LookAtFile);
    session.handle(Command::Save);
    rest(&mut session);
    assert_eq!((session.question(), session.is_changed()), (None, false));
    assert_eq!(name_in(&path), "four");
}

#[test]
fn files_that_are_imported_at_once_are_looked_at_one_after_the_other() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut session = start(folder.path(), "a", Drive::default());
    for name in ["first.csv", "second.csv", "third.csv"] {
        let table = folder.path().join(name);
        fs::write(&table, "x_mm,y_mm,height_mm,irradiance_mw_cm2\n1,2,3,81\n").expect("written");
        session.handle(Command::Import(table));
    }
    for name in ["first", "second", "third"] {
        until(&mut session, |session| {
            let outcome = session.import().map(|import| import.outcome());
            outcome.is_some_and(|outcome| outcome.current().is_some())
        });
        session.handle(Command::FinishImport);
        let survey = session.station().surveys.last().expect("imported");
        assert_eq!(survey.name, name);
    }
}

#[test]
fn the_program_closes_when_the_export_that_runs_is_written() {
    let folder = tempfile::tempdir().expect("a folder");
    let gate = Arc::new(Gate::default());
    let mut session = start(folder.path(), "a", gate.drive(Touch::Write, folder.path()));
    rest(&mut session);
    session.handle(Command::ChooseSheets(
        Sheets::parse("plan").expect("a sheet"),
    ));
    gate.shut();
    for out in ["one", "two"] {
        session.handle(Command::Export(folder.path().join(out)));
    }
    gate.is_waited_at();
    session.handle(Command::Quit);
    session.update();
    assert!(!session.wants_quit());
    let said = &session.notice().expect("it says what it waits for").text;
    assert!(said.contains("as soon as the files are exported"), "{said}");
    gate.open();
    until(&mut session, Session::wants_quit);
    for out in ["one", "two"] {
        assert!(folder.path().join(out).join("plan.csv").exists(), "{out}");
    }

    // one that fails is seen: the program stays
    let mut session = start(folder.path(), "b", Drive::default());
    rest(&mut session);
    session.handle(Command::ChooseSheets(
        Sheets::parse("plan").expect("a sheet"),
    ));
    fs::write(folder.path().join("three"), "no folder").expect("written");
    session.handle(Command::Export(folder.path().join("three")));
    session.handle(Command::Quit);
    rest(&mut session);
    assert!(!session.wants_quit());
    let said = &session.notice().expect("it says why").text;
    assert!(said.contains("a file of that name is there"), "{said}");
    session.handle(Command::Quit);
    assert!(session.wants_quit());
}

#[test]
fn edits_made_while_a_file_is_opening_are_asked_about() {
    let folder = tempfile::tempdir().expect("a folder");
    let theirs = folder.path().join("other.ron");
    files::save(&theirs, &small("other"), &Default::default()).expect("saved");
    let gate = Arc::new(Gate::default());
    let mut session = start(folder.path(), "a", gate.drive(Touch::Read, folder.path()));
    rest(&mut session);
    let open = || Command::Open(theirs.clone());

    gate.shut();
    session.handle(open());
    gate.is_waited_at();
    rename(&mut session, "typed meanwhile");
    gate.open();
    rest(&mut session);
    assert_eq!(session.station().name, "typed meanwhile");
    assert!(matches!(session.question(), Some(Question::Unsaved(_))));
    session.handle(Command::Reply(Reply::Cancel));
    rest(&mut session);
    assert_eq!(session.station().name, "typed meanwhile");

    // what is discarded is what was there when that was said
    session.handle(open());
    gate.shut();
    session.handle(Command::Reply(Reply::No));
    gate.is_waited_at();
    rename(&mut session, "typed after that");
    gate.open();
    rest(&mut session);
    assert_eq!(session.station().name, "typed after that");
    session.handle(Command::Reply(Reply::No));
    rest(&mut session);
    assert_eq!((session.question(), session.is_changed()), (None, false));
    assert_eq!(session.station().name, "other");

    // a save asked for while another file opens is of what was there then
    let mine = folder.path().join("mine.ron");
    session.handle(save_as(&mine));
    rest(&mut session);
    gate.shut();
    session.handle(open());
    gate.is_waited_at();
    rename(&mut session, "mine");
    session.handle(Command::Save);
    gate.open();
    rest(&mut session);
    assert_eq!(session.question(), None);
    assert_eq!(session.station().name, "other");
    assert_eq!(
        (name_in(&mine), name_in(&theirs)),
        ("mine".into(), "other".into())
    );
}

#[test]
fn what_follows_a_save_that_failed_follows_no_other() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("mine.ron");
    let is_full = Arc::new(AtomicBool::new(false));
    let full = is_full.clone();
    let drive = Drive::watched(move |touch, path| {
        let is_station = path.extension().is_some_and(|e| e == "ron");
        if touch == Touch::Write && is_station && full.load(Ordering::SeqCst) {
            return Err(io::ErrorKind::StorageFull.into());
        }
        Ok(())
    });
    let mut session = start(folder.path(), "a", drive);
    rest(&mut session);
    session.handle(save_as(&path));
    rest(&mut session);
    rename(&mut session, "typed");
    is_full.store(true, Ordering::SeqCst);
    session.handle(Command::Quit);
    session.handle(Command::Reply(Reply::Yes));
    rest(&mut session);
    assert!(!session.wants_quit() && session.is_changed());
    is_full.store(false, Ordering::SeqCst);
    session.handle(Command::Save);
    rest(&mut session);
    assert!(!session.wants_quit() && !session.is_changed());
    assert_eq!(name_in(&path), "typed");

    // nor does what follows a save that was given no path
    session.handle(Command::New);
    rename(&mut session, "new");
    session.handle(Command::Quit);
    session.handle(Command::Reply(Reply::Yes));
    assert_eq!(session.take_wish(), Some(Wish::SavePath));
    session.handle(Command::NoSavePath);
    session.handle(save_as(&folder.path().join("new.ron")));
    rest(&mut session);
    assert!(!session.wants_quit() && !session.is_changed());
}

#[test]
fn a_disk_that_says_no_to_what_it_has_done_accuses_nobody() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("mine.ron");
    let is_lying = Arc::new(AtomicBool::new(false));
    let lies = is_lying.clone();
    let drive = Drive::watched(move |touch, path| {
        let is_station = path.extension().is_some_and(|e| e == "ron");
        if touch == Touch::Renamed && is_station && lies.load(Ordering::SeqCst) {
            return Err(io::ErrorKind::TimedOut.into());
        }
        Ok(())
    });
    let mut session = start(folder.path(), "a", drive);
    rest(&mut session);
    session.handle(save_as(&path));
    rest(&mut session);
    is_lying.store(true, Ordering::SeqCst);
    rename(&mut session, "typed");
    session.handle(Command::Save);
    rest(&mut session);
    assert!(session.is_changed(), "as far as is known");
    // what was saved last may not be in the file any more
    session.handle(Command::Undo);
    assert!(session.is_changed());
    session.handle(Command::Redo);
    is_lying.store(false, Ordering::SeqCst);
    session.handle(Command::LookAtFile);
    rest(&mut session);
    rename(&mut session, "typed on");
    session.handle(Command::Save);
    rest(&mut session);
    assert_eq!((session.question(), session.is_changed()), (None, false));
    assert_eq!(name_in(&path), "typed on");
    // while what somebody else wrote is asked about as ever
    fs::write(&path, "theirs").expect("written");
    rename(&mut session, "typed on and on");
    session.handle(Command::Save);
    rest(&mut session);
    assert!(matches!(
        session.question(),
        Some(Question::ChangedOnDisk(_))
    ));
}

#[test]
fn a_file_that_can_not_be_looked_at_is_not_written_over() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("mine.ron");
    let is_blind = Arc::new(AtomicBool::new(false));
    let blind = is_blind.clone();
    let drive = Drive::watched(move |touch, path| {
        let is_station = path.extension().is_some_and(|e| e == "ron");
        if touch == Touch::Read && is_station && blind.load(Ordering::SeqCst) {
            return Err(io::ErrorKind::TimedOut.into());
        }
        Ok(())
    });
    let mut session = start(folder.path(), "a", drive);
    rest(&mut session);
    fs::write(&path, "theirs").expect("written");
    is_blind.store(true, Ordering::SeqCst);
    session.handle(save_as(&path));
    rest(&mut session);
    assert_eq!(fs::read(&path).expect("there"), b"theirs");
    let said = &session.notice().expect("it says why").text;
    assert!(said.contains("could not be read"), "{said}");
}

#[test]
fn the_sign_of_a_program_that_was_killed_is_gone_with_the_next_start() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("mine.ron");
    let sign = folder.path().join(".mine.ron.in-use");
    let mut session = start(folder.path(), "a", Drive::default());
    rest(&mut session);
    session.handle(save_as(&path));
    rest(&mut session);
    assert!(sign.exists());
    // what a kill leaves: the sign and a journal without a change, and nobody who holds them
    let journals = || -> Vec<(PathBuf, Vec<u8>)> {
        let entries = fs::read_dir(folder.path().join("state")).expect("listed");
        let paths = entries.map(|entry| entry.expect("an entry").path());
        // one that was begun before may be taken away just now
        paths
            .filter_map(|path| Some((path.clone(), fs::read(path).ok()?)))
            .collect()
    };
    let names_file = |(_, bytes): &(PathBuf, Vec<u8>)| {
        bytes.ends_with(b"\n") && String::from_utf8_lossy(bytes).contains("mine.ron")
    };
    let begun = Instant::now();
    while !journals().iter().any(names_file) {
        assert!(
            begun.elapsed() < Duration::from_secs(120),
            "it is never begun"
        );
        pause();
    }
    let left = journals();
    drop(session);
    fs::write(&sign, "a on bench-2").expect("written");
    for (path, bytes) in left {
        fs::write(path, bytes).expect("written");
    }
    let mut session = start(folder.path(), "b", Drive::default());
    rest(&mut session);
    assert_eq!(session.question(), None);
    assert!(!sign.exists());
}

/// How the disk is in a sequence.
struct Moods {
    chance: Mutex<ChaCha8Rng>,
    /// One touch in so many is refused; 0: none.
    refuses: AtomicUsize,
    /// Also where the journal is.
    is_at_journal: bool,
    has_locks: bool,
    state: PathBuf,
    refused: AtomicUsize,
    touched: AtomicUsize,
}

impl Moods {
    fn touch(&self, touch: Touch, path: &Path) -> io::Result<()> {
        self.touched.fetch_add(1, Ordering::Relaxed);
        if touch == Touch::Lock && !self.has_locks {
            return Err(io::ErrorKind::Unsupported.into());
        }
        let refuses = self.refuses.load(Ordering::SeqCst);
        let (wait, refuse, kind) = {
            let mut chance = self.chance.lock().expect("never poisoned");
            let wait = if chance.random_bool(0.03) { 4000 } else { 200 };
            (
                chance.random_range(0..wait),
                refuses > 0 && chance.random_range(0..refuses) == 0,
                chance.random_range(0..4),
            )
        };
        std::thread::sleep(Duration::from_micros(wait));
        if refuse && (self.is_at_journal || !path.starts_with(&self.state)) {
            self.refused.fetch_add(1, Ordering::SeqCst);
            return Err(match kind {
                0 => io::ErrorKind::StorageFull.into(),
                1 => io::ErrorKind::PermissionDenied.into(),
                2 => io::ErrorKind::TimedOut.into(),
                _ => io::Error::other("the share is away"),
            });
        }
        Ok(())
    }
}

/// What was met.
#[derive(Debug, Default)]
struct Tally {
    sequences: usize,
    steps: usize,
    touched: usize,
    refused: usize,
    asked_unsaved: usize,
    asked_to_replace: usize,
    documents: usize,
    saves: usize,
    exports: usize,
    imports: usize,
    quits: usize,
    crashes: usize,
    taken_up: usize,
    gone_by_journal_faults: usize,
}

struct Person {
    seed: u64,
    chance: ChaCha8Rng,
    folder: tempfile::TempDir,
    moods: Arc<Moods>,
    session: Session,
    tally: Tally,
    /// Counts names, files and folders that no other has.
    number: usize,
    /// The document as it came.
    begun: Arc<Station>,
    /// Documents whose changes were discarded.
    given_up: Vec<Arc<Station>>,
    /// What the document has been, told by the name and the number of surveys.
    seen: BTreeSet<(String, usize)>,
    wants_quit: bool,
    is_cancelled: bool,
    /// Folders, and how often the disk had refused when the export was asked for.
    exports: Vec<(PathBuf, usize)>,
    /// As for exports: copies that were saved under a name of their own.
    copies: Vec<(PathBuf, usize)>,
    imports_asked: usize,
    imports_seen: usize,
}

fn key(station: &Station) -> (String, usize) {
    (station.name.clone(), station.surveys.len())
}

impl Person {
    fn new(seed: u64) -> Self {
        let mut chance = ChaCha8Rng::seed_from_u64(seed);
        let folder = tempfile::tempdir().expect("a folder");
        for name in ["a", "b"] {
            let path = folder.path().join(name).with_extension("ron");
            files::save(&path, &small(name), &Default::default()).expect("saved");
        }
        let table = "x_mm,y_mm,height_mm,irradiance_mw_cm2\n1,2,3,81\n";
        fs::write(folder.path().join("round.csv"), table).expect("written");
        let moods = Arc::new(Moods {
            chance: Mutex::new(ChaCha8Rng::seed_from_u64(seed ^ 0x5eed)),
            refuses: AtomicUsize::new([0, 0, 60, 20][chance.random_range(0..4)]),
            is_at_journal: chance.random_bool(0.3),
            has_locks: chance.random_bool(0.8),
            state: folder.path().join("state"),
            refused: AtomicUsize::new(0),
            touched: AtomicUsize::new(0),
        });
        let watching = moods.clone();
        let drive = Drive::watched(move |touch, path| watching.touch(touch, path));
        let mut session = start(folder.path(), "a", drive);
        let sheets = Sheets::parse("plan,readings").expect("sheets");
        session.handle(Command::ChooseSheets(sheets));
        Self {
            seed,
            chance,
            moods,
            begun: session.station().clone(),
            seen: BTreeSet::from([key(session.station()), ("a".into(), 0), ("b".into(), 0)]),
            session,
            folder,
            tally: Tally::default(),
            number: 0,
            given_up: Vec::new(),
            wants_quit: false,
            is_cancelled: false,
            exports: Vec::new(),
            copies: Vec::new(),
            imports_asked: 0,
            imports_seen: 0,
        }
    }

    fn refused(&self) -> usize {
        self.moods.refused.load(Ordering::SeqCst)
    }

    fn fresh(&mut self, name: &str) -> PathBuf {
        self.number += 1;
        self.folder.path().join(format!("{name}-{}", self.number))
    }

    /// Whether a document may be gone from the screen: it is in a file, as it came, or not wanted.
    fn is_safe(&self, station: &Arc<Station>) -> bool {
        let in_file = || {
            let entries = fs::read_dir(self.folder.path()).expect("listed");
            let paths = entries.map(|entry| entry.expect("an entry").path());
            let mut stations = paths
                .filter(|path| path.extension().is_some_and(|e| e == "ron" || e == "bak"))
                .filter(|path| path.is_file());
            stations.any(|path| files::read(&path).is_ok_and(|(read, _)| read == **station))
        };
        *station == self.begun || self.given_up.contains(station) || in_file()
    }

    /// Something happens that may bring another document, and may change the one there is where that was asked for.
    fn happens(&mut self, changes: bool, what: impl FnOnce(&mut Session)) {
        let before = self.session.station().clone();
        what(&mut self.session);
        self.has_happened(changes, &before);
    }

    fn has_happened(&mut self, changes: bool, before: &Arc<Station>) {
        let after = self.session.station().clone();
        self.seen.insert(key(&after));
        if **before != *after && !changes {
            let seed = self.seed;
            assert!(
                self.is_safe(before),
                "seed {seed}: {:?} is lost",
                before.name
            );
            self.begun = after;
            self.tally.documents += 1;
        }
        self.nobody_is_accused();
        assert!(
            !self.session.wants_quit() || self.wants_quit,
            "seed {}: it ends by itself",
            self.seed
        );
        if self.session.take_wish().is_some() {
            if self.chance.random_bool(0.7) {
                let path = self.fresh("asked").with_extension("ron");
                self.happens(false, |session| session.handle(save_as(&path)));
            } else {
                self.happens(false, |session| session.handle(Command::NoSavePath));
            }
        }
    }

    fn nobody_is_accused(&self) {
        let question = self.session.question();
        let accuses = matches!(
            question,
            Some(Question::ChangedOnDisk(_) | Question::TheirVersion(_))
        );
        assert!(!accuses, "seed {}: {question:?}", self.seed);
        let said = self.session.notice().map_or("", |notice| &notice.text);
        let others = ["somebody else", "not there any more", "another window"];
        assert!(
            !others.iter().any(|words| said.contains(words)),
            "seed {}: {said}",
            self.seed
        );
    }

    fn frame(&mut self) {
        self.happens(false, Session::update);
        self.answer();
        let is_read = |session: &Session| {
            let import = session.import()?;
            import.outcome().current().map(|_| ())
        };
        if is_read(&self.session).is_some() && self.chance.random_bool(0.5) {
            self.imports_seen += 1;
            if self.chance.random_bool(0.7) {
                self.happens(true, |session| session.handle(Command::FinishImport));
                assert!(self.session.import().is_none());
            } else {
                self.happens(false, |session| session.handle(Command::GiveUpImport));
            }
        }
    }

    fn answer(&mut self) {
        let Some(question) = self.session.question().cloned() else {
            return;
        };
        if self.chance.random_bool(0.3) {
            return;
        }
        let reply =
            [Reply::Yes, Reply::Yes, Reply::No, Reply::Cancel][self.chance.random_range(0..4)];
        match &question {
            Question::Unsaved(next) => {
                self.tally.asked_unsaved += 1;
                self.wants_quit |= **next == Command::Quit && reply != Reply::Cancel;
                if reply == Reply::No {
                    self.given_up.push(self.session.station().clone());
                }
            }
            Question::Replace(_) | Question::ReplaceExports { .. } => {
                self.tally.asked_to_replace += 1;
            }
            other => panic!("seed {}: {other:?}", self.seed),
        }
        let drops = reply == Reply::Cancel
            || (reply == Reply::No && !matches!(question, Question::Unsaved(_)));
        if drops {
            self.wants_quit = false;
            self.is_cancelled = true;
        }
        self.happens(false, |session| session.handle(Command::Reply(reply)));
    }

    fn step(&mut self) {
        // what the window can't send while it asks, but a file that is dropped on it
        if self.session.question().is_some() && self.chance.random_bool(0.7) {
            return;
        }
        self.tally.steps += 1;
        self.number += 1;
        let station = ["a.ron", "b.ron"][self.chance.random_range(0..2)];
        let station = self.folder.path().join(station);
        let refused = self.refused();
        let (changes, command) = match self.chance.random_range(0..100) {
            0..30 => {
                let name = format!("typed {}", self.number);
                (true, Command::Edit(Edit::Rename(name)))
            }
            30..36 => (true, Command::Undo),
            36..40 => (true, Command::Redo),
            40..60 => {
                self.tally.saves += 1;
                (false, Command::Save)
            }
            60..64 => {
                self.tally.saves += 1;
                (false, save_as(&station))
            }
            64..68 => {
                self.tally.saves += 1;
                let path = self.fresh("copy").with_extension("ron");
                self.copies.push((path.clone(), refused));
                (false, save_as(&path))
            }
            68..76 => (false, Command::Open(station)),
            76..78 => (false, Command::New),
            78..84 => {
                self.tally.imports += 1;
                self.imports_asked += 1;
                (false, Command::Import(self.folder.path().join("round.csv")))
            }
            84..89 => {
                self.tally.exports += 1;
                let out = self.fresh("out");
                self.exports.push((out.clone(), refused));
                (false, Command::Export(out))
            }
            89..91 => {
                self.tally.exports += 1;
                (false, Command::Export(self.folder.path().join("out")))
            }
            91..92 => {
                self.is_cancelled = true;
                (false, Command::CancelExport)
            }
            92..97 => (false, Command::LookAtFile),
            _ => {
                self.wants_quit = true;
                (false, Command::Quit)
            }
        };
        self.happens(changes, |session| session.handle(command));
    }

    /// Frames until nothing is to do, and nothing asked.
    fn settle(&mut self) {
        let begun = Instant::now();
        loop {
            self.frame();
            let is_still = !self.session.is_at_files()
                && self.session.question().is_none()
                && self.session.import().is_none();
            if is_still || self.session.wants_quit() {
                return;
            }
            assert!(
                begun.elapsed() < Duration::from_secs(120),
                "seed {}: no end",
                self.seed
            );
            pause();
        }
    }

    /// What was asked for and neither refused by the disk nor by the person is there.
    fn is_written(&mut self) {
        let (seed, refused) = (self.seed, self.refused());
        if !self.is_cancelled {
            let undisturbed =
                |(path, before): &(PathBuf, usize)| (*before == refused).then(|| path.clone());
            for out in self.exports.iter().filter_map(undisturbed) {
                assert!(
                    out.join("plan.csv").exists(),
                    "seed {seed}: {} is lost",
                    out.display()
                );
            }
            for copy in self.copies.iter().filter_map(undisturbed) {
                let read = files::read(&copy).unwrap_or_else(|e| panic!("seed {seed}: {e}"));
                assert!(
                    self.seen.contains(&key(&read.0)),
                    "seed {seed}: {}",
                    read.0.name
                );
            }
        }
        // no file is a half one
        for entry in fs::read_dir(self.folder.path()).expect("listed") {
            let path = entry.expect("an entry").path();
            if path.extension().is_some_and(|e| e == "ron" || e == "bak") {
                files::read(&path).unwrap_or_else(|e| panic!("seed {seed}: {e}"));
            }
        }
    }

    /// What is called unchanged is in its file, or as it came.
    fn is_as_it_says(&self) {
        if self.session.is_changed() {
            return;
        }
        let now = self.session.station();
        let is_there = match self.session.file() {
            Some(file) => files::read(&file.path).is_ok_and(|(read, _)| read == **now),
            None => *now == self.begun,
        };
        assert!(
            is_there,
            "seed {}: {:?} is not in its file",
            self.seed, now.name
        );
    }

    fn end(mut self) -> Tally {
        if self.session.wants_quit() {
            self.tally.quits += 1;
            let now = self.session.station().clone();
            assert!(
                self.is_safe(&now),
                "seed {}: {:?} is lost",
                self.seed,
                now.name
            );
            self.is_written();
        } else if self.chance.random_bool(0.4) {
            self.crash();
        } else {
            self.settle();
            self.is_written();
            self.is_as_it_says();
            if !self.session.wants_quit() {
                if self.refused() == 0 {
                    assert_eq!(self.imports_seen, self.imports_asked, "seed {}", self.seed);
                }
                self.close();
            }
        }
        self.tally.touched = self.moods.touched.load(Ordering::SeqCst);
        self.tally.refused = self.refused();
        self.tally.sequences = 1;
        self.tally
    }

    /// The disk is well again: what is saved now is saved, and the program can be left.
    fn close(&mut self) {
        let seed = self.seed;
        self.moods.refuses.store(0, Ordering::SeqCst);
        // twice, for a fault of before may still be told
        for _ in 0..2 {
            self.happens(false, |session| session.handle(Command::Save));
            self.settle();
        }
        if self.session.file().is_some() && !self.session.wants_quit() {
            assert!(!self.session.is_changed(), "seed {seed}: it can't be saved");
        }
        self.is_as_it_says();
        for _ in 0..50 {
            if self.session.wants_quit() {
                break;
            }
            self.wants_quit = true;
            self.happens(false, |session| session.handle(Command::Quit));
            self.settle();
        }
        assert!(self.session.wants_quit(), "seed {seed}: it can't be left");
        let now = self.session.station().clone();
        assert!(self.is_safe(&now), "seed {seed}: {:?} is lost", now.name);
        self.tally.quits += 1;
    }

    /// The program is gone without a word; the next one offers what was not saved.
    fn crash(&mut self) {
        // a thread of this process would go on writing
        self.settle();
        if self.session.wants_quit() {
            return;
        }
        self.tally.crashes += 1;
        let seed = self.seed;
        let mut is_kept = !self.moods.is_at_journal || self.refused() == 0;
        if !is_kept && self.chance.random_bool(0.7) {
            // with the disk well again the next change is kept, and with it all before it
            self.moods.refuses.store(0, Ordering::SeqCst);
            for name in ["well again", "and well"] {
                let edit = Command::Edit(Edit::Rename(name.into()));
                self.happens(true, |session| session.handle(edit));
            }
            is_kept = true;
        }
        let now = self.session.station().clone();
        let was_changed = self.session.is_changed();
        let path = self.session.file().map(|file| file.path.clone());
        let wake: evenfield::work::Wake = Arc::new(|| {});
        let nothing = Session::new(small(""), Preferences::default(), date(2026, 11, 25), wake);
        drop(std::mem::replace(&mut self.session, nothing));
        let mut next = start(self.folder.path(), "b", Drive::default());
        rest(&mut next);
        match next.question().cloned() {
            Some(Question::TakeUp(left)) => {
                self.tally.taken_up += 1;
                next.handle(Command::Reply(Reply::Yes));
                rest(&mut next);
                let found = next.station();
                if is_kept {
                    assert!(was_changed, "seed {seed}: {:?} was saved", left.name);
                    assert_eq!(**found, *now, "seed {seed}");
                    assert_eq!(left.path, path, "seed {seed}");
                    assert!(!left.is_damaged, "seed {seed}");
                } else {
                    assert!(
                        self.seen.contains(&key(found)),
                        "seed {seed}: {:?}",
                        found.name
                    );
                }
            }
            None if is_kept => assert!(
                !was_changed || self.is_safe(&now),
                "seed {seed}: {:?} is lost",
                now.name
            ),
            None => self.tally.gone_by_journal_faults += usize::from(was_changed),
            other => panic!("seed {seed}: {other:?}"),
        }
        assert_eq!(next.question(), None);
    }
}

fn sequence(seed: u64) -> Tally {
    let mut person = Person::new(seed);
    for _ in 0..person.chance.random_range(5..30) {
        person.step();
        for _ in 0..person.chance.random_range(0..4) {
            if person.chance.random_bool(0.3) {
                std::thread::sleep(Duration::from_micros(person.chance.random_range(0..2000)));
            }
            person.frame();
        }
        if person.session.wants_quit() {
            break;
        }
    }
    person.end()
}

impl Tally {
    fn add(&mut self, other: &Self) {
        self.sequences += other.sequences;
        self.steps += other.steps;
        self.touched += other.touched;
        self.refused += other.refused;
        self.asked_unsaved += other.asked_unsaved;
        self.asked_to_replace += other.asked_to_replace;
        self.documents += other.documents;
        self.saves += other.saves;
        self.exports += other.exports;
        self.imports += other.imports;
        self.quits += other.quits;
        self.crashes += other.crashes;
        self.taken_up += other.taken_up;
        self.gone_by_journal_faults += other.gone_by_journal_faults;
    }
}

/// Sequences of these seeds, on two threads.
fn sequences(seeds: std::ops::Range<u64>) -> Tally {
    let next = std::sync::atomic::AtomicU64::new(seeds.start);
    let tally = Mutex::new(Tally::default());
    std::thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                loop {
                    let seed = next.fetch_add(1, Ordering::SeqCst);
                    if seed >= seeds.end {
                        return;
                    }
                    let one = sequence(seed);
                    tally.lock().expect("never poisoned").add(&one);
                }
            });
        }
    });
    tally.into_inner().expect("never poisoned")
}

fn first_seed() -> u64 {
    let first = std::env::var("EVENFIELD_TEST_SLOW_DISK_FROM").ok();
    first.and_then(|text| text.parse().ok()).unwrap_or(0)
}

#[test]
fn nothing_is_lost_and_nobody_accused_in_a_few_sequences() {
    let first = first_seed();
    assert_eq!(sequences(first..first + 40).sequences, 40);
}

#[test]
#[ignore = "some minutes; the command is above"]
fn two_thousand() {
    let begun = Instant::now();
    let first = first_seed();
    let tally = sequences(first..first + 2000);
    println!("{tally:#?} in {:.0?}", begun.elapsed());
    assert_eq!(tally.sequences, 2000);
}
