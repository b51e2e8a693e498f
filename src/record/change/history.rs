//! More than two surveys.

use serde::Serialize;

use crate::change::{Along, Bounded, History};
use crate::record::figures::{both, percent, rounded};
use crate::station::Station;
use crate::units::{IrradianceUnit, fixed};

/// All surveys against a baseline.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HistoryRecord {
    /// In the order of their days, the baseline first.
    pub surveys: Vec<SeenRecord>,
    /// `null`: too few surveys that only age tells apart.
    pub trend: Option<TrendRecord>,
    /// Surveys that could not be compared, and why.
    pub left_out: Vec<String>,
}

/// One survey.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SeenRecord {
    /// Its name.
    pub survey: String,
    /// Its day.
    pub date: String,
    /// Hours on the lamp; `null` where they are not noted.
    pub lamp_hours: Option<f64>,
    /// Against the baseline; `null` for itself.
    pub common_change_percent: Option<f64>,
    /// With 95 % confidence.
    pub common_change_interval_percent: Option<[f64; 2]>,
    /// Cold zones against the baseline.
    pub cold_zones: usize,
    /// Something beside age may have made the common change: it is not in the trend.
    pub other_than_age: bool,
    /// Coldest spot, mW/cm².
    pub coldest_mw_cm2: BoundedRecord,
    /// (max - min) / (max + min).
    pub nonuniformity_percent: BoundedRecord,
}

/// A value with two bounds, each with 95 % confidence; these are `null` for a family without.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BoundedRecord {
    /// The estimate.
    pub value: f64,
    /// At least this.
    pub at_least: Option<f64>,
    /// At most this.
    pub at_most: Option<f64>,
}

/// A straight line through the common changes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TrendRecord {
    /// `lamp hours` or `days`.
    pub along: &'static str,
    /// `100 h` or `30 days`.
    pub per: &'static str,
    /// Change of the common change in that.
    pub change_percent: f64,
    /// With 95 % confidence.
    pub interval_percent: [f64; 2],
    /// Surveys in it.
    pub surveys: usize,
}

impl From<Bounded> for BoundedRecord {
    fn from(of: Bounded) -> Self {
        Self {
            value: rounded(of.value),
            at_least: of.bounds.map(|b| rounded(b.0)),
            at_most: of.bounds.map(|b| rounded(b.1)),
        }
    }
}

impl Along {
    /// In which steps a trend along it is said.
    pub fn per(self) -> &'static str {
        match self {
            Self::Hours => "100 h",
            Self::Days => "30 days",
        }
    }
}

impl HistoryRecord {
    /// Of a station's surveys.
    pub fn new(station: &Station, history: &History) -> Self {
        let name = |i: usize| {
            let survey = station.surveys.get(i);
            survey.map_or_else(String::new, |s| s.name.clone())
        };
        let surveys = history.seen.iter().map(|seen| SeenRecord {
            survey: name(seen.survey),
            date: seen.date.to_string(),
            lamp_hours: seen.hours.map(rounded),
            common_change_percent: seen.common.map(|c| percent(c.change)),
            common_change_interval_percent: seen.common.map(|c| both(c.interval)),
            cold_zones: seen.cold,
            other_than_age: seen.otherwise,
            coldest_mw_cm2: seen.coldest.into(),
            nonuniformity_percent: seen.nonuniformity.into(),
        });
        Self {
            surveys: surveys.collect(),
            trend: history.trend.map(|t| TrendRecord {
                along: match t.along {
                    Along::Hours => "lamp hours",
                    Along::Days => "days",
                },
                per: t.along.per(),
                change_percent: percent(t.rate),
                interval_percent: both(t.interval),
                surveys: t.surveys,
            }),
            left_out: (history.left_out.iter())
                .map(|(i, why)| format!("{}: {why}", name(*i)))
                .collect(),
        }
    }

    /// What the trend says, or why there is none.
    pub fn trend_words(&self) -> String {
        let Some(t) = &self.trend else {
            return format!(
                "No trend yet: it takes {} surveys that nothing but age is known to tell apart",
                crate::change::LEAST_FOR_TREND
            );
        };
        let [low, high] = t.interval_percent;
        format!(
            "Trend of the common change over {} surveys: {} % per {} ({} to {} with 95 % confidence)",
            t.surveys,
            fixed(t.change_percent, 2),
            t.per,
            fixed(low, 2),
            fixed(high, 2)
        )
    }
}

/// Headings of [`history_rows`].
pub fn history_headings(unit: IrradianceUnit) -> [String; 5] {
    [
        "Survey".into(),
        "Lamp hours".into(),
        "Common change, %".into(),
        format!("Coldest spot, {}", unit.symbol()),
        "Nonuniformity, %".into(),
    ]
}

/// A row a survey: its name and day, lamp hours, and common change, coldest spot and nonuniformity with their intervals.
pub fn history_rows(history: &HistoryRecord, unit: IrradianceUnit) -> Vec<[String; 5]> {
    let bounded = |b: &BoundedRecord, show: &dyn Fn(f64) -> String| match b.at_least.zip(b.at_most)
    {
        Some((low, high)) => format!("{} ({} to {})", show(b.value), show(low), show(high)),
        None => show(b.value),
    };
    let percent = |v: f64| fixed(v, 1);
    let row = |seen: &SeenRecord| {
        let common = match (
            seen.common_change_percent,
            seen.common_change_interval_percent,
        ) {
            (Some(change), Some([low, high])) => {
                let zones = match seen.cold_zones {
                    0 => "",
                    _ => ", cold zone",
                };
                format!(
                    "{} ({} to {}){zones}",
                    percent(change),
                    percent(low),
                    percent(high)
                )
            }
            _ => "baseline".into(),
        };
        [
            format!("{}, {}", seen.survey, seen.date),
            seen.lamp_hours.map_or_else(String::new, |h| fixed(h, 0)),
            common,
            bounded(&seen.coldest_mw_cm2, &|v| unit.show(v, None)),
            bounded(&seen.nonuniformity_percent, &percent),
        ]
    };
    history.surveys.iter().map(row).collect()
}
