//! Readings from a file on the disk.

use std::path::Path;

use super::{FileError, Table, parse_csv};

/// Files of readings larger than this are refused, bytes: a million rows are about 60 MB.
const MOST_BYTES: u64 = 200_000_000;

/// Reads a file of readings; see [`parse_csv`].
///
/// # Errors
/// Every row that can't be read, or why the file can't; each with the file's path.
pub fn read_readings(path: &Path, default_height: Option<f64>) -> Result<Table, Vec<FileError>> {
    let refused = |what: String, mend: &str| vec![FileError::new(what, mend).of(path)];
    let size = std::fs::metadata(path).map(|m| m.len());
    match size {
        Ok(size) if size > MOST_BYTES => {
            return Err(refused(
                format!("the file has {} MB", size / 1_000_000),
                "cut it into files below 200 MB",
            ));
        }
        _ => {}
    }
    let bytes = std::fs::read(path).map_err(|error| {
        vec![FileError::system(
            path,
            "the file could not be read",
            &error,
        )]
    })?;
    parse_csv(&bytes, default_height)
        .map_err(|errors| errors.into_iter().map(|e| e.of(path)).collect())
}
