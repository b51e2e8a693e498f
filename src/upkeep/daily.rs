//! The irradiance log, entry by entry: what counts, on which scale, and whether it is inside the window.

use jiff::civil::{Date, DateTime};

use super::beside::Converted;
use super::day::{day_of, days_between};
use super::scales::{Carried, Comparison, Scale, Scales, compared};
use super::terms::{MonitorTerms, MonitorWindow, Remedy};
use crate::station::{Happened, LogEntry, Radiometer, Station, Upkeep};

/// An entry of the log.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Index in the log.
    pub entry: usize,
    /// When, days from the beginning of 1970.
    pub day: f64,
    /// Index of its scale; `None`: nobody said with which radiometer.
    pub scale: Option<usize>,
    /// Whether it counts, and where it lies.
    pub standing: Standing,
}

/// Whether an entry is held against the limits.
#[derive(Debug, Clone, PartialEq)]
pub enum Standing {
    /// It counts: on the scale of the limits, mW/cm².
    Counts {
        /// The reading.
        irradiance: f64,
        /// Relative standard uncertainty that carrying it there adds; 0 for the main radiometer within one calibration.
        added: f64,
        /// A stand-in read a level outside those that were compared.
        outside: bool,
        /// Where in the window it lies.
        side: Side,
    },
    /// It is kept as a note.
    Note(Why),
}

/// Where a reading lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// There is no window.
    NoWindow,
    /// Inside.
    Inside,
    /// Below the least.
    Below,
    /// Above the most.
    Above,
}

/// Why an entry does not count.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Why {
    /// Somebody set it aside.
    SetAside,
    /// The meter showed over-range, or what was read is beyond its range.
    OverRange,
    /// The radiometer is not in the register.
    NotRegistered,
    /// Its calibration was past due.
    PastDue(Date),
    /// Another band than the main radiometer's.
    OtherBand,
    /// It was not read side by side with the main radiometer within its calibration.
    NotCompared,
    /// Zero was read.
    Zero,
}

/// The log, entry by entry.
#[derive(Debug, Clone, PartialEq)]
pub struct Daily {
    /// In the order of the log.
    pub rows: Vec<Row>,
    /// Radiometers within one calibration each.
    pub scales: Scales,
    /// What each comparison tells, in the order of the upkeep's.
    pub comparisons: Vec<Comparison>,
    /// The newest entry that counts, and what follows from it.
    pub latest: Option<Latest>,
    /// When the next check is due.
    pub next: Option<NextCheck>,
}

/// The newest entry that counts.
#[derive(Debug, Clone, PartialEq)]
pub struct Latest {
    /// Its row.
    pub row: usize,
    /// On the scale of the limits, mW/cm².
    pub irradiance: f64,
    /// Where it lies.
    pub side: Side,
    /// What the coldest part has by the field, mW/cm².
    pub coldest: Option<f64>,
    /// What was read at the coldest site with it, mW/cm², on the scale of the limits.
    pub at_coldest: Option<f64>,
    /// What brings it back, where it lies outside.
    pub remedy: Option<Remedy>,
}

/// When the monitor position is to be read next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NextCheck {
    /// The day.
    pub on: Date,
    /// Days from today; negative: overdue.
    pub days: i64,
}

impl Daily {
    /// Looks through the log.
    pub fn of(station: &Station, upkeep: &Upkeep, terms: &MonitorTerms, today: Date) -> Self {
        let comparisons: Vec<Comparison> = (upkeep.beside.iter())
            .map(|beside| compared(station, upkeep, beside))
            .collect();
        let main = terms.main.as_deref();
        let scales = Scales::of(station, upkeep, &comparisons, main, terms.on);
        let seen = Seen {
            station,
            terms,
            scales: &scales,
            comparisons: &comparisons,
        };
        let rows: Vec<Row> = (upkeep.log.iter().enumerate())
            .map(|(i, entry)| seen.row(i, entry))
            .collect();
        let latest = (rows.iter().enumerate().rev())
            .find_map(|(i, row)| seen.latest(i, row, upkeep.log.get(row.entry)?, upkeep));
        let next = upkeep.every.and_then(|every| {
            let last = upkeep.log.last()?.at.date();
            let on = last
                .checked_add(jiff::Span::new().days(every.ceil() as i64))
                .ok()?;
            let days = days_between(today, on);
            Some(NextCheck { on, days })
        });
        Self {
            rows,
            scales,
            comparisons,
            latest,
            next,
        }
    }

    /// The rows that count, with their irradiance on the scale of the limits, mW/cm².
    pub fn counted(&self) -> impl DoubleEndedIterator<Item = (&Row, f64)> {
        self.rows.iter().filter_map(|row| match row.standing {
            Standing::Counts { irradiance, .. } => Some((row, irradiance)),
            Standing::Note(_) => None,
        })
    }
}

struct Seen<'a> {
    station: &'a Station,
    terms: &'a MonitorTerms,
    scales: &'a Scales,
    comparisons: &'a [Comparison],
}

impl Seen<'_> {
    fn row(&self, index: usize, entry: &LogEntry) -> Row {
        let scale = self.scales.at(&entry.radiometer, entry.at);
        Row {
            entry: index,
            day: day_of(entry.at),
            scale,
            standing: self.standing(entry, scale),
        }
    }

    fn standing(&self, entry: &LogEntry, scale: Option<usize>) -> Standing {
        let register = &self.station.radiometers;
        let of = register.iter().find(|r| r.name == entry.radiometer);
        if entry.set_aside.is_some() {
            return Standing::Note(Why::SetAside);
        }
        let beyond = of
            .and_then(|r| r.range)
            .is_some_and(|range| entry.irradiance >= range);
        if entry.saturated || beyond {
            return Standing::Note(Why::OverRange);
        }
        if entry.irradiance <= 0.0 {
            return Standing::Note(Why::Zero);
        }
        let Some((of, scale)) = of.zip(scale) else {
            // a log without radiometers is one of the only one that there is
            return match (&entry.radiometer, &self.terms.main) {
                (name, _) if name.is_empty() => self.counts(entry.irradiance, 0.0, false),
                _ => Standing::Note(Why::NotRegistered),
            };
        };
        let scale = &self.scales.all[scale];
        if let Some(due) = scale.due.filter(|due| entry.at.date() > *due) {
            return Standing::Note(Why::PastDue(due));
        }
        match self.carried(entry.irradiance, scale) {
            Some(carried) => self.counts(carried.irradiance, carried.added, carried.outside),
            None if self.is_of_another_band(of) => Standing::Note(Why::OtherBand),
            None => Standing::Note(Why::NotCompared),
        }
    }

    fn is_of_another_band(&self, of: &Radiometer) -> bool {
        let main = self.terms.main.as_deref();
        let mut register = self.station.radiometers.iter();
        let main = register.find(|r| Some(r.name.as_str()) == main);
        main.is_some_and(|main| {
            !main.band.is_empty() && !of.band.is_empty() && main.band != of.band
        })
    }

    /// A reading on the scale of the limits.
    fn carried(&self, irradiance: f64, scale: &Scale) -> Option<Converted> {
        match scale.carried {
            Carried::Own => Some(Converted {
                irradiance,
                added: 0.0,
                outside: false,
            }),
            Carried::ByCalibrations { factor, added, .. } => Some(Converted {
                irradiance: factor * irradiance,
                added,
                outside: false,
            }),
            Carried::ByComparison {
                beside,
                factor,
                added,
            } => {
                let compared = self.comparisons.get(beside)?.as_ref().ok()?;
                let converted = compared.convert(irradiance)?;
                Some(Converted {
                    irradiance: factor * converted.irradiance,
                    added: converted.added.hypot(added),
                    ..converted
                })
            }
            Carried::NotCompared => None,
        }
    }

    fn counts(&self, irradiance: f64, added: f64, outside: bool) -> Standing {
        let side = self
            .terms
            .window
            .map_or(Side::NoWindow, |w| side(&w, irradiance));
        Standing::Counts {
            irradiance,
            added,
            outside,
            side,
        }
    }

    fn latest(&self, i: usize, row: &Row, entry: &LogEntry, upkeep: &Upkeep) -> Option<Latest> {
        let Standing::Counts {
            irradiance, side, ..
        } = row.standing
        else {
            return None;
        };
        let face_height = face_height_at(upkeep, entry.at).unwrap_or(self.terms.face_height);
        let is_outside = matches!(side, Side::Below | Side::Above);
        let at_coldest = entry.at_coldest.and_then(|read| match row.scale {
            Some(scale) => Some(self.carried(read, &self.scales.all[scale])?.irradiance),
            None => Some(read),
        });
        Some(Latest {
            row: i,
            irradiance,
            side,
            coldest: self.terms.coldest_share.map(|share| share * irradiance),
            at_coldest,
            remedy: is_outside
                .then(|| self.terms.remedy(irradiance, face_height))
                .flatten(),
        })
    }
}

/// Where a reading lies in a window.
pub fn side(window: &MonitorWindow, irradiance: f64) -> Side {
    if irradiance < window.least {
        Side::Below
    } else if window.most.is_some_and(|most| irradiance > most) {
        Side::Above
    } else {
        Side::Inside
    }
}

/// The face's height above the fixture's base that an event set last, mm; `None`: no event says.
pub fn face_height_at(upkeep: &Upkeep, at: DateTime) -> Option<f64> {
    let set = |what: &Happened| match what {
        Happened::Adjusted { face_height, .. } => *face_height,
        _ => None,
    };
    let earlier = upkeep.events.iter().filter(|event| event.at <= at);
    earlier.rev().find_map(|event| set(&event.what))
}
