//! `evenfield log`: the irradiance log, what it tells, and readings that are put into it.

use std::fmt::Write;
use std::path::PathBuf;
use std::process::ExitCode;

use jiff::civil::Date;

use super::common::{Choice, Failure, load_whole, print, save_over, watched};
use super::limits::answered;
use crate::files::{Drive, log_csv, not_in_log, read_log};
use crate::record::{UpkeepRecord, upkeep_words};
use crate::station::{Edit, Station};
use crate::units::Units;
use crate::upkeep::{MonitorTerms, Review};

/// Arguments of `log`.
#[derive(Debug, clap::Args)]
pub struct Log {
    /// The station file.
    station: PathBuf,
    /// Put the readings of this CSV, TSV or XLSX file into the log first: date, irradiance_mw_cm2 and, if present, time,
    /// radiometer, lamp_hours, at_coldest_mw_cm2, by, set_aside, saturated, note. Those that are in it already are left out; the
    /// previous version of the station file is kept as .bak.
    #[arg(long, value_name = "FILE")]
    add: Option<PathBuf>,
    /// The day on which it is told; today when it is left out.
    #[arg(long, value_name = "DAY")]
    on: Option<Date>,
    #[command(flatten)]
    choice: Choice,
    /// Print the record as JSON.
    #[arg(long, conflicts_with = "csv")]
    json: bool,
    /// Print the entries as CSV.
    #[arg(long)]
    csv: bool,
}

impl Log {
    pub(super) fn run(self) -> Result<ExitCode, Failure> {
        let before = load_whole(&self.station)?;
        let mut station = before.station.clone();
        if let Some(file) = &self.add {
            let entries = read_log(&Drive::default(), file).map_err(|errors| {
                let lines: Vec<String> = errors.iter().map(ToString::to_string).collect();
                Failure(lines.join("\n"))
            })?;
            let (entries, known) = not_in_log(entries, &station.upkeep().log);
            let count = entries.len();
            if count > 0 {
                let name = String::new();
                station.apply(Edit::AddToLog { entries, name })?;
                save_over(&self.station, &station, &before)?;
            }
            eprintln!(
                "{count} readings put into the log of {}; {known} were in it already",
                self.station.display()
            );
        }
        if self.csv {
            let upkeep = station.upkeep();
            print(&log_csv(upkeep.log.iter()))?;
            return Ok(ExitCode::SUCCESS);
        }
        let review = self.reviewed(&station)?;
        let upkeep = station.upkeep();
        let units = Units::default();
        let record = UpkeepRecord::new(&station, &upkeep, &review, units);
        if self.json {
            print(&format!("{}\n", serde_json::to_string_pretty(&record)?))?;
        } else {
            print(&words(&record, &review))?;
        }
        Ok(ExitCode::SUCCESS)
    }

    fn reviewed(&self, station: &Station) -> Result<Review, Failure> {
        let of_station = |error: &dyn std::fmt::Display| Failure::of(&self.station, error);
        let request = self.choice.request(station, None, None)?;
        let today = self.on.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
        let survey = request.survey.or(station.newest_survey());
        let survey = survey.and_then(|i| station.survey_at(i));
        let is_read = survey.is_some_and(|s| s.readings.iter().any(|r| r.counted().is_some()));
        let terms = match station.limits.is_some() && is_read {
            true => {
                let made = watched(|progress| answered(station, &request, progress))
                    .map_err(|error| of_station(&error))?;
                match made {
                    (answer, Some(outlook)) => {
                        MonitorTerms::of(station, &request, &answer, &outlook)
                    }
                    (_, None) => MonitorTerms::without(station),
                }
            }
            false => MonitorTerms::without(station),
        };
        let upkeep = station.upkeep();
        watched(|progress| Review::of(station, &upkeep, terms, today, progress))
            .map_err(|_| Failure("stopped".to_owned()))
    }
}

fn words(record: &UpkeepRecord, review: &Review) -> String {
    let mut text = String::new();
    // Writing to a String can't fail.
    let mut line = |s: &str| {
        let _ = writeln!(text, "{s}");
    };
    line(&format!(
        "{}: {} entries in the irradiance log, {} count",
        record.station, record.entries, record.counted
    ));
    if let Some(latest) = &record.latest {
        latest.says.iter().for_each(|s| line(s));
    }
    if let Some(next) = upkeep_words::next_words(review) {
        line(&next);
    }
    for note in &record.notes {
        line(&format!("Note: {note}"));
    }
    if let Some(outlook) = &record.outlook {
        line(&outlook.says);
    }
    for lamp in &record.lamps {
        line(&format!(
            "Lamp since {}, {} readings",
            lamp.since, lamp.readings
        ));
        lamp.says.iter().for_each(|s| line(&format!("  {s}")));
    }
    for beside in &record.side_by_side {
        line(&format!(
            "{} and {} side by side on {}",
            beside.main, beside.stand_in, beside.on
        ));
        beside.says.iter().for_each(|s| line(&format!("  {s}")));
    }
    for (heading, due) in [
        ("What is due:", &record.due),
        (
            "A whole survey is due, for since the one that judges:",
            &record.survey_due,
        ),
    ] {
        if !due.is_empty() {
            line(heading);
            due.iter().for_each(|s| line(&format!("  {s}")));
        }
    }
    text
}
