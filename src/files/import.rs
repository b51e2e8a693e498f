//! Readings from a file on the disk.

use std::path::Path;

use super::{Drive, FileError, Raw, Table, Understanding, text};

/// Takes a file of readings apart; see [`Raw::new`].
///
/// # Errors
/// As there, and when the file can't be read; with the file's path.
pub fn open_readings(drive: &Drive, path: &Path) -> Result<Raw, FileError> {
    let failed = |e: &std::io::Error| FileError::system(path, "the file could not be read", e);
    let size = drive.metadata(path).map_err(|e| failed(&e))?.len();
    text::size_allowed(size).map_err(|e| e.of(path))?;
    let bytes = drive.read(path).map_err(|e| failed(&e))?;
    Raw::new(bytes).map_err(|e| e.of(path))
}

/// Reads a file of readings as it is understood by itself; see [`parse_readings`](super::parse_readings).
///
/// # Errors
/// Every row that can't be read, or why the file can't; each with the file's path.
pub fn read_readings(path: &Path, height: Option<f64>) -> Result<Table, Vec<FileError>> {
    let raw = open_readings(&Drive::default(), path).map_err(|error| vec![error])?;
    (Understanding::guess(&raw, height).read(&raw))
        .map_err(|errors| errors.into_iter().map(|e| e.of(path)).collect())
}
