//! What `next --json` prints.

use serde::Serialize;

use super::rounded;
use crate::probing::Proposal;
use crate::station::Station;

/// Where to measure next.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NextRecord {
    /// Name of the station.
    pub station: String,
    /// Name of the survey.
    pub survey: String,
    /// The assured minimum (relative) as it is.
    pub assured_mw_cm2: f64,
    /// The heights at which to read each position.
    pub heights_mm: Vec<f64>,
    /// In the order in which to read them; none whose rise can't be told from noise.
    pub positions: Vec<ProposedRecord>,
}

/// One proposed position.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ProposedRecord {
    /// A name that is free in the plan.
    pub position: String,
    /// To the right of the datum.
    pub x_mm: f64,
    /// To the back of the datum.
    pub y_mm: f64,
    /// The assured minimum to expect once this position and those before it were read.
    pub expected_assured_mw_cm2: f64,
    /// By how much this position raises it.
    pub gain_percent: f64,
}

impl NextRecord {
    /// The record of a proposal for a survey.
    pub fn new(station: &Station, survey: usize, proposal: &Proposal) -> Self {
        let named = station.surveys.get(survey);
        Self {
            station: station.name.clone(),
            survey: named.map_or_else(String::new, |s| s.name.clone()),
            assured_mw_cm2: rounded(proposal.assured),
            heights_mm: proposal.heights.clone(),
            positions: proposal
                .positions
                .iter()
                .map(|p| ProposedRecord {
                    position: p.position.name.clone(),
                    x_mm: rounded(p.position.at.x),
                    y_mm: rounded(p.position.at.y),
                    expected_assured_mw_cm2: rounded(p.expected),
                    gain_percent: rounded(p.gain_percent),
                })
                .collect(),
        }
    }
}
