//! The program's log, which also hears when the dialog library could not show a dialog: the library
//! tells that to the log and to nobody else.

use std::sync::atomic::{AtomicUsize, Ordering};

use log::{Level, LevelFilter, Log, Metadata, Record};

/// Errors that the dialog library has written to the log.
static COMPLAINTS: AtomicUsize = AtomicUsize::new(0);

/// How many errors the dialog library has written to the log since the program began.
pub(super) fn dialog_complaints() -> usize {
    COMPLAINTS.load(Ordering::SeqCst)
}

/// A log that passes everything on to another one.
struct Listening(env_logger::Logger);

fn is_complaint(of: &Metadata<'_>) -> bool {
    of.level() == Level::Error && of.target().split("::").next() == Some("rfd")
}

impl Log for Listening {
    fn enabled(&self, metadata: &Metadata<'_>) -> bool {
        is_complaint(metadata) || self.0.enabled(metadata)
    }

    fn log(&self, record: &Record<'_>) {
        if is_complaint(record.metadata()) {
            COMPLAINTS.fetch_add(1, Ordering::SeqCst);
        }
        self.0.log(record);
    }

    fn flush(&self) {
        self.0.flush();
    }
}

/// Makes this logger the program's log, as far as its own filter lets it speak.
pub fn install_log(logger: env_logger::Logger) {
    let most = logger.filter().max(LevelFilter::Error);
    if log::set_boxed_logger(Box::new(Listening(logger))).is_ok() {
        log::set_max_level(most);
    }
}
