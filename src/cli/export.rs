//! `evenfield export`: sheets and files into a folder.

use std::path::PathBuf;
use std::process::ExitCode;

use jiff::civil::Date;

use super::common::{Choice, Failure, Paper, load_whole, parse_length, watched};
use crate::export::bundle::{self, Bundle, MadeOn, Sheets};
use crate::export::change::{ChangeBundle, change_files};
use crate::export::repeat;
use crate::files::{self, Drive, Opened};
use crate::sheet::report::MadeFrom;
use crate::station::Station;

/// Arguments of `export`.
#[derive(Debug, clap::Args)]
pub struct Export {
    /// The station file.
    station: PathBuf,
    /// The folder to write into; made when it is not there.
    #[arg(long)]
    out: PathBuf,
    /// Only these, with commas between: map, plan, plate, sheet, placement, readings, field, summary, log, report; or change, which takes --from and --to; or repeat, the page of the repeat study.
    #[arg(long, value_parser = Only::parse)]
    only: Option<Only>,
    /// With --only change: name of the earlier survey.
    #[arg(long, value_name = "SURVEY")]
    from: Option<String>,
    /// With --only change: name of the later survey.
    #[arg(long, value_name = "SURVEY")]
    to: Option<String>,
    /// The day on which log and report are made; today when it is left out.
    #[arg(long, value_name = "DAY")]
    on: Option<Date>,
    /// The first day of the log that is shown; its beginning when it is left out.
    #[arg(long, value_name = "DAY")]
    log_from: Option<Date>,
    /// The last day of the log that is shown; its end when it is left out.
    #[arg(long, value_name = "DAY")]
    log_to: Option<Date>,
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

/// What is asked for by name: sheets of one survey, or one survey against another.
#[derive(Debug, Clone, Copy)]
struct Only {
    sheets: Option<Sheets>,
    change: bool,
    repeat: bool,
}

impl Only {
    fn parse(text: &str) -> Result<Self, String> {
        let names: Vec<&str> = text.split(',').map(str::trim).collect();
        let own = ["change", "repeat"];
        let sheets: Vec<&str> = (names.iter().copied())
            .filter(|n| !own.contains(n))
            .collect();
        let rest = Sheets::parse(&sheets.join(","));
        Ok(Self {
            change: names.contains(&"change"),
            repeat: names.contains(&"repeat"),
            sheets: match &sheets[..] {
                [] => None,
                _ => Some(rest.map_err(|why| format!("{why}, change, repeat"))?),
            },
        })
    }
}

impl Export {
    /// The files of one survey against another.
    fn changed(
        &self,
        station: &Station,
        made_from: Option<&MadeFrom>,
    ) -> Result<Vec<(String, Vec<u8>)>, Failure> {
        let survey = |flag: &str, name: &Option<String>| {
            let Some(name) = name else {
                return Err(Failure(format!(
                    "{flag}: name a survey; --only change holds one survey against another"
                )));
            };
            station
                .survey(name)
                .ok_or_else(|| Failure(format!("{flag}: there is no survey '{name}'")))
        };
        let wanted = ChangeBundle {
            station,
            surveys: (survey("--from", &self.from)?, survey("--to", &self.to)?),
            length: Default::default(),
            irradiance: Default::default(),
            paper: self.paper.into(),
            made_from,
        };
        self.may_write(&["change.pdf", "change.svg", "change.png", "change.json"])?;
        watched(|progress| change_files(&wanted, progress))
            .map_err(|error| Failure::of(&self.station, error))
    }

    /// The files of the repeat study.
    fn repeated(
        &self,
        station: &Station,
        made_from: Option<&MadeFrom>,
    ) -> Result<Vec<(String, Vec<u8>)>, Failure> {
        self.may_write(&repeat::NAMES)?;
        let request = self.choice.request(station, None, None)?;
        let (family, paper) = (request.family, self.paper.into());
        watched(|progress| {
            repeat::repeat_files(
                station,
                family,
                Default::default(),
                paper,
                made_from,
                progress,
            )
        })
        .map_err(|error| Failure::of(&self.station, error))
    }

    pub(super) fn run(self) -> Result<ExitCode, Failure> {
        let Opened { station, trail } = load_whole(&self.station)?;
        let made = MadeOn {
            today: self.on.unwrap_or_else(|| jiff::ZonedDateTime::now().date()),
            trail: &trail,
            period: (self.log_from, self.log_to),
        };
        let made_from = made.made_from(&station);
        let mut further = Vec::new();
        if self.only.is_some_and(|only| only.change) {
            further = self.changed(&station, made_from.as_ref())?;
        } else if self.from.is_some() || self.to.is_some() {
            return Err(Failure(
                "--from and --to go with --only change; add it or leave them out".to_owned(),
            ));
        }
        if self.only.is_some_and(|only| only.repeat) {
            further.extend(self.repeated(&station, made_from.as_ref())?);
        }
        let sheets = match self.only {
            Some(only) => only.sheets,
            None => Some(Sheets::ALL),
        };
        let Some(sheets) = sheets else {
            return self.write(further);
        };
        self.may_write(&bundle::names(sheets))?;
        let request = self.choice.request(&station, None, self.height)?;
        let wanted = Bundle {
            station: &station,
            request,
            fit: None,
            map_height: self.height,
            sheets,
            length: Default::default(),
            irradiance: Default::default(),
            arranged: None,
            paper: self.paper.into(),
            colours: Default::default(),
            range: None,
            uncertainty_range: None,
            made,
        };
        let mut made = watched(|progress| bundle::files(&wanted, progress))
            .map_err(|error| Failure::of(&self.station, error))?;
        made.append(&mut further);
        self.write(made)
    }

    fn write(&self, made: Vec<(String, Vec<u8>)>) -> Result<ExitCode, Failure> {
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
