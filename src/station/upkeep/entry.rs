//! An entry of the irradiance log.

use jiff::civil::DateTime;
use serde::{Deserialize, Serialize};

/// One dated reading at the monitor position.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LogEntry {
    /// When, by the clock on the wall.
    pub at: DateTime,
    /// As the radiometer showed it, mW/cm²; the end of its range where it showed over-range.
    pub irradiance: f64,
    /// Name of the radiometer; empty: not said.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub radiometer: String,
    /// On the lamp.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lamp_hours: Option<f64>,
    /// At the coldest site on the same occasion, mW/cm².
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_coldest: Option<f64>,
    /// Initials of who read.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub by: String,
    /// Why it is not held against the limits; `None`: it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub set_aside: Option<String>,
    /// The meter showed over-range.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub saturated: bool,
    /// Anything worth keeping.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

impl LogEntry {
    /// A reading of which nothing else is known.
    pub fn new(at: DateTime, irradiance: f64) -> Self {
        Self {
            at,
            irradiance,
            radiometer: String::new(),
            lamp_hours: None,
            at_coldest: None,
            by: String::new(),
            set_aside: None,
            saturated: false,
            note: String::new(),
        }
    }
}
