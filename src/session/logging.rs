//! Files of irradiance logs that come into the document.

use super::{Notice, Session, Tone};
use crate::files::not_in_log;
use crate::station::Edit;

impl Session {
    /// Puts what was read of files into the log; what is in it already is left out.
    pub(super) fn collect_log(&mut self) {
        let Some((path, read)) = self.disk.log_read() else {
            return;
        };
        let place = path.display();
        let entries = match read {
            Ok(entries) => entries,
            Err(why) => {
                self.asking.notice = Some(Notice {
                    tone: Tone::Trouble,
                    text: "Nothing was put into the irradiance log".to_owned(),
                    details: why.lines().map(str::to_owned).collect(),
                });
                return;
            }
        };
        let (new, known) = not_in_log(entries, &self.station().upkeep().log);
        let counts = match (new.len(), known) {
            (n, 0) => format!("{n} readings from {place} are in the irradiance log now"),
            (n, known) => format!(
                "{n} readings from {place} are in the irradiance log now; {known} were in it already"
            ),
        };
        if !new.is_empty() {
            let name = format!("import {} readings into the log", new.len());
            self.edit(Edit::AddToLog { entries: new, name }, None);
        }
        self.asking.notice = Some(Notice::done(counts));
    }
}
