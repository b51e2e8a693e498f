//! A journal while it is written.

use std::fs::{File, OpenOptions, TryLockError};
use std::io;
use std::path::{Path, PathBuf};

use super::format::{EXTENSION, FIRST_LINE, JournalLine};
use crate::files::{Drive, FileError};

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
        entries: &[JournalLine],
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
    pub fn append(&mut self, entries: &[JournalLine]) -> Result<(), FileError> {
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

pub(super) fn gone(drive: &Drive, path: &Path) {
    if let Err(error) = drive.remove(path) {
        log::warn!("{} could not be removed: {error}", path.display());
    }
}
