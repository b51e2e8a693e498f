//! The journal: what was changed in a station since it was saved, written change by change, so that a
//! crash or a power cut loses none of it.
//!
//! It is a text of lines. The first says what it is, each other one is a check sum and an [`JournalLine`]; a
//! line that was cut off by the crash does not have its sum and ends what can be read. The file is
//! locked as long as the program runs that writes it: a journal that nobody has locked is of a program
//! that ended without saving. Where the disk has no locks that can't be told: then whoever takes a journal away may
//! take it from a program that runs, and so each looks, after writing, whether its own is still there.
//!
//! What a newer program wrote is left as it is, for that one to take up: a first line of a higher number, or a line that
//! has its sum and says what is not known here.

mod file;
mod format;
mod orphans;

pub use file::{JournalFile, ToDisk};
pub use format::{Begin, Journal, JournalLine, parse_journal};
pub use orphans::{Orphan, orphans};
