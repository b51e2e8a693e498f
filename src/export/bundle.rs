//! All sheets and files of a station in one go: what the command line and the window both write.

use super::change::{ChangeBundle, Compared};
use super::placed::Arranged;
use jiff::civil::Date;

pub use super::no_bundle::NoBundle;
use super::{PdfOptions, field_csv, pdf, plan_csv, plate_dxf, png, svg};
use crate::assess::limits::Outlook;
use crate::assess::{Assessment, Request, SurveyFit};
use crate::change::usual_pair;
use crate::field::{Map, Raster};
use crate::files::{Digest, Trail, log_csv, readings_csv};
use crate::probing::plate::Plates;
use crate::progress::Progress;
use crate::proof::examples;
use crate::record::{PlanRecord, UpkeepRecord, VerdictRecord};
use crate::sheet::against::Against;
use crate::sheet::colour::ColourMap;
use crate::sheet::map::{MapSheet, map_pages};
use crate::sheet::page::{Page, PaperSize};
use crate::sheet::plan::{PlanSheet, plan_pages};
use crate::sheet::plate::{PlateSheet, plate_pages};
use crate::sheet::posted::{StationSheet, station_pages};
use crate::sheet::report::{MadeFrom, Part, Report, mark, proof_pages};
use crate::sheet::upkeep::{LogSheet, log_pages};
use crate::station::Station;
use crate::units::{IrradianceUnit, LengthUnit, Units};
use crate::upkeep::{MonitorTerms, Review};

/// Dots per inch of the map as a picture.
const DPI: f64 = 150.0;
/// Distance of the nodes of the field file, mm.
const FIELD_STEP: f64 = 2.0;
/// Nodes along the longer side of the map against the limits.
const AGAINST: f64 = 150.0;
/// Nodes along the longer side of the map of uncertainty.
const UNCERTAINTY: usize = 110;

/// Which sheets to make.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sheets {
    /// map.pdf, and each of its pages: map.svg, map.png, then map-2.svg, map-2.png and so on.
    pub map: bool,
    /// plan.pdf, plan.csv.
    pub plan: bool,
    /// plate.pdf, and for each plate plate.dxf, plate-2.dxf and so on.
    pub plate: bool,
    /// sheet.pdf.
    pub sheet: bool,
    /// placement.pdf, placement.dxf, placement.csv.
    pub placement: bool,
    /// readings.csv.
    pub readings: bool,
    /// field.csv.
    pub field: bool,
    /// summary.json.
    pub summary: bool,
    /// log.pdf, log.csv, log.json: the irradiance log and what it tells.
    pub log: bool,
    /// report.pdf: all pages in one, with a page of contents.
    pub report: bool,
}

impl Sheets {
    /// Every sheet.
    pub const ALL: Self = Self {
        map: true,
        plan: true,
        plate: true,
        sheet: true,
        placement: true,
        readings: true,
        field: true,
        summary: true,
        log: true,
        report: true,
    };

    /// The sheets of both.
    pub fn and(self, other: Self) -> Self {
        Self {
            map: self.map || other.map,
            plan: self.plan || other.plan,
            plate: self.plate || other.plate,
            sheet: self.sheet || other.sheet,
            placement: self.placement || other.placement,
            readings: self.readings || other.readings,
            field: self.field || other.field,
            summary: self.summary || other.summary,
            log: self.log || other.log,
            report: self.report || other.report,
        }
    }

    /// Whether all of the other's sheets are among these.
    pub fn cover(self, other: Self) -> bool {
        self.and(other) == self
    }

    /// Reads names with commas between: `map,plan`.
    ///
    /// # Errors
    /// A sentence that names the unknown sheet and the known ones.
    pub fn parse(text: &str) -> Result<Self, String> {
        let mut sheets = Self {
            map: false,
            plan: false,
            plate: false,
            sheet: false,
            placement: false,
            readings: false,
            field: false,
            summary: false,
            log: false,
            report: false,
        };
        for name in text.split(',') {
            match name.trim() {
                "map" => sheets.map = true,
                "plan" => sheets.plan = true,
                "plate" => sheets.plate = true,
                "sheet" => sheets.sheet = true,
                "placement" => sheets.placement = true,
                "readings" => sheets.readings = true,
                "field" => sheets.field = true,
                "summary" => sheets.summary = true,
                "log" => sheets.log = true,
                "report" => sheets.report = true,
                other => {
                    return Err(format!(
                        "there is no sheet '{other}'; there are map, plan, plate, sheet, placement, readings, field, summary, log, report"
                    ));
                }
            }
        }
        Ok(sheets)
    }
}

/// What to make and how.
#[derive(Debug, Clone, Copy)]
pub struct Bundle<'a> {
    /// The document.
    pub station: &'a Station,
    /// Which survey, by which family.
    pub request: Request,
    /// The field of that survey, where it was fitted before; otherwise it is fitted.
    pub fit: Option<&'a SurveyFit>,
    /// Height of the map and the field file, mm; `None`: that of the coldest spot.
    pub map_height: Option<f64>,
    /// Which sheets.
    pub sheets: Sheets,
    /// For lengths on paper.
    pub length: LengthUnit,
    /// For irradiance on paper.
    pub irradiance: IrradianceUnit,
    /// What is arranged on the placement's sheets; `None`: rows of as many as fit of the part that the station speaks of.
    pub arranged: Option<&'a Arranged>,
    /// The paper.
    pub paper: PaperSize,
    /// The colours of the map.
    pub colours: ColourMap,
    /// From and to which irradiance they go, mW/cm²; `None`: from the map's least to its greatest.
    pub range: Option<[f64; 2]>,
    /// From and to which uncertainty, percent (k = 2), those of the map of it go; `None` as above.
    pub uncertainty_range: Option<[f64; 2]>,
    /// When and from which file it is made.
    pub made: MadeOn<'a>,
}

/// When, and from which file, sheets are made.
#[derive(Debug, Clone, Copy)]
pub struct MadeOn<'a> {
    /// The day.
    pub today: Date,
    /// Who saved the file when; empty where it keeps no trail.
    pub trail: &'a Trail,
    /// The first and the last day of the log that is shown.
    pub period: (Option<Date>, Option<Date>),
}

impl MadeOn<'_> {
    /// What pages of this document say at their foot; `None`: nobody answers for its record.
    pub fn made_from(&self, station: &Station) -> Option<MadeFrom> {
        if station.papers.is_none() && self.trail.is_empty() {
            return None;
        }
        let digest = Digest::of(station);
        let last = self.trail.entries().last();
        Some(MadeFrom {
            revision: self.trail.revision(),
            is_changed: last.is_some_and(|last| last.document != digest),
            digits: digest.on_page(),
        })
    }
}

impl Bundle<'_> {
    fn units(&self) -> Units {
        Units {
            length: self.length,
            irradiance: self.irradiance,
        }
    }
}

/// The names of the files that some sheets make, in the order in which they are made; further pages of the map are not
/// counted before they are made.
pub fn names(sheets: Sheets) -> Vec<&'static str> {
    let of = |wanted: bool, names: &'static [&'static str]| if wanted { names } else { &[] };
    [
        of(sheets.map, &["map.pdf", "map.svg", "map.png"]),
        of(sheets.plan, &["plan.pdf", "plan.csv"]),
        of(sheets.plate, &["plate.pdf", "plate.dxf"]),
        of(sheets.sheet, &["sheet.pdf"]),
        of(
            sheets.placement,
            &["placement.pdf", "placement.dxf", "placement.csv"],
        ),
        of(sheets.readings, &["readings.csv"]),
        of(sheets.field, &["field.csv"]),
        of(sheets.summary, &["summary.json"]),
        of(sheets.log, &["log.pdf", "log.csv", "log.json"]),
        of(sheets.report, &["report.pdf"]),
    ]
    .concat()
}

/// A document on paper: what it is called and its pages.
#[derive(Debug, Clone, PartialEq)]
pub struct Document {
    /// Such as `Map of irradiance`.
    pub name: &'static str,
    /// At least one.
    pub pages: Vec<Page>,
}

const MAP: &str = "Map of irradiance";
const PLAN: &str = "Probe-position plan";
const PLATE: &str = "Locating plate";
const SHEET: &str = "Station sheet";
const PLACEMENT: &str = "Placement";
const LOG: &str = "Irradiance log";
const REPORT: &str = "Report";

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
    if sheets.report {
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

/// What is arranged.
fn arranged(bundle: &Bundle<'_>, progress: &Progress) -> Result<Arranged, NoBundle> {
    match bundle.arranged {
        Some(arranged) => Ok(arranged.clone()),
        None => Ok(Arranged::of(
            bundle.station,
            &bundle.request,
            bundle.units(),
            progress,
        )?),
    }
}

fn options(title: String) -> PdfOptions {
    PdfOptions {
        title,
        creator: format!("Evenfield {}", env!("CARGO_PKG_VERSION")),
        date: None,
    }
}

/// What the sheets of a survey are made from.
struct Answered {
    assessed: Assessment,
    outlook: Option<Outlook>,
    height: f64,
}

impl Answered {
    /// `None` where no sheet needs an answer, or where there is none yet and the station sheet alone would show it: its blanks
    /// are filled in by hand.
    fn for_sheets(bundle: &Bundle<'_>, progress: &Progress) -> Result<Option<Self>, NoBundle> {
        let sheets = bundle.sheets;
        let must = sheets.map || sheets.field || sheets.summary;
        if !must && !sheets.sheet && !sheets.log && !sheets.report {
            return Ok(None);
        }
        match Self::of(bundle, progress) {
            Err(NoBundle::NoAnswer(_)) if !must => Ok(None),
            answered => answered.map(Some),
        }
    }

    fn of(bundle: &Bundle<'_>, progress: &Progress) -> Result<Self, NoBundle> {
        let station = bundle.station;
        let units = bundle.units();
        let assessed = match bundle.fit {
            Some(fit) => Assessment::of_fit(fit.clone(), station, &bundle.request, progress)?,
            None => Assessment::of(station, &bundle.request, progress)?,
        };
        let assessed = assessed.in_units(station, units)?;
        let sheets = bundle.sheets;
        let is_told = sheets.map || sheets.summary || sheets.sheet;
        let outlook = if is_told || sheets.log || sheets.report {
            let show = |e| bundle.irradiance.show_with_unit(e, None);
            assessed.outlook(station, &show, progress)?
        } else {
            None
        };
        Ok(Self {
            height: (bundle.map_height).unwrap_or(assessed.answer.coldest.at.height),
            assessed,
            outlook,
        })
    }

    /// The field as a table for other programs.
    fn field(&self, bundle: &Bundle<'_>, progress: &Progress) -> Result<String, NoBundle> {
        let (field, outline) = (&self.assessed.fit.field, bundle.station.fixture.footprint());
        let mut raster = Raster::of(field, &outline, self.height, FIELD_STEP, progress)?;
        raster.mark_beyond_positions(field);
        Ok(field_csv(&raster))
    }
}

/// The pages of the plan.
fn plan(bundle: &Bundle<'_>, record: &PlanRecord) -> Vec<Page> {
    plan_pages(&PlanSheet {
        station: bundle.station,
        record,
        length: bundle.length,
        irradiance: bundle.irradiance,
        paper: bundle.paper,
        version: env!("CARGO_PKG_VERSION"),
    })
}

/// The plates, where they are wanted. Asked for with all the rest, a plan that can't have any goes without.
fn plates(bundle: &Bundle<'_>) -> Result<Option<Plates>, NoBundle> {
    if !bundle.sheets.plate {
        return Ok(None);
    }
    match Plates::of(bundle.station) {
        Err(_) if bundle.sheets == Sheets::ALL => Ok(None),
        plates => Ok(Some(
            plates.map_err(|why| NoBundle::NoAnswer(why.to_string()))?,
        )),
    }
}

/// The pages of the plates.
fn plate(bundle: &Bundle<'_>, plates: &Plates) -> Vec<Page> {
    plate_pages(&PlateSheet {
        station: bundle.station,
        plates,
        length: bundle.length,
        paper: bundle.paper,
        version: env!("CARGO_PKG_VERSION"),
    })
}

/// The station sheet.
fn sheet(bundle: &Bundle<'_>, answered: Option<&Answered>) -> Vec<Page> {
    station_pages(&StationSheet {
        station: bundle.station,
        answered: answered.map(|a| (&a.assessed.answer, a.outlook.as_ref())),
        length: bundle.length,
        irradiance: bundle.irradiance,
        paper: bundle.paper,
        version: env!("CARGO_PKG_VERSION"),
    })
}

/// What the irradiance log tells, where its pages are wanted and it has entries.
fn reviewed(
    bundle: &Bundle<'_>,
    answered: Option<&Answered>,
    progress: &Progress,
) -> Result<Option<Review>, NoBundle> {
    let station = bundle.station;
    let upkeep = station.upkeep();
    if !bundle.sheets.log {
        return Ok(None);
    }
    if upkeep.log.is_empty() {
        return match bundle.sheets == Sheets::ALL {
            true => Ok(None),
            false => Err(NoBundle::NoAnswer(
                "there is no irradiance log yet; log readings in the step Upkeep, or 'evenfield log STATION --add FILE'".to_owned(),
            )),
        };
    }
    let outlook = answered.and_then(|a| Some((a, a.outlook.as_ref()?)));
    let terms = match outlook {
        Some((answered, outlook)) => {
            let answer = &answered.assessed.answer;
            MonitorTerms::of(station, &bundle.request, answer, outlook)
        }
        None => MonitorTerms::without(station),
    };
    let today = bundle.made.today;
    Ok(Some(Review::of(station, &upkeep, terms, today, progress)?))
}

/// The pages of the log.
fn log(bundle: &Bundle<'_>, review: &Review) -> Vec<Page> {
    log_pages(&LogSheet {
        station: bundle.station,
        review,
        period: bundle.made.period,
        units: bundle.units(),
        paper: bundle.paper,
        version: env!("CARGO_PKG_VERSION"),
    })
}

/// All documents of the station in one: whatever can't be made is named.
fn report(
    bundle: &Bundle<'_>,
    answered: Option<&Answered>,
    progress: &Progress,
) -> Result<Vec<Page>, NoBundle> {
    let station = bundle.station;
    let wanted = Bundle {
        sheets: Sheets::ALL,
        ..*bundle
    };
    let (mut parts, mut missing) = (Vec::new(), Vec::new());
    let mut add = |name: &str, pages: Vec<Page>| {
        parts.push(Part {
            name: name.to_owned(),
            pages,
        });
    };
    if station.positions().is_empty() {
        missing.push("There is no station sheet and no plan: no position is planned".to_owned());
    } else {
        add(SHEET, sheet(&wanted, answered));
    }
    match answered {
        Some(answered) => add(
            "Map of irradiance, limits with their origin, verdict",
            map(&wanted, answered, progress)?,
        ),
        None => missing.push("There is no map: no survey makes a field yet".to_owned()),
    }
    if !station.positions().is_empty() {
        add(PLAN, plan(&wanted, &PlanRecord::new(station)));
    }
    match usual_pair(station) {
        Some(surveys) => {
            let wanted = ChangeBundle {
                station,
                surveys,
                length: bundle.length,
                irradiance: bundle.irradiance,
                paper: bundle.paper,
                // the report marks all of its pages
                made_from: None,
            };
            match Compared::of(station, surveys, progress) {
                Ok(compared) => add("Change", compared.pages(&wanted, progress)?.0),
                Err(NoBundle::Cancelled) => return Err(NoBundle::Cancelled),
                Err(why) => missing.push(format!("There is no change: {why}")),
            }
        }
        None => missing.push("There is no change: it takes two surveys".to_owned()),
    }
    match reviewed(&wanted, answered, progress)? {
        Some(review) => add(LOG, log(bundle, &review)),
        None => missing.push("There is no irradiance log yet".to_owned()),
    }
    let on = bundle.made.today.to_string();
    let version = env!("CARGO_PKG_VERSION");
    let examples = examples(progress)?;
    add(
        "Self-check of the program",
        proof_pages(&examples, &on, bundle.paper, version),
    );
    let trail = bundle.made.trail;
    let report = Report {
        station,
        parts,
        missing,
        trail: trail_rows(trail),
        gaps: gaps_in_words(trail),
        on,
        made_from: (bundle.made.made_from(station)).unwrap_or_else(|| MadeFrom {
            revision: 0,
            is_changed: false,
            digits: Digest::of(station).on_page(),
        }),
        paper: bundle.paper,
        version,
    };
    Ok(report.pages())
}

/// The last entries of a trail, the newest first.
fn trail_rows(trail: &Trail) -> Vec<[String; 4]> {
    /// So many are shown.
    const SHOWN: usize = 24;
    let entries = trail.entries().iter().enumerate().rev().take(SHOWN);
    entries
        .map(|(i, saved)| {
            let at = saved.at.to_string();
            let at = at.split('.').next().unwrap_or(&at).trim_end_matches('Z');
            [
                (i + 1).to_string(),
                at.replace('T', " "),
                saved.by.clone(),
                saved.what.join(", "),
            ]
        })
        .collect()
}

/// What is wrong with the list itself: whether the document is the one of the last entry is said with the revision.
fn gaps_in_words(trail: &Trail) -> Vec<String> {
    let broken = trail.broken();
    broken
        .map(|revision| {
            format!(
                "Revision {revision} of the trail is not as it was written: it was changed by other means than Evenfield"
            )
        })
        .collect()
}

/// The pages of the map.
fn map(
    bundle: &Bundle<'_>,
    answered: &Answered,
    progress: &Progress,
) -> Result<Vec<Page>, NoBundle> {
    let (station, height) = (bundle.station, answered.height);
    let Assessment { fit, answer, .. } = &answered.assessed;
    let (field, outline) = (&fit.field, station.fixture.footprint());
    let map = Map::of(field, &outline, height, Map::FINE, progress)?;
    let against = match answer.judged() {
        Some(judged) => {
            let bounds = outline.bounds();
            let step = bounds.width().max(bounds.depth()) / AGAINST;
            let raster = Raster::of(field, &outline, height, step, progress)?;
            Some(Against::new(
                &raster,
                &outline,
                &judged.terms,
                answer.calibration,
            ))
        }
        None => None,
    };
    let uncertainty = Map::of_uncertainty(field, &outline, height, UNCERTAINTY, progress)?;
    Ok(map_pages(&MapSheet {
        station,
        answer,
        against: against.as_ref(),
        outlook: answered.outlook.as_ref(),
        uncertainty: uncertainty
            .as_ref()
            .map(|map| (map, bundle.uncertainty_range)),
        raster: &map.raster,
        contours: &map.contours,
        length: bundle.length,
        irradiance: bundle.irradiance,
        paper: bundle.paper,
        version: env!("CARGO_PKG_VERSION"),
        colours: bundle.colours,
        range: bundle.range,
    }))
}
