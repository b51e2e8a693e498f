//! `evenfield next`: where to measure next.

use std::fmt::Write;
use std::path::PathBuf;
use std::process::ExitCode;

use super::common::{Choice, Failure, load, parse_length, print, watched};
use crate::assess::fit_survey;
use crate::probing::propose;
use crate::record::NextRecord;
use crate::units::{LengthUnit, fixed};

/// Arguments of `next`.
#[derive(Debug, clap::Args)]
pub struct Next {
    /// The station file.
    station: PathBuf,
    /// How many positions at most.
    #[arg(long, default_value_t = 3, value_parser = clap::value_parser!(u8).range(1..=12))]
    count: u8,
    /// One height for everything instead of each site's own bond line, mm.
    #[arg(long, value_name = "MM", allow_negative_numbers = true, value_parser = parse_length)]
    height: Option<f64>,
    #[command(flatten)]
    choice: Choice,
    /// Print the record as JSON.
    #[arg(long)]
    json: bool,
}

impl Next {
    pub(super) fn run(self) -> Result<ExitCode, Failure> {
        let station = load(&self.station)?;
        let request = self.choice.request(&station, self.height, None)?;
        let (survey, proposal) = watched(|progress| {
            let fit = fit_survey(&station, &request, progress)?;
            let count = usize::from(self.count);
            propose(&fit, &station, &request, count, progress).map(|p| (fit.survey, p))
        })
        .map_err(|error| Failure::of(&self.station, error))?;
        let record = NextRecord::new(&station, survey, &proposal);
        if self.json {
            print(&format!("{}\n", serde_json::to_string_pretty(&record)?))?;
            return Ok(ExitCode::SUCCESS);
        }
        let mut text = String::new();
        // Writing to a String can't fail.
        let _ = writeln!(
            text,
            "Assured minimum, relative, of survey {}: {} mW/cm², with 95 % confidence",
            record.survey,
            fixed(record.assured_mw_cm2, 1)
        );
        if record.positions.is_empty() {
            let _ = writeln!(
                text,
                "No further position would raise it by more than can be told from noise"
            );
        } else {
            let _ = writeln!(
                text,
                "Read each at {}",
                LengthUnit::Mm.show_list(&record.heights_mm)
            );
        }
        for p in &record.positions {
            let _ = writeln!(
                text,
                "{:<4} at {}, {} mm: {} mW/cm² to expect then",
                p.position,
                fixed(p.x_mm, 1),
                fixed(p.y_mm, 1),
                fixed(p.expected_assured_mw_cm2, 1)
            );
        }
        print(&text)?;
        Ok(ExitCode::SUCCESS)
    }
}
