//! `evenfield field`: the field at one height as CSV.

use std::path::PathBuf;
use std::process::ExitCode;

use super::common::{Choice, Failure, load, parse_length, print, watched, write_new};
use crate::assess::fit_survey;
use crate::export;
use crate::field::Raster;

/// Nodes a CSV may have: two million lines are about 100 MB.
const MOST_NODES: f64 = 2e6;

/// Arguments of `field`.
#[derive(Debug, clap::Args)]
pub struct Field {
    /// The station file.
    station: PathBuf,
    /// Height above the fixture's base, mm.
    #[arg(long, value_name = "MM", allow_negative_numbers = true, value_parser = parse_length)]
    height: f64,
    /// Distance between nodes, mm; a little less where nodes would miss the far edges.
    #[arg(long, value_name = "MM", allow_negative_numbers = true, default_value = "2", value_parser = parse_length)]
    step: f64,
    #[command(flatten)]
    choice: Choice,
    /// The CSV file to write; standard output when it is left out.
    #[arg(long)]
    out: Option<PathBuf>,
    /// Replace the file if it is there.
    #[arg(long)]
    force: bool,
}

impl Field {
    pub(super) fn run(self) -> Result<ExitCode, Failure> {
        let station = load(&self.station)?;
        let outline = station.fixture.footprint();
        let bounds = outline.bounds();
        if self.step <= 0.0 || bounds.width() * bounds.depth() / self.step.powi(2) > MOST_NODES {
            return Err(Failure(format!(
                "--step {}: give a step above 0 that makes fewer than two million nodes",
                self.step
            )));
        }
        let request = self.choice.request(&station, None, Some(self.height))?;
        let raster = watched(|progress| -> Result<Raster, Failure> {
            let fit = fit_survey(&station, &request, progress)
                .map_err(|error| Failure::of(&self.station, error))?;
            let mut raster = Raster::of(&fit.field, &outline, self.height, self.step, progress)?;
            raster.mark_beyond_positions(&fit.field);
            Ok(raster)
        })?;
        let fitted = |step: f64| (step - self.step).abs() > 1e-9 * self.step;
        if fitted(raster.step_x) || fitted(raster.step_y) {
            eprintln!(
                "The nodes stand {} x {} mm apart, so that there are some on every edge",
                crate::units::LengthUnit::Mm.show(raster.step_x),
                crate::units::LengthUnit::Mm.show(raster.step_y)
            );
        }
        let csv = export::field_csv(&raster);
        match &self.out {
            Some(path) => write_new(path, csv.as_bytes(), self.force)?,
            None => print(&csv)?,
        }
        Ok(ExitCode::SUCCESS)
    }
}
