//! Station files: RON, one reading a line. A file that holds what this version does not know is
//! refused, not opened in part: saving it again would lose that part. A file is written in the lowest version that holds
//! what it has, so that an older program opens whatever it can.
//!
//! Version 1 is frozen: `tests/golden/format-1.ron` holds all of it, and the test `format` has it read and written again to
//! the byte. A field or variant more is a part of a newer version ([`Station::since_version_2`]); a program that knows only
//! older ones then says that the file is newer, not that it is wrong.

use std::path::Path;

use ron::extensions::Extensions;
use ron::ser::PrettyConfig;
use serde::{Deserialize, Serialize};

use super::explain::explain;
use super::save::replace;
use super::text::{self, place, utf8};
use super::{Drive, FileError, Stamp, Trail};
use crate::station::{NEWEST, Station, Where};

/// Nesting down to which each value has its own line; what lies deeper, a reading, stays on one.
const LINES_DOWN_TO: usize = 5;

#[derive(Serialize)]
struct Written<'a> {
    format_version: u64,
    station: &'a Station,
    #[serde(skip_serializing_if = "Trail::is_empty")]
    trail: &'a Trail,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Content {
    format_version: u64,
    station: Station,
    #[serde(default)]
    trail: Trail,
}

/// What can be read of any version.
#[derive(Deserialize)]
struct Probe {
    format_version: u64,
}

fn options() -> ron::Options {
    ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME)
}

/// A station as its file holds it.
#[derive(Debug, Clone, PartialEq)]
pub struct Opened {
    /// The document.
    pub station: Station,
    /// Who saved it when.
    pub trail: Trail,
}

/// Reads a station from the bytes of a file.
///
/// # Errors
/// As [`parse_whole`].
pub fn parse(bytes: &[u8]) -> Result<Station, FileError> {
    Ok(parse_whole(bytes)?.station)
}

/// Reads a station and its trail from the bytes of a file.
///
/// # Errors
/// One error with line and column where they are known: not text, not a station file, of a newer
/// version, with something unknown or missing, or with a number that can't be.
pub fn parse_whole(bytes: &[u8]) -> Result<Opened, FileError> {
    let text = utf8(bytes)?;
    if text.trim().is_empty() {
        return Err(FileError::new(
            "the file is empty",
            "open a file that Evenfield saved, or its previous version, the .bak file",
        ));
    }
    let Content {
        format_version,
        station,
        trail,
    } = content(text)?;
    labelled(text, format_version, &station, &trail)?;
    match station.unsound().into_iter().next() {
        None => Ok(Opened { station, trail }),
        Some(unsound) => {
            let unsound_is_none = unsound.what.ends_with("is not a number");
            let what = match said(&station, &unsound.place) {
                Some(part) => format!("in {part} {}", unsound.what),
                None => unsound.what,
            };
            let error = FileError::new(what, unsound.mend);
            // a file keeps no places of its fields; a word such as NaN can still be found
            let none = unsound_is_none.then(|| number_that_is_none(text)).flatten();
            Err(match none {
                Some(byte) => {
                    let (line, column) = place(text, byte);
                    error.at(line, column)
                }
                None => error,
            })
        }
    }
}

/// What the file holds. A sound file is read once and at full speed; only one that is not is read
/// again, to say what is wrong: first its version, for what a newer version holds is no fault.
fn content(text: &str) -> Result<Content, FileError> {
    match options().from_str::<Content>(text) {
        Ok(content) => {
            known(text, content.format_version)?;
            Ok(content)
        }
        Err(_) => {
            known(text, from_ron::<Probe>(text)?.format_version)?;
            from_ron(text)
        }
    }
}

/// # Errors
/// When this program does not read that version.
fn known(text: &str, version: u64) -> Result<(), FileError> {
    match version {
        1..=NEWEST => Ok(()),
        0 => Err(at_version(
            text,
            "there is no format version 0".into(),
            "open a file that Evenfield saved",
        )),
        newer => Err(at_version(
            text,
            format!("the file is of format version {newer}, this Evenfield reads up to {NEWEST}"),
            "open it with a newer Evenfield",
        )),
    }
}

/// # Errors
/// When the file holds what its version does not have: a program of that version would refuse it.
fn labelled(text: &str, version: u64, station: &Station, trail: &Trail) -> Result<(), FileError> {
    let part = station.since_version_2().map(|(_, part)| part);
    let part = part.or((!trail.is_empty()).then_some("a trail"));
    let Some(part) = part.filter(|_| version < 2) else {
        return Ok(());
    };
    Err(at_version(
        text,
        format!(
            "the file is of format version {version}, and holds {part}, which came with version 2"
        ),
        "open the file as Evenfield saved it; in one changed by hand, write format_version: 2",
    ))
}

fn from_ron<'a, T: Deserialize<'a>>(text: &'a str) -> Result<T, FileError> {
    let options = options();
    let mut deserializer = ron::Deserializer::from_str_with_options(text, &options)
        .map_err(|e| explain(text, &[], &e))?;
    let value = serde_path_to_error::deserialize(&mut deserializer).map_err(|error| {
        let path: Vec<_> = error.path().iter().cloned().collect();
        explain(text, &path, &deserializer.span_error(error.into_inner()))
    })?;
    deserializer
        .end()
        .map_err(|error| explain(text, &[], &deserializer.span_error(error)))?;
    Ok(value)
}

fn at_version(text: &str, what: String, mend: &str) -> FileError {
    let error = FileError::new(what, mend);
    match text.find("format_version") {
        Some(byte) => {
            let (line, column) = place(text, byte);
            error.at(line, column)
        }
        None => error,
    }
}

/// The part of a station that a place is in, for a sentence; `None` for the source, fixture and plan,
/// whose faults name themselves.
fn said(station: &Station, place: &Where) -> Option<String> {
    Some(match *place {
        Where::Source(_)
        | Where::Fixture(_)
        | Where::Plan(_)
        | Where::Position(_)
        | Where::Limits(_)
        | Where::Repeat
        | Where::Upkeep(_)
        | Where::Settings(_) => return None,
        Where::LogEntry(row) => format!("irradiance log, entry {},", row + 1),
        Where::Trials(_) => "cure trials,".into(),
        Where::Trial(row) => format!("cure trials, row {},", row + 1),
        Where::Exposure(_) => "exposure,".into(),
        Where::Sites(i) => format!("sites '{}'", station.sites.get(i)?.name),
        Where::KeepOut(i) => format!("keep-out '{}'", station.keep_outs.get(i)?.name),
        Where::Radiometer(i, _) => format!("radiometer '{}'", station.radiometers.get(i)?.name),
        Where::Survey(i, _) => format!("survey '{}'", station.surveys.get(i)?.name),
        Where::Reading(i, row) => {
            format!(
                "survey '{}', reading {},",
                station.surveys.get(i)?.name,
                row + 1
            )
        }
    })
}

/// Byte of the first bare word that reads as a number and is none or endless: `NaN`, `-inf`, `1e999`.
/// Words in quotes and comments are passed over.
fn number_that_is_none(text: &str) -> Option<usize> {
    let bytes = text.as_bytes();
    let is_word = |b: u8| b.is_ascii_alphanumeric() || matches!(b, b'_' | b'.' | b'+' | b'-');
    let mut at = 0;
    while at < bytes.len() {
        if bytes[at] == b'"' {
            at += 1;
            while at < bytes.len() && bytes[at] != b'"' {
                at += if bytes[at] == b'\\' { 2 } else { 1 };
            }
            at += 1;
        } else if bytes[at..].starts_with(b"//") {
            at += bytes[at..].iter().take_while(|&&b| b != b'\n').count();
        } else if is_word(bytes[at]) {
            let end = at + bytes[at..].iter().take_while(|&&b| is_word(b)).count();
            let not_a_number = text[at..end].parse::<f64>().is_ok_and(|v| !v.is_finite());
            if not_a_number {
                return Some(at);
            }
            at = end;
        } else {
            at += 1;
        }
    }
    None
}

/// The text of the file of a station that has no trail.
///
/// # Errors
/// As [`write_whole`].
pub fn write(station: &Station) -> Result<String, FileError> {
    write_whole(station, &Trail::default())
}

/// The text of a station's file.
///
/// # Errors
/// When the station holds a number that can't be: the file could not be opened again.
pub fn write_whole(station: &Station, trail: &Trail) -> Result<String, FileError> {
    if let Some(unsound) = station.unsound().into_iter().next() {
        return Err(FileError::new(unsound.what, unsound.mend));
    }
    let of_trail = if trail.is_empty() { 1 } else { 2 };
    let written = Written {
        format_version: station.format_version().max(of_trail),
        station,
        trail,
    };
    let pretty = PrettyConfig::new()
        .depth_limit(LINES_DOWN_TO)
        .new_line("\n")
        .indentor(" ");
    match options().to_string_pretty(&written, pretty) {
        Ok(text) => Ok(text + "\n"),
        Err(error) => {
            log::error!("a station could not be written: {error}");
            Err(FileError::new(
                "the station could not be put into a file",
                "undo the last change and save again",
            ))
        }
    }
}

/// Opens a station file; the stamp is that of the bytes that were read.
///
/// # Errors
/// As [`parse`], and when the file can't be read; with the file's path.
pub fn read(path: &Path) -> Result<(Station, Stamp), FileError> {
    read_on(&Drive::default(), path)
}

/// As [`read`].
///
/// # Errors
/// As there.
pub fn read_on(drive: &Drive, path: &Path) -> Result<(Station, Stamp), FileError> {
    let (opened, stamp) = open_on(drive, path)?;
    Ok((opened.station, stamp))
}

/// Opens a station file with its trail; the stamp is that of the bytes that were read.
///
/// # Errors
/// As [`read`].
pub fn open_on(drive: &Drive, path: &Path) -> Result<(Opened, Stamp), FileError> {
    let failed = |e: &std::io::Error| FileError::system(path, "the file could not be read", e);
    let size = drive.metadata(path).map_err(|e| failed(&e))?.len();
    text::size_allowed(size).map_err(|e| e.of(path))?;
    let bytes = drive.read(path).map_err(|e| failed(&e))?;
    let opened = parse_whole(&bytes).map_err(|e| e.of(path))?;
    Ok((opened, Stamp::of_bytes(&bytes)))
}

/// Saves a station with its trail as [`write_atomic`](super::write_atomic) does; the stamp is that of the bytes that were
/// written.
///
/// # Errors
/// As [`write_whole`] and [`write_atomic`](super::write_atomic).
pub fn save(path: &Path, station: &Station, trail: &Trail) -> Result<Stamp, FileError> {
    save_on(&Drive::default(), path, station, trail).map_err(|failed| failed.why)
}

/// Why a station was not saved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotSaved {
    /// What went wrong.
    pub why: FileError,
    /// Of the bytes that were to be written, where it came so far. Some systems say no to what they have done: a file
    /// with this stamp is ours all the same.
    pub stamp: Option<Stamp>,
}

/// As [`save`].
///
/// # Errors
/// As there.
#[allow(clippy::result_large_err)] // once a save, and the error is read at once
pub fn save_on(
    drive: &Drive,
    path: &Path,
    station: &Station,
    trail: &Trail,
) -> Result<Stamp, NotSaved> {
    let text = write_whole(station, trail).map_err(|why| NotSaved {
        why: why.of(path),
        stamp: None,
    })?;
    let stamp = Stamp::of_bytes(text.as_bytes());
    match replace(drive, path, text.as_bytes(), true) {
        Ok(()) => Ok(stamp),
        Err(why) => Err(NotSaved {
            why,
            stamp: Some(stamp),
        }),
    }
}
