//! Journals that nobody writes any more: of programs that ended without saving.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use super::file::gone;
use super::format::{EXTENSION, Journal, Unread, parts};
use crate::files::{Drive, FileError, in_use, text};

/// What a journal that can't be read is renamed to.
const DAMAGED: &str = "damaged";

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
    use std::fs;
    use std::sync::Arc;
    use std::sync::atomic::{AtomicBool, Ordering};

    use super::super::file::JournalFile;
    use super::super::format::tests::{bytes, entries};
    use super::super::format::{FIRST_LINE, JournalLine};
    use super::*;
    use crate::files::Touch;

    fn journal(folder: &Path, run: &str, number: &mut u64, entries: &[JournalLine]) -> JournalFile {
        let written = JournalFile::new(&Drive::default(), folder, run, number, entries);
        written.expect("written")
    }

    fn orphans_of(folder: &Path) -> (Vec<Orphan>, Vec<FileError>) {
        orphans(&Drive::default(), folder, "another")
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
        if let JournalLine::Begin(begin) = &mut all[0] {
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
        let full = Arc::new(AtomicBool::new(false));
        let is_full = full.clone();
        let drive = Drive::watched(move |touch, _| {
            if touch == Touch::Write && is_full.load(Ordering::SeqCst) {
                return Err(io::ErrorKind::StorageFull.into());
            }
            Ok(())
        });
        let all = entries();
        let begun = JournalFile::new(&drive, folder.path(), "a", &mut 0, &all[..2]);
        let mut running = begun.expect("written");
        full.store(true, Ordering::SeqCst);
        assert!(running.append(&all[2..]).is_err());
        drop(running);
        let (found, wrong) = orphans_of(folder.path());
        assert_eq!(wrong, []);
        assert!(!found[0].journal.is_damaged);
        assert_eq!(found[0].journal.changes, all[1..2]);
    }
}
