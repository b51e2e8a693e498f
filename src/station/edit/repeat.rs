//! The repeat study names its surveys: it follows them.

use crate::station::Station;

impl Station {
    /// A survey goes by another name, or is no more.
    pub(super) fn repeat_follows(&mut self, old: &str, new: Option<&str>) {
        let Some(study) = &mut self.repeat else {
            return;
        };
        match new {
            Some(new) => {
                let renamed = study.rounds.iter_mut().filter(|r| r.survey == old);
                renamed.for_each(|round| round.survey = new.to_owned());
            }
            None => study.rounds.retain(|round| round.survey != old),
        }
        if study.rounds.is_empty() {
            self.repeat = None;
        }
    }
}
