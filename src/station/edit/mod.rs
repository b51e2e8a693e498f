//! The one way to change a station: an [`Edit`] is a value, and a refused one changes nothing.

mod apply;
mod name;
mod repeat;
mod upkeep;

use serde::{Deserialize, Serialize};

use super::limits::Limits;
use super::{
    Exposure, Fixture, KeepOut, LogEntry, Papers, Plan, Position, Radiometer, Reading, RepeatStudy,
    Settings, SiteGroup, Source, Survey, Trials, Upkeep,
};
use crate::geometry::Point;

/// A change of the document. Its text form is that of the journal, not of any file that is kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Edit {
    /// Another name for the station.
    Rename(String),
    /// Other notes.
    SetNotes(String),
    /// Another source.
    SetSource(Source),
    /// Another fixture.
    SetFixture(Fixture),
    /// One more group of sites, at the end.
    AddSites(SiteGroup),
    /// Another group in place of the one at that index.
    SetSites(usize, SiteGroup),
    /// Takes a group away.
    RemoveSites(usize),
    /// Other groups of sites in place of all that there are: an arrangement that is taken.
    ArrangeSites(Vec<SiteGroup>),
    /// Moves a group of sites by so much along x and y, mm.
    MoveSites(usize, Point),
    /// One more keep-out, at the end.
    AddKeepOut(KeepOut),
    /// Another keep-out in place of the one at that index.
    SetKeepOut(usize, KeepOut),
    /// Takes a keep-out away.
    RemoveKeepOut(usize),
    /// One more radiometer, at the end.
    AddRadiometer(Radiometer),
    /// Another radiometer in place of the one at that index; a plan that names it follows.
    SetRadiometer(usize, Radiometer),
    /// Takes a radiometer away; surveys keep their copies, a plan made for it is made for none.
    RemoveRadiometer(usize),
    /// Another plan.
    SetPlan(Plan),
    /// Moves one position, by index in [`Station::positions`](super::Station::positions); rows and columns become positions
    /// placed by hand.
    MovePosition(usize, Point),
    /// One more position, at the end; rows and columns become positions placed by hand.
    AddPosition {
        /// The position.
        position: Position,
        /// The survey that gets rows to fill in for it, one a planned height.
        survey: Option<usize>,
    },
    /// One more survey, at the end.
    AddSurvey(Survey),
    /// Everything of a survey but its readings; those of the given one are ignored.
    SetSurveyDetails(usize, Survey),
    /// Takes a survey and its readings away.
    RemoveSurvey(usize),
    /// Readings put in before a row (at the end when the row is beyond it).
    InsertReadings {
        /// Which survey.
        survey: usize,
        /// Before which row.
        row: usize,
        /// What to put in.
        readings: Vec<Reading>,
    },
    /// Readings in place of those from a row on; what goes beyond the end is added. Typing in a
    /// cell and pasting a block are both this.
    SetReadings {
        /// Which survey.
        survey: usize,
        /// From which row on.
        row: usize,
        /// What stands there now.
        readings: Vec<Reading>,
        /// What it is called in the undo menu: "type irradiance", "paste 12 cells".
        name: String,
    },
    /// Takes rows away.
    RemoveReadings {
        /// Which survey.
        survey: usize,
        /// Which rows, in any order.
        rows: Vec<usize>,
    },
    /// Another repeat study, or none.
    SetRepeat(Option<RepeatStudy>),
    /// Other settings.
    SetSettings(Settings),
    /// Other limits, or the first ones. Whether they are frozen, and what is on record, stays.
    SetLimits(Box<Limits>),
    /// Takes the limits away; not while they are frozen or something is on record.
    RemoveLimits,
    /// Declares rule and limits final: a later change is on record.
    FreezeLimits,
    /// They may be changed freely again; that is on record too.
    ThawLimits,
    /// Other cure trials, or none.
    SetTrials {
        /// What stands there now.
        trials: Option<Box<Trials>>,
        /// What it is called in the undo menu: "type result in row 3"; empty: told by what changed.
        name: String,
    },
    /// Another course of the exposure, or none.
    SetExposure(Option<Exposure>),
    /// Entries put into the irradiance log, each where its time belongs.
    AddToLog {
        /// What to put in.
        entries: Vec<LogEntry>,
        /// What it is called in the undo menu; empty: told by how many they are.
        name: String,
    },
    /// Another entry in place of the one at that index; it moves where its time belongs.
    SetInLog(usize, LogEntry),
    /// Takes entries of the log away.
    RemoveFromLog(Vec<usize>),
    /// All of upkeep but the log; that of the given one is ignored.
    SetUpkeep {
        /// What stands there now.
        upkeep: Box<Upkeep>,
        /// What it is called in the undo menu.
        name: String,
    },
    /// Other people who answer for the record.
    SetPapers(Papers),
}

/// An edit that can't be made: what is wrong and what to do, as one sentence for the person.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused(pub String);

impl std::fmt::Display for Refused {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for Refused {}
