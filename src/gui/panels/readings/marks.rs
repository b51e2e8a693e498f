//! What each row of the grid is marked with: findings, and readings that the others do not bear out.

use std::collections::HashMap;
use std::sync::Arc;

use super::cells::Units;
use crate::session::Session;
use crate::station::{Station, Where};

/// A reading this many predictive standard deviations from what the others predict is worth another
/// look (common practice, no source).
const OUT_OF_LINE: f64 = 4.0;

/// What the marks were made from.
type Key = (Arc<Station>, usize, bool, crate::units::IrradianceUnit);

/// Marks by row, made once for a document and its answer.
#[derive(Debug, Default)]
pub(super) struct Marks {
    of: Option<Key>,
    findings: HashMap<usize, String>,
    out_of_line: HashMap<usize, String>,
}

impl Marks {
    /// Makes them anew when the document, its answer or the unit is another one.
    pub(super) fn renew(&mut self, session: &Session, survey: usize, units: Units) {
        let answer = (session.answers().answer().current()).filter(|a| a.survey == survey);
        let unit = units.irradiance;
        let station = session.station();
        let same = self.of.as_ref().is_some_and(|(of, s, answered, u)| {
            Arc::ptr_eq(of, station) && (*s, *answered, *u) == (survey, answer.is_some(), unit)
        });
        if same {
            return;
        }
        let mut findings: HashMap<usize, String> = HashMap::new();
        for finding in session.findings() {
            if let Where::Reading(of, row) = finding.place
                && of == survey
            {
                let text = findings.entry(row).or_default();
                if !text.is_empty() {
                    text.push('\n');
                }
                text.push_str(&format!("{}; {}", finding.what, finding.mend));
            }
        }
        let out_of_line = answer
            .into_iter()
            .flat_map(|answer| &answer.leave_one_out)
            .filter(|(_, one)| one.standardised.is_some_and(|s| s.abs() > OUT_OF_LINE))
            .map(|(row, one)| {
                let predicted = unit.show_with_unit(one.predicted, None);
                let text = format!(
                    "The others predict {predicted}; check the reading, its position and its height"
                );
                (*row, text)
            })
            .collect();
        *self = Self {
            of: Some((station.clone(), survey, answer.is_some(), unit)),
            findings,
            out_of_line,
        };
    }

    /// The findings about a reading.
    pub(super) fn finding(&self, row: usize) -> Option<&str> {
        self.findings.get(&row).map(String::as_str)
    }

    /// How a reading is out of line with the others.
    pub(super) fn out_of_line(&self, row: usize) -> Option<&str> {
        self.out_of_line.get(&row).map(String::as_str)
    }
}
