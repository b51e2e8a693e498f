//! How many hours a lamp burns in a day, and how unevenly.

use super::series::Series;

/// Windows of so many days tell how unevenly a lamp is used.
const WEEK: f64 = 7.0;
/// Where they don't: relative standard deviation of use from week to week (common practice, no source).
const USE: f64 = 0.3;

/// Lamp hours that a day adds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Use {
    /// Mean.
    pub rate: f64,
    /// Standard deviation from week to week.
    weekly: f64,
    /// Days that tell of it.
    days: f64,
    /// Day and hours last known.
    pub last: (f64, f64),
}

impl Use {
    /// Of a series, where hours are known at two days or more.
    pub fn of(series: &Series) -> Option<Self> {
        let (first, last) = (*series.burnt.first()?, *series.burnt.last()?);
        let days = last.0 - first.0;
        let rate = (last.1 - first.1) / days;
        if !(days > 0.0 && rate > 0.0 && rate.is_finite()) {
            return None;
        }
        let (mut rates, mut from) = (Vec::new(), first);
        for &at in &series.burnt {
            let apart = at.0 - from.0;
            if apart >= WEEK {
                // as it would be from week to week
                rates.push(((at.1 - from.1) / apart - rate) * (apart / WEEK).sqrt());
                from = at;
            }
        }
        let weekly = if rates.len() >= 4 {
            (rates.iter().map(|r| r * r).sum::<f64>() / (rates.len() - 1) as f64).sqrt()
        } else {
            USE * rate
        };
        Some(Self {
            rate,
            weekly,
            days,
            last,
        })
    }

    /// Days until so many more hours have burnt, by a standard normal number.
    pub fn days_until(&self, hours: f64, normal: f64) -> f64 {
        let ahead = hours / self.rate;
        let deviation = self.weekly * (WEEK / self.days + WEEK / ahead.max(WEEK)).sqrt();
        hours / (self.rate + normal * deviation).max(0.2 * self.rate)
    }

    /// Hours after so many more days.
    pub fn hours_after(&self, days: f64, normal: f64) -> f64 {
        let deviation = self.weekly * (WEEK / self.days + WEEK / days.max(WEEK)).sqrt();
        days * (self.rate + normal * deviation).max(0.2 * self.rate)
    }
}
