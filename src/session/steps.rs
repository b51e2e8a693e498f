//! The steps of the job, and how far each is.

use crate::station::{
    Alike, Finding, Plan, Radiometer, Reading, SourceKind, Station, Survey, Where,
};

/// A step of the job. They can be visited in any order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Step {
    /// Source, fixture, sites, keep-outs, radiometers.
    Fixture,
    /// Where to measure.
    Plan,
    /// What was read.
    Readings,
    /// The map and its answers.
    Field,
    /// What the field is held against, and the verdict.
    Limits,
    /// Where parts may lie, and how many.
    Placement,
    /// One survey against another.
    Change,
    /// Daily readings, radiometers and lamps over time, and the record.
    Upkeep,
    /// Sheets and files.
    Export,
}

/// How far a step is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StepState {
    /// Nothing there yet.
    Empty,
    /// Begun.
    InWork,
    /// Findings to look at: how many, those that are alike counted as one.
    Attention(usize),
    /// Nothing left to do.
    Done,
}

impl Step {
    /// All steps in the order of the job.
    pub const ALL: [Self; 9] = [
        Self::Fixture,
        Self::Plan,
        Self::Readings,
        Self::Field,
        Self::Limits,
        Self::Placement,
        Self::Change,
        Self::Upkeep,
        Self::Export,
    ];

    /// Its name on the screen.
    pub fn name(self) -> &'static str {
        match self {
            Self::Fixture => "Fixture",
            Self::Plan => "Plan",
            Self::Readings => "Readings",
            Self::Field => "Field",
            Self::Limits => "Limits",
            Self::Placement => "Placement",
            Self::Change => "Change",
            Self::Upkeep => "Upkeep",
            Self::Export => "Export",
        }
    }

    /// The step where a finding is mended.
    pub fn of(place: &Where) -> Self {
        match place {
            Where::Source(_)
            | Where::Fixture(_)
            | Where::Sites(_)
            | Where::KeepOut(_)
            | Where::Radiometer(..) => Self::Fixture,
            Where::Plan(_) | Where::Position(_) => Self::Plan,
            Where::Limits(_) | Where::Trials(_) | Where::Trial(_) | Where::Exposure(_) => {
                Self::Limits
            }
            Where::Survey(..) | Where::Reading(..) | Where::Repeat => Self::Readings,
            Where::Settings(_) => Self::Field,
            Where::Upkeep(_) | Where::LogEntry(_) => Self::Upkeep,
        }
    }

    /// How far the step is. `answered`: whether the field has an answer, `judged`: whether that was held
    /// against limits, `exported`: whether everything wanted was written since the last change; `None` when
    /// nothing was.
    pub fn state(
        self,
        station: &Station,
        findings: &[Finding],
        (answered, judged): (bool, bool),
        exported: Option<bool>,
    ) -> StepState {
        let here = findings.iter().filter(|f| Self::of(&f.place) == self);
        let attention = Alike::groups(here).len();
        if attention > 0 {
            return StepState::Attention(attention);
        }
        let is_read =
            |s: &Survey| !s.readings.is_empty() && s.readings.iter().all(Reading::is_done);
        let counts = |s: &Survey| s.readings.iter().any(|r| r.counted().is_some());
        let surveys = || station.surveys.iter().map(|survey| &**survey);
        let all_read = surveys().next().is_some() && surveys().all(is_read);
        let (begun, done) = match self {
            Self::Fixture => (true, !station.sites.is_empty() && is_described(station)),
            Self::Plan => {
                let any = !station.positions().is_empty();
                let [begun, done] = planned(station);
                (any && begun, any && done)
            }
            Self::Readings => (!station.surveys.is_empty(), all_read),
            Self::Field => (surveys().any(counts), answered && all_read),
            Self::Limits => (station.limits.is_some(), judged),
            // it is a question, and what is taken of it stands in the fixture
            Self::Placement => (answered, false),
            Self::Change => (
                station.surveys.len() > 1,
                surveys().filter(|s| counts(s)).count() > 1,
            ),
            // it never ends
            Self::Upkeep => (station.upkeep.is_some(), false),
            Self::Export => (exported.is_some(), exported == Some(true)),
        };
        match (begun, done) {
            (_, true) => StepState::Done,
            (true, false) => StepState::InWork,
            (false, false) => StepState::Empty,
        }
    }
}

/// Whether somebody has said what shines and with what it is measured: an entry with nothing typed into it says neither.
fn is_described(station: &Station) -> bool {
    let source = &station.source;
    let shines =
        !source.name.trim().is_empty() || source.kind != SourceKind::Other || source.face.is_some();
    let is_known = |r: &Radiometer| *r != Radiometer::new(r.name.clone(), r.body.clone());
    shines && station.radiometers.iter().any(is_known)
}

/// Whether the plan is more than what every station begins with, and whether it says all that it has to: by more than
/// what it began with, or because something was measured by it.
fn planned(station: &Station) -> [bool; 2] {
    let plan = &station.plan;
    let begins = plan.layout == Plan::begin().layout
        || (plan.plate.is_some() && plan.layout == station.layout_to_begin_with());
    let is_own = !begins || plan.heights != station.heights_to_begin_with();
    let is_used = is_own || !station.surveys.is_empty();
    let is_made_for_one = plan.radiometer.is_some();
    [is_used || is_made_for_one, is_used && is_made_for_one]
}

impl StepState {
    /// The state in words.
    pub fn words(self) -> String {
        match self {
            Self::Empty => "empty".into(),
            Self::InWork => "in work".into(),
            Self::Attention(1) => "1 finding".into(),
            Self::Attention(n) => format!("{n} findings"),
            Self::Done => "done".into(),
        }
    }
}
