//! The document: one source over one fixture and all that is known of it, as plain data. It holds
//! everything that changes an answer and nothing that only changes how the answer is shown. What is
//! odd about it is said by [`check`](Station::check); every change is an [`Edit`].
//!
//! Lengths are in mm from the fixture's datum, heights above the fixture's base, irradiance in
//! mW/cm².

mod bond;
mod changed;
mod check;
mod difference;
mod document;
mod edit;
mod finding;
mod frozen;
mod layout;
pub mod limits;
mod numbers;
mod plan;
mod plate;
mod round;
mod seats;
mod shared;
mod sound;
pub mod trials;
mod unreached;
mod upkeep;
mod version;
mod words;

pub use bond::{Bond, Lying, Rim, Substrate};
pub use check::Checked;
pub use difference::Difference;
pub use document::Station;
pub use edit::{Edit, Refused};
pub use finding::{Alike, Finding, Severity, Where};
pub use layout::{Site, row_letters};
pub use plan::{Bores, Cycle, LocatedBy, Plan, PlanLayout, Plate, Position, Reference};
pub use seats::Seats;
pub use shared::Shared;
pub use sound::Unsound;
pub use trials::{Exposure, Trials};
pub use unreached::Unreached;
pub use upkeep::{Beside, Calibration, Event, Happened, Log, LogEntry, Papers, Signature, Upkeep};
pub use version::NEWEST;
pub use words::named;

use jiff::civil::{Date, DateTime};
use serde::{Deserialize, Serialize};

use crate::geometry::{Footprint, Place, Point, Shape};

/// The lamp over the fixture.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// What people call it.
    pub name: String,
    /// What makes the light.
    pub kind: SourceKind,
    /// Lower edge of the housing or emitting plane over the fixture, where known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub face: Option<Footprint>,
    /// Of the face above the fixture's base.
    pub face_height: f64,
    /// How the LEDs of a panel stand, where known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub array: Option<LedArray>,
}

/// Rows and columns of LEDs, about the middle of the face and turned with it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LedArray {
    /// How many along x.
    pub columns: u32,
    /// How many along y.
    pub rows: u32,
    /// From centre to centre along x.
    pub pitch_x: f64,
    /// From centre to centre along y.
    pub pitch_y: f64,
}

impl LedArray {
    /// From the first to the last centre, along x and y.
    pub fn size(&self) -> (f64, f64) {
        let between = |n: u32, pitch: f64| f64::from(n.saturating_sub(1)) * pitch;
        (
            between(self.columns, self.pitch_x),
            between(self.rows, self.pitch_y),
        )
    }
}

/// What makes the light.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum SourceKind {
    /// An arc lamp in a reflector that floods an area.
    ReflectorArc,
    /// A long arc lamp in a trough.
    LinearArc,
    /// A panel of LEDs.
    LedPanel,
    /// Anything else, or not known.
    Other,
}

/// The pallet. Its datum is its front left corner; a round one touches both axes from inside; the corners
/// of a polygon are measured from it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fixture {
    /// What people call it.
    pub name: String,
    /// Its outline.
    pub shape: Shape,
    /// What stands along it; `None`: nothing, or not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rim: Option<Rim>,
    /// How much of the light upright walls throw back: of rim, keep-outs, parts and pockets, percent; `None`: not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reflectance_percent: Option<f64>,
}

/// One part's place, or rows and columns of equal ones.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SiteGroup {
    /// The site's name; for rows and columns what stands before the row letter and column number,
    /// and may be empty.
    pub name: String,
    /// The part's footprint.
    pub shape: Shape,
    /// Of each footprint about its own centre, counter-clockwise, degrees.
    #[serde(default)]
    pub turn: f64,
    /// Of the bond line above the fixture's base.
    pub height: f64,
    /// Of each part's top above the fixture's base, where known: so far up it can stand in the light of others.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub top: Option<f64>,
    /// How the bond lies; `None`: open and level.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bond: Option<Bond>,
    /// Where the parts are.
    pub layout: SiteLayout,
}

/// Where the parts of a [`SiteGroup`] are.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum SiteLayout {
    /// One part.
    Single {
        /// The part's centre.
        centre: Point,
    },
    /// Equal parts: columns to the right, rows to the back; row A is the front one.
    Grid {
        /// Centre of the part in the front left, A1.
        first: Point,
        /// How many along x.
        columns: u32,
        /// How many along y.
        rows: u32,
        /// From centre to centre along x.
        pitch_x: f64,
        /// From centre to centre along y.
        pitch_y: f64,
    },
    /// Equal parts evenly spaced on a circle, numbered counter-clockwise.
    Ring {
        /// Of the circle.
        centre: Point,
        /// From there to the centre of each part, mm.
        radius: f64,
        /// How many parts.
        count: u32,
        /// Where the first one is: degrees counter-clockwise from the x axis.
        #[serde(default, skip_serializing_if = "is_zero")]
        from: f64,
        /// Each part is turned with its place on the circle; otherwise all lie alike.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        turned: bool,
    },
}

fn is_zero(value: &f64) -> bool {
    *value == 0.0
}

/// A clamp, a post, a hole: somewhere nothing may be put.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KeepOut {
    /// What is there.
    pub name: String,
    /// Its outline on the plan.
    pub footprint: Footprint,
    /// What it keeps out.
    #[serde(default)]
    pub bars: Bars,
    /// Of its top above the fixture's base, where known: so far up it can stand in the light's way.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub height: Option<f64>,
    /// It stands there with the pallet out too.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub stays: bool,
}

impl KeepOut {
    /// With nothing known of its height; it goes with the pallet.
    pub fn new(name: impl Into<String>, footprint: Footprint, bars: Bars) -> Self {
        Self {
            name: name.into(),
            footprint,
            bars,
            height: None,
            stays: false,
        }
    }
}

/// What a [`KeepOut`] keeps out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Bars {
    /// Neither detector nor part.
    #[default]
    Both,
    /// No detector can sit here, a part may.
    Detector,
    /// No part may lie here, a detector can.
    Parts,
}

/// Meter and detector, calibrated as a pair.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Radiometer {
    /// What people call the pair; unique in the station.
    pub name: String,
    /// Serial number of the meter.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub meter_serial: String,
    /// Serial number of the detector.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub detector_serial: String,
    /// The wavelengths it reads, as its certificate says them.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub band: String,
    /// The kind of source it was calibrated against.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub calibrated_against: String,
    /// The outline of the detector's body, its aperture in the middle.
    pub body: Shape,
    /// mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub aperture_diameter: Option<f64>,
    /// Height of the sensing plane above what the detector stands on, mm.
    #[serde(default)]
    pub sensing_plane: f64,
    /// Directional response error (f2), percent, where the certificate gives it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub angular_error_percent: Option<f64>,
    /// Directional response where it was measured: angle of incidence in degrees, ascending, and response over that of a
    /// cosine detector, 1 straight on.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub angular_response: Vec<(f64, f64)>,
    /// The smallest step it shows, mW/cm².
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub resolution: Option<f64>,
    /// The highest irradiance it reads, mW/cm².
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub range: Option<f64>,
    /// Day of the calibration.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub calibrated_on: Option<Date>,
    /// Last day on which the calibration counts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub due: Option<Date>,
    /// Expanded uncertainty of the calibration, percent of the reading.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expanded_uncertainty_percent: Option<f64>,
    /// The coverage factor k of that expanded uncertainty.
    #[serde(default = "two")]
    pub coverage_factor: f64,
}

impl Radiometer {
    /// A pair of which nothing is known but the outline of its detector's body.
    pub fn new(name: impl Into<String>, body: Shape) -> Self {
        Self {
            name: name.into(),
            meter_serial: String::new(),
            detector_serial: String::new(),
            band: String::new(),
            calibrated_against: String::new(),
            body,
            aperture_diameter: None,
            sensing_plane: 0.0,
            angular_error_percent: None,
            angular_response: Vec::new(),
            resolution: None,
            range: None,
            calibrated_on: None,
            due: None,
            expanded_uncertainty_percent: None,
            coverage_factor: two(),
        }
    }
}

fn two() -> f64 {
    2.0
}

/// One round of readings on one day with one radiometer in one state of the source.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Survey {
    /// Unique in the station.
    pub name: String,
    /// The day.
    pub date: Date,
    /// Initials of who read.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub operator: String,
    /// The radiometer with the calibration that counted that day: a copy, so that a later calibration
    /// does not change an old survey.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub radiometer: Option<Radiometer>,
    /// How the source was.
    #[serde(default)]
    pub state: SourceState,
    /// Anything worth keeping.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub notes: String,
    /// When the round began, by the clock on the wall: the readings' minutes count from then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub began: Option<DateTime>,
    /// Name of the position to which the detector came back again and again during the round, at one height: what its
    /// repeated readings changed by is the drift of lamp and detector. `None`: there is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference: Option<String>,
    /// In the order in which they were taken or typed.
    #[serde(default)]
    pub readings: Vec<Reading>,
}

/// The state of the source during a survey.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SourceState {
    /// Of the face above the fixture's base, where it was not the station's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub face_height: Option<f64>,
    /// Drive setting, as the supply shows it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub drive: String,
    /// Serial number of the lamp or panel.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub lamp_serial: String,
    /// Hours on the lamp.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lamp_hours: Option<f64>,
    /// Minutes since ignition or switch-on when the round began.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minutes_on: Option<f64>,
    /// Shutter, filter or window in the light's way.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub in_the_way: String,
    /// Whether the pallet was in place, and parts lay on it.
    #[serde(default)]
    pub pallet: Pallet,
}

/// Whether the pallet was in place during a survey, and parts lay on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Pallet {
    /// Nobody said.
    #[default]
    NotSaid,
    /// No parts.
    Empty,
    /// With parts.
    Loaded,
    /// The pallet was out, a plate in its place.
    Out,
}

/// One irradiance read at one position and height.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// Name of the position; may be empty.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub position: String,
    /// To the right.
    pub x: f64,
    /// To the back.
    pub y: f64,
    /// Of the sensing plane above the fixture's base.
    pub height: f64,
    /// mW/cm²; `None`: planned, not read yet.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub irradiance: Option<f64>,
    /// 1 for the first reading there, 2 for the next.
    #[serde(default = "first", skip_serializing_if = "is_first")]
    pub repeat: u32,
    /// Minutes since the round began.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minute: Option<f64>,
    /// Why it does not count; `None`: it does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub excluded: Option<String>,
    /// The meter showed over-range.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub saturated: bool,
    /// Anything worth keeping.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

fn first() -> u32 {
    1
}

fn is_first(repeat: &u32) -> bool {
    *repeat == 1
}

/// How the answer is made: what changes it and is not a measurement.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Settings {
    /// How the governing minimum is picked.
    #[serde(default)]
    pub rule: GoverningRule,
    /// Where the field counts.
    #[serde(default)]
    pub area: AssessedArea,
    /// How the field is made from the readings; `None`: chosen by how well readings left out are
    /// predicted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub family: Option<Family>,
    /// Whether the drift over a round is taken out of the readings of a survey with a reference; `None`: from three visits
    /// of the reference on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drift: Option<bool>,
    /// How readings scatter, as a repeat study found it; `None`: as careful people's do.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scatter: Option<Scatter>,
}

/// How readings scatter.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scatter {
    /// Standard deviation of a reading at one place, percent of it.
    pub noise_percent: f64,
    /// Standard deviation along x and along y of where the detector is set down, mm; `None`: not told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub placement: Option<f64>,
}

/// Which surveys are rounds of one repeat study: the same positions, read by several people or on several days.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RepeatStudy {
    /// In the order in which they were read.
    pub rounds: Vec<Round>,
}

/// A round of a [`RepeatStudy`]; who read it and when stands in the survey.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Round {
    /// Name of the survey.
    pub survey: String,
    /// The pallet was taken out and put back before it.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub reset: bool,
}

/// How the governing minimum is picked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum GoverningRule {
    /// The assured minimum: the default.
    #[default]
    AssuredMinimum,
    /// The lower of the coldest reading and the coldest spot of the field.
    LowerOfReadingAndSpot,
    /// The coldest reading alone. It can never prove a limit: the coldest spot is rarely where a
    /// detector can sit.
    ColdestReading,
}

/// Where the field counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum AssessedArea {
    /// The sites at their own bond-line heights; without sites the whole fixture.
    #[default]
    Sites,
    /// The whole fixture.
    Fixture,
}

/// How a field is made from readings. What each does stands in [`crate::field`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Family {
    /// From the lamp's brightness and the law of distance.
    SourceAware,
    /// Kriging with a constant trend.
    OrdinaryKriging,
    /// Kriging with a trend in place and height.
    UniversalKriging,
    /// The surface that bends least; without an assured minimum.
    ThinPlate,
    /// Weights by the areas of neighbouring cells; without an assured minimum.
    NaturalNeighbour,
    /// Weights by distance: plain, and without an assured minimum.
    InverseDistance,
}

impl Family {
    /// All of them, those with an assured minimum first.
    pub const ALL: [Self; 6] = [
        Self::SourceAware,
        Self::OrdinaryKriging,
        Self::UniversalKriging,
        Self::ThinPlate,
        Self::NaturalNeighbour,
        Self::InverseDistance,
    ];

    /// Whether its fields have an assured minimum.
    pub fn has_assured_minimum(self) -> bool {
        match self {
            Self::SourceAware | Self::OrdinaryKriging | Self::UniversalKriging => true,
            Self::ThinPlate | Self::NaturalNeighbour | Self::InverseDistance => false,
        }
    }
}

impl Reading {
    /// A reading with nothing but where and how much.
    pub fn new(at: Place, irradiance: Option<f64>) -> Self {
        Self {
            position: String::new(),
            x: at.x,
            y: at.y,
            height: at.height,
            irradiance,
            repeat: 1,
            minute: None,
            excluded: None,
            saturated: false,
            note: String::new(),
        }
    }

    /// Where it was read.
    pub fn place(&self) -> Place {
        Place::new(self.x, self.y, self.height)
    }

    /// The irradiance if it counts towards the field: read, not excluded, not saturated, above zero.
    pub fn counted(&self) -> Option<f64> {
        self.irradiance
            .filter(|&e| e.is_finite() && e > 0.0 && self.excluded.is_none() && !self.saturated)
    }
}

impl Fixture {
    /// The outline where it is: the bounds of a rectangle or circle touch both axes, the corners of a
    /// polygon are measured from the datum.
    pub fn footprint(&self) -> Footprint {
        let datum = match self.shape {
            Shape::Rectangle { width, depth } => Point::new(0.5 * width, 0.5 * depth),
            Shape::Circle { diameter } => Point::new(0.5 * diameter, 0.5 * diameter),
            Shape::Polygon { .. } => Point::default(),
        };
        Footprint::new(self.shape.clone(), datum)
    }
}

impl Survey {
    /// How many rows were brought in: `50 readings` when all are read, else `50 rows, none with
    /// irradiance yet,` or how many have one.
    pub fn rows_in_words(readings: &[Reading]) -> String {
        let rows = readings.len();
        let read = readings.iter().filter(|r| r.irradiance.is_some()).count();
        let plural = if rows == 1 { "" } else { "s" };
        match read {
            _ if read == rows => format!("{rows} reading{plural}"),
            0 => format!("{rows} row{plural}, none with irradiance yet,"),
            read => format!("{rows} rows, {read} of them with irradiance,"),
        }
    }
}
