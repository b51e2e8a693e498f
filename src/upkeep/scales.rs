//! On whose scale a reading is. A limit that was found with a radiometer is good for that pair and its calibration of that
//! day; what another calibration or a stand-in reads is carried to that scale, with the uncertainty that this adds, or is not
//! held against the limit.

use jiff::civil::{Date, DateTime};

use super::beside::{
    Beside as Compared, Certificate, NoComparison, Pair, Recalibration, Shift, recalibrated,
};
use crate::station::{Beside, Calibration, Event, Happened, Radiometer, Station, Upkeep};

/// A radiometer within one calibration.
#[derive(Debug, Clone, PartialEq)]
pub struct Scale {
    /// Its name.
    pub radiometer: String,
    /// The first moment of it; `None`: as long as it is known.
    pub since: Option<DateTime>,
    /// The last day on which the calibration counts, where it is known.
    pub due: Option<Date>,
    /// How its readings are carried to the scale of the limits.
    pub carried: Carried,
}

/// How readings are carried to the scale of the limits.
#[derive(Debug, Clone, PartialEq)]
pub enum Carried {
    /// They are on it.
    Own,
    /// Multiplied by a factor for the calibrations in between; `added` is the relative standard uncertainty of that.
    ByCalibrations {
        /// What readings are multiplied by.
        factor: f64,
        /// Shared by all readings on this scale.
        added: f64,
        /// For one of the calibrations it is not known how the radiometer was found: the factor is 1 there.
        unknown: bool,
    },
    /// By a comparison with the main radiometer: its index, and a factor for calibrations of the main radiometer since.
    ByComparison {
        /// Index in the upkeep's comparisons.
        beside: usize,
        /// What the converted reading is multiplied by.
        factor: f64,
        /// Relative standard uncertainty of that factor.
        added: f64,
    },
    /// Not at all: it was not read side by side with the main radiometer within this calibration.
    NotCompared,
}

/// What two radiometers side by side tell.
pub type Comparison = Result<Compared, NoComparison>;

/// Relative standard uncertainty with which a laboratory tells what a radiometer shows before and after in one session (common
/// practice, no source).
const SESSION: f64 = 0.003;

/// Settings of pairs whose level differs by less are one: repeats.
const SAME_LEVEL: f64 = 0.03;

/// The pairs of a comparison; readings of the same level one after the other are repeats at one setting.
pub fn pairs(beside: &Beside) -> Vec<Pair> {
    let mut setting = 0;
    let mut level: Option<f64> = None;
    (beside.pairs.iter())
        .map(|&(main, stand_in)| {
            if level.is_some_and(|level| (main / level).ln().abs() > SAME_LEVEL) {
                setting += 1;
                level = None;
            }
            level.get_or_insert(main);
            Pair {
                setting,
                main,
                stand_in,
            }
        })
        .collect()
}

/// The calibrations of a radiometer, oldest first.
pub fn calibrations<'a>(upkeep: &'a Upkeep, radiometer: &str) -> Vec<(&'a Event, &'a Calibration)> {
    let all = upkeep.events.iter().filter_map(|event| match &event.what {
        Happened::Calibrated(of) if of.radiometer == radiometer => Some((event, of)),
        _ => None,
    });
    all.collect()
}

/// What the certificate in force at a moment says of a radiometer's scale.
pub fn certificate(
    station: &Station,
    upkeep: &Upkeep,
    name: &str,
    at: DateTime,
) -> Option<Certificate> {
    let calibrations = calibrations(upkeep, name);
    let last = calibrations.iter().rfind(|(event, _)| event.at <= at);
    if let Some((_, calibration)) = last {
        return of_certificate(
            calibration.expanded_uncertainty_percent,
            calibration.coverage_factor,
        );
    }
    let radiometer = station.radiometers.iter().find(|r| r.name == name)?;
    of_certificate(
        radiometer.expanded_uncertainty_percent,
        radiometer.coverage_factor,
    )
}

fn of_certificate(percent: Option<f64>, k: f64) -> Option<Certificate> {
    let expanded = percent? / 100.0;
    Some(Certificate { expanded, k })
}

/// What a comparison tells.
pub fn compared(station: &Station, upkeep: &Upkeep, beside: &Beside) -> Comparison {
    let at = beside.on.at(23, 59, 59, 0);
    let of = |name: &str| certificate(station, upkeep, name, at);
    let certificates = of(&beside.main).zip(of(&beside.stand_in));
    let common = beside.common_percent.unwrap_or(0.0) / 200.0;
    Compared::of(&pairs(beside), certificates, common)
}

/// What a calibration changed; `None` where it is not said how the radiometer was found.
pub fn shift(
    station: &Station,
    upkeep: &Upkeep,
    event: &Event,
    calibration: &Calibration,
) -> Option<Result<Shift, NoComparison>> {
    let found = 1.0 + calibration.found_percent? / 100.0;
    let before = event.at - jiff::Span::new().seconds(1);
    let certificates =
        certificate(station, upkeep, &calibration.radiometer, before).zip(of_certificate(
            calibration.expanded_uncertainty_percent,
            calibration.coverage_factor,
        ));
    let factors = Recalibration::Factors(1.0 / found, 1.0);
    Some(recalibrated(factors, certificates, 0.0))
}

/// The scales of a station, by radiometer and time.
#[derive(Debug, Clone, PartialEq)]
pub struct Scales {
    /// In the order of radiometers and of time.
    pub all: Vec<Scale>,
}

impl Scales {
    /// All scales; `main` is the radiometer that the limits belong to, `on` the day on which its scale was theirs.
    pub fn of(
        station: &Station,
        upkeep: &Upkeep,
        comparisons: &[Comparison],
        main: Option<&str>,
        on: Date,
    ) -> Self {
        let mut all = Vec::new();
        for radiometer in &station.radiometers {
            let events = calibrations(upkeep, &radiometer.name);
            let first = first_due(radiometer, &events);
            let begins = std::iter::once((None, first))
                .chain((events.iter()).map(|(event, of)| (Some(event.at), of.due)));
            for (since, due) in begins {
                all.push(Scale {
                    radiometer: radiometer.name.clone(),
                    since,
                    due,
                    carried: Carried::NotCompared,
                });
            }
        }
        let mut scales = Self { all };
        let Some(main) = main else { return scales };
        let theirs = scales.at(main, on.at(23, 59, 59, 0));
        for i in 0..scales.all.len() {
            let scale = &scales.all[i];
            let carried = if scale.radiometer == main {
                theirs
                    .map(|theirs| by_calibrations(station, upkeep, main, &scales.all, (i, theirs)))
            } else {
                by_comparison(station, upkeep, comparisons, &scales, i, (main, theirs))
            };
            scales.all[i].carried = carried.unwrap_or(Carried::NotCompared);
        }
        scales
    }

    /// The scale of a radiometer at a moment.
    pub fn at(&self, radiometer: &str, at: DateTime) -> Option<usize> {
        let mut found = None;
        for (i, scale) in self.all.iter().enumerate() {
            if scale.radiometer == radiometer && scale.since.is_none_or(|since| since <= at) {
                found = Some(i);
            }
        }
        found
    }
}

/// The register has the calibration that counts now: it is that of the time before the first event where it is older.
fn first_due(radiometer: &Radiometer, events: &[(&Event, &Calibration)]) -> Option<Date> {
    let is_older = match (events.first(), radiometer.calibrated_on) {
        (None, _) => true,
        (Some((event, _)), Some(on)) => on < event.at.date(),
        (Some(_), None) => false,
    };
    radiometer.due.filter(|_| is_older)
}

/// From the main radiometer's scale `from` to its scale `to`. How it was found and how it was left is read in one session
/// against one standard, so the certificates' uncertainties do not count; what is not known is when between the calibrations it
/// strayed: anywhere from nothing to all of it at the time of the survey, a rectangular distribution (JCGM 100:2008, 4.3.7).
/// Where nobody said how it was found both certificates count in full.
fn by_calibrations(
    station: &Station,
    upkeep: &Upkeep,
    main: &str,
    all: &[Scale],
    (from, to): (usize, usize),
) -> Carried {
    if from == to {
        return Carried::Own;
    }
    // later readings are too low by how the radiometer was found, earlier ones too high
    let later = from > to;
    let (low, high) = (from.min(to), from.max(to));
    let (mut log, mut variance, mut unknown) = (0.0, 0.0, false);
    for (event, calibration) in calibrations(upkeep, main) {
        let begins = all[low + 1..=high]
            .iter()
            .any(|s| s.since == Some(event.at));
        if !begins {
            continue;
        }
        match calibration.found_percent {
            Some(found) => {
                let found = (1.0 + found / 100.0).ln();
                log += found;
                variance += SESSION.powi(2) + found * found / 12.0;
            }
            None => {
                unknown = true;
                let before = event.at - jiff::Span::new().seconds(1);
                let of = |at| certificate(station, upkeep, main, at);
                let both = [of(before), of(event.at)].into_iter().flatten();
                variance += both.map(|c| (c.expanded / c.k).powi(2)).sum::<f64>();
            }
        }
    }
    Carried::ByCalibrations {
        factor: if later { log } else { -log }.exp(),
        added: variance.sqrt(),
        unknown,
    }
}

/// A stand-in's scale by the newest comparison within it.
fn by_comparison(
    station: &Station,
    upkeep: &Upkeep,
    comparisons: &[Comparison],
    scales: &Scales,
    of: usize,
    (main, theirs): (&str, Option<usize>),
) -> Option<Carried> {
    let name = &scales.all[of].radiometer;
    let found = (0..upkeep.beside.len()).rev().find(|&i| {
        let beside = &upkeep.beside[i];
        beside.main == main
            && beside.stand_in == *name
            && comparisons.get(i).is_some_and(Result::is_ok)
            && scales.at(name, beside.on.at(12, 0, 0, 0)) == Some(of)
    })?;
    let then = scales.at(main, upkeep.beside[found].on.at(12, 0, 0, 0))?;
    let (factor, added) = match by_calibrations(station, upkeep, main, &scales.all, (then, theirs?))
    {
        Carried::ByCalibrations { factor, added, .. } => (factor, added),
        _ => (1.0, 0.0),
    };
    Some(Carried::ByComparison {
        beside: found,
        factor,
        added,
    })
}
