//! What is odd about a station, and where.

mod bond;
mod fixture;
mod limits;
mod overlap;
mod plan;
mod repeat;
mod repeated;
mod round;
mod survey;

use super::finding::{Finding, Severity};
use super::sound::Unsound;
use super::{Shared, Station, Survey};
use crate::units::Units;

impl Station {
    /// Everything odd about the station, in the order of the steps. Fast enough to run after each
    /// edit: no part is held against every other one. When a number can't be
    /// ([`unsound`](Self::unsound)), only such numbers are said: what hangs on them would mislead. Lengths are said in mm,
    /// irradiance in mW/cm².
    pub fn check(&self) -> Vec<Finding> {
        Checked::default().again(self, Units::default())
    }
}

/// What was found last, to look only at those surveys again of which something changed.
#[derive(Debug, Default)]
pub struct Checked {
    surveys: Vec<OfSurvey>,
}

#[derive(Debug)]
struct OfSurvey {
    survey: Shared<Survey>,
    unsound: Vec<Unsound>,
    found: Option<(survey::Beside, Vec<Finding>)>,
}

impl Checked {
    /// Everything odd about a station, as [`Station::check`] says it, in somebody's units.
    pub fn again(&mut self, station: &Station, units: Units) -> Vec<Finding> {
        self.take(station);
        let mut found: Vec<Finding> = station
            .unsound_with(|survey| self.surveys[survey].unsound.clone())
            .into_iter()
            .map(|unsound| Finding {
                place: unsound.place,
                severity: Severity::Warning,
                what: unsound.what,
                mend: unsound.mend,
            })
            .collect();
        if found.is_empty() {
            fixture::check(station, units.length, &mut found);
            bond::check(station, units.length, &mut found);
            plan::check(station, units.length, &mut found);
            for (index, of) in self.surveys.iter_mut().enumerate() {
                of.look(station, index, units, &mut found);
            }
            repeat::check(station, &mut found);
            limits::check(station, units, &mut found);
        }
        found
    }

    /// The surveys of a station, with what is known of those that it shares with the last one.
    fn take(&mut self, station: &Station) {
        self.surveys.truncate(station.surveys.len());
        for (index, survey) in station.surveys.iter().enumerate() {
            if self
                .surveys
                .get(index)
                .is_some_and(|of| of.survey.is(survey))
            {
                continue;
            }
            let of = OfSurvey {
                survey: survey.clone(),
                unsound: survey.unsound(index),
                found: None,
            };
            self.surveys
                .splice(index..(index + 1).min(self.surveys.len()), [of]);
        }
    }
}

impl OfSurvey {
    fn look(&mut self, station: &Station, index: usize, units: Units, found: &mut Vec<Finding>) {
        let beside = survey::Beside::of(station, index, units);
        let known = self.found.take().filter(|known| known.0 == beside);
        let (_, here) = self.found.insert(known.unwrap_or_else(|| {
            let here = survey::check(&self.survey, index, &beside);
            (beside, here)
        }));
        found.extend_from_slice(here);
    }
}
