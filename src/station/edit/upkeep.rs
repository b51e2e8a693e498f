//! The irradiance log and what belongs to it: a further entry touches nothing else of the document.

use super::Refused;
use crate::station::{Happened, LogEntry, Shared, Station, Upkeep};

impl Station {
    pub(super) fn add_to_log(&mut self, entries: Vec<LogEntry>) -> Result<(), Refused> {
        if entries.is_empty() {
            return Ok(());
        }
        entries.iter().try_for_each(LogEntry::sound)?;
        let there = self.upkeep.as_ref().map_or(0, |upkeep| upkeep.log.len());
        Upkeep::log_may_have(there + entries.len())?;
        let upkeep = self.upkeep.get_or_insert_default();
        for entry in entries {
            upkeep.log.insert(entry);
        }
        Ok(())
    }

    pub(super) fn set_in_log(&mut self, index: usize, entry: LogEntry) -> Result<(), Refused> {
        entry.sound()?;
        let upkeep = self.with_entry(index)?;
        upkeep.log.remove(index);
        upkeep.log.insert(entry);
        Ok(())
    }

    pub(super) fn remove_from_log(&mut self, mut rows: Vec<usize>) -> Result<(), Refused> {
        rows.sort_unstable();
        rows.dedup();
        let Some(&last) = rows.last() else {
            return Ok(());
        };
        let upkeep = self.with_entry(last)?;
        for row in rows.into_iter().rev() {
            upkeep.log.remove(row);
        }
        Ok(())
    }

    fn with_entry(&mut self, index: usize) -> Result<&mut Shared<Upkeep>, Refused> {
        let upkeep = self.upkeep.as_mut();
        let upkeep = upkeep.filter(|upkeep| index < upkeep.log.len());
        upkeep.ok_or_else(|| {
            Refused(format!(
                "there is no entry {} in the irradiance log; choose another one",
                index.saturating_add(1)
            ))
        })
    }

    pub(super) fn set_upkeep(&mut self, mut upkeep: Upkeep) -> Result<(), Refused> {
        upkeep.sound_but_log()?;
        upkeep.sort();
        let there = self.upkeep.get_or_insert_default();
        upkeep.log = there.log.clone();
        *there = upkeep.into();
        Ok(())
    }

    /// A radiometer goes by another name: log, events and comparisons follow.
    pub(super) fn upkeep_follows(&mut self, old: &str, new: &str) {
        let Some(upkeep) = self.upkeep.as_mut().filter(|_| old != new) else {
            return;
        };
        let follow = |name: &mut String| {
            if name == old {
                new.clone_into(name);
            }
        };
        let is_named = upkeep.log.iter().any(|entry| entry.radiometer == old);
        if is_named {
            let mut entries: Vec<LogEntry> = upkeep.log.iter().cloned().collect();
            entries.iter_mut().for_each(|e| follow(&mut e.radiometer));
            upkeep.log = entries.into_iter().collect();
        }
        for event in &mut upkeep.events {
            if let Happened::Calibrated(calibration) = &mut event.what {
                follow(&mut calibration.radiometer);
            }
        }
        for beside in &mut upkeep.beside {
            follow(&mut beside.main);
            follow(&mut beside.stand_in);
        }
    }
}
