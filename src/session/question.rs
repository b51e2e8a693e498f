//! What the person is asked before something is done that would lose something.

use std::path::PathBuf;

use super::Command;
use super::keeping::LeftUnsaved;

/// A question that something would be lost over.
#[derive(Debug, Clone, PartialEq)]
pub enum Question {
    /// The document was changed since it was saved; what was to be done next.
    Unsaved(Box<Command>),
    /// A file of that name is there.
    Replace(PathBuf),
    /// Some of the files to be exported are in the folder already.
    ReplaceExports {
        /// Where.
        folder: PathBuf,
        /// Those that are there.
        files: Vec<String>,
    },
    /// The file was changed by somebody else since it was opened.
    ChangedOnDisk(PathBuf),
    /// The file was changed by somebody else, and the document was not: show their version?
    TheirVersion(PathBuf),
    /// An earlier run of the program ended without saving this.
    TakeUp(LeftUnsaved),
}

/// Something the window has to ask the person for, with dialogs of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wish {
    /// Where to save.
    SavePath,
}
