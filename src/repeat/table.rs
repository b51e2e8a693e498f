//! The readings that all rounds of a study have.

use std::collections::BTreeMap;

use crate::assess::{drift_of_visits, takes_out};
use crate::geometry::Place;
use crate::station::{Reading, Station, Survey};

/// A position at a height, as it is found again in another survey: by its name where it has one, else by its place, in
/// tenths of a millimetre.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Key {
    height: i64,
    name: String,
    at: (i64, i64),
}

impl Key {
    fn of(reading: &Reading) -> Self {
        let tenths = |mm: f64| (10.0 * mm).round() as i64;
        Self {
            height: tenths(reading.height),
            name: reading.position.clone(),
            at: if reading.position.is_empty() {
                (tenths(reading.x), tenths(reading.y))
            } else {
                (0, 0)
            },
        }
    }
}

/// A position that was read in all rounds.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Row {
    pub name: String,
    pub at: Place,
    /// Natural logarithm of irradiance, a round each; of several readings in a round their mean.
    pub logs: Vec<f64>,
    /// How many readings each is the mean of.
    pub counts: Vec<usize>,
}

/// All of them.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Table {
    /// In the order of the first round.
    pub rows: Vec<Row>,
    /// Positions that were read in some rounds only.
    pub left_out: usize,
    /// Sum of squares of readings about their mean in a round, and its degrees of freedom.
    pub within: (f64, usize),
}

/// Natural logarithm of each reading that counts, drift taken out where the survey's is.
fn logs<'a>(station: &Station, survey: &'a Survey) -> Vec<(&'a Reading, f64)> {
    let mut taken = vec![0.0; survey.readings.len()];
    if let Some((drift, rows)) = drift_of_visits(survey)
        && takes_out(station.settings.drift, drift.visits.len())
    {
        for (row, by) in rows.into_iter().zip(drift.taken) {
            taken[row] = by;
        }
    }
    let each = survey.readings.iter().zip(taken);
    each.filter_map(|(r, by)| Some((r, r.counted()?.ln() - by)))
        .filter(|(r, _)| r.place().is_finite())
        .collect()
}

impl Table {
    /// Of surveys, by index.
    pub fn of(station: &Station, surveys: &[usize]) -> Self {
        let mut order: Vec<Key> = Vec::new();
        let mut cells: BTreeMap<Key, (Place, Vec<Vec<f64>>)> = BTreeMap::new();
        for (round, &survey) in surveys.iter().enumerate() {
            for (reading, log) in logs(station, &station.surveys[survey]) {
                let key = Key::of(reading);
                let empty = || (reading.place(), vec![Vec::new(); surveys.len()]);
                if !cells.contains_key(&key) {
                    order.push(key.clone());
                }
                cells.entry(key).or_insert_with(empty).1[round].push(log);
            }
        }
        let (mut rows, mut left_out, mut within) = (Vec::new(), 0, (0.0, 0));
        for key in order {
            let Some((at, all)) = cells.remove(&key) else {
                continue;
            };
            if all.iter().any(Vec::is_empty) {
                left_out += 1;
                continue;
            }
            let mut row = Row {
                name: key.name,
                at,
                logs: Vec::with_capacity(all.len()),
                counts: all.iter().map(Vec::len).collect(),
            };
            for logs in all {
                let mean = logs.iter().sum::<f64>() / logs.len() as f64;
                within.0 += logs.iter().map(|l| (l - mean).powi(2)).sum::<f64>();
                within.1 += logs.len() - 1;
                row.logs.push(mean);
            }
            rows.push(row);
        }
        Self {
            rows,
            left_out,
            within,
        }
    }

    /// Harmonic mean of how many readings a cell is the mean of (unweighted means; Burdick & Graybill 1992).
    pub fn readings_each(&self) -> f64 {
        let counts = self.rows.iter().flat_map(|row| &row.counts);
        let (n, inverse) = counts.fold((0.0, 0.0), |(n, sum), &c| (n + 1.0, sum + 1.0 / c as f64));
        if n > 0.0 { n / inverse } else { 1.0 }
    }
}
