//! `evenfield repeat`: how well a reading is repeated.

use std::fmt::Write;
use std::path::PathBuf;
use std::process::ExitCode;

use super::common::{Choice, Failure, Model, load, print, watched};
use crate::export::repeat::recorded;
use crate::record::{
    COMPONENT_HEADINGS, ROUND_HEADINGS, RepeatRecord, component_rows, proposed_words, round_rows,
};
use crate::units::fixed;

/// Arguments of `repeat`.
#[derive(Debug, clap::Args)]
pub struct Repeat {
    /// The station file, with a repeat study.
    station: PathBuf,
    /// How the field of the first round is made, whose slopes tell noise and placement apart; the station's setting when it is left out.
    #[arg(long, value_enum)]
    model: Option<Model>,
    /// Print the record as JSON.
    #[arg(long)]
    json: bool,
}

impl Repeat {
    pub(super) fn run(self) -> Result<ExitCode, Failure> {
        let station = load(&self.station)?;
        let choice = Choice {
            survey: None,
            model: self.model,
        };
        let request = choice.request(&station, None, None)?;
        let record = watched(|progress| recorded(&station, request.family, progress))
            .map_err(|error| Failure::of(&self.station, error))?;
        if self.json {
            print(&format!("{}\n", serde_json::to_string_pretty(&record)?))?;
        } else {
            print(&words(&record))?;
        }
        Ok(ExitCode::SUCCESS)
    }
}

fn words(record: &RepeatRecord) -> String {
    let mut text = String::new();
    // Writing to a String can't fail.
    let mut line = |s: String| {
        let _ = writeln!(text, "{s}");
    };
    line(format!(
        "{}: {} rounds over {} positions, mean {} mW/cm²",
        record.station,
        record.rounds.len(),
        record.positions,
        fixed(record.mean_mw_cm2, 2)
    ));
    line("What each round has in common, against the mean of all (95 %):".into());
    line(format!("  {}", ROUND_HEADINGS.join("  ")));
    for row in round_rows(record) {
        line(format!("  {}", row.join("  ")));
    }
    line("What readings scatter by:".into());
    for row in component_rows(record) {
        let [what, rest @ ..] = &row;
        line(format!("  {what}"));
        let told = COMPONENT_HEADINGS[1..].iter().zip(rest);
        for (heading, value) in told.filter(|(_, value)| !value.is_empty()) {
            line(format!("    {heading}: {value}"));
        }
    }
    record
        .notes
        .iter()
        .for_each(|note| line(format!("Note: {note}")));
    let (of_field, reload) = proposed_words(record);
    line(format!("For the field: {of_field}"));
    if let Some(reload) = reload {
        line(format!("For the limits: {reload}"));
    }
    line("Positions that scatter most:".into());
    for s in &record.largest_scatter {
        line(format!(
            "  {} at {}, {}, height {} mm: {} %, {} times that of all",
            s.position,
            fixed(s.at.x_mm, 1),
            fixed(s.at.y_mm, 1),
            fixed(s.at.height_mm, 1),
            fixed(s.percent, 2),
            fixed(s.over_typical, 1)
        ));
    }
    text
}
