//! Which numbers log, events and comparisons may hold.

use super::entry::LogEntry;
use super::{Beside, Event, Happened, Upkeep};
use crate::station::numbers::{
    BRIGHTEST, LONGEST, Sound, above_zero, fault, not_negative, number, optional,
};

/// A century of a lamp, in hours.
const MOST_HOURS: f64 = 1e6;
/// Entries that a log may have.
const MOST_ENTRIES: usize = 200_000;

impl LogEntry {
    pub(in crate::station) fn sound(&self) -> Sound {
        not_negative("irradiance", self.irradiance, BRIGHTEST)?;
        optional(self.at_coldest, |v| {
            not_negative("irradiance at the coldest site", v, BRIGHTEST)
        })?;
        optional(self.lamp_hours, |v| {
            not_negative("hours on the lamp", v, MOST_HOURS)
        })
    }
}

impl Event {
    fn sound(&self) -> Sound {
        match &self.what {
            Happened::LampChanged { hours, .. } => {
                not_negative("hours on the new lamp", *hours, MOST_HOURS)
            }
            Happened::Adjusted { face_height, .. } => {
                optional(*face_height, |v| above_zero("face height", v, LONGEST))
            }
            Happened::Calibrated(calibration) => {
                optional(calibration.found_percent, |v| {
                    number("error as found", v, 99.0)
                })?;
                optional(calibration.expanded_uncertainty_percent, |v| {
                    not_negative("uncertainty of the calibration", v, 1000.0)
                })?;
                above_zero("coverage factor", calibration.coverage_factor, 100.0)
            }
            Happened::Cleaned { .. } | Happened::Other => Ok(()),
        }
    }
}

impl Beside {
    fn sound(&self) -> Sound {
        optional(self.common_percent, |v| {
            not_negative("uncertainty in common", v, 1000.0)
        })?;
        self.pairs.iter().try_for_each(|(main, stand_in)| {
            above_zero("reading of the main radiometer", *main, BRIGHTEST)?;
            above_zero("reading of the stand-in", *stand_in, BRIGHTEST)
        })
    }
}

impl Upkeep {
    /// All but the log.
    pub(in crate::station) fn sound_but_log(&self) -> Sound {
        optional(self.every, |v| {
            above_zero("days from one check to the next", v, 3660.0)
        })?;
        self.events.iter().try_for_each(Event::sound)?;
        self.beside.iter().try_for_each(Beside::sound)
    }

    pub(in crate::station) fn log_may_have(count: usize) -> Sound {
        if count > MOST_ENTRIES {
            return fault(
                format!("that makes {count} entries in the irradiance log"),
                format!(
                    "have at most {MOST_ENTRIES}; begin another station file for the years after"
                ),
            );
        }
        Ok(())
    }
}
