//! What a recalibration touches: readings and surveys since the calibration before it, and their verdicts with the radiometer
//! as it was found.

use jiff::civil::DateTime;

use super::beside::{NoComparison, Shift};
use super::scales::{calibrations, shift};
use crate::assess::limits::Verdict;
use crate::assess::{Assessment, NoAnswer, Request};
use crate::progress::{Cancelled, Progress};
use crate::station::{Event, Happened, Station, Upkeep};

/// One calibration and what it touches.
#[derive(Debug, Clone, PartialEq)]
pub struct Touched {
    /// Index of its event.
    pub event: usize,
    /// What it changed; `None`: nobody said how the radiometer was found.
    pub shift: Option<Result<Shift, NoComparison>>,
    /// Surveys that were, by index, each with its verdict as it was and with the radiometer as it was found all along: the
    /// worst that its drift can have done. `None` where there is none.
    pub surveys: Vec<(usize, Option<Again>)>,
}

/// A verdict worked out again.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Again {
    /// As it was.
    pub was: Verdict,
    /// With the readings as they would have been.
    pub now: Verdict,
    /// What the lower limit is held against, mW/cm²: as it was, and now.
    pub judged: (Option<f64>, Option<f64>),
}

/// Works out what every calibration touches.
///
/// # Errors
/// [`Cancelled`].
pub fn touched(
    station: &Station,
    upkeep: &Upkeep,
    progress: &Progress,
) -> Result<Vec<Touched>, Cancelled> {
    let mut all = Vec::new();
    for (i, event) in upkeep.events.iter().enumerate() {
        progress.check()?;
        let Happened::Calibrated(calibration) = &event.what else {
            continue;
        };
        let name = &calibration.radiometer;
        let before = calibrated_before(upkeep, name, event.at);
        let surveys = station.surveys.iter().enumerate().filter(|(_, survey)| {
            survey.radiometer.as_ref().is_some_and(|r| r.name == *name)
                && survey.date < event.at.date()
                && before.is_none_or(|before| survey.date >= before.date())
        });
        let shift = shift(station, upkeep, event, calibration);
        let factor = 1.0 / (1.0 + calibration.found_percent.unwrap_or(0.0) / 100.0);
        let mut of_surveys = Vec::new();
        for (index, _) in surveys {
            let again = match station.limits {
                Some(_) if factor != 1.0 => again(station, index, factor, progress)?,
                _ => None,
            };
            of_surveys.push((index, again));
        }
        all.push(Touched {
            event: i,
            shift,
            surveys: of_surveys,
        });
    }
    Ok(all)
}

/// How many entries of the log were read with the radiometer of a calibration since the one before.
pub fn entries_touched(upkeep: &Upkeep, event: &Event) -> usize {
    let Happened::Calibrated(of) = &event.what else {
        return 0;
    };
    let before = calibrated_before(upkeep, &of.radiometer, event.at);
    let entries = upkeep.log.iter().filter(|entry| {
        entry.radiometer == of.radiometer
            && entry.at < event.at
            && before.is_none_or(|before| entry.at >= before)
    });
    entries.count()
}

/// When a radiometer was calibrated last before a moment.
fn calibrated_before(upkeep: &Upkeep, radiometer: &str, at: DateTime) -> Option<DateTime> {
    let all = calibrations(upkeep, radiometer).into_iter();
    all.map(|(event, _)| event.at).rfind(|before| *before < at)
}

fn again(
    station: &Station,
    survey: usize,
    factor: f64,
    progress: &Progress,
) -> Result<Option<Again>, Cancelled> {
    let request = Request::of_survey(survey);
    let judged = |station: &Station| -> Result<Option<(Verdict, Option<f64>)>, Cancelled> {
        match Assessment::of(station, &request, progress) {
            Ok(assessed) => Ok(assessed
                .answer
                .judged()
                .map(|judged| (judged.verdict, judged.coldest.bounds.at_least))),
            Err(NoAnswer::Cancelled) => Err(Cancelled),
            Err(NoAnswer::Missing(_)) => Ok(None),
        }
    };
    let mut found = station.clone();
    for reading in &mut found.surveys[survey].readings {
        reading.irradiance = reading.irradiance.map(|e| factor * e);
    }
    let (was, now) = (judged(station)?, judged(&found)?);
    Ok(was.zip(now).map(|(was, now)| Again {
        was: was.0,
        now: now.0,
        judged: (was.1, now.1),
    }))
}
