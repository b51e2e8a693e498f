//! What the file reader found wrong, in the words of a station.

use ron::error::{Error, Position, SpannedError};
use serde_path_to_error::Segment;

use super::FileError;

const VERSION: &str = "format_version";

const RESTORE: &str = "mend the file there or take its previous version, the .bak file";

/// The error in plain words; `path` is the way down to the value.
pub(super) fn explain(text: &str, path: &[Segment], error: &SpannedError) -> FileError {
    let (what, mend) = sentence(path, &error.code);
    let Position { line, col } = position(text, error);
    match &error.code {
        // what is nowhere has no place
        Error::MissingStructField { field, .. } if *field == VERSION => FileError::new(what, mend),
        _ => FileError::new(what, mend).at(line, col),
    }
}

/// A name or a value that is not known ends at the end of the span; other faults lie at its start.
fn position(text: &str, error: &SpannedError) -> Position {
    let start = error.span.start;
    match &error.code {
        Error::NoSuchStructField { found, .. } | Error::NoSuchEnumVariant { found, .. } => {
            let line = text.lines().nth(start.line.saturating_sub(1));
            let col = line.and_then(|line| {
                let upto: String = line.chars().take(error.span.end.col).collect();
                let byte = upto.rfind(found.as_str())?;
                Some(upto[..byte].chars().count() + 1)
            });
            Position {
                line: start.line,
                col: col.unwrap_or(start.col),
            }
        }
        _ => start,
    }
}

fn sentence(path: &[Segment], code: &Error) -> (String, String) {
    let place = said(path);
    let of = if place.is_empty() {
        String::new()
    } else {
        format!(" in {place}")
    };
    match code {
        Error::NoSuchStructField { found, .. } => (
            format!("'{found}'{} is not known here", outer(path)),
            "if a newer Evenfield wrote it, open the file with that one; otherwise take it out"
                .into(),
        ),
        Error::NoSuchEnumVariant {
            found, expected, ..
        } => (
            format!("'{found}'{of} is not known here"),
            format!("use {}; a newer Evenfield may know more", one_of(expected)),
        ),
        Error::MissingStructField { field, .. } if *field == VERSION => (
            "this is not a station file: it has no format version".into(),
            "open a file that Evenfield saved".into(),
        ),
        Error::MissingStructField { field, .. } => {
            (format!("'{field}' is missing{of}"), RESTORE.into())
        }
        Error::DuplicateStructField { field, .. } => (
            format!("'{field}' stands twice{}", outer(path)),
            "take one of them out".into(),
        ),
        Error::Eof
        | Error::ExpectedStringEnd
        | Error::UnclosedBlockComment
        | Error::UnclosedLineComment => (
            format!("the file ends too early{of}"),
            "take its previous version, the .bak file".into(),
        ),
        Error::ExceededRecursionLimit => (
            "the brackets are nested too deeply for a station file".into(),
            "open a file that Evenfield saved".into(),
        ),
        Error::TrailingCharacters => (
            "there is something after the end of the station".into(),
            "take it out".into(),
        ),
        _ if path.is_empty() => (
            "this is not a station file".into(),
            "open a file that Evenfield saved".into(),
        ),
        _ => match expected(path, code) {
            Some(expected) => (format!("{expected} was expected{of}"), RESTORE.into()),
            None => (format!("the text can't be understood{of}"), RESTORE.into()),
        },
    }
}

/// What stands at such a place, where the fault or the field's name tells.
fn expected(path: &[Segment], code: &Error) -> Option<&'static str> {
    if let Some(Segment::Map { key }) = path.last()
        && matches!(key.as_str(), "date" | "calibrated_on" | "due")
    {
        return Some("a date in quotes such as \"2025-03-14\"");
    }
    Some(match code {
        Error::ExpectedFloat | Error::FloatUnderscore => "a number",
        Error::ExpectedInteger
        | Error::IntegerOutOfBounds
        | Error::InvalidIntegerDigit { .. }
        | Error::UnderscoreAtBeginning => "a whole number of 0 or more",
        Error::ExpectedBoolean => "true or false",
        Error::ExpectedString | Error::InvalidEscape(_) => "text in quotes",
        Error::ExpectedArray => "an opening bracket [",
        Error::ExpectedArrayEnd => "a comma or the closing bracket ]",
        Error::ExpectedComma => "a comma",
        Error::ExpectedMapColon => "a colon",
        Error::ExpectedStructLike | Error::ExpectedNamedStructLike(_) => "an opening bracket (",
        Error::ExpectedStructLikeEnd | Error::ExpectedOptionEnd => {
            "a comma or the closing bracket )"
        }
        Error::ExpectedIdentifier
        | Error::InvalidIdentifier(_)
        | Error::SuggestRawIdentifier(_) => "the name of a field",
        Error::InvalidValueForType { expected, .. } => match expected.as_str() {
            "f64" => "a number",
            "u32" | "u64" => "a whole number of 0 or more",
            "a string" => "text in quotes",
            "a boolean" => "true or false",
            _ => return None,
        },
        _ => return None,
    })
}

fn one_of(words: &[&str]) -> String {
    match words {
        [] => "another word".into(),
        [word] => (*word).into(),
        [words @ .., last] => format!("{} or {last}", words.join(", ")),
    }
}

/// As [`said`] for the thing that holds the last field.
fn outer(path: &[Segment]) -> String {
    let holder = match path.last() {
        Some(Segment::Map { .. }) => &path[..path.len() - 1],
        _ => path,
    };
    match said(holder) {
        place if place.is_empty() => place,
        place => format!(" in {place}"),
    }
}

/// The way down to a value: `survey 1, reading 12, irradiance`.
fn said(path: &[Segment]) -> String {
    let mut words: Vec<String> = Vec::new();
    for segment in path {
        match segment {
            Segment::Map { key } if key == "station" && words.is_empty() => {}
            Segment::Map { key } => words.push(key.replace('_', " ")),
            Segment::Seq { index } => {
                if let Some(word) = words.last_mut() {
                    let one = word.strip_suffix('s').unwrap_or(word);
                    *word = format!("{one} {}", index + 1);
                }
            }
            Segment::Enum { .. } | Segment::Unknown => {}
        }
    }
    words.join(", ")
}
