//! What is odd about a station, and where.

use std::collections::HashMap;
use std::collections::hash_map::Entry;

/// How much a finding matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Worth a look; the answer stands.
    Note,
    /// The answer may be wrong until this is mended.
    Warning,
}

/// Where a finding points to, so that a click can go there. Field names are the labels of the forms.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Where {
    /// A field of the source's form.
    Source(&'static str),
    /// A field of the fixture's form.
    Fixture(&'static str),
    /// A group of sites, by index.
    Sites(usize),
    /// A keep-out, by index.
    KeepOut(usize),
    /// A field of a radiometer's form, by index in the station.
    Radiometer(usize, &'static str),
    /// A field of the plan's form.
    Plan(&'static str),
    /// A planned position, by index in [`Station::positions`](crate::station::Station::positions).
    Position(usize),
    /// A field of the form of limits.
    Limits(&'static str),
    /// A field of a survey's form, by index.
    Survey(usize, &'static str),
    /// A reading, by survey and row.
    Reading(usize, usize),
    /// The repeat study.
    Repeat,
    /// A setting of how the answer is made.
    Settings(&'static str),
    /// A field of the form of the cure trials.
    Trials(&'static str),
    /// A part of the cure trials, by row.
    Trial(usize),
    /// A field of the exposure's form.
    Exposure(&'static str),
    /// A part of upkeep: events, radiometers side by side, days between checks.
    Upkeep(&'static str),
    /// An entry of the irradiance log, by row.
    LogEntry(usize),
}

/// One thing that is odd: where it is, what it is, what to do. Each a plain sentence without a full
/// stop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// Where.
    pub place: Where,
    /// How much it matters.
    pub severity: Severity,
    /// What is odd.
    pub what: String,
    /// What to do.
    pub mend: String,
}

/// Findings that one mistake makes many of: of the same kind, to be mended in the same way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Alike<'a> {
    /// All of them, in their order; at least one.
    pub findings: Vec<&'a Finding>,
}

impl<'a> Alike<'a> {
    /// Findings by what they have in common, in the order of the first of each.
    pub fn groups(findings: impl IntoIterator<Item = &'a Finding>) -> Vec<Self> {
        let mut groups: Vec<Self> = Vec::new();
        let mut known: HashMap<_, usize> = HashMap::new();
        for finding in findings {
            // what to do says what is odd; only the name and the place differ
            let survey = match finding.place {
                Where::Survey(survey, _) | Where::Reading(survey, _) => Some(survey),
                _ => None,
            };
            let kind = std::mem::discriminant(&finding.place);
            let key = (kind, survey, finding.severity, finding.mend.as_str());
            match known.entry(key) {
                Entry::Occupied(at) => groups[*at.get()].findings.push(finding),
                Entry::Vacant(free) => {
                    free.insert(groups.len());
                    groups.push(Self {
                        findings: vec![finding],
                    });
                }
            }
        }
        groups
    }

    /// The first of them.
    pub fn first(&self) -> &'a Finding {
        self.findings[0]
    }

    /// What is odd about the first, and how many more there are.
    pub fn what(&self) -> String {
        let what = &self.first().what;
        match self.findings.len() {
            1 => what.clone(),
            n => format!("{what} (and {} more)", n - 1),
        }
    }
}

pub(super) fn note(place: Where, what: String, mend: impl Into<String>) -> Finding {
    Finding {
        place,
        severity: Severity::Note,
        what,
        mend: mend.into(),
    }
}

pub(super) fn warning(place: Where, what: String, mend: impl Into<String>) -> Finding {
    Finding {
        severity: Severity::Warning,
        ..note(place, what, mend)
    }
}
