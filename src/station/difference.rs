//! A station told by what it differs in from another one. Lists of readings are long and seldom change much: two
//! hundred whole copies of a machine's scan would not fit into memory, and one takes long to write.

use serde::{Deserialize, Serialize};

use super::{Log, LogEntry, Reading, Shared, Station};

/// A station as it differs from another one, which is needed to have it back. Its text form is that of the journal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Difference {
    /// All but the readings.
    rest: Box<Station>,
    /// For each survey its readings.
    readings: Vec<Differing>,
    /// The months of the irradiance log.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    log: Vec<OfLog>,
}

/// A month of the log: that of the other station at an index, or its entries.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
enum OfLog {
    Same(usize),
    Other(Vec<LogEntry>),
}

/// A list of readings: so many as the other list begins with, those between, so many as it ends with.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Differing {
    head: usize,
    between: Vec<Reading>,
    tail: usize,
}

impl Difference {
    /// What tells `station` to who has `other`.
    pub fn of(station: &Station, other: &Station) -> Self {
        let mut rest = Box::new(station.clone());
        let lists = rest.surveys.iter_mut().enumerate().map(|(i, survey)| {
            let differing = match other.surveys.get(i) {
                Some(same) if same.is(survey) => Differing::nothing(same.readings.len()),
                _ => Differing::of(&survey.readings, readings(other, i)),
            };
            *survey = survey.details().into();
            differing
        });
        let readings = lists.collect();
        let log = match &mut rest.upkeep {
            Some(upkeep) => {
                let there = months(other);
                let log = upkeep.log.months().iter().map(|month| {
                    // that of another list may hold the same entries, and is compared by what it holds
                    match there.iter().position(|other| other == month) {
                        Some(same) => OfLog::Same(same),
                        None => OfLog::Other(Vec::clone(month)),
                    }
                });
                let log = log.collect();
                *upkeep = upkeep.without_log().into();
                log
            }
            None => Vec::new(),
        };
        Self {
            rest,
            readings,
            log,
        }
    }

    /// The station, from the other one, with which it shares the surveys that are the same. `None`: it does not belong
    /// to that.
    pub fn restored(&self, other: &Station) -> Option<Station> {
        let mut station = Station::clone(&self.rest);
        if station.surveys.len() != self.readings.len() {
            return None;
        }
        let lists = station.surveys.iter_mut().zip(&self.readings).enumerate();
        for (i, (survey, differing)) in lists {
            let there = other.surveys.get(i);
            let same = there.filter(|there| {
                *differing == Differing::nothing(there.readings.len())
                    && **survey == there.details()
            });
            match same {
                Some(same) => *survey = same.clone(),
                None => survey.readings = differing.restored(readings(other, i))?,
            }
        }
        if let Some(upkeep) = &mut station.upkeep {
            let there = months(other);
            let log: Option<Vec<_>> = (self.log.iter())
                .map(|month| match month {
                    OfLog::Same(same) => there.get(*same).cloned(),
                    OfLog::Other(entries) if entries.is_empty() => None,
                    OfLog::Other(entries) => Some(entries.clone().into()),
                })
                .collect();
            upkeep.log = Log::of_months(log?);
        }
        Some(station)
    }
}

/// Those of its log.
fn months(station: &Station) -> &[Shared<Vec<LogEntry>>] {
    (station.upkeep.as_ref()).map_or(&[], |upkeep| upkeep.log.months())
}

/// Those of a survey; of one that is not there, none.
fn readings(station: &Station, survey: usize) -> &[Reading] {
    station.surveys.get(survey).map_or(&[], |s| &s.readings)
}

impl Differing {
    /// Of a list that is the other one, which is so long.
    fn nothing(length: usize) -> Self {
        Self {
            head: length,
            between: Vec::new(),
            tail: 0,
        }
    }

    fn of(list: &[Reading], other: &[Reading]) -> Self {
        let head = list.iter().zip(other).take_while(|(a, b)| a == b).count();
        let ends = list[head..].iter().rev().zip(other[head..].iter().rev());
        let tail = ends.take_while(|(a, b)| a == b).count();
        Self {
            head,
            between: list[head..list.len() - tail].to_vec(),
            tail,
        }
    }

    fn restored(&self, other: &[Reading]) -> Option<Vec<Reading>> {
        let head = other.get(..self.head)?;
        let tail = other.get(other.len().checked_sub(self.tail)?..)?;
        Some([head, &self.between, tail].concat())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Place;

    fn list(values: &[f64]) -> Vec<Reading> {
        let at = Place::new(1.0, 2.0, 3.0);
        values.iter().map(|&v| Reading::new(at, Some(v))).collect()
    }

    #[test]
    fn what_differs_gives_the_list_back() {
        let lists = [
            vec![],
            vec![1.0],
            vec![1.0, 1.0],
            vec![1.0, 2.0, 3.0],
            vec![1.0, 3.0],
            vec![1.0, 2.0, 2.0, 3.0],
            vec![4.0, 2.0, 3.0],
            vec![5.0, 6.0],
        ];
        for one in &lists {
            for other in &lists {
                let (one, other) = (list(one), list(other));
                let differing = Differing::of(&one, &other);
                assert_eq!(differing.restored(&other), Some(one));
            }
        }
    }

    #[test]
    fn of_a_long_list_only_what_differs_is_kept() {
        let long: Vec<f64> = (0..1000).map(f64::from).collect();
        let mut changed = long.clone();
        changed[500] = -1.0;
        changed.insert(501, -2.0);
        let differing = Differing::of(&list(&long), &list(&changed));
        assert_eq!((differing.head, differing.tail), (500, 499));
        assert_eq!(differing.between, list(&[500.0]));
        assert!(differing.between.capacity() < 10);
    }

    #[test]
    fn what_belongs_to_another_list_is_not_made_up() {
        let differing = Differing::of(&list(&[1.0, 2.0, 3.0]), &list(&[1.0, 2.0, 4.0]));
        assert_eq!(differing.restored(&list(&[1.0])), None);
    }

    #[test]
    fn surveys_that_are_the_same_are_shared_with_the_other_station() {
        use crate::geometry::Shape;
        let mut other = Station::new("bench", Shape::Circle { diameter: 100.0 }, 80.0);
        for name in ["one", "two"] {
            let mut survey = other.new_survey(name, jiff::civil::date(2026, 3, 9));
            survey.readings = list(&[1.0, 2.0, 3.0]);
            other.surveys.push(survey.into());
        }
        let mut station = other.clone();
        station.name = "renamed".into();
        station.surveys[1].readings[2].note = "again".into();
        let restored = Difference::of(&station, &other).restored(&other);
        let restored = restored.expect("it belongs to that");
        assert_eq!(restored, station);
        assert!(restored.surveys[0].is(&other.surveys[0]));
        assert!(!restored.surveys[1].is(&other.surveys[1]));
        station.surveys[0].notes = "other details, the same readings".into();
        let restored = Difference::of(&station, &other).restored(&other);
        assert_eq!(restored, Some(station));
    }
}
