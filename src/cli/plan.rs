//! `evenfield plan`: the probe-position plan in the order of its route.

use std::fmt::Write;
use std::path::PathBuf;
use std::process::ExitCode;

use super::{Failure, load, print};
use crate::record::PlanRecord;
use crate::units::fixed;

/// Arguments of `plan`.
#[derive(Debug, clap::Args)]
pub struct Plan {
    /// The station file.
    station: PathBuf,
    /// Print the plan as JSON.
    #[arg(long)]
    json: bool,
}

impl Plan {
    pub(super) fn run(self) -> Result<ExitCode, Failure> {
        let station = load(&self.station)?;
        let record = PlanRecord::new(&station);
        if record.positions.is_empty() {
            return Err(Failure::of(
                &self.station,
                "the plan has no positions on the fixture; add some in the step Plan",
            ));
        }
        if self.json {
            print(&format!("{}\n", serde_json::to_string_pretty(&record)?))?;
            return Ok(ExitCode::SUCCESS);
        }
        let mut text = String::new();
        // Writing to a String can't fail.
        let _ = writeln!(
            text,
            "{:>4} {:<9} {:>8} {:>8} {:>8} {:>9} {:>8}   mm",
            "no.", "position", "x", "y", "height", "distance", "spacer"
        );
        for p in &record.positions {
            let _ = writeln!(
                text,
                "{:>4} {:<9} {:>8} {:>8} {:>8} {:>9} {:>8}",
                p.number,
                p.position,
                fixed(p.x_mm, 1),
                fixed(p.y_mm, 1),
                fixed(p.height_mm, 1),
                fixed(p.working_distance_mm, 1),
                p.spacer_mm.map_or_else(|| "-".into(), |s| fixed(s, 1))
            );
        }
        for warning in &record.warnings {
            let _ = writeln!(text, "Note: {warning}");
        }
        print(&text)?;
        Ok(ExitCode::SUCCESS)
    }
}
