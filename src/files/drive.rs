//! The disk as this room touches it. Everything that reads or writes a file goes through here, so that a disk that is
//! slow, full, gone or without locks can be played to all that is built on it.

use std::fmt;
use std::fs::{self, File, Metadata, TryLockError};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use tempfile::TempPath;

/// One way of touching the disk.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Touch {
    /// Whether something is there, how large and how old it is.
    Look,
    /// What a file or a folder holds.
    Read,
    /// A file or a folder that was not there.
    Make,
    /// Bytes into a file; where this is refused half of them are there.
    Write,
    /// What was written onto the disk itself.
    Sync,
    /// A file under another name.
    Rename,
    /// The same once it is done: where this is refused the system says no to what has happened.
    Renamed,
    /// A file taken away.
    Remove,
    /// A file for this program alone.
    Lock,
}

/// Is asked before each touch. It may take its time; what it refuses the disk refuses.
type Watch = dyn Fn(Touch, &Path) -> io::Result<()> + Send + Sync;

/// The system's disk, with or without somebody who watches what is done to it.
#[derive(Clone, Default)]
pub struct Drive {
    watch: Option<Arc<Watch>>,
}

impl fmt::Debug for Drive {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Drive")
            .field("is_watched", &self.watch.is_some())
            .finish()
    }
}

impl Drive {
    /// The system's disk; `watch` is asked before each touch, on the thread that does it.
    pub fn watched(watch: impl Fn(Touch, &Path) -> io::Result<()> + Send + Sync + 'static) -> Self {
        Self {
            watch: Some(Arc::new(watch)),
        }
    }

    fn touch(&self, touch: Touch, path: &Path) -> io::Result<()> {
        self.watch
            .as_ref()
            .map_or(Ok(()), |watch| watch(touch, path))
    }

    pub(super) fn metadata(&self, path: &Path) -> io::Result<Metadata> {
        self.touch(Touch::Look, path)?;
        fs::metadata(path)
    }

    /// Whether something is there.
    ///
    /// # Errors
    /// When that can't be told.
    pub(super) fn exists(&self, path: &Path) -> io::Result<bool> {
        self.touch(Touch::Look, path)?;
        match path.try_exists() {
            // nothing can be below what is no folder
            Err(e) if e.kind() == io::ErrorKind::NotADirectory => Ok(false),
            told => told,
        }
    }

    pub(super) fn read(&self, path: &Path) -> io::Result<Vec<u8>> {
        self.touch(Touch::Read, path)?;
        fs::read(path)
    }

    /// What is in a folder.
    pub(super) fn list(&self, folder: &Path) -> io::Result<Vec<PathBuf>> {
        self.touch(Touch::Read, folder)?;
        let entries = fs::read_dir(folder)?;
        Ok(entries.flatten().map(|entry| entry.path()).collect())
    }

    pub(super) fn make_folder(&self, folder: &Path) -> io::Result<()> {
        self.touch(Touch::Make, folder)?;
        fs::create_dir_all(folder)
    }

    /// Makes a file that was not there, or opens one to be changed.
    pub(super) fn make<F>(
        &self,
        path: &Path,
        make: impl FnOnce() -> io::Result<F>,
    ) -> io::Result<F> {
        self.touch(Touch::Make, path)?;
        make()
    }

    pub(super) fn write(&self, file: &mut impl Write, path: &Path, bytes: &[u8]) -> io::Result<()> {
        if let Err(refused) = self.touch(Touch::Write, path) {
            let _ = file.write_all(&bytes[..bytes.len() / 2]);
            return Err(refused);
        }
        file.write_all(bytes)
    }

    pub(super) fn sync(&self, file: &File, path: &Path) -> io::Result<()> {
        self.touch(Touch::Sync, path)?;
        file.sync_all()
    }

    /// As [`sync`](Self::sync), without what the folder says of the file.
    pub(super) fn sync_data(&self, file: &File, path: &Path) -> io::Result<()> {
        self.touch(Touch::Sync, path)?;
        file.sync_data()
    }

    pub(super) fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        self.touch(Touch::Rename, to)?;
        fs::rename(from, to)?;
        self.touch(Touch::Renamed, to)
    }

    /// Lets a new file take the place of one; gives it back where it can't.
    pub(super) fn persist(
        &self,
        from: TempPath,
        to: &Path,
    ) -> Result<(), (io::Error, Option<TempPath>)> {
        if let Err(refused) = self.touch(Touch::Rename, to) {
            return Err((refused, Some(from)));
        }
        from.persist(to).map_err(|e| (e.error, Some(e.path)))?;
        self.touch(Touch::Renamed, to).map_err(|e| (e, None))
    }

    pub(super) fn remove(&self, path: &Path) -> io::Result<()> {
        self.touch(Touch::Remove, path)?;
        fs::remove_file(path)
    }

    pub(super) fn try_lock(&self, file: &File, path: &Path) -> Result<(), TryLockError> {
        self.touch(Touch::Lock, path).map_err(TryLockError::Error)?;
        file.try_lock()
    }
}
