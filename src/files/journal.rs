//! The journal: what was changed in a station since it was saved, written change by change, so that a
//! crash or a power cut loses none of it.
//!
//! It is a text of lines. The first says what it is, each other one is a check sum and an [`Entry`]; a
//! line that was cut off by the crash does not have its sum and ends what can be read. The file is
//! locked as long as the program runs that writes it: a journal that nobody has locked is of a program
//! that ended without saving. Where the disk has no locks that can't be told: then whoever takes a journal away may
//! take it from a program that runs, and so each looks, after writing, whether its own is still there.
//!
//! What a newer program wrote is left as it is, for that one to take up: a first line of a higher number, or a line that
//! has its sum and says what is not known here.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::SystemTime;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::{Drive, FileError, Stamp, in_use, text};
use crate::station::{Difference, Edit, Station};

/// The first line begins so; what follows is the number of the version.
const FIRST_WORDS: &str = "evenfield journal ";
const VERSION: u64 = 1;
/// The whole first line.
const FIRST_LINE: &str = "evenfield journal 1\n";

const EXTENSION: &str = "journal";

/// What a journal that can't be read is renamed to.
const DAMAGED: &str = "damaged";

/// One line of a journal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Entry {
    /// What the changes begin from: the first entry, and no other.
    Begin(Begin),
    /// A change, the gesture that it is a part of, and the day on which it was made.
    Edit(Box<Edit>, Option<u64>, Date),
    /// The document after something that is no edit, undo and redo, told by the one before.
    Other(Box<Difference>),
    /// The whole document, where a journal is begun anew.
    Whole(Arc<Station>),
}

/// What the changes of a journal begin from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Begin {
    /// The station's file, if it has one and its path is text.
    pub path: Option<PathBuf>,
    /// Of that file when it was read or written last.
    pub stamp: Option<Stamp>,
    /// Whether it is the built-in sample.
    pub is_sample: bool,
    /// The document as it was then.
    pub station: Arc<Station>,
    /// Names of older journals whose changes are in this one, should they not be gone yet.
    #[serde(default)]
    pub replaces: Vec<String>,
}

/// What a journal holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Journal {
    /// What the changes begin from.
    pub begin: Begin,
    /// The changes, none of them a [`Entry::Begin`].
    pub changes: Vec<Entry>,
    /// Whether whole lines after those could not be read: more than the one that a crash cuts off.
    pub is_damaged: bool,
}

impl Entry {
    /// The line of the entry, with its end.
    ///
    /// # Errors
    /// When it can't be put into text.
    pub fn line(&self) -> Result<String, FileError> {
        let said = ron::to_string(self).map_err(|error| {
            log::error!("a change could not be put into the journal: {error}");
            FileError::new(
                "the change could not be put into the journal",
                "save the station now",
            )
        })?;
        Ok(format!("{:08x} {said}\n", crc32fast::hash(said.as_bytes())))
    }

    fn read(line: &[u8]) -> Line {
        let said = (line.strip_suffix(b"\n"))
            .and_then(|line| std::str::from_utf8(line).ok())
            .and_then(|line| {
                let (sum, said) = line.split_once(' ')?;
                let sum = u32::from_str_radix(sum, 16).ok()?;
                (crc32fast::hash(said.as_bytes()) == sum).then_some(said)
            });
        match said.map(ron::from_str) {
            Some(Ok(entry)) => Line::Known(entry),
            Some(Err(_)) => Line::Newer,
            None => Line::Broken,
        }
    }
}

/// What a line of a journal is.
enum Line {
    Known(Entry),
    /// As it was written, and by a program that knows more.
    Newer,
    /// Not as it was written.
    Broken,
}

/// Why a journal can't be read.
enum Unread {
    /// A newer program wrote it.
    Newer(FileError),
    Damaged(FileError),
}

/// What a journal comes to: what it begins from, if that can be read, and what there is to lose.
type Parts = (Option<Begin>, Option<Journal>);

/// Reads the bytes of a journal as far as they are whole. `None`: it holds nothing that could be lost,
/// for the program ended before the first change was in it.
///
/// # Errors
/// When it is not a journal that this program reads.
pub fn parse_journal(bytes: &[u8]) -> Result<Option<Journal>, FileError> {
    match parts(bytes) {
        Ok((_, journal)) => Ok(journal),
        Err(Unread::Newer(error) | Unread::Damaged(error)) => Err(error),
    }
}

fn parts(bytes: &[u8]) -> Result<Parts, Unread> {
    text::size_allowed(bytes.len() as u64).map_err(Unread::Damaged)?;
    let Some(rest) = bytes.strip_prefix(FIRST_LINE.as_bytes()) else {
        if FIRST_LINE.as_bytes().starts_with(bytes) {
            // cut off
            return Ok((None, None));
        }
        return Err(if version(bytes).is_some_and(|version| version > VERSION) {
            newer(1)
        } else {
            let what = "this is not a journal that this Evenfield reads";
            let mend = "start the one that wrote it, or delete the file";
            Unread::Damaged(FileError::new(what, mend).at(1, 1))
        });
    };
    let mut lines = rest.split_inclusive(|&b| b == b'\n');
    let begin = match lines.next().map(Entry::read) {
        Some(Line::Known(Entry::Begin(begin))) if begin.station.unsound().is_empty() => begin,
        Some(Line::Newer) => return Err(newer(2)),
        Some(_) if lines.next().is_some() => return Err(Unread::Damaged(damaged(2))),
        _ => return Ok((None, None)),
    };
    let mut changes = Vec::new();
    let mut is_damaged = false;
    while let Some(line) = lines.next() {
        match Entry::read(line) {
            Line::Known(change @ (Entry::Edit(..) | Entry::Other(_))) => changes.push(change),
            Line::Known(Entry::Whole(station)) if station.unsound().is_empty() => {
                changes.push(Entry::Whole(station));
            }
            Line::Newer => return Err(newer(3 + changes.len())),
            Line::Known(_) | Line::Broken => {
                is_damaged = lines.next().is_some();
                break;
            }
        }
    }
    if changes.is_empty() && is_damaged {
        return Err(Unread::Damaged(damaged(3)));
    }
    let journal = (!changes.is_empty()).then(|| Journal {
        begin: begin.clone(),
        changes,
        is_damaged,
    });
    Ok((Some(begin), journal))
}

/// The number in the first line.
fn version(bytes: &[u8]) -> Option<u64> {
    let rest = bytes.strip_prefix(FIRST_WORDS.as_bytes())?;
    let number = rest.split(|&b| b == b'\n').next()?;
    std::str::from_utf8(number).ok()?.parse().ok()
}

fn newer(line: usize) -> Unread {
    let error = FileError::new(
        "a newer Evenfield wrote this",
        "start that one to take it up; the file is left as it is",
    );
    Unread::Newer(error.at(line, 1))
}

fn damaged(line: usize) -> FileError {
    FileError::new(
        "the journal is damaged at its begin",
        "open the station file or its previous version, the .bak file",
    )
    .at(line, 1)
}

/// A journal that is being written. It stays when it is dropped; [`remove`](Self::remove) takes it away.
#[derive(Debug)]
pub struct JournalFile {
    drive: Drive,
    file: File,
    path: PathBuf,
    /// So many are whole.
    bytes: u64,
}

/// A journal to be put on the disk itself while it goes on.
#[derive(Debug)]
pub struct ToDisk {
    drive: Drive,
    file: File,
    path: PathBuf,
}

impl ToDisk {
    /// Waits until what was written outlives a power cut.
    ///
    /// # Errors
    /// When the disk refuses.
    pub fn sync(&self) -> io::Result<()> {
        self.drive.sync_data(&self.file, &self.path)
    }
}

impl JournalFile {
    /// A new journal in a folder, which is made when it is not there, with these entries. `id` is a word that no other run of the program has, `number` counts its journals: of two
    /// that a crash left, the later one holds all that the earlier one held.
    ///
    /// # Errors
    /// When it can't be written; there is no file then.
    pub fn new(
        drive: &Drive,
        folder: &Path,
        id: &str,
        number: &mut u64,
        entries: &[Entry],
    ) -> Result<Self, FileError> {
        let failed = |path: &Path, e: &io::Error| {
            FileError::system(path, "the journal could not be written", e)
        };
        (drive.make_folder(folder)).map_err(|e| failed(folder, &e))?;
        let mut journal = Self::fresh(drive, folder, id, number).map_err(|e| failed(folder, &e))?;
        let written = (journal.put(FIRST_LINE.as_bytes())).and_then(|()| journal.append(entries));
        match written {
            Ok(()) => Ok(journal),
            Err(error) => {
                journal.remove();
                Err(error)
            }
        }
    }

    /// An empty file that is locked, where the disk has locks, and has its name.
    fn fresh(drive: &Drive, folder: &Path, id: &str, number: &mut u64) -> io::Result<Self> {
        loop {
            *number += 1;
            let path = folder.join(format!("{id}-{number}.{EXTENSION}"));
            let made = drive.make(&path, || {
                OpenOptions::new().append(true).create_new(true).open(&path)
            });
            let file = match made {
                Ok(file) => file,
                Err(e) if e.kind() == io::ErrorKind::AlreadyExists => continue,
                Err(e) => return Err(e),
            };
            // another program that looks for journals may have had it first, and taken it away
            let locked = drive.try_lock(&file, &path);
            if !matches!(locked, Err(TryLockError::WouldBlock)) && path.exists() {
                return Ok(Self {
                    drive: drive.clone(),
                    file,
                    path,
                    bytes: 0,
                });
            }
        }
    }

    /// Adds entries. They are with the system when this returns, so that they outlive the program;
    /// what outlives a power cut too, [`to_disk`](Self::to_disk) says.
    ///
    /// # Errors
    /// When they can't be written, or somebody has taken the journal away. What it held before is whole, but nothing
    /// more may follow: it would be told by what is missing.
    pub fn append(&mut self, entries: &[Entry]) -> Result<(), FileError> {
        let mut lines = String::new();
        for entry in entries {
            lines += &entry.line()?;
        }
        self.put(lines.as_bytes())
    }

    fn put(&mut self, bytes: &[u8]) -> Result<(), FileError> {
        if let Err(error) = self.drive.write(&mut self.file, &self.path, bytes) {
            // a piece of a line would be taken for damage
            if let Err(error) = self.file.set_len(self.bytes) {
                log::warn!("{}: {error}", self.path.display());
            }
            let doing = "the journal could not be written";
            return Err(FileError::system(&self.path, doing, &error));
        }
        self.bytes += bytes.len() as u64;
        if self
            .drive
            .exists(&self.path)
            .is_ok_and(|is_there| !is_there)
        {
            return Err(FileError::new(
                "the journal was taken away",
                "a new one is begun with the next change",
            )
            .of(&self.path));
        }
        Ok(())
    }

    /// How large it is.
    pub fn bytes(&self) -> u64 {
        self.bytes
    }

    /// The same file, to have it put on the disk while this one goes on.
    pub fn to_disk(&self) -> Option<ToDisk> {
        Some(ToDisk {
            drive: self.drive.clone(),
            file: self.file.try_clone().ok()?,
            path: self.path.clone(),
        })
    }

    /// Takes the journal away: what it holds is saved, or is to be forgotten.
    pub fn remove(self) {
        gone(&self.drive, &self.path);
    }
}

fn gone(drive: &Drive, path: &Path) {
    if let Err(error) = drive.remove(path) {
        log::warn!("{} could not be removed: {error}", path.display());
    }
}

/// A journal of a program that ended without saving. As long as this is held no other program takes it.
#[derive(Debug)]
pub struct Orphan {
    drive: Drive,
    path: PathBuf,
    /// Held for its lock alone.
    _file: File,
    /// Whether its program may run yet: the disk has no locks.
    pub may_run: bool,
    /// What it holds.
    pub journal: Journal,
    /// When the last change was made.
    pub changed: Option<SystemTime>,
}

impl Orphan {
    /// The file's name.
    pub fn name(&self) -> String {
        let name = self.path.file_name().unwrap_or_default();
        name.to_string_lossy().into_owned()
    }

    /// Takes the file away: what it holds is in another one, or is to be forgotten. What could not be
    /// read is kept under another name.
    pub fn remove(self) {
        if let Some(path) = self.journal.begin.path.as_ref().filter(|_| !self.may_run) {
            in_use::tidy(&self.drive, path);
        }
        if self.journal.is_damaged {
            set_aside(&self.drive, &self.path);
        } else {
            gone(&self.drive, &self.path);
        }
    }
}

fn set_aside(drive: &Drive, path: &Path) {
    if let Err(error) = drive.rename(path, &path.with_extension(DAMAGED)) {
        log::warn!("{} could not be renamed: {error}", path.display());
    }
}

/// The journals in a folder whose programs ended without saving, the latest first, and what could not be
/// read. Those that hold nothing are taken away, those that can't be read are set aside; what a newer program wrote is
/// left as it is. `own` is the word of the run that asks: where there are no locks its journals would look like those of
/// one that has ended.
pub fn orphans(drive: &Drive, folder: &Path, own: &str) -> (Vec<Orphan>, Vec<FileError>) {
    let (mut found, mut wrong) = (Vec::new(), Vec::new());
    let Ok(paths) = drive.list(folder) else {
        // no folder, no journal
        return (found, wrong);
    };
    for path in paths {
        let is_journal = path.extension().is_some_and(|e| e == EXTENSION);
        if !is_journal || run_and_number(&path).0 == own {
            continue;
        }
        match orphan(drive, &path) {
            Ok(orphan) => found.extend(orphan),
            Err(error) => wrong.push(error),
        }
    }
    // of one run's only the latest, and none that another one has taken up
    found.sort_by_key(|orphan: &Orphan| std::cmp::Reverse(run_and_number(&orphan.path)));
    let replaced: Vec<String> = (found.iter())
        .flat_map(|orphan| orphan.journal.begin.replaces.clone())
        .collect();
    let mut kept: Vec<Orphan> = Vec::new();
    for orphan in found {
        let run = |orphan: &Orphan| run_and_number(&orphan.path).0;
        let is_older = kept.iter().any(|last| run(last) == run(&orphan));
        if is_older || replaced.contains(&orphan.name()) {
            orphan.remove();
        } else {
            kept.push(orphan);
        }
    }
    kept.sort_by_key(|orphan| std::cmp::Reverse(orphan.changed));
    (kept, wrong)
}

fn run_and_number(path: &Path) -> (String, u64) {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let (run, number) = stem.rsplit_once('-').unwrap_or((&stem, ""));
    (run.to_owned(), number.parse().unwrap_or(0))
}

fn orphan(drive: &Drive, path: &Path) -> Result<Option<Orphan>, FileError> {
    let failed = |e: &io::Error| FileError::system(path, "the journal could not be read", e);
    let opened =
        (drive.metadata(path)).and_then(|_| OpenOptions::new().read(true).write(true).open(path));
    let mut file = match opened {
        Ok(file) => file,
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(e) => return Err(failed(&e)),
    };
    let may_run = match drive.try_lock(&file, path) {
        // its program runs, or another one asks about it
        Err(TryLockError::WouldBlock) => return Ok(None),
        Err(TryLockError::Error(error)) => {
            log::debug!("no lock on {}: {error}", path.display());
            true
        }
        Ok(()) => false,
    };
    let about = file.metadata().map_err(|e| failed(&e))?;
    text::size_allowed(about.len()).map_err(|e| e.of(path))?;
    let mut bytes = Vec::new();
    file.read_to_end(&mut bytes).map_err(|e| failed(&e))?;
    match parts(&bytes) {
        Ok((_, Some(journal))) => Ok(Some(Orphan {
            drive: drive.clone(),
            path: path.to_owned(),
            _file: file,
            may_run,
            journal,
            changed: about.modified().ok(),
        })),
        Ok((begin, None)) => {
            // its program, should it run, may have written a change just now
            let end = file.seek(SeekFrom::End(0)).map_err(|e| failed(&e))?;
            if end == bytes.len() as u64 {
                if let Some(path) = begin.and_then(|begin| begin.path).filter(|_| !may_run) {
                    in_use::tidy(drive, &path);
                }
                gone(drive, path);
            }
            Ok(None)
        }
        Err(Unread::Newer(error)) => Err(error.of(path)),
        Err(Unread::Damaged(error)) => {
            set_aside(drive, path);
            let mend = format!(
                "{}; the file is kept as {}",
                error.mend,
                path.with_extension(DAMAGED).display()
            );
            Err(FileError { mend, ..error }.of(path))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::Touch;
    use super::*;
    use crate::geometry::Shape;

    fn journal(folder: &Path, run: &str, number: &mut u64, entries: &[Entry]) -> JournalFile {
        let written = JournalFile::new(&Drive::default(), folder, run, number, entries);
        written.expect("written")
    }

    fn orphans_of(folder: &Path) -> (Vec<Orphan>, Vec<FileError>) {
        orphans(&Drive::default(), folder, "another")
    }

    fn entries() -> Vec<Entry> {
        let shape = Shape::Rectangle {
            width: 180.0,
            depth: 120.0,
        };
        let begin = Begin {
            path: Some("/maps/bench.ron".into()),
            stamp: None,
            is_sample: false,
            station: Arc::new(Station::new("bench", shape, 0.1 + 0.2)),
            replaces: Vec::new(),
        };
        let rename = |name: &str| {
            Entry::Edit(
                Box::new(Edit::Rename(name.into())),
                Some(7),
                jiff::civil::date(2026, 3, 9),
            )
        };
        vec![
            Entry::Begin(begin),
            rename("two\nlines \"and\" more"),
            rename("ends here"),
        ]
    }

    fn bytes(entries: &[Entry]) -> Vec<u8> {
        let lines: Vec<String> = entries.iter().map(|e| e.line().expect("text")).collect();
        format!("{FIRST_LINE}{}", lines.concat()).into_bytes()
    }

    #[test]
    fn cut_anywhere_it_gives_back_all_whole_changes_and_none_by_halves() {
        let entries = entries();
        let whole = bytes(&entries);
        let before = |n: usize| bytes(&entries[..n]).len();
        for cut in 0..=whole.len() {
            let read = parse_journal(&whole[..cut]).expect("a journal, as far as it goes");
            let changes = read.map_or_else(Vec::new, |journal| {
                assert!(!journal.is_damaged, "cut at {cut}");
                journal.changes
            });
            let expected = (2..=3).filter(|&n| cut >= before(n)).count();
            assert_eq!(changes, entries[1..1 + expected], "cut at {cut}");
        }
    }

    #[test]
    fn a_change_in_the_middle_is_seen_and_what_is_before_it_is_kept() {
        let entries = entries();
        let mut whole = bytes(&entries);
        let at = bytes(&entries[..1]).len() + 20;
        whole[at] ^= 1;
        assert!(parse_journal(&whole).is_err(), "nothing is left of it");
        let mut whole = bytes(&[entries.clone(), entries[1..].to_vec()].concat());
        let at = bytes(&entries[..2]).len() + 20;
        whole[at] ^= 1;
        let journal = parse_journal(&whole).expect("a journal").expect("changes");
        assert!(journal.is_damaged);
        assert_eq!(journal.changes, entries[1..2]);
    }

    #[test]
    fn a_journal_belongs_to_its_program_until_that_ends() {
        let folder = tempfile::tempdir().expect("a folder");
        let mut running = journal(folder.path(), "a", &mut 0, &entries()[..1]);
        running.append(&entries()[1..]).expect("written");
        assert!(orphans_of(folder.path()).0.is_empty(), "its program runs");
        drop(running);
        let (mut found, wrong) = orphans_of(folder.path());
        assert_eq!(wrong, []);
        assert_eq!(found[0].journal.changes, entries()[1..]);
        assert!(orphans_of(folder.path()).0.is_empty(), "one asks already");
        found.remove(0).remove();
        assert_eq!(fs::read_dir(folder.path()).expect("listed").count(), 0);
    }

    #[test]
    fn of_two_that_one_run_left_the_later_one_counts() {
        let folder = tempfile::tempdir().expect("a folder");
        let (all, mut number) = (entries(), 0);
        let older = journal(folder.path(), "a", &mut number, &all[..2]);
        let newer = journal(folder.path(), "a", &mut number, &all);
        drop((older, newer));
        let (found, _) = orphans_of(folder.path());
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].journal.changes, all[1..]);
        assert_eq!(fs::read_dir(folder.path()).expect("listed").count(), 1);
    }

    #[test]
    fn what_another_journal_has_taken_up_is_not_offered_again() {
        let folder = tempfile::tempdir().expect("a folder");
        let mut all = entries();
        drop(journal(folder.path(), "a", &mut 0, &all));
        if let Entry::Begin(begin) = &mut all[0] {
            begin.replaces = vec!["a-1.journal".into()];
        }
        drop(journal(folder.path(), "b", &mut 0, &all));
        let (found, _) = orphans_of(folder.path());
        let names: Vec<String> = found.iter().map(Orphan::name).collect();
        assert_eq!(names, ["b-1.journal"]);
        assert_eq!(fs::read_dir(folder.path()).expect("listed").count(), 1);
    }

    #[test]
    fn what_is_no_journal_is_set_aside() {
        let folder = tempfile::tempdir().expect("a folder");
        fs::write(folder.path().join("x.journal"), "a diary\n").expect("written");
        let (found, wrong) = orphans_of(folder.path());
        assert!(found.is_empty());
        assert_eq!(wrong.len(), 1);
        assert!(folder.path().join("x.damaged").exists());
        assert_eq!(orphans_of(folder.path()).1, []);
    }

    #[test]
    fn what_a_newer_program_wrote_is_left_for_it() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("x-1.journal");
        let known = bytes(&entries());
        let of_version_2 = [b"evenfield journal 2\n", &known[FIRST_LINE.len()..]].concat();
        // an entry that this program does not know, and a begin with a part more
        let line = |said: &str| format!("{:08x} {said}\n", crc32fast::hash(said.as_bytes()));
        let more = [&known[..], line("Folded(3)").as_bytes()].concat();
        let begin = entries()[0].line().expect("text");
        let begin = begin[9..]
            .trim_end()
            .replace("is_sample:", "tides:3,is_sample:");
        let begun = format!("{FIRST_LINE}{}", line(&begin)).into_bytes();
        for newer in [of_version_2, more, begun] {
            fs::write(&path, &newer).expect("written");
            let (found, wrong) = orphans_of(folder.path());
            assert!(found.is_empty());
            assert_eq!(wrong.len(), 1);
            assert!(
                wrong[0]
                    .to_string()
                    .contains("a newer Evenfield wrote this")
            );
            assert_eq!(fs::read(&path).expect("as it was"), newer);
        }
        // and the newer one, which knows it, has it
        fs::write(&path, &known).expect("written");
        let (found, wrong) = orphans_of(folder.path());
        assert_eq!(wrong, []);
        assert_eq!(found[0].journal.changes, entries()[1..]);
    }

    fn without_locks() -> Drive {
        Drive::watched(|touch, _| match touch {
            Touch::Lock => Err(io::ErrorKind::Unsupported.into()),
            _ => Ok(()),
        })
    }

    #[test]
    fn where_nothing_can_be_locked_nobody_takes_his_own_and_who_loses_his_begins_anew() {
        let folder = tempfile::tempdir().expect("a folder");
        let (drive, all) = (without_locks(), entries());
        let begun = JournalFile::new(&drive, folder.path(), "a", &mut 0, &all[..1]);
        let mut running = begun.expect("written");
        assert!(orphans(&drive, folder.path(), "a").0.is_empty(), "its own");
        running.append(&all[1..2]).expect("it is there yet");
        // another window can't know that this one runs, and says so
        let (mut found, _) = orphans(&drive, folder.path(), "b");
        assert!(found[0].may_run);
        assert_eq!(found[0].journal.changes, all[1..2]);
        found.remove(0).remove();
        let error = running.append(&all[2..]).expect_err("taken away");
        assert!(error.what.contains("taken away"), "{error}");
    }

    #[test]
    fn what_could_not_be_written_leaves_what_was_there_whole() {
        let folder = tempfile::tempdir().expect("a folder");
        let full = Arc::new(std::sync::atomic::AtomicBool::new(false));
        let is_full = full.clone();
        let drive = Drive::watched(move |touch, _| {
            if touch == Touch::Write && is_full.load(std::sync::atomic::Ordering::SeqCst) {
                return Err(io::ErrorKind::StorageFull.into());
            }
            Ok(())
        });
        let all = entries();
        let begun = JournalFile::new(&drive, folder.path(), "a", &mut 0, &all[..2]);
        let mut running = begun.expect("written");
        full.store(true, std::sync::atomic::Ordering::SeqCst);
        assert!(running.append(&all[2..]).is_err());
        drop(running);
        let (found, wrong) = orphans_of(folder.path());
        assert_eq!(wrong, []);
        assert!(!found[0].journal.is_damaged);
        assert_eq!(found[0].journal.changes, all[1..2]);
    }
}
