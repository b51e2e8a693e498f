//! `evenfield verdict`: the answer, for people or as JSON.

use std::path::PathBuf;
use std::process::ExitCode;

use super::{Choice, Failure, load, parse_length, print, watched, words};
use crate::assess::answer;
use crate::record::VerdictRecord;

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
        if self.require_limits {
            return Err(Failure::of(
                &self.station,
                "the station has no limits to hold the field against; set them first or leave --require-limits out",
            ));
        }
        let request = self.choice.request(&station, self.height, None)?;
        let answer = watched(|progress| answer(&station, &request, progress))
            .map_err(|error| Failure::of(&self.station, error))?;
        let record = VerdictRecord::new(&station, &answer);
        if self.json {
            let text = serde_json::to_string_pretty(&record)?;
            print(&format!("{text}\n"))?;
        } else {
            print(&words::verdict(&record))?;
        }
        eprintln!("No limits are set, so there is no verdict yet");
        Ok(ExitCode::SUCCESS)
    }
}
