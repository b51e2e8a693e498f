//! The page and the record of a repeat study: what command line and window both write.

use super::no_bundle::NoBundle;
use super::{PdfOptions, pdf};
use crate::assess::{FamilyChoice, Request, fit_survey};
use crate::progress::Progress;
use crate::record::{RepeatRecord, no_study_words};
use crate::repeat::{Study, split};
use crate::sheet::page::{Page, PaperSize};
use crate::sheet::repeat::{RepeatSheet, repeat_pages};
use crate::sheet::report::{MadeFrom, mark};
use crate::station::Station;
use crate::units::Units;

/// The files that are made.
pub const NAMES: [&str; 2] = ["repeat.pdf", "repeat.json"];

/// A study with noise and error of placement told apart by the field of its first round.
///
/// # Errors
/// [`NoBundle`] with what is missing.
pub fn recorded(
    station: &Station,
    family: Option<FamilyChoice>,
    progress: &Progress,
) -> Result<RepeatRecord, NoBundle> {
    let study = Study::of(station).map_err(|why| NoBundle::NoAnswer(no_study_words(&why)))?;
    let request = Request {
        survey: study.rounds.first().map(|round| round.survey),
        family,
        ..Request::default()
    };
    let fit = fit_survey(station, &request, progress)?;
    let split = split(&study, &fit.field, progress)?;
    Ok(RepeatRecord::new(station, &study, split.as_ref()))
}

/// The pages.
pub fn pages(
    station: &Station,
    record: &RepeatRecord,
    units: Units,
    paper: PaperSize,
) -> Vec<Page> {
    repeat_pages(&RepeatSheet {
        station,
        record,
        length: units.length,
        irradiance: units.irradiance,
        paper,
        version: env!("CARGO_PKG_VERSION"),
    })
}

/// Makes repeat.pdf and repeat.json: name and bytes of each.
///
/// # Errors
/// [`NoBundle`]; nothing is made by halves.
pub fn repeat_files(
    station: &Station,
    family: Option<FamilyChoice>,
    units: Units,
    paper: PaperSize,
    made_from: Option<&MadeFrom>,
    progress: &Progress,
) -> Result<Vec<(String, Vec<u8>)>, NoBundle> {
    let record = recorded(station, family, progress)?;
    let options = PdfOptions {
        title: format!("Repeat study: {}", station.name),
        creator: format!("Evenfield {}", env!("CARGO_PKG_VERSION")),
        date: None,
    };
    let mut pages = pages(station, &record, units, paper);
    if let Some(made_from) = made_from {
        mark(&mut pages, made_from);
    }
    let text = serde_json::to_string_pretty(&record)
        .map_err(|error| NoBundle::Record(error.to_string()))?;
    let bytes = [pdf(&pages, &options)?, format!("{text}\n").into_bytes()];
    Ok(NAMES.map(str::to_owned).into_iter().zip(bytes).collect())
}
