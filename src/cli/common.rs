//! What subcommands have in common: the choice of survey and family, reading arguments, writing results.

use std::io::{IsTerminal, Write};
use std::path::Path;
use std::time::Duration;

use clap::ValueEnum;
use jiff::Timestamp;

use crate::assess::{FamilyChoice, Request};
use crate::files::{self, Drive, Opened, Saver};
use crate::geometry::Shape;
use crate::progress::Progress;
use crate::sheet::page::PaperSize;
use crate::station::{Family, Station};

/// Which survey and which family of fields; common to all commands that compute.
#[derive(Debug, clap::Args)]
pub struct Choice {
    /// Name of the survey; the newest when it is left out.
    #[arg(long)]
    pub survey: Option<String>,
    /// How the field is made from the readings; the station's setting when it is left out.
    #[arg(long, value_enum)]
    pub model: Option<Model>,
}

/// A family of fields by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Model {
    /// Source-aware where the lamp's face is over all readings, else the kriging that predicts left-out
    /// positions best.
    Auto,
    /// From the lamp's brightness and the law of distance.
    SourceAware,
    /// Kriging with a constant trend.
    OrdinaryKriging,
    /// Kriging with a trend in place and height.
    UniversalKriging,
    /// A smoothed thin plate; no assured minimum.
    ThinPlate,
    /// Natural neighbours; no assured minimum.
    NaturalNeighbour,
    /// Inverse-distance weights; no assured minimum.
    InverseDistance,
}

/// Paper by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Paper {
    /// 210 x 297 mm.
    A4,
    /// 8.5 x 11 in.
    Letter,
}

impl From<Paper> for PaperSize {
    fn from(paper: Paper) -> Self {
        match paper {
            Paper::A4 => Self::A4,
            Paper::Letter => Self::Letter,
        }
    }
}

/// A command that could not do its work: the message for standard error.
#[derive(Debug)]
pub(super) struct Failure(pub String);

impl Failure {
    /// What is wrong with what a file holds.
    pub fn of(path: &Path, what: impl std::fmt::Display) -> Self {
        Self(format!("{}: {what}", path.display()))
    }
}

impl<E: std::error::Error> From<E> for Failure {
    fn from(error: E) -> Self {
        Self(error.to_string())
    }
}

/// Reads a station file.
pub(super) fn load(path: &Path) -> Result<Station, Failure> {
    Ok(files::read(path)?.0)
}

/// Reads a station file with its trail.
pub(super) fn load_whole(path: &Path) -> Result<Opened, Failure> {
    Ok(files::open_on(&Drive::default(), path)?.0)
}

/// Saves a station over the file that it was read from, with an entry in its trail where it keeps one.
pub(super) fn save_over(path: &Path, station: &Station, before: &Opened) -> Result<(), Failure> {
    let saver = Saver {
        at: Timestamp::now(),
        by: files::who(|name| std::env::var(name).ok()),
        program: env!("CARGO_PKG_VERSION").to_owned(),
    };
    let trail = (before.trail).with(station, Some(&before.station), Some(&saver));
    files::save(path, station, &trail)?;
    Ok(())
}

impl Choice {
    /// The request for a station: `height` is that of the answer, `shown` that of a field or map.
    pub fn request(
        &self,
        station: &Station,
        height: Option<f64>,
        shown: Option<f64>,
    ) -> Result<Request, Failure> {
        let survey = match &self.survey {
            None => None,
            Some(name) => Some(station.survey(name).ok_or_else(|| {
                let names: Vec<_> = station
                    .surveys
                    .iter()
                    .map(|s| format!("'{}'", s.name))
                    .collect();
                Failure(if names.is_empty() {
                    format!(
                        "--survey: there is no survey '{name}', the station has none; import readings first"
                    )
                } else {
                    format!(
                        "--survey: there is no survey '{name}'; choose {}",
                        names.join(" or ")
                    )
                })
            })?),
        };
        let face = survey
            .or(station.newest_survey())
            .and_then(|i| station.surveys.get(i))
            .map_or(station.source.face_height, |s| s.face_height(station));
        if let Some(above) = height.into_iter().chain(shown).find(|&h| h >= face) {
            return Err(Failure(format!(
                "--height {above}: the source's face is {face} mm up; give a height below it"
            )));
        }
        let family = self.model.map(|model| match model {
            Model::Auto => FamilyChoice::Automatic,
            Model::SourceAware => FamilyChoice::Fixed(Family::SourceAware),
            Model::OrdinaryKriging => FamilyChoice::Fixed(Family::OrdinaryKriging),
            Model::UniversalKriging => FamilyChoice::Fixed(Family::UniversalKriging),
            Model::ThinPlate => FamilyChoice::Fixed(Family::ThinPlate),
            Model::NaturalNeighbour => FamilyChoice::Fixed(Family::NaturalNeighbour),
            Model::InverseDistance => FamilyChoice::Fixed(Family::InverseDistance),
        });
        Ok(Request {
            survey,
            height,
            family,
        })
    }
}

/// Reads `180x120` or, for a disk, `d120`.
pub(super) fn parse_shape(text: &str) -> Result<Shape, String> {
    let number = |part: &str| {
        crate::units::parse_number(part)
            .map_err(|e| e.to_string())
            .and_then(|v| {
                if v > 0.0 && v <= 1e5 {
                    Ok(v)
                } else {
                    Err(format!(
                        "'{part}' is no size; give mm above 0, such as 180x120 or d120"
                    ))
                }
            })
    };
    if let Some(diameter) = text.strip_prefix(['d', 'D']) {
        return Ok(Shape::Circle {
            diameter: number(diameter)?,
        });
    }
    let (width, depth) = text
        .split_once(['x', 'X', '×'])
        .ok_or("give width x depth in mm such as 180x120, or d and a diameter such as d120")?;
    Ok(Shape::Rectangle {
        width: number(width)?,
        depth: number(depth)?,
    })
}

/// Reads a finite length in mm.
pub(super) fn parse_length(text: &str) -> Result<f64, String> {
    crate::units::parse_number(text).map_err(|e| e.to_string())
}

/// A share in percent, from an argument.
pub(super) fn parse_percent(text: &str) -> Result<f64, String> {
    crate::units::parse_number(text).map_err(|e| e.to_string())
}

/// Writes a result file, never over another one unless asked to.
pub(super) fn write_new(path: &Path, bytes: &[u8], force: bool) -> Result<(), Failure> {
    if path.exists() && !force {
        return Err(Failure(format!(
            "{}: the file is there already; give --force to replace it",
            path.display()
        )));
    }
    Ok(files::write_atomic(path, bytes)?)
}

/// Prints to standard output; a reader that has gone away (`| head`) is no failure.
pub(super) fn print(text: &str) -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
        other => Ok(other?),
    }
}

/// Does work that may take long and shows on a terminal how far it is.
pub(super) fn watched<T>(work: impl FnOnce(&Progress) -> T) -> T {
    let progress = Progress::new();
    if !std::io::stderr().is_terminal() {
        return work(&progress);
    }
    let (done, ended) = std::sync::mpsc::channel::<()>();
    std::thread::scope(|scope| {
        let seen = progress.clone();
        scope.spawn(move || {
            let mut shown = false;
            while ended.recv_timeout(Duration::from_millis(500))
                == Err(std::sync::mpsc::RecvTimeoutError::Timeout)
            {
                eprint!("\r{:3.0} %", 100.0 * seen.fraction());
                shown = true;
            }
            if shown {
                eprint!("\r     \r");
            }
        });
        let result = work(&progress);
        drop(done);
        result
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_as_people_type_them() {
        assert_eq!(
            parse_shape("180x120"),
            Ok(Shape::Rectangle {
                width: 180.0,
                depth: 120.0
            })
        );
        assert_eq!(parse_shape("d120,5"), Ok(Shape::Circle { diameter: 120.5 }));
        for bad in ["", "180", "0x5", "ax5", "d-3", "1e9x5"] {
            assert!(parse_shape(bad).is_err(), "{bad}");
        }
    }
}
