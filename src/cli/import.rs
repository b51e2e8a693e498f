//! `evenfield import`: a readings file becomes a station or a further survey.

use std::path::PathBuf;
use std::process::ExitCode;

use jiff::civil::Date;

use super::common::{Failure, load_whole, parse_length, parse_shape, save_over, write_new};
use crate::files::{self, Encoding};
use crate::geometry::{Footprint, Point, Shape};
use crate::station::{
    Alike, Edit, Pallet, Plan, PlanLayout, Position, Radiometer, Reading, SourceKind, Station,
    Survey,
};

/// Arguments of `import`.
#[derive(Debug, clap::Args)]
#[command(group(clap::ArgGroup::new("target").required(true).args(["out", "into"])))]
pub struct Import {
    /// The CSV, TSV or XLSX file: x_mm, y_mm, height_mm, irradiance_mw_cm2 and, if present, position,
    /// repeat, minute, excluded, note; or blocks of readings, x across and y down, one for each height.
    readings: PathBuf,
    /// Size of the fixture, mm: width x depth, or d and a diameter.
    #[arg(long, value_name = "WIDTHxDEPTH|dDIAMETER", value_parser = parse_shape, conflicts_with = "into")]
    size: Option<Shape>,
    /// Height of the source's face above the fixture's base, mm.
    #[arg(long, value_name = "MM", allow_negative_numbers = true, value_parser = parse_length, conflicts_with = "into")]
    face_height: Option<f64>,
    /// Size of the source's face, mm.
    #[arg(long, value_name = "WIDTHxDEPTH|dDIAMETER", value_parser = parse_shape, conflicts_with = "into")]
    face: Option<Shape>,
    /// Where the middle of the face is, mm: x,y. The fixture's middle when it is left out.
    #[arg(long, value_name = "X,Y", allow_hyphen_values = true, value_parser = parse_point, requires = "face")]
    face_at: Option<Point>,
    /// What makes the light.
    #[arg(long, value_enum, conflicts_with = "into")]
    source_kind: Option<Kind>,
    /// Size of the detector's body, mm; the survey is then read with a radiometer named 'radiometer'. With the aperture
    /// alone the body is taken to be no larger than that.
    #[arg(long, value_name = "WIDTHxDEPTH|dDIAMETER", value_parser = parse_shape, conflicts_with = "into")]
    detector: Option<Shape>,
    /// Diameter of the detector's aperture, mm.
    #[arg(long, value_name = "MM", value_parser = parse_length, conflicts_with = "into")]
    aperture: Option<f64>,
    /// Name of the station; the file's name when it is left out.
    #[arg(long, conflicts_with = "into")]
    name: Option<String>,
    /// Name of the survey; 'first survey' when a station is made and it is left out.
    #[arg(long)]
    survey: Option<String>,
    /// Day of the survey, such as 2026-11-12; today when it is left out.
    #[arg(long)]
    date: Option<Date>,
    /// Height of the readings, mm, when the file has no such column.
    #[arg(long, value_name = "MM", allow_negative_numbers = true, value_parser = parse_length)]
    reading_height: Option<f64>,
    /// The station file to make.
    #[arg(long, value_name = "STATION", requires_all = ["size", "face_height"])]
    out: Option<PathBuf>,
    /// The station file to add the survey to; its previous version is kept as .bak.
    #[arg(long, value_name = "STATION", requires = "survey")]
    into: Option<PathBuf>,
    /// Replace the station file if it is there.
    #[arg(long, requires = "out")]
    force: bool,
}

/// A kind of source by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Kind {
    /// An arc lamp in a reflector that floods an area.
    ReflectorArc,
    /// A long arc lamp in a trough.
    LinearArc,
    /// A panel of LEDs.
    LedPanel,
    /// Anything else, or not known.
    Other,
}

impl From<Kind> for SourceKind {
    fn from(kind: Kind) -> Self {
        match kind {
            Kind::ReflectorArc => Self::ReflectorArc,
            Kind::LinearArc => Self::LinearArc,
            Kind::LedPanel => Self::LedPanel,
            Kind::Other => Self::Other,
        }
    }
}

/// Reads `90,60`. The comma parts the two numbers, so decimals need a point here.
fn parse_point(text: &str) -> Result<Point, String> {
    let (x, y) = text.split_once(',').ok_or("give x,y in mm such as 90,60")?;
    Ok(Point::new(parse_length(x)?, parse_length(y)?))
}

impl Import {
    pub(super) fn run(self) -> Result<ExitCode, Failure> {
        let table =
            files::read_readings(&self.readings, self.reading_height).map_err(|errors| {
                let lines: Vec<String> = errors.iter().map(ToString::to_string).collect();
                Failure(lines.join("\n"))
            })?;
        if let Some(cut) = table.cut.filter(|cut| cut.encoding != Encoding::Utf8) {
            eprintln!("read as text in {}", cut.encoding.name());
        }
        if !table.ignored.is_empty() {
            eprintln!("columns not used: {}", table.ignored.join(", "));
        }
        let readings = table.readings;
        let rows = Survey::rows_in_words(&readings);
        let date = self
            .date
            .unwrap_or_else(|| jiff::ZonedDateTime::now().date());
        let survey = Survey {
            name: self.survey.clone().unwrap_or_else(|| "first survey".into()),
            date,
            operator: String::new(),
            radiometer: None,
            state: Default::default(),
            notes: String::new(),
            began: None,
            reference: None,
            readings,
        };
        let (path, station) = match &self.into {
            Some(path) => {
                let before = load_whole(path)?;
                let mut station = before.station.clone();
                let mut survey = survey;
                survey.radiometer = station.plan_radiometer().cloned();
                survey.reference = station.plan.reference_in(&survey.readings);
                station
                    .apply(Edit::AddSurvey(survey))
                    .map_err(|error| Failure::of(path, error))?;
                save_over(path, &station, &before)?;
                (path.clone(), station)
            }
            None => {
                let path = self
                    .out
                    .clone()
                    .ok_or_else(|| Failure("give --out".into()))?;
                let station = self.new_station(survey)?;
                let text = files::write(&station)?;
                write_new(&path, text.as_bytes(), self.force)?;
                (path, station)
            }
        };
        for alike in Alike::groups(&station.check()) {
            eprintln!("{}; {}", alike.what(), alike.first().mend);
        }
        eprintln!("{rows} imported into {}", path.display());
        Ok(ExitCode::SUCCESS)
    }

    fn new_station(&self, survey: Survey) -> Result<Station, Failure> {
        let (Some(size), Some(face_height)) = (self.size.clone(), self.face_height) else {
            return Err(Failure("give --size and --face-height".into()));
        };
        let name = self.name.clone().unwrap_or_else(|| {
            self.readings
                .file_stem()
                .map_or_else(|| "Station".into(), |s| s.to_string_lossy().into_owned())
        });
        let mut station = Station::new(name, size, face_height);
        station.source.face = self.face.clone().map(|shape| {
            let middle = station.fixture.footprint().middle();
            Footprint::new(shape, self.face_at.unwrap_or(middle))
        });
        station.source.kind = self.source_kind.map_or(SourceKind::Other, Into::into);
        let mut survey = survey;
        let least_body = self.aperture.map(|diameter| Shape::Circle { diameter });
        if let Some(body) = self.detector.clone().or(least_body) {
            let radiometer = Radiometer {
                aperture_diameter: self.aperture,
                ..Radiometer::new("radiometer", body)
            };
            station.apply(Edit::AddRadiometer(radiometer.clone()))?;
            survey.radiometer = Some(radiometer);
        }
        if let Some(mut plan) = plan_of(&survey.readings) {
            plan.radiometer = station.plan.radiometer.clone();
            let fixture = station.fixture.footprint();
            let read: Vec<Point> = survey.readings.iter().map(|r| r.place().point()).collect();
            // nothing stands beyond the rim with the pallet in place
            if read.iter().any(|at| !fixture.contains(*at)) {
                plan.plate = Some(station.plate_under(&read));
                survey.state.pallet = Pallet::Out;
            }
            station.apply(Edit::SetPlan(plan))?;
        }
        station.apply(Edit::AddSurvey(survey))?;
        Ok(station)
    }
}

/// The plan that the readings were taken by: their positions with their names, at their heights.
/// `None` when there are more than a plan takes (a machine's scan).
fn plan_of(readings: &[Reading]) -> Option<Plan> {
    const MOST_POSITIONS: usize = 2_000;
    const MOST_HEIGHTS: usize = 20;
    let mut positions: Vec<Position> = Vec::new();
    let mut heights: Vec<f64> = Vec::new();
    for reading in readings {
        if !heights.contains(&reading.height) {
            heights.push(reading.height);
        }
        let at = reading.place().point();
        if !positions.iter().any(|p| p.at == at) {
            let name = if reading.position.is_empty() {
                (positions.len() + 1).to_string()
            } else {
                reading.position.clone()
            };
            positions.push(Position { name, at });
        }
        if positions.len() > MOST_POSITIONS || heights.len() > MOST_HEIGHTS {
            return None;
        }
    }
    heights.sort_by(f64::total_cmp);
    Some(Plan {
        heights,
        layout: PlanLayout::ByHand(positions),
        ..Plan::begin()
    })
}
