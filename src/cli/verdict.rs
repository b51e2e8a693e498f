//! `evenfield verdict`: the answer, for people or as JSON.

use std::path::PathBuf;
use std::process::ExitCode;

use super::common::{Choice, Failure, load, parse_length, print, watched};
use super::limits::{answered, judged};
use super::words;
use crate::assess::limits::{Verdict as Said, terms};
use crate::record::VerdictRecord;

/// Exit statuses of a verdict that is not `meets`.
const FAILS: u8 = 1;
const NOT_PROVEN: u8 = 3;

/// Arguments of `verdict`.
#[derive(Debug, clap::Args)]
pub struct Verdict {
    /// The station file.
    station: PathBuf,
    /// One height for everything instead of each site's own bond line, mm.
    #[arg(long, value_name = "MM", allow_negative_numbers = true, value_parser = parse_length)]
    height: Option<f64>,
    #[command(flatten)]
    choice: Choice,
    /// Print the record as JSON.
    #[arg(long)]
    json: bool,
    /// A station without limits is an error.
    #[arg(long)]
    require_limits: bool,
}

impl Verdict {
    pub(super) fn run(self) -> Result<ExitCode, Failure> {
        let station = load(&self.station)?;
        let index = (self.choice.survey.as_deref())
            .map_or_else(|| station.newest_survey(), |name| station.survey(name));
        let survey = index.and_then(|i| station.survey_at(i));
        if self.require_limits
            && let Err(why) = terms(&station, survey)
        {
            return Err(Failure::of(
                &self.station,
                format!("{why}; or leave --require-limits out"),
            ));
        }
        let request = self.choice.request(&station, self.height, None)?;
        let (answer, outlook) = watched(|progress| answered(&station, &request, progress))
            .map_err(|error| Failure::of(&self.station, error))?;
        let record = VerdictRecord::new(&station, &answer, outlook.as_ref());
        if self.json {
            let text = serde_json::to_string_pretty(&record)?;
            print(&format!("{text}\n"))?;
        } else {
            print(&words::verdict(&record))?;
        }
        Ok(match judged(&answer).map(|j| j.verdict) {
            Some(Said::Meets) => ExitCode::SUCCESS,
            Some(Said::Fails) => ExitCode::from(FAILS),
            Some(Said::NotProven) => ExitCode::from(NOT_PROVEN),
            None => {
                match &answer.judged {
                    Some(Err(why)) => eprintln!("{why}; so there is no verdict yet"),
                    _ => eprintln!("No limits are set, so there is no verdict yet"),
                }
                ExitCode::SUCCESS
            }
        })
    }
}
