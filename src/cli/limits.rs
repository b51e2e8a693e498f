//! `evenfield limits`: which limits hold and what follows from them.

use std::path::PathBuf;
use std::process::ExitCode;

use super::common::{Choice, Failure, load, print, watched};
use super::words;
use crate::assess::limits::{Judged, Outlook, terms};
use crate::assess::{Answer, Assessment, NoAnswer, Request};
use crate::progress::Progress;
use crate::record::{LimitsRecord, said_mw_cm2};
use crate::station::Station;

/// Arguments of `limits`.
#[derive(Debug, clap::Args)]
pub struct Limits {
    /// The station file.
    station: PathBuf,
    #[command(flatten)]
    choice: Choice,
    /// Print the record as JSON.
    #[arg(long)]
    json: bool,
}

/// An answer with what hangs on its verdict, where there are limits.
pub(super) fn answered(
    station: &Station,
    request: &Request,
    progress: &Progress,
) -> Result<(Answer, Option<Outlook>), NoAnswer> {
    let assessed = Assessment::of(station, request, progress)?;
    let outlook = assessed.outlook(station, &said_mw_cm2, progress)?;
    Ok((assessed.answer, outlook))
}

pub(super) fn judged(answer: &Answer) -> Option<&Judged> {
    answer.judged.as_ref()?.as_ref().ok()
}

impl Limits {
    pub(super) fn run(self) -> Result<ExitCode, Failure> {
        let station = load(&self.station)?;
        let of_station = |error| Failure::of(&self.station, error);
        let request = self.choice.request(&station, None, None)?;
        let index = request.survey.or(station.newest_survey());
        let survey = index.and_then(|i| station.survey_at(i));
        // the limits hold without any reading; what can't be said then is said to be missing
        let terms = terms(&station, survey).map_err(of_station)?;
        let read = survey.is_some_and(|s| s.readings.iter().any(|r| r.counted().is_some()));
        let answer = if read {
            let made = watched(|progress| answered(&station, &request, progress));
            Some(made.map_err(|error| Failure::of(&self.station, error))?)
        } else {
            None
        };
        let record = match &answer {
            Some((answer, outlook)) => LimitsRecord::new(&terms, judged(answer), outlook.as_ref()),
            None => LimitsRecord::new(&terms, None, None),
        };
        if self.json {
            let text = serde_json::to_string_pretty(&record)?;
            print(&format!("{text}\n"))?;
        } else {
            print(&words::limits(&record))?;
        }
        Ok(ExitCode::SUCCESS)
    }
}
