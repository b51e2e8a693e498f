//! All sheets and files of a station in one go: what the command line and the window both write.

mod answered;
mod pages;
mod report;
mod sheets;
mod wanted;

pub use super::no_bundle::NoBundle;
pub use sheets::{Sheets, names};
pub use wanted::{Bundle, MadeOn};

use super::{PdfOptions, pdf, plan_csv, plate_dxf, png, svg};
use crate::files::{log_csv, readings_csv};
use crate::progress::Progress;
use crate::record::{PlanRecord, UpkeepRecord, VerdictRecord};
use crate::sheet::page::Page;
use crate::sheet::report::mark;
use answered::{Answered, reviewed};
use pages::{
    LOG, MAP, PLACEMENT, PLAN, PLATE, REPORT, SHEET, arranged, log, map, plan, plate, plates, sheet,
};
use report::report;

/// Dots per inch of the map as a picture.
const DPI: f64 = 150.0;

/// A document on paper: what it is called and its pages.
#[derive(Debug, Clone, PartialEq)]
pub struct Document {
    /// Such as `Map of irradiance`.
    pub name: &'static str,
    /// At least one.
    pub pages: Vec<Page>,
}

/// The documents on paper among the sheets, to be looked at before they are written.
///
/// # Errors
/// [`NoBundle`].
pub fn documents(bundle: &Bundle<'_>, progress: &Progress) -> Result<Vec<Document>, NoBundle> {
    let mut documents = Vec::new();
    let answered = Answered::for_sheets(bundle, progress)?;
    if let Some(answered) = answered.as_ref().filter(|_| bundle.sheets.map) {
        let pages = map(bundle, answered, progress)?;
        documents.push(Document { name: MAP, pages });
    }
    if bundle.sheets.plan {
        let pages = plan(bundle, &PlanRecord::new(bundle.station));
        documents.push(Document { name: PLAN, pages });
    }
    if let Some(plates) = plates(bundle)? {
        let pages = plate(bundle, &plates);
        documents.push(Document { name: PLATE, pages });
    }
    if bundle.sheets.sheet {
        let pages = sheet(bundle, answered.as_ref());
        documents.push(Document { name: SHEET, pages });
    }
    if bundle.sheets.placement {
        let arranged = arranged(bundle, progress)?;
        let pages = arranged.pages(bundle.station, bundle.units(), bundle.paper);
        documents.push(Document {
            name: PLACEMENT,
            pages,
        });
    }
    if let Some(review) = reviewed(bundle, answered.as_ref(), progress)? {
        let pages = log(bundle, &review);
        documents.push(Document { name: LOG, pages });
    }
    if let Some(made_from) = bundle.made.made_from(bundle.station) {
        for document in &mut documents {
            mark(&mut document.pages, &made_from);
        }
    }
    if bundle.sheets.report {
        let pages = report(bundle, answered.as_ref(), progress)?;
        documents.push(Document {
            name: REPORT,
            pages,
        });
    }
    Ok(documents)
}

/// Makes the files: name and bytes of each. A plan alone needs no readings.
///
/// # Errors
/// [`NoBundle`]; nothing is made by halves.
pub fn files(bundle: &Bundle<'_>, progress: &Progress) -> Result<Vec<(String, Vec<u8>)>, NoBundle> {
    let mut files = Vec::new();
    let (sheets, station) = (bundle.sheets, bundle.station);
    let answered = Answered::for_sheets(bundle, progress)?;
    let made_from = bundle.made.made_from(station);
    let marked = |mut pages: Vec<Page>| {
        if let Some(made_from) = &made_from {
            mark(&mut pages, made_from);
        }
        pages
    };
    if let Some(answered) = &answered {
        if sheets.map {
            let pages = marked(map(bundle, answered, progress)?);
            let title = format!("{MAP}: {}", station.name);
            files.push(("map.pdf".into(), pdf(&pages, &options(title))?));
            for (i, page) in pages.iter().enumerate() {
                progress.check()?;
                let name = match i {
                    0 => "map".to_owned(),
                    i => format!("map-{}", i + 1),
                };
                files.push((format!("{name}.svg"), svg(page).into_bytes()));
                files.push((format!("{name}.png"), png(page, DPI)?));
            }
        }
        if sheets.field {
            let text = answered.field(bundle, progress)?;
            files.push(("field.csv".into(), text.into_bytes()));
        }
        if sheets.summary {
            let record = VerdictRecord::new(
                station,
                &answered.assessed.answer,
                answered.outlook.as_ref(),
            );
            let text = serde_json::to_string_pretty(&record)
                .map_err(|error| NoBundle::Record(error.to_string()))?;
            files.push(("summary.json".into(), format!("{text}\n").into_bytes()));
        }
    }
    if sheets.plan {
        let record = PlanRecord::new(station);
        let pages = marked(plan(bundle, &record));
        let title = format!("{PLAN}: {}", station.name);
        files.push(("plan.pdf".into(), pdf(&pages, &options(title))?));
        files.push(("plan.csv".into(), plan_csv(&record).into_bytes()));
    }
    if let Some(plates) = plates(bundle)? {
        let title = format!("{PLATE}: {}", station.name);
        let pages = marked(plate(bundle, &plates));
        files.push(("plate.pdf".into(), pdf(&pages, &options(title))?));
        for i in 0..plates.count() {
            let name = match i {
                0 => "plate.dxf".to_owned(),
                i => format!("plate-{}.dxf", i + 1),
            };
            let fixture = station.fixture.footprint();
            let fixture = station.plan.plate.map(|_| &fixture);
            let text = plate_dxf(&plates, i, fixture);
            files.push((name, text.into_bytes()));
        }
    }
    if sheets.sheet {
        let title = format!("{SHEET}: {}", station.name);
        let pages = marked(sheet(bundle, answered.as_ref()));
        files.push(("sheet.pdf".into(), pdf(&pages, &options(title))?));
    }
    if sheets.placement {
        let arranged = arranged(bundle, progress)?;
        let title = format!("{PLACEMENT}: {}", station.name);
        let pages = marked(arranged.pages(station, bundle.units(), bundle.paper));
        files.push(("placement.pdf".into(), pdf(&pages, &options(title))?));
        files.push(("placement.dxf".into(), arranged.dxf(station).into_bytes()));
        files.push(("placement.csv".into(), arranged.csv(station).into_bytes()));
    }
    if sheets.readings {
        let station = bundle.station;
        let survey = bundle.request.survey.or(station.newest_survey());
        let survey = survey
            .and_then(|index| station.survey_at(index))
            .ok_or_else(|| {
                NoBundle::NoAnswer("there is no survey yet; enter or import readings".to_owned())
            })?;
        files.push((
            "readings.csv".into(),
            readings_csv(&survey.readings).into_bytes(),
        ));
    }
    if let Some(review) = reviewed(bundle, answered.as_ref(), progress)? {
        let title = format!("{LOG}: {}", station.name);
        let pages = marked(log(bundle, &review));
        files.push(("log.pdf".into(), pdf(&pages, &options(title))?));
        let upkeep = station.upkeep();
        let (from, to) = bundle.made.period;
        let shown = upkeep.log.iter().filter(|entry| {
            let day = entry.at.date();
            from.is_none_or(|from| day >= from) && to.is_none_or(|to| day <= to)
        });
        files.push(("log.csv".into(), log_csv(shown).into_bytes()));
        let record = UpkeepRecord::new(station, &upkeep, &review, bundle.units());
        let text = serde_json::to_string_pretty(&record)
            .map_err(|error| NoBundle::Record(error.to_string()))?;
        files.push(("log.json".into(), format!("{text}\n").into_bytes()));
    }
    // asked for with all the rest, a station for whose record nobody answers goes without
    if sheets.report && (station.papers.is_some() || sheets != Sheets::ALL) {
        let title = format!("{REPORT}: {}", station.name);
        let pages = report(bundle, answered.as_ref(), progress)?;
        files.push(("report.pdf".into(), pdf(&pages, &options(title))?));
    }
    // The order of `names`, whatever the order in which they were made; a further page behind the first ones.
    let order = names(sheets);
    let place = |name: &str| order.iter().position(|n| *n == name);
    files.sort_by_key(|(name, _)| {
        let behind = if name.ends_with(".dxf") {
            "plate.dxf"
        } else {
            "map.png"
        };
        place(name).or_else(|| place(behind))
    });
    Ok(files)
}

fn options(title: String) -> PdfOptions {
    PdfOptions {
        title,
        creator: format!("Evenfield {}", env!("CARGO_PKG_VERSION")),
        date: None,
    }
}
