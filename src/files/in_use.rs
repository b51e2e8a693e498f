//! Who has a station file open. A small file beside it, `.NAME.in-use`, is locked as long as the window
//! is open and says whose it is. It keeps nobody out: it lets the second one know.

use std::ffi::OsString;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

/// That this window has a station file open; let go when it is dropped.
#[derive(Debug)]
pub struct InUse {
    /// Held for its lock alone.
    _lock: File,
    sign: PathBuf,
    of: PathBuf,
}

/// What became of a claim on a file.
#[derive(Debug)]
pub enum Claim {
    /// Nobody else has it.
    Mine(InUse),
    /// Somebody else has; what the sign says of whom, such as `ana on bench-2`, and may be empty.
    Theirs(String),
    /// The folder or the system takes no signs.
    Unknown,
}

impl Claim {
    /// Claims a file for somebody.
    pub fn on(path: &Path, who: &str) -> Self {
        let of = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
        let Some(name) = of.file_name() else {
            return Self::Unknown;
        };
        let mut hidden = OsString::from(".");
        hidden.push(name);
        hidden.push(".in-use");
        let sign = of.with_file_name(hidden);
        // taken away by the one before between opening and locking: once more
        for _ in 0..5 {
            let opened = (OpenOptions::new().read(true).write(true).create(true))
                .truncate(false)
                .open(&sign);
            let Ok(mut lock) = opened else {
                return Self::Unknown;
            };
            match lock.try_lock() {
                Ok(()) if sign.exists() => {
                    let said = lock
                        .set_len(0)
                        .and_then(|()| lock.write_all(who.as_bytes()));
                    if let Err(error) = said {
                        log::debug!("{}: {error}", sign.display());
                    }
                    let _lock = lock;
                    return Self::Mine(InUse { _lock, sign, of });
                }
                Ok(()) => {}
                Err(TryLockError::WouldBlock) => {
                    let mut said = String::new();
                    // some systems let nobody read what is locked
                    let _ = (&mut lock).take(200).read_to_string(&mut said);
                    said.retain(|c| !c.is_control());
                    return Self::Theirs(said);
                }
                Err(TryLockError::Error(_)) => return Self::Unknown,
            }
        }
        Self::Unknown
    }
}

impl InUse {
    /// Whether it is the sign of that file.
    pub fn is_of(&self, path: &Path) -> bool {
        fs::canonicalize(path).is_ok_and(|path| path == self.of)
    }
}

impl Drop for InUse {
    fn drop(&mut self) {
        // while it is locked, so that nobody else's is taken away
        let _ = fs::remove_file(&self.sign);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_second_one_hears_of_the_first_until_that_is_gone() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("bench.ron");
        fs::write(&path, "").expect("written");
        let first = Claim::on(&path, "ana on bench-2");
        assert!(matches!(&first, Claim::Mine(sign) if sign.is_of(&path)));
        assert!(matches!(Claim::on(&path, "bo"), Claim::Theirs(who) if who == "ana on bench-2"));
        drop(first);
        assert_eq!(fs::read_dir(folder.path()).expect("listed").count(), 1);
        assert!(matches!(Claim::on(&path, "bo"), Claim::Mine(_)));
    }

    #[test]
    fn a_sign_that_a_crash_left_keeps_nobody_out() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("bench.ron");
        fs::write(folder.path().join(".bench.ron.in-use"), "gone").expect("written");
        assert!(matches!(Claim::on(&path, "bo"), Claim::Mine(_)));
        let nowhere = folder.path().join("gone").join("bench.ron");
        assert!(matches!(Claim::on(&nowhere, "bo"), Claim::Unknown));
    }
}
