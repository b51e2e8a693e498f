//! Station files, readings files, the journal of what is not saved, and this person's settings. Readers take bytes and answer with
//! everything or with errors that say where, what and what to do; nothing is read by halves and
//! nothing is written so that a crash could lose the previous version.

mod blocks;
mod csv;
mod drive;
mod error;
mod explain;
mod guess;
mod headers;
mod import;
mod in_use;
mod journal;
mod log;
mod pasted;
mod preferences;
mod raw;
mod reader;
mod readings;
mod save;
mod sheet;
mod station_file;
mod table;
mod text;
mod trail;
mod understanding;
mod workbook;

pub use csv::{csv_cell, readings_csv};
pub use drive::{Drive, Touch};
pub use error::FileError;
pub use headers::{Field, USES, Use};
pub use import::{open_readings, read_readings};
pub use in_use::{Claim, InUse, who};
pub use journal::{
    Begin, Journal, JournalFile, JournalLine, Orphan, ToDisk, orphans, parse_journal,
};
pub use log::{log_csv, not_in_log, parse_log, parse_moment, pasted_log, read_log};
pub use pasted::Pasted;
pub use preferences::{Paper, Preferences, Theme};
pub use raw::{Cut, Raw};
pub use readings::{Table, parse_readings};
pub use save::{Stamp, those_there, write_all, write_atomic};
pub use station_file::{
    NotSaved, Opened, open_on, parse, parse_whole, read, read_on, save, save_on, write, write_whole,
};
pub use table::{block_text, parse_block};
pub use text::Encoding;
pub use trail::{Digest, FOUND_CHANGED, Saved, Saver, Trail, TrailGap};
pub use understanding::{Block, Blocks, DecimalMark, Layout, List, Understanding};
