//! The document as a whole.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::limits::Limits;
use super::numbers::MOST_HEIGHTS;
use super::{
    Exposure, Fixture, KeepOut, Pallet, Papers, Plan, Radiometer, RepeatStudy, Settings, Shared,
    SiteGroup, Source, SourceKind, SourceState, Survey, Trials, Upkeep,
};
use crate::geometry::{Point, Shape};

/// The document.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Station {
    /// What people call it.
    pub name: String,
    /// Anything worth keeping.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub notes: String,
    /// The lamp.
    pub source: Source,
    /// The pallet.
    pub fixture: Fixture,
    /// Where parts lie.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub sites: Vec<SiteGroup>,
    /// Where no detector can sit or no part may lie.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub keep_outs: Vec<KeepOut>,
    /// Meter and detector pairs in use here.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub radiometers: Vec<Radiometer>,
    /// Where to measure.
    pub plan: Plan,
    /// What was measured, oldest first. A scan is long: versions of the document hold it together.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub surveys: Vec<Shared<Survey>>,
    /// Which surveys tell how well a reading is repeated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeat: Option<RepeatStudy>,
    /// What cures the adhesive: trials from which the least level is found.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trials: Option<Trials>,
    /// How one exposure runs in time.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub exposure: Option<Exposure>,
    /// How the answer is made.
    #[serde(default)]
    pub settings: Settings,
    /// What the field is held against; `None`: no limits are set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limits: Option<Box<Limits>>,
    /// Irradiance log, events and radiometers side by side.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub upkeep: Option<Shared<Upkeep>>,
    /// Who answers for the record; a file with this part keeps a history.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub papers: Option<Papers>,
}

impl Survey {
    /// Height of the source's face above the fixture's base during this survey.
    pub fn face_height(&self, station: &Station) -> f64 {
        self.state.face_height.unwrap_or(station.source.face_height)
    }

    /// Everything but the readings.
    pub fn details(&self) -> Self {
        Self {
            name: self.name.clone(),
            date: self.date,
            operator: self.operator.clone(),
            radiometer: self.radiometer.clone(),
            state: self.state.clone(),
            notes: self.notes.clone(),
            began: self.began,
            reference: self.reference.clone(),
            readings: Vec::new(),
        }
    }
}

impl Station {
    /// A station that has a source and a fixture and nothing else.
    pub fn new(name: impl Into<String>, fixture: Shape, face_height: f64) -> Self {
        let mut station = Self {
            name: name.into(),
            notes: String::new(),
            source: Source {
                name: String::new(),
                kind: SourceKind::Other,
                face: None,
                face_height,
                array: None,
            },
            fixture: Fixture {
                name: String::new(),
                shape: fixture,
                rim: None,
                reflectance_percent: None,
            },
            sites: Vec::new(),
            keep_outs: Vec::new(),
            radiometers: Vec::new(),
            plan: Plan::begin(),
            surveys: Vec::new(),
            repeat: None,
            trials: None,
            exposure: None,
            settings: Settings::default(),
            limits: None,
            upkeep: None,
            papers: None,
        };
        station.plan.layout = station.layout_to_begin_with();
        station
    }

    /// The station as far as it says where detectors and parts can be, and which of that counts: what questions about
    /// places hang on, and nothing else.
    pub fn bench(&self) -> Self {
        Self {
            name: String::new(),
            notes: String::new(),
            source: self.source.clone(),
            fixture: self.fixture.clone(),
            sites: self.sites.clone(),
            keep_outs: self.keep_outs.clone(),
            radiometers: self.radiometers.clone(),
            plan: self.plan.clone(),
            surveys: Vec::new(),
            repeat: None,
            trials: None,
            exposure: None,
            settings: Settings {
                area: self.settings.area,
                ..Settings::default()
            },
            limits: None,
            upkeep: None,
            papers: None,
        }
    }

    /// The heights that a plan begins with, mm: those of the bond lines, ascending; without sites, the fixture's base.
    pub fn heights_to_begin_with(&self) -> Vec<f64> {
        let mut lines: Vec<f64> = self.sites.iter().map(|group| group.height).collect();
        lines.sort_by(f64::total_cmp);
        lines.dedup();
        lines.truncate(MOST_HEIGHTS);
        if lines.is_empty() { vec![0.0] } else { lines }
    }

    /// Log, events and comparisons; of a station that has none yet, empty ones.
    pub fn upkeep(&self) -> Shared<Upkeep> {
        self.upkeep.clone().unwrap_or_default()
    }

    /// The survey of that name.
    pub fn survey(&self, name: &str) -> Option<usize> {
        self.surveys.iter().position(|s| s.name == name)
    }

    /// The survey at that index, where it is not known whether there is one.
    pub fn survey_at(&self, index: usize) -> Option<&Survey> {
        self.surveys.get(index).map(|survey| &**survey)
    }

    /// A survey without readings under a name that is free: `name`, or `name 2` and so on; with the
    /// radiometer that the plan is made for and, where it is read on a plate, with the pallet out.
    pub fn new_survey(&self, name: &str, date: Date) -> Survey {
        let mut free = name.to_owned();
        let mut n = 2;
        while self.survey(&free).is_some() {
            free = format!("{name} {n}");
            n += 1;
        }
        Survey {
            name: free,
            date,
            operator: String::new(),
            radiometer: self.plan_radiometer().cloned(),
            state: SourceState {
                pallet: self.plan.plate.map_or(Pallet::NotSaid, |_| Pallet::Out),
                ..SourceState::default()
            },
            notes: String::new(),
            began: None,
            reference: None,
            readings: Vec::new(),
        }
    }

    /// The newest survey: the latest date, among equals the one added last.
    pub fn newest_survey(&self) -> Option<usize> {
        (0..self.surveys.len()).max_by_key(|&i| (self.surveys[i].date, i))
    }

    /// Whether a detector can be put there as the plan is read: inside the outline of pallet or plate and clear of what
    /// bars it, with its body when the plan's radiometer is known.
    pub fn can_sit(&self, at: Point) -> bool {
        let body = self.plan_radiometer().map(|r| &r.body);
        self.seats().is_free(at, body)
    }

    /// The same with the pallet in place, however the plan is read: where a detector can sit every day.
    pub fn can_sit_on_pallet(&self, at: Point) -> bool {
        let body = self.plan_radiometer().map(|r| &r.body);
        self.seats_on_pallet().is_free(at, body)
    }

    /// The radiometer that the plan is made for.
    pub fn plan_radiometer(&self) -> Option<&Radiometer> {
        let name = self.plan.radiometer.as_deref()?;
        self.radiometers.iter().find(|r| r.name == name)
    }
}
