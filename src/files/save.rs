//! Writing a file so that a crash, a full disk or a lost share leaves the old version or the new one,
//! never a half.
//!
//! The file is written beside the old one, synced and renamed; the previous version stays as `.bak`.

use std::ffi::OsString;
use std::fs::{self, File};
use std::hash::{DefaultHasher, Hasher};
use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

use serde::{Deserialize, Serialize};
use tempfile::{NamedTempFile, TempPath};

use super::{Drive, FileError};

/// How the names of versions end that are still being written.
const SUFFIX: &str = ".tmp";

/// A file as it was when it was read or written, by size and content; so that a change from outside
/// is seen before it is overwritten. A file that was touched and holds the same has not changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stamp {
    bytes: u64,
    hash: u64,
}

impl Stamp {
    /// The stamp of these bytes.
    pub(super) fn of_bytes(bytes: &[u8]) -> Self {
        let mut hasher = DefaultHasher::new();
        hasher.write(bytes);
        Self {
            bytes: bytes.len() as u64,
            hash: hasher.finish(),
        }
    }

    /// The stamp of a file as it is now; `None`: there is none.
    ///
    /// # Errors
    /// When that can't be told, or the file can't be read.
    pub fn on(drive: &Drive, path: &Path) -> Result<Option<Self>, FileError> {
        match drive.read(path) {
            Ok(bytes) => Ok(Some(Self::of_bytes(&bytes))),
            Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(e) => Err(FileError::system(path, "the file could not be read", &e)),
        }
    }
}

/// Writes a file in one step: the new version stands beside the old one, is read back, and then takes
/// its place. Links are followed, the old file's permissions are kept, and the old version stays as
/// `NAME.bak`.
///
/// # Errors
/// When the folder is gone, there is no room, or writing is not allowed; the old version is then as it
/// was.
pub fn write_atomic(path: &Path, bytes: &[u8]) -> Result<(), FileError> {
    replace(&Drive::default(), path, bytes, true)
}

/// As [`write_atomic`]; the previous version is kept only if asked for.
pub(super) fn replace(
    drive: &Drive,
    path: &Path,
    bytes: &[u8],
    keep_previous: bool,
) -> Result<(), FileError> {
    let failed = |e: &io::Error| FileError::system(path, "the file could not be saved", e);
    let target = behind_links(path)?;
    let folder = folder_of(&target);
    if !folder.is_dir() {
        return Err(FileError::new(
            format!(
                "the file could not be saved: the folder {} is not there",
                folder.display()
            ),
            "make the folder or save somewhere else",
        )
        .of(path));
    }
    let old = match drive.metadata(&target) {
        Ok(old) if old.is_dir() => return Err(failed(&io::ErrorKind::IsADirectory.into())),
        Ok(old) if old.permissions().readonly() => {
            return Err(FileError::new(
                "the file could not be saved: it is marked as read-only",
                "allow writing to it or save under another name",
            )
            .of(path));
        }
        Ok(old) => Some(old.permissions()),
        Err(e) if e.kind() == io::ErrorKind::NotFound => None,
        Err(e) => return Err(failed(&e)),
    };
    let fresh = beside(drive, &target, bytes, old.as_ref()).map_err(|e| failed(&e))?;
    if keep_previous && old.is_some() {
        keep(drive, &target, bytes)
            .map_err(|e| FileError::system(path, "the previous version could not be kept", &e))?;
    }
    rename(drive, fresh, &target).map_err(|e| failed(&e))?;
    settle(drive, folder);
    Ok(())
}

/// The file that a path means: behind links, also when what they point to is not there yet.
fn behind_links(path: &Path) -> Result<PathBuf, FileError> {
    if let Ok(real) = fs::canonicalize(path) {
        return Ok(real);
    }
    let mut target = path.to_owned();
    for _ in 0..40 {
        match fs::read_link(&target) {
            Ok(next) => target = folder_of(&target).join(next),
            Err(_) => return Ok(target),
        }
    }
    Err(FileError::new(
        "the file could not be saved: its link leads in a circle",
        "save under another name",
    )
    .of(path))
}

fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// A file in the target's folder with these bytes, safely on the disk and read back. It takes itself
/// away again unless it is renamed.
fn beside(
    drive: &Drive,
    target: &Path,
    bytes: &[u8],
    old: Option<&fs::Permissions>,
) -> io::Result<TempPath> {
    let name = target.file_name().unwrap_or_default().to_string_lossy();
    let prefix = format!(".saving-{name}-");
    let mut builder = tempfile::Builder::new();
    builder.prefix(&prefix).suffix(SUFFIX);
    #[cfg(unix)]
    if old.is_none() {
        // the system takes from this what the person's mask forbids
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let folder = folder_of(target);
    let mut file: NamedTempFile = drive.make(target, || builder.tempfile_in(folder))?;
    drive.write(&mut file, target, bytes)?;
    if let Some(old) = old {
        file.as_file().set_permissions(old.clone())?;
    }
    drive.sync(file.as_file(), target)?;
    let path = file.into_temp_path();
    clear(&path, &prefix);
    if drive.read(&path)? != bytes {
        return Err(io::Error::other("what was written could not be read back"));
    }
    Ok(path)
}

/// Takes away what saves of the same file left that were cut off: those much older than this one, for
/// somebody else may be saving just now.
fn clear(fresh: &Path, prefix: &str) {
    const OLD: Duration = Duration::from_secs(600);
    let modified = |path: &Path| fs::metadata(path).and_then(|m| m.modified()).ok();
    let (Some(now), Ok(entries)) = (modified(fresh), fs::read_dir(folder_of(fresh))) else {
        return;
    };
    for path in entries.flatten().map(|entry| entry.path()) {
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let is_old = |time| now.duration_since(time).is_ok_and(|age| age > OLD);
        if name.starts_with(prefix) && name.ends_with(SUFFIX) && modified(&path).is_some_and(is_old)
        {
            let _ = fs::remove_file(&path);
        }
    }
}

/// Keeps the file as `NAME.bak`, unless it holds the new bytes already: saving twice must not lose the
/// version before.
fn keep(drive: &Drive, target: &Path, new: &[u8]) -> io::Result<()> {
    let previous = drive.read(target)?;
    if previous == new {
        return Ok(());
    }
    let permissions = fs::metadata(target)?.permissions();
    let kept = beside(drive, target, &previous, Some(&permissions))?;
    let mut name = target.as_os_str().to_owned();
    name.push(OsString::from(".bak"));
    rename(drive, kept, Path::new(&name))
}

/// Renames, and on Windows tries again for a while: virus scanners and sync programs hold files open.
fn rename(drive: &Drive, from: TempPath, to: &Path) -> io::Result<()> {
    let tries = if cfg!(windows) { 5 } else { 1 };
    let mut from = from;
    let mut left = tries;
    loop {
        match drive.persist(from, to) {
            Ok(()) => return Ok(()),
            Err((error, back)) => {
                left -= 1;
                match back.filter(|_| left > 0) {
                    Some(back) => from = back,
                    None => return Err(error),
                }
                std::thread::sleep(Duration::from_millis(40));
            }
        }
    }
}

/// Has the renaming itself written to the disk. Some file systems can't; the file is whole all the
/// same.
fn settle(drive: &Drive, folder: &Path) {
    if cfg!(unix) {
        let synced = File::open(folder).and_then(|opened| drive.sync(&opened, folder));
        if let Err(error) = synced {
            log::debug!("the folder {} was not synced: {error}", folder.display());
        }
    }
}

/// Those of some files that are in a folder already.
///
/// # Errors
/// When that can't be told.
pub fn those_there<'n>(
    drive: &Drive,
    folder: &Path,
    names: &[&'n str],
) -> Result<Vec<&'n str>, FileError> {
    let mut there = Vec::new();
    for name in names {
        let path = folder.join(name);
        let failed = |e| FileError::system(&path, "it can't be told whether the file is there", &e);
        if drive.exists(&path).map_err(failed)? {
            there.push(*name);
        }
    }
    Ok(there)
}

/// Writes files into a folder, which is made when it is not there, each as [`write_atomic`]; their
/// paths.
///
/// # Errors
/// [`FileError`] for the folder or the first file that can't be written; those before it are there.
pub fn write_all(
    drive: &Drive,
    folder: &Path,
    files: &[(String, Vec<u8>)],
) -> Result<Vec<PathBuf>, FileError> {
    drive
        .make_folder(folder)
        .map_err(|error| match error.kind() {
            io::ErrorKind::AlreadyExists => FileError::new(
                "the folder could not be made: a file of that name is there",
                "choose another folder",
            )
            .of(folder),
            _ => FileError::system(folder, "the folder could not be made", &error),
        })?;
    files
        .iter()
        .map(|(name, bytes)| {
            let path = folder.join(name);
            replace(drive, &path, bytes, true)?;
            Ok(path)
        })
        .collect()
}
