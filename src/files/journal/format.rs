//! What a journal says: its lines, and how they are read back.

use std::path::PathBuf;
use std::sync::Arc;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::files::{FileError, Stamp, text};
use crate::station::{Difference, Edit, Station};

/// The first line begins so; what follows is the number of the version.
const FIRST_WORDS: &str = "evenfield journal ";
const VERSION: u64 = 1;
/// The whole first line.
pub(super) const FIRST_LINE: &str = "evenfield journal 1\n";

/// How the names of journals end.
pub(super) const EXTENSION: &str = "journal";

/// One line of a journal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum JournalLine {
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
#[serde(deny_unknown_fields)]
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
    /// The changes, none of them a [`JournalLine::Begin`].
    pub changes: Vec<JournalLine>,
    /// Whether whole lines after those could not be read: more than the one that a crash cuts off.
    pub is_damaged: bool,
}

impl JournalLine {
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

    fn read(line: &[u8]) -> Line {
        let said = (line.strip_suffix(b"\n"))
            .and_then(|line| std::str::from_utf8(line).ok())
            .and_then(|line| {
                let (sum, said) = line.split_once(' ')?;
                let sum = u32::from_str_radix(sum, 16).ok()?;
                (crc32fast::hash(said.as_bytes()) == sum).then_some(said)
            });
        match said.map(ron::from_str) {
            Some(Ok(entry)) => Line::Known(entry),
            Some(Err(_)) => Line::Newer,
            None => Line::Broken,
        }
    }
}

/// What a line of a journal is.
enum Line {
    Known(JournalLine),
    /// As it was written, and by a program that knows more.
    Newer,
    /// Not as it was written.
    Broken,
}

/// Why a journal can't be read.
pub(super) enum Unread {
    /// A newer program wrote it.
    Newer(FileError),
    Damaged(FileError),
}

/// What a journal comes to: what it begins from, if that can be read, and what there is to lose.
pub(super) type Parts = (Option<Begin>, Option<Journal>);

/// Reads the bytes of a journal as far as they are whole. `None`: it holds nothing that could be lost,
/// for the program ended before the first change was in it.
///
/// # Errors
/// When it is not a journal that this program reads.
pub fn parse_journal(bytes: &[u8]) -> Result<Option<Journal>, FileError> {
    match parts(bytes) {
        Ok((_, journal)) => Ok(journal),
        Err(Unread::Newer(error) | Unread::Damaged(error)) => Err(error),
    }
}

pub(super) fn parts(bytes: &[u8]) -> Result<Parts, Unread> {
    text::size_allowed(bytes.len() as u64).map_err(Unread::Damaged)?;
    let Some(rest) = bytes.strip_prefix(FIRST_LINE.as_bytes()) else {
        if FIRST_LINE.as_bytes().starts_with(bytes) {
            // cut off
            return Ok((None, None));
        }
        return Err(if version(bytes).is_some_and(|version| version > VERSION) {
            newer(1)
        } else {
            let what = "this is not a journal that this Evenfield reads";
            let mend = "start the one that wrote it, or delete the file";
            Unread::Damaged(FileError::new(what, mend).at(1, 1))
        });
    };
    let mut lines = rest.split_inclusive(|&b| b == b'\n');
    let begin = match lines.next().map(JournalLine::read) {
        Some(Line::Known(JournalLine::Begin(begin))) if begin.station.unsound().is_empty() => begin,
        Some(Line::Newer) => return Err(newer(2)),
        Some(_) if lines.next().is_some() => return Err(Unread::Damaged(damaged(2))),
        _ => return Ok((None, None)),
    };
    let mut changes = Vec::new();
    let mut is_damaged = false;
    while let Some(line) = lines.next() {
        match JournalLine::read(line) {
            Line::Known(change @ (JournalLine::Edit(..) | JournalLine::Other(_))) => {
                changes.push(change)
            }
            Line::Known(JournalLine::Whole(station)) if station.unsound().is_empty() => {
                changes.push(JournalLine::Whole(station));
            }
            Line::Newer => return Err(newer(3 + changes.len())),
            Line::Known(_) | Line::Broken => {
                is_damaged = lines.next().is_some();
                break;
            }
        }
    }
    if changes.is_empty() && is_damaged {
        return Err(Unread::Damaged(damaged(3)));
    }
    let journal = (!changes.is_empty()).then(|| Journal {
        begin: begin.clone(),
        changes,
        is_damaged,
    });
    Ok((Some(begin), journal))
}

/// The number in the first line.
fn version(bytes: &[u8]) -> Option<u64> {
    let rest = bytes.strip_prefix(FIRST_WORDS.as_bytes())?;
    let number = rest.split(|&b| b == b'\n').next()?;
    std::str::from_utf8(number).ok()?.parse().ok()
}

fn newer(line: usize) -> Unread {
    let error = FileError::new(
        "a newer Evenfield wrote this",
        "start that one to take it up; the file is left as it is",
    );
    Unread::Newer(error.at(line, 1))
}

fn damaged(line: usize) -> FileError {
    FileError::new(
        "the journal is damaged at its begin",
        "open the station file or its previous version, the .bak file",
    )
    .at(line, 1)
}

#[cfg(test)]
pub(in crate::files::journal) mod tests {
    use super::*;
    use crate::geometry::Shape;

    pub fn entries() -> Vec<JournalLine> {
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
            JournalLine::Edit(
                Box::new(Edit::Rename(name.into())),
                Some(7),
                jiff::civil::date(2026, 3, 9),
            )
        };
        vec![
            JournalLine::Begin(begin),
            rename("two\nlines \"and\" more"),
            rename("ends here"),
        ]
    }

    pub fn bytes(entries: &[JournalLine]) -> Vec<u8> {
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
}
