//! What each row of the grid is marked with: findings, and readings that the others do not bear out.

use std::collections::{BTreeMap, HashMap};

use crate::assess::OutOfLine;
use crate::field::Fitted;
use crate::session::{Same, Session};
use crate::station::{Reading, Station, Where};
use crate::units::Units;
use crate::units::{IrradianceUnit, fixed};

/// What the marks were made from.
#[derive(Debug, PartialEq)]
struct MarksOf {
    station: Same<Station>,
    survey: usize,
    /// Of this very document, as soon as it is there.
    field: Option<Same<Fitted>>,
    unit: IrradianceUnit,
}

/// Marks by row, made once for a document and its field.
#[derive(Debug, Default)]
pub(super) struct Marks {
    of: Option<MarksOf>,
    findings: HashMap<usize, String>,
    /// With the reading as it was then.
    out_of_line: BTreeMap<usize, (Reading, OutOfLine, String)>,
}

impl Marks {
    /// Makes them anew when the document, its field or the unit is another one. While another field is being worked
    /// out, a reading that is as it was keeps its mark.
    pub(super) fn renew(&mut self, session: &Session, survey: usize, units: Units) {
        let station = session.station();
        let fit = (session.answers().fit().current()).filter(|fit| fit.survey == survey);
        let key = MarksOf {
            station: Same(station.clone()),
            survey,
            field: fit.map(|fit| Same(fit.field.clone())),
            unit: units.irradiance,
        };
        if self.of.as_ref() == Some(&key) {
            return;
        }
        let Some(of) = station.surveys.get(survey) else {
            return;
        };
        let same_survey = self.of.as_ref().is_some_and(|old| old.survey == survey);
        let mark = |out: OutOfLine| {
            let reading = of.readings.get(out.row)?;
            Some((out.row, (reading.clone(), out, said(&out, key.unit))))
        };
        self.out_of_line = match fit {
            Some(fit) => fit.out_of_line.iter().copied().filter_map(mark).collect(),
            None if same_survey => {
                let kept = std::mem::take(&mut self.out_of_line).into_iter();
                let as_it_was = |(row, (was, ..)): &(usize, (Reading, _, _))| {
                    of.readings.get(*row) == Some(was)
                };
                kept.filter(as_it_was)
                    .filter_map(|(_, (_, out, _))| mark(out))
                    .collect()
            }
            None => BTreeMap::new(),
        };
        self.findings = findings(session, survey);
        self.of = Some(key);
    }

    /// The findings about a reading.
    pub(super) fn finding(&self, row: usize) -> Option<&str> {
        self.findings.get(&row).map(String::as_str)
    }

    /// How a reading is out of line with the others.
    pub(super) fn out_of_line(&self, row: usize) -> Option<&str> {
        self.out_of_line.get(&row).map(|(_, _, said)| said.as_str())
    }

    /// The rows that are out of line, and what is said of each.
    pub(super) fn all_out_of_line(&self) -> impl Iterator<Item = (usize, &str)> {
        self.out_of_line
            .iter()
            .map(|(row, (_, _, said))| (*row, said.as_str()))
    }
}

/// Findings about readings by row.
fn findings(session: &Session, survey: usize) -> HashMap<usize, String> {
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
    findings
}

/// What the others predict, and how far from it the reading is.
fn said(out: &OutOfLine, unit: IrradianceUnit) -> String {
    let way = if out.deviations > 0.0 {
        "above"
    } else {
        "below"
    };
    format!(
        "The others predict {} {} here; this reading is {} % {way} that, {} standard deviations. It counts until it is read again: check the reading, its position and its height",
        unit.show_expanded(out.predicted, out.uncertainty()),
        unit.symbol(),
        fixed(out.percent().abs(), 1),
        fixed(out.deviations.abs(), 1),
    )
}
