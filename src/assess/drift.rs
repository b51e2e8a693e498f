//! The round of a survey whose reference position was visited: what its drift is found from.
//!
//! Times are the minutes where every reading that counts has one, else the order of the rows. The reference counts at one
//! height only, that of most visits, so that drift is not taken for a change with height.

use std::collections::HashSet;

use super::same::SAME_POSITION;
use crate::field::{Drift, Round, Sample};
use crate::station::{Reading, Survey};

/// From so many visits on the drift is taken out unless the station says otherwise: of two, one that slipped can't be told
/// from drift.
pub const ENOUGH_VISITS: usize = 3;
/// So many are needed at all.
const FEWEST_VISITS: usize = 2;

/// More are no visits: then the reference is no position to which a detector came back.
pub const MOST_VISITS: usize = 100;

/// The rows of the visits that count, in their order.
pub fn visits(survey: &Survey) -> Vec<usize> {
    let Some(reference) = survey.reference.as_deref().filter(|name| !name.is_empty()) else {
        return Vec::new();
    };
    let there = |(_, r): &(usize, &Reading)| r.position == reference && r.counted().is_some();
    let all: Vec<(usize, f64)> = (survey.readings.iter().enumerate().filter(there))
        .map(|(row, r)| (row, r.height))
        .collect();
    let mut heights: Vec<f64> = all.iter().map(|(_, h)| *h).collect();
    heights.sort_by(f64::total_cmp);
    let up_to = |h: f64| heights.partition_point(|other| *other < h);
    let alike = |h: f64| up_to(h + SAME_POSITION) - up_to(h - SAME_POSITION);
    // the first of those that are most
    let mut best: Option<(usize, f64)> = None;
    for &(_, h) in &all {
        let count = alike(h);
        if best.is_none_or(|b| count > b.0) {
            best = Some((count, h));
        }
    }
    let Some((_, height)) = best else {
        return Vec::new();
    };
    let at_it = all
        .iter()
        .filter(|(_, h)| (h - height).abs() < SAME_POSITION);
    at_it.map(|(row, _)| *row).collect()
}

/// Whether the drift of a survey is taken out: as the station's settings say, else from [`ENOUGH_VISITS`] on.
pub fn takes_out(setting: Option<bool>, visits: usize) -> bool {
    match setting {
        Some(false) => false,
        Some(true) => visits >= FEWEST_VISITS,
        None => visits >= ENOUGH_VISITS,
    }
}

/// When the rows that count were read, and which are visits. `None` without visits, and of more than [`MOST_VISITS`].
pub(super) fn round(survey: &Survey, rows: &[usize]) -> Option<Round> {
    let visits = visits(survey);
    if visits.is_empty() || visits.len() > MOST_VISITS {
        return None;
    }
    let is_visit: HashSet<usize> = visits.into_iter().collect();
    let minutes: Option<Vec<f64>> = (rows.iter())
        .map(|&row| survey.readings[row].minute.filter(|m| m.is_finite()))
        .collect();
    Some(Round {
        at: minutes.unwrap_or_else(|| rows.iter().map(|&row| row as f64).collect()),
        visit: rows.iter().map(|row| is_visit.contains(row)).collect(),
    })
}

/// What the visits of a survey say of its drift by themselves, without a field, and the rows of its samples; `None` without
/// two visits at different times.
pub fn drift_of_visits(survey: &Survey) -> Option<(Drift, Vec<usize>)> {
    let counts = |(_, r): &(usize, &Reading)| r.counted().is_some() && r.place().is_finite();
    let rows: Vec<usize> = (survey.readings.iter().enumerate().filter(counts))
        .map(|(row, _)| row)
        .collect();
    let round = round(survey, &rows)?;
    let samples: Vec<Sample> = rows
        .iter()
        .map(|&row| Sample {
            at: survey.readings[row].place(),
            irradiance: survey.readings[row].counted().unwrap_or(f64::NAN),
            position: row,
            minute: None,
        })
        .collect();
    let step = survey.radiometer.as_ref().and_then(|r| r.resolution);
    let step = step.filter(|v| v.is_finite() && *v > 0.0).unwrap_or(0.0);
    Some((Drift::of_visits(&samples, &round, step)?, rows))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Place, Shape};
    use crate::station::Station;

    fn survey() -> Survey {
        let station = Station::new("bench", Shape::Circle { diameter: 100.0 }, 80.0);
        let mut survey = station.new_survey("one", jiff::civil::date(2026, 3, 9));
        survey.reference = Some("M".into());
        let read = |position: &str, height: f64, e: f64| Reading {
            position: position.into(),
            ..Reading::new(Place::new(50.0, 50.0, height), Some(e))
        };
        survey.readings = vec![
            read("M", 10.0, 80.0),
            read("A", 10.0, 70.0),
            read("M", 10.0, 81.0),
            read("M", 30.0, 95.0),
            read("B", 30.0, 75.0),
            read("M", 10.0, 82.0),
        ];
        survey
    }

    #[test]
    fn the_reference_counts_at_the_height_of_most_visits() {
        let mut survey = survey();
        assert_eq!(visits(&survey), [0, 2, 5]);
        survey.readings[2].excluded = Some("slipped".into());
        assert_eq!(visits(&survey), [0, 5]);
        survey.reference = None;
        assert_eq!(visits(&survey), [0_usize; 0]);
    }

    #[test]
    fn times_are_minutes_where_all_have_one() {
        let mut survey = survey();
        let rows = [0, 1, 2, 3, 4, 5];
        let at = |survey: &Survey| round(survey, &rows).expect("visits").at;
        assert_eq!(at(&survey), [0.0, 1.0, 2.0, 3.0, 4.0, 5.0]);
        for (row, reading) in survey.readings.iter_mut().enumerate() {
            reading.minute = Some(2.5 * row as f64);
        }
        assert_eq!(at(&survey), [0.0, 2.5, 5.0, 7.5, 10.0, 12.5]);
        survey.readings[4].minute = None;
        assert_eq!(at(&survey), [0.0, 1.0, 2.0, 3.0, 4.0, 5.0]);
        let (drift, rows) = drift_of_visits(&survey).expect("three visits");
        assert_eq!(drift.visits.len(), 3);
        assert_eq!(rows.len(), 6);
        // 80 to 82 in the round: 2.5 %, less what noise may be
        assert!((0.015..0.025).contains(&drift.overall.0), "{drift:?}");
    }

    #[test]
    fn it_is_taken_out_from_three_visits_on_or_as_the_station_says() {
        for (setting, visits, out) in [
            (None, 2, false),
            (None, 3, true),
            (Some(false), 9, false),
            (Some(true), 2, true),
            (Some(true), 1, false),
        ] {
            assert_eq!(takes_out(setting, visits), out, "{setting:?} {visits}");
        }
    }
}
