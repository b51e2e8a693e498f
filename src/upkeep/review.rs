//! All that a log tells on a day.

use jiff::civil::Date;

use super::daily::Daily;
use super::due::{Due, due};
use super::fading::{Fading, fading};
use super::terms::MonitorTerms;
use crate::progress::{Cancelled, Progress};
use crate::station::{Station, Upkeep};

/// What a log tells.
#[derive(Debug, Clone, PartialEq)]
pub struct Review {
    /// The day.
    pub today: Date,
    /// What readings are held against.
    pub terms: MonitorTerms,
    /// Entry by entry.
    pub daily: Daily,
    /// The trend, and lamps over one another.
    pub fading: Fading,
    /// What is due, the most urgent first.
    pub due: Vec<Due>,
}

impl Review {
    /// Looks through the log. Of the station its radiometers, source and the days of its surveys are looked at.
    ///
    /// # Errors
    /// [`Cancelled`].
    pub fn of(
        station: &Station,
        upkeep: &Upkeep,
        terms: MonitorTerms,
        today: Date,
        progress: &Progress,
    ) -> Result<Self, Cancelled> {
        let daily = Daily::of(station, upkeep, &terms, today);
        let fading = fading(station, upkeep, &daily, &terms, progress)?;
        let trend = fading.trend.as_ref().ok();
        let due = due(station, upkeep, &daily, trend, &terms, today);
        Ok(Self {
            today,
            terms,
            daily,
            fading,
            due,
        })
    }
}
