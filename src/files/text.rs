//! From bytes to text.

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
    match text.find('\0') {
        Some(zero) => {
            let (line, column) = place(text, zero);
            let what = "there is a zero byte here, so this is not text";
            Err(FileError::new(what, "save the file as UTF-8 text").at(line, column))
        }
        None => Ok(text),
    }
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
