//! `evenfield export`: sheets and files into a folder.

use std::path::PathBuf;
use std::process::ExitCode;

use super::common::{Choice, Failure, Paper, load, parse_length, watched};
use crate::export::bundle::{self, Bundle, Sheets};
use crate::files::{self, Drive};

/// Arguments of `export`.
#[derive(Debug, clap::Args)]
pub struct Export {
    /// The station file.
    station: PathBuf,
    /// The folder to write into; made when it is not there.
    #[arg(long)]
    out: PathBuf,
    /// Only these, with commas between: map, plan, placement, readings, field, summary.
    #[arg(long, value_parser = Sheets::parse)]
    only: Option<Sheets>,
    /// Height of the map, mm; that of the coldest spot when it is left out.
    #[arg(long, value_name = "MM", allow_negative_numbers = true, value_parser = parse_length)]
    height: Option<f64>,
    #[command(flatten)]
    choice: Choice,
    /// The paper of the pages.
    #[arg(long, value_enum, default_value = "a4")]
    paper: Paper,
    /// Replace files that are there.
    #[arg(long)]
    force: bool,
}

impl Export {
    pub(super) fn run(self) -> Result<ExitCode, Failure> {
        let station = load(&self.station)?;
        let sheets = self.only.unwrap_or(Sheets::ALL);
        self.may_write(&bundle::names(sheets))?;
        let request = self.choice.request(&station, None, self.height)?;
        let wanted = Bundle {
            station: &station,
            request,
            map_height: self.height,
            sheets,
            length: Default::default(),
            irradiance: Default::default(),
            arranged: None,
            paper: self.paper.into(),
            colours: Default::default(),
            range: None,
            uncertainty_range: None,
        };
        let made = watched(|progress| bundle::files(&wanted, progress))
            .map_err(|error| Failure::of(&self.station, error))?;
        // how many pages a map has is known by now
        let names: Vec<&str> = made.iter().map(|(name, _)| &**name).collect();
        self.may_write(&names)?;
        for path in files::write_all(&Drive::default(), &self.out, &made)? {
            println!("{}", path.display());
        }
        Ok(ExitCode::SUCCESS)
    }

    /// Nothing that is there is replaced unless it was asked for.
    fn may_write(&self, names: &[&str]) -> Result<(), Failure> {
        let there = files::those_there(&Drive::default(), &self.out, names)?;
        let Some(first) = there.first().filter(|_| !self.force) else {
            return Ok(());
        };
        let (what, them) = match there.len() {
            1 => ("the file is there already".to_owned(), "it"),
            n => (format!("{n} of the files are there already"), "them"),
        };
        Err(Failure(format!(
            "{}: {what}; give --force to replace {them}",
            self.out.join(first).display()
        )))
    }
}
