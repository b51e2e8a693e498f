//! Who has a station file open. A small file beside it, `.NAME.in-use`, is locked as long as the window
//! is open and says whose it is. It keeps nobody out: it lets the second one know.

use std::ffi::OsString;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::Read;
use std::path::{Path, PathBuf};

use super::Drive;

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
    pub fn on(drive: &Drive, path: &Path, who: &str) -> Self {
        let of = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
        let Some(sign) = sign_of(&of) else {
            return Self::Unknown;
        };
        // taken away by the one before between opening and locking: once more
        for _ in 0..5 {
            let opened = drive.make(&sign, || {
                (OpenOptions::new().read(true).write(true).create(true))
                    .truncate(false)
                    .open(&sign)
            });
            let Ok(mut lock) = opened else {
                return Self::Unknown;
            };
            match drive.try_lock(&lock, &sign) {
                Ok(()) if sign.exists() => {
                    let said = (lock.set_len(0))
                        .and_then(|()| drive.write(&mut lock, &sign, who.as_bytes()));
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
                Err(TryLockError::Error(_)) => {
                    // where nothing can be locked a sign says nothing: none is left behind
                    if lock.metadata().is_ok_and(|about| about.len() == 0) {
                        let _ = fs::remove_file(&sign);
                    }
                    return Self::Unknown;
                }
            }
        }
        Self::Unknown
    }
}

/// The sign beside a file.
fn sign_of(file: &Path) -> Option<PathBuf> {
    let mut hidden = OsString::from(".");
    hidden.push(file.file_name()?);
    hidden.push(".in-use");
    Some(file.with_file_name(hidden))
}

/// Takes away the sign that a program left beside a file when it was cut off; one that is held stays.
pub(super) fn tidy(drive: &Drive, path: &Path) {
    let of = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let Some(sign) = sign_of(&of) else {
        return;
    };
    // nothing is made where there is none
    let Ok(lock) = OpenOptions::new().read(true).write(true).open(&sign) else {
        return;
    };
    if drive.try_lock(&lock, &sign).is_ok() {
        let _ = drive.remove(&sign);
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

/// The person and the machine, as the system calls them in the environment's `variable`s: `ana on bench-2`.
pub fn who(variable: impl Fn(&str) -> Option<String>) -> String {
    let said = |names: [&str; 2]| {
        let mut said = names.into_iter().filter_map(&variable);
        said.find(|text| !text.trim().is_empty())
    };
    let host = said(["COMPUTERNAME", "HOSTNAME"])
        .or_else(|| std::fs::read_to_string("/etc/hostname").ok())
        .map(|host| host.trim().to_owned())
        .filter(|host| !host.is_empty());
    match (said(["USER", "USERNAME"]), host) {
        (Some(user), Some(host)) => format!("{user} on {host}"),
        (Some(user), None) => user,
        (None, Some(host)) => format!("somebody on {host}"),
        (None, None) => "somebody".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::Touch;
    use super::*;

    #[test]
    fn the_second_one_hears_of_the_first_until_that_is_gone() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("bench.ron");
        fs::write(&path, "").expect("written");
        let first = Claim::on(&Drive::default(), &path, "ana on bench-2");
        assert!(matches!(&first, Claim::Mine(sign) if sign.is_of(&path)));
        assert!(
            matches!(Claim::on(&Drive::default(), &path, "bo"), Claim::Theirs(who) if who == "ana on bench-2")
        );
        drop(first);
        assert_eq!(fs::read_dir(folder.path()).expect("listed").count(), 1);
        assert!(matches!(
            Claim::on(&Drive::default(), &path, "bo"),
            Claim::Mine(_)
        ));
    }

    #[test]
    fn a_sign_that_a_crash_left_keeps_nobody_out_and_is_tidied() {
        let drive = Drive::default();
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("bench.ron");
        let sign = folder.path().join(".bench.ron.in-use");
        fs::write(&sign, "gone").expect("written");
        let held = Claim::on(&drive, &path, "bo");
        assert!(matches!(held, Claim::Mine(_)));
        tidy(&drive, &path);
        assert!(sign.exists(), "it is held");
        drop(held);
        fs::write(&sign, "gone").expect("written");
        tidy(&drive, &path);
        assert!(!sign.exists());
        tidy(&drive, &path);
        assert!(!sign.exists(), "none is made");
        let nowhere = folder.path().join("gone").join("bench.ron");
        assert!(matches!(Claim::on(&drive, &nowhere, "bo"), Claim::Unknown));
    }

    #[test]
    fn where_nothing_can_be_locked_no_sign_is_left() {
        let drive = Drive::watched(|touch, _| match touch {
            Touch::Lock => Err(std::io::ErrorKind::Unsupported.into()),
            _ => Ok(()),
        });
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("bench.ron");
        assert!(matches!(Claim::on(&drive, &path, "bo"), Claim::Unknown));
        assert_eq!(fs::read_dir(folder.path()).expect("listed").count(), 0);
    }
}
