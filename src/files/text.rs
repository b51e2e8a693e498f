//! From bytes to text.

use std::borrow::Cow;

use super::FileError;

/// No file of ours comes near this size, in bytes.
const MOST_BYTES: u64 = 200 * 1024 * 1024;

/// The text of a file without its byte-order mark.
///
/// # Errors
/// When it is too large, or not UTF-8: then with the place of the first byte that is not.
pub(super) fn utf8(bytes: &[u8]) -> Result<&str, FileError> {
    size_allowed(bytes.len() as u64)?;
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return Err(FileError::new("the text is stored as UTF-16", "save it as UTF-8").at(1, 1));
    }
    if bytes.starts_with(b"PK\x03\x04") {
        return Err(FileError::new(
            "this is a spreadsheet or another packed file, not text",
            "save it as CSV UTF-8",
        ));
    }
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let before = &bytes[..error.valid_up_to()];
        let (line, column) = place(&String::from_utf8_lossy(before), before.len());
        FileError::new(
            "there is a character here that is not UTF-8 text",
            "save the file as UTF-8",
        )
        .at(line, column)
    })?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    no_zeros(text)?;
    Ok(text)
}

fn no_zeros(text: &str) -> Result<(), FileError> {
    match text.find('\0') {
        Some(zero) => {
            let (line, column) = place(text, zero);
            let what = "there is a zero byte here, so this is not text";
            Err(FileError::new(what, "save the file as UTF-8 text").at(line, column))
        }
        None => Ok(()),
    }
}

/// How the bytes of a text stand for characters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Encoding {
    /// One to four bytes for each, the usual one.
    Utf8,
    /// Two or four bytes for each, the low one first.
    Utf16Le,
    /// Two or four bytes for each, the high one first.
    Utf16Be,
    /// One byte for each: Western European letters of older programs.
    Windows1252,
}

impl Encoding {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Utf8, Self::Utf16Le, Self::Utf16Be, Self::Windows1252];

    /// As people call it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Utf8 => "UTF-8",
            Self::Utf16Le => "UTF-16, low byte first",
            Self::Utf16Be => "UTF-16, high byte first",
            Self::Windows1252 => "Windows-1252",
        }
    }

    /// By its mark at the begin; without one UTF-8, and what is not that is taken for the letters of older
    /// programs.
    pub(super) fn guess(bytes: &[u8]) -> Self {
        if bytes.starts_with(&[0xff, 0xfe]) {
            Self::Utf16Le
        } else if bytes.starts_with(&[0xfe, 0xff]) {
            Self::Utf16Be
        } else if std::str::from_utf8(bytes).is_ok() {
            Self::Utf8
        } else {
            Self::Windows1252
        }
    }
}

/// The text of a file of readings without its byte-order mark.
///
/// # Errors
/// When it is too large, or not text in that encoding.
pub(super) fn decode(bytes: &[u8], encoding: Encoding) -> Result<Cow<'_, str>, FileError> {
    let letters = match encoding {
        Encoding::Utf8 => return utf8(bytes).map(Cow::Borrowed),
        Encoding::Utf16Le => encoding_rs::UTF_16LE,
        Encoding::Utf16Be => encoding_rs::UTF_16BE,
        Encoding::Windows1252 => encoding_rs::WINDOWS_1252,
    };
    size_allowed(bytes.len() as u64)?;
    let (text, is_wrong) = letters.decode_with_bom_removal(bytes);
    if is_wrong {
        return Err(FileError::new(
            format!("the file is not text in {}", encoding.name()),
            "choose another encoding, or save it as UTF-8",
        ));
    }
    no_zeros(&text)?;
    Ok(text)
}

/// # Errors
/// When a file of that many bytes is too large.
pub(super) fn size_allowed(bytes: u64) -> Result<(), FileError> {
    if bytes > MOST_BYTES {
        return Err(FileError::new(
            format!("the file has {} MB", bytes / (1024 * 1024)),
            format!(
                "only files up to {} MB are read",
                MOST_BYTES / (1024 * 1024)
            ),
        ));
    }
    Ok(())
}

/// Line and character of a byte of a text, both counted from 1.
pub(super) fn place(text: &str, byte: usize) -> (usize, usize) {
    let before = text.get(..byte).unwrap_or(text);
    let line = 1 + before.matches('\n').count();
    let column = 1 + before.chars().rev().take_while(|&c| c != '\n').count();
    (line, column)
}
