//! What keeps a validated station validated: the irradiance log at the monitor position, what happened to lamp, distance and
//! radiometers, radiometers read side by side, and the people who answer for the record.

mod entry;
mod log;
mod sound;

pub use entry::LogEntry;
pub use log::Log;

use jiff::civil::{Date, DateTime};
use serde::{Deserialize, Serialize};

/// Log, events and comparisons of a station.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Upkeep {
    /// How often the monitor position is to be read, days; `None`: nobody said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub every: Option<f64>,
    /// What happened, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub events: Vec<Event>,
    /// Radiometers that were read side by side, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub beside: Vec<Beside>,
    /// The dated readings at the monitor position.
    #[serde(default, skip_serializing_if = "Log::is_empty")]
    pub log: Log,
}

/// Something that happened to the station on a day, and by whom.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Event {
    /// When, by the clock on the wall.
    pub at: DateTime,
    /// What.
    pub what: Happened,
    /// Initials of who did it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub by: String,
    /// Anything worth keeping.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// What happened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Happened {
    /// Another lamp or panel was put in.
    LampChanged {
        /// Its serial number.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        serial: String,
        /// Hours on it when it was put in.
        #[serde(default, skip_serializing_if = "is_zero")]
        hours: f64,
    },
    /// The source was set anew, by distance or by drive.
    Adjusted {
        /// Of the face above the fixture's base from then on, mm.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        face_height: Option<f64>,
        /// Drive setting from then on, as the supply shows it.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        drive: String,
    },
    /// A radiometer came back from its calibration.
    Calibrated(Calibration),
    /// Reflector, window or filter was cleaned or changed.
    Cleaned {
        /// What.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        what: String,
    },
    /// Anything else, as the note says.
    Other,
}

fn is_zero(value: &f64) -> bool {
    *value == 0.0
}

/// A calibration as its certificate says it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Calibration {
    /// Name of the radiometer.
    pub radiometer: String,
    /// Number of the certificate.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub certificate: String,
    /// Who calibrated.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub laboratory: String,
    /// Last day on which it counts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub due: Option<Date>,
    /// What the radiometer showed when it came in over what it shows now, less one, percent: by so much its readings since
    /// the calibration before were too high. `None`: the certificate does not say how it was found.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub found_percent: Option<f64>,
    /// Expanded uncertainty of the calibration, percent of the reading.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expanded_uncertainty_percent: Option<f64>,
    /// The coverage factor k of that.
    #[serde(default = "two", skip_serializing_if = "is_two")]
    pub coverage_factor: f64,
}

fn two() -> f64 {
    2.0
}

fn is_two(value: &f64) -> bool {
    *value == 2.0
}

impl Calibration {
    /// Of a radiometer, with nothing known of its certificate.
    pub fn of(radiometer: impl Into<String>) -> Self {
        Self {
            radiometer: radiometer.into(),
            certificate: String::new(),
            laboratory: String::new(),
            due: None,
            found_percent: None,
            expanded_uncertainty_percent: None,
            coverage_factor: two(),
        }
    }
}

/// Two radiometers read in turn at one place, at several levels.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Beside {
    /// The day.
    pub on: Date,
    /// Name of the radiometer that the station keeps to.
    pub main: String,
    /// Name of the one that stands in for it.
    pub stand_in: String,
    /// Expanded uncertainty that both certificates have in common, percent (k = 2): of the same laboratory.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub common_percent: Option<f64>,
    /// Initials of who read.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub by: String,
    /// Main and stand-in, mW/cm², in the order in which they were read.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub pairs: Vec<(f64, f64)>,
    /// Anything worth keeping.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// Who answers for the record of a station. A file with this part keeps a history that is only added to.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Papers {
    /// Who made it.
    #[serde(default, skip_serializing_if = "Signature::is_empty")]
    pub author: Signature,
    /// Who has looked it over.
    #[serde(default, skip_serializing_if = "Signature::is_empty")]
    pub reviewer: Signature,
    /// Who has approved it.
    #[serde(default, skip_serializing_if = "Signature::is_empty")]
    pub approver: Signature,
}

/// A name and a day.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Signature {
    /// Who.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// On which day.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub on: Option<Date>,
}

impl Signature {
    /// Whether nobody has signed.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

impl Upkeep {
    /// All but the log.
    pub fn without_log(&self) -> Self {
        Self {
            every: self.every,
            events: self.events.clone(),
            beside: self.beside.clone(),
            log: Log::default(),
        }
    }

    /// Puts the events in the order of their time; those of one time stay as they are.
    pub(super) fn sort(&mut self) {
        self.events.sort_by_key(|event| event.at);
        self.beside.sort_by_key(|beside| beside.on);
    }
}
