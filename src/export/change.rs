//! The pages and the record of one survey against another: what command line and window both write.

use super::no_bundle::NoBundle;
use super::{PdfOptions, pdf, png, svg};
use crate::assess::{Assessment, Request};
use crate::change::{Bars, Change, History, ToCompare};
use crate::field::{Fitted, Map};
use crate::progress::{Cancelled, Progress};
use crate::record::{ChangeRecord, HistoryRecord};
use crate::sheet::change::{ChangeSheet, change_pages};
use crate::sheet::page::{Page, PaperSize};
use crate::sheet::report::{MadeFrom, mark};
use crate::station::Station;
use crate::units::{IrradianceUnit, LengthUnit};

/// Dots per inch of the pages as pictures.
const DPI: f64 = 150.0;
/// Nodes along the longer side of the maps.
const NODES: usize = 160;

/// What to make and how.
#[derive(Debug, Clone, Copy)]
pub struct ChangeBundle<'a> {
    /// The document.
    pub station: &'a Station,
    /// Earlier and later survey.
    pub surveys: (usize, usize),
    /// For lengths.
    pub length: LengthUnit,
    /// For irradiance.
    pub irradiance: IrradianceUnit,
    /// The paper.
    pub paper: PaperSize,
    /// What its pages say at their foot; `None`: nothing.
    pub made_from: Option<&'a MadeFrom>,
}

/// Both fields over the fixture at a change's height.
///
/// # Errors
/// [`Cancelled`].
pub fn maps(
    station: &Station,
    change: &Change,
    [before, after]: [&Fitted; 2],
    progress: &Progress,
) -> Result<[Map; 2], Cancelled> {
    let outline = station.fixture.footprint();
    let map = |field: &Fitted| Map::of(field, &outline, change.height, NODES, progress);
    Ok([map(before)?, map(after)?])
}

/// A change with both verdicts and both maps.
#[derive(Debug)]
pub struct Compared {
    /// The change.
    pub change: Change,
    /// Verdicts of both surveys, where there are limits.
    pub verdicts: [Option<&'static str>; 2],
    assessed: [Assessment; 2],
    /// Of all surveys, where there are more than two.
    history: Option<History>,
}

impl Compared {
    /// Fits both surveys and compares.
    ///
    /// # Errors
    /// [`NoBundle`] with what is missing.
    pub fn of(
        station: &Station,
        (from, to): (usize, usize),
        progress: &Progress,
    ) -> Result<Self, NoBundle> {
        let asked = ToCompare::of(station, from, to, Bars::default())?;
        let assess = |survey: usize| {
            let request = Request::of_survey(survey);
            Assessment::of(station, &request, progress)
        };
        let first = assess(from)?;
        let change = asked.compare(&first.fit, progress)?;
        let assessed = [first, assess(to)?];
        let verdicts =
            [0, 1].map(|i: usize| assessed[i].answer.judged().map(|j| j.verdict.words()));
        let fits = [0, 1].map(|i: usize| assessed[i].fit.clone());
        let history = (station.surveys.len() > 2)
            .then(|| History::of(station, from, Bars::default(), &fits, progress))
            .transpose()?;
        Ok(Self {
            change,
            verdicts,
            assessed,
            history,
        })
    }

    /// The pages, and the record that they say.
    ///
    /// # Errors
    /// [`NoBundle::Cancelled`].
    pub fn pages(
        &self,
        bundle: &ChangeBundle<'_>,
        progress: &Progress,
    ) -> Result<(Vec<Page>, ChangeRecord), NoBundle> {
        let fields = [0, 1].map(|i: usize| &*self.assessed[i].fit.field);
        let [before, after] = maps(bundle.station, &self.change, fields, progress)?;
        let record = ChangeRecord {
            history: (self.history.as_ref()).map(|h| HistoryRecord::new(bundle.station, h)),
            ..ChangeRecord::new(bundle.station, &self.change, self.verdicts, bundle.length)
        };
        let pages = change_pages(&ChangeSheet {
            station: bundle.station,
            change: &self.change,
            record: &record,
            maps: [&before, &after],
            length: bundle.length,
            irradiance: bundle.irradiance,
            paper: bundle.paper,
            version: env!("CARGO_PKG_VERSION"),
        });
        Ok((pages, record))
    }
}

/// Makes change.pdf, each of its pages as SVG and PNG, and change.json: name and bytes of each.
///
/// # Errors
/// [`NoBundle`]; nothing is made by halves.
pub fn change_files(
    bundle: &ChangeBundle<'_>,
    progress: &Progress,
) -> Result<Vec<(String, Vec<u8>)>, NoBundle> {
    let compared = Compared::of(bundle.station, bundle.surveys, progress)?;
    let (mut pages, record) = compared.pages(bundle, progress)?;
    if let Some(made_from) = bundle.made_from {
        mark(&mut pages, made_from);
    }
    let options = PdfOptions {
        title: format!("Change: {}", bundle.station.name),
        creator: format!("Evenfield {}", env!("CARGO_PKG_VERSION")),
        date: None,
    };
    let mut files = vec![("change.pdf".to_owned(), pdf(&pages, &options)?)];
    for (i, page) in pages.iter().enumerate() {
        progress.check()?;
        let name = match i {
            0 => "change".to_owned(),
            i => format!("change-{}", i + 1),
        };
        files.push((format!("{name}.svg"), svg(page).into_bytes()));
        files.push((format!("{name}.png"), png(page, DPI)?));
    }
    let text = serde_json::to_string_pretty(&record)
        .map_err(|error| NoBundle::Record(error.to_string()))?;
    files.push(("change.json".into(), format!("{text}\n").into_bytes()));
    Ok(files)
}
