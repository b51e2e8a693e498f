//! What is wrong with a file.

use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

/// Something wrong with a file: where, what, and what to do. Shown as
/// `PATH:LINE:COLUMN: what; what to do`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileError {
    /// Which file, when it is known.
    pub path: Option<PathBuf>,
    /// Line, counted from 1.
    pub line: Option<usize>,
    /// Character in the line, counted from 1.
    pub column: Option<usize>,
    /// What is wrong: a plain sentence without a full stop.
    pub what: String,
    /// What to do, likewise.
    pub mend: String,
}

impl FileError {
    /// An error of the file as a whole.
    pub fn new(what: impl Into<String>, mend: impl Into<String>) -> Self {
        Self {
            path: None,
            line: None,
            column: None,
            what: what.into(),
            mend: mend.into(),
        }
    }

    /// The same error at a line and a character, both counted from 1.
    pub fn at(mut self, line: usize, column: usize) -> Self {
        self.line = Some(line);
        self.column = Some(column);
        self
    }

    /// The same error in that file.
    pub fn of(mut self, path: &Path) -> Self {
        self.path = Some(path.to_owned());
        self
    }

    /// What the system said, in plain words: `doing` is such as "could not be read".
    pub(super) fn system(path: &Path, doing: &str, error: &io::Error) -> Self {
        let (why, mend) = match error.kind() {
            io::ErrorKind::NotFound => ("it is not there", "check the name and the folder"),
            io::ErrorKind::PermissionDenied => (
                "you are not allowed to",
                "ask for access or use another folder",
            ),
            io::ErrorKind::IsADirectory => ("it is a folder", "name a file"),
            io::ErrorKind::NotADirectory => (
                "a part of its path is not a folder",
                "check the name and the folder",
            ),
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => (
                "there is no room left on the disk",
                "make room or use another disk",
            ),
            io::ErrorKind::ReadOnlyFilesystem => {
                ("the disk can only be read", "use another folder")
            }
            _ => {
                let said = format!("{doing}: the system says {error}");
                return Self::new(said, "try again or use another folder").of(path);
            }
        };
        Self::new(format!("{doing}: {why}"), mend).of(path)
    }
}

impl fmt::Display for FileError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (&self.path, self.line, self.column) {
            (Some(path), Some(line), Some(column)) => {
                write!(f, "{}:{line}:{column}: ", path.display())?;
            }
            (Some(path), Some(line), None) => write!(f, "{}:{line}: ", path.display())?,
            (Some(path), None, _) => write!(f, "{}: ", path.display())?,
            (None, Some(line), Some(column)) => write!(f, "line {line}, column {column}: ")?,
            (None, Some(line), None) => write!(f, "line {line}: ")?,
            (None, None, _) => {}
        }
        write!(f, "{}; {}", self.what, self.mend)
    }
}

impl std::error::Error for FileError {}
