//! The journal: what was changed in a station since it was saved, written change by change, so that a
//! crash or a power cut loses none of it.
//!
//! It is a text of lines. The first says what it is, each other one is a check sum and an [`Entry`]; a
//! line that was cut off by the crash does not have its sum and ends what can be read. The file is
//! locked as long as the program runs that writes it: a journal that nobody has locked is of a program
//! that ended without saving.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::SystemTime;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::{FileError, Stamp, text};
use crate::station::{Difference, Edit, Station};

/// The first line; another version has another number.
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

    /// `None` when the line is not what was written.
    fn read(line: &str) -> Option<Self> {
        let (sum, said) = line.split_once(' ')?;
        let sum = u32::from_str_radix(sum, 16).ok()?;
        (crc32fast::hash(said.as_bytes()) == sum).then_some(())?;
        ron::from_str(said).ok()
    }
}

/// Reads the bytes of a journal as far as they are whole. `None`: it holds nothing that could be lost,
/// for the program ended before the first change was in it.
///
/// # Errors
/// When it is not a journal that this program reads.
pub fn parse_journal(bytes: &[u8]) -> Result<Option<Journal>, FileError> {
    text::size_allowed(bytes.len() as u64)?;
    let Some(rest) = bytes.strip_prefix(FIRST_LINE.as_bytes()) else {
        let is_cut_off = FIRST_LINE.as_bytes().starts_with(bytes);
        return if is_cut_off {
            Ok(None)
        } else {
            Err(FileError::new(
                "this is not a journal that this Evenfield reads",
                "start the one that wrote it, or delete the file",
            )
            .at(1, 1))
        };
    };
    let mut lines = rest.split_inclusive(|&b| b == b'\n');
    let read = |line: &[u8]| {
        let line = line.strip_suffix(b"\n")?;
        Entry::read(std::str::from_utf8(line).ok()?)
    };
    let begin = match lines.next().map(read) {
        Some(Some(Entry::Begin(begin))) if begin.station.unsound().is_empty() => begin,
        Some(_) if lines.next().is_some() => {
            return Err(damaged(2));
        }
        _ => return Ok(None),
    };
    let mut changes = Vec::new();
    let mut is_damaged = false;
    while let Some(line) = lines.next() {
        match read(line) {
            Some(change @ (Entry::Edit(..) | Entry::Other(_))) => changes.push(change),
            Some(Entry::Whole(station)) if station.unsound().is_empty() => {
                changes.push(Entry::Whole(station));
            }
            _ => {
                is_damaged = lines.next().is_some();
                break;
            }
        }
    }
    if changes.is_empty() && is_damaged {
        return Err(damaged(3));
    }
    Ok((!changes.is_empty()).then_some(Journal {
        begin,
        changes,
        is_damaged,
    }))
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
    file: File,
    path: PathBuf,
    bytes: u64,
}

impl JournalFile {
    /// A new journal in a folder, which is made when it is not there, with these entries. `id` is a word that no other run of the program has, `number` counts its journals: of two
    /// that a crash left, the later one holds all that the earlier one held.
    ///
    /// # Errors
    /// When it can't be written; there is no file then.
    pub fn new(
        folder: &Path,
        id: &str,
        number: &mut u64,
        entries: &[Entry],
    ) -> Result<Self, FileError> {
        let failed = |path: &Path, e: &io::Error| {
            FileError::system(path, "the journal could not be written", e)
        };
        fs::create_dir_all(folder).map_err(|e| failed(folder, &e))?;
        let mut journal = Self::fresh(folder, id, number).map_err(|e| failed(folder, &e))?;
        let written = (journal.put(FIRST_LINE.as_bytes())).and_then(|()| journal.append(entries));
        match written {
            Ok(()) => Ok(journal),
            Err(error) => {
                journal.remove();
                Err(error)
            }
        }
    }

    /// An empty file that is locked and has its name.
    fn fresh(folder: &Path, id: &str, number: &mut u64) -> io::Result<Self> {
        loop {
            *number += 1;
            let path = folder.join(format!("{id}-{number}.{EXTENSION}"));
            let file = match OpenOptions::new().append(true).create_new(true).open(&path) {
                Ok(file) => file,
                Err(e) if e.kind() == io::ErrorKind::AlreadyExists => continue,
                Err(e) => return Err(e),
            };
            // another program that looks for journals may have had it first, and taken it away
            if !matches!(file.try_lock(), Err(TryLockError::WouldBlock)) && path.exists() {
                return Ok(Self {
                    file,
                    path,
                    bytes: 0,
                });
            }
        }
    }

    /// Adds entries. They are with the system when this returns, so that they outlive the program;
    /// what outlives a power cut too, [`handle`](Self::handle)'s `sync_data` says.
    ///
    /// # Errors
    /// When they can't be written; the journal may then end in a piece of a line and is of no more use.
    pub fn append(&mut self, entries: &[Entry]) -> Result<(), FileError> {
        let mut lines = String::new();
        for entry in entries {
            lines += &entry.line()?;
        }
        self.put(lines.as_bytes())
    }

    fn put(&mut self, bytes: &[u8]) -> Result<(), FileError> {
        self.file
            .write_all(bytes)
            .map_err(|e| FileError::system(&self.path, "the journal could not be written", &e))?;
        self.bytes += bytes.len() as u64;
        Ok(())
    }

    /// How large it is.
    pub fn bytes(&self) -> u64 {
        self.bytes
    }

    /// The same file, to have it synced while this one goes on.
    pub fn handle(&self) -> Option<File> {
        self.file.try_clone().ok()
    }

    /// Takes the journal away: what it holds is saved, or is to be forgotten.
    pub fn remove(self) {
        gone(&self.path);
    }
}

fn gone(path: &Path) {
    if let Err(error) = fs::remove_file(path) {
        log::warn!("{} could not be removed: {error}", path.display());
    }
}

/// A journal of a program that ended without saving. As long as this is held no other program takes it.
#[derive(Debug)]
pub struct Orphan {
    path: PathBuf,
    _lock: File,
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
        if self.journal.is_damaged {
            set_aside(&self.path);
        } else {
            gone(&self.path);
        }
    }
}

fn set_aside(path: &Path) {
    if let Err(error) = fs::rename(path, path.with_extension(DAMAGED)) {
        log::warn!("{} could not be renamed: {error}", path.display());
    }
}

/// The journals in a folder whose programs ended without saving, the latest first, and what could not be
/// read. Those that hold nothing are taken away, those that can't be read are set aside.
pub fn orphans(folder: &Path) -> (Vec<Orphan>, Vec<FileError>) {
    let (mut found, mut wrong) = (Vec::new(), Vec::new());
    let Ok(entries) = fs::read_dir(folder) else {
        // no folder, no journal
        return (found, wrong);
    };
    for path in entries.flatten().map(|entry| entry.path()) {
        if path.extension().is_none_or(|e| e != EXTENSION) {
            continue;
        }
        match orphan(&path) {
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

fn orphan(path: &Path) -> Result<Option<Orphan>, FileError> {
    let failed = |e: &io::Error| FileError::system(path, "the journal could not be read", e);
    let mut file = match OpenOptions::new().read(true).write(true).open(path) {
        Ok(file) => file,
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(e) => return Err(failed(&e)),
    };
    match file.try_lock() {
        // its program runs, or another one asks about it
        Err(TryLockError::WouldBlock) => return Ok(None),
        Err(TryLockError::Error(error)) => log::debug!("no lock on {}: {error}", path.display()),
        Ok(()) => {}
    }
    let about = file.metadata().map_err(|e| failed(&e))?;
    text::size_allowed(about.len()).map_err(|e| e.of(path))?;
    let mut bytes = Vec::new();
    file.read_to_end(&mut bytes).map_err(|e| failed(&e))?;
    match parse_journal(&bytes) {
        Ok(Some(journal)) => Ok(Some(Orphan {
            path: path.to_owned(),
            _lock: file,
            journal,
            changed: about.modified().ok(),
        })),
        Ok(None) => {
            gone(path);
            Ok(None)
        }
        Err(error) => {
            set_aside(path);
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
    use super::*;
    use crate::geometry::Shape;

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
        let mut running =
            JournalFile::new(folder.path(), "a", &mut 0, &entries()[..1]).expect("written");
        running.append(&entries()[1..]).expect("written");
        assert!(orphans(folder.path()).0.is_empty(), "its program runs");
        drop(running);
        let (mut found, wrong) = orphans(folder.path());
        assert_eq!(wrong, []);
        assert_eq!(found[0].journal.changes, entries()[1..]);
        assert!(orphans(folder.path()).0.is_empty(), "one asks already");
        found.remove(0).remove();
        assert_eq!(fs::read_dir(folder.path()).expect("listed").count(), 0);
    }

    #[test]
    fn of_two_that_one_run_left_the_later_one_counts() {
        let folder = tempfile::tempdir().expect("a folder");
        let (all, mut number) = (entries(), 0);
        let older = JournalFile::new(folder.path(), "a", &mut number, &all[..2]);
        let newer = JournalFile::new(folder.path(), "a", &mut number, &all);
        drop((older, newer));
        let (found, _) = orphans(folder.path());
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].journal.changes, all[1..]);
        assert_eq!(fs::read_dir(folder.path()).expect("listed").count(), 1);
    }

    #[test]
    fn what_another_journal_has_taken_up_is_not_offered_again() {
        let folder = tempfile::tempdir().expect("a folder");
        let mut all = entries();
        drop(JournalFile::new(folder.path(), "a", &mut 0, &all));
        if let Entry::Begin(begin) = &mut all[0] {
            begin.replaces = vec!["a-1.journal".into()];
        }
        drop(JournalFile::new(folder.path(), "b", &mut 0, &all));
        let (found, _) = orphans(folder.path());
        let names: Vec<String> = found.iter().map(Orphan::name).collect();
        assert_eq!(names, ["b-1.journal"]);
        assert_eq!(fs::read_dir(folder.path()).expect("listed").count(), 1);
    }

    #[test]
    fn what_is_no_journal_is_set_aside() {
        let folder = tempfile::tempdir().expect("a folder");
        fs::write(folder.path().join("x.journal"), "evenfield journal 9\n").expect("written");
        let (found, wrong) = orphans(folder.path());
        assert!(found.is_empty());
        assert_eq!(wrong.len(), 1);
        assert!(folder.path().join("x.damaged").exists());
        assert_eq!(orphans(folder.path()).1, []);
    }
}
