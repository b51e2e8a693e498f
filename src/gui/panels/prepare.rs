//! New surveys: empty, or with a row for every planned place.

use jiff::civil::Date;

use crate::probing;
use crate::station::{Reading, Station, Survey};

/// A survey of today without readings, under a name that is free.
pub(super) fn new_survey(station: &Station, today: Date) -> Survey {
    station.new_survey(&format!("Survey {today}"), today)
}

/// A survey of today with a reading to be taken at every planned place, in the order of the route.
pub(super) fn survey_from_plan(station: &Station, today: Date) -> Survey {
    let planned = station.planned_places();
    let places: Vec<_> = planned.iter().map(|(_, at)| *at).collect();
    let readings = probing::route(&places)
        .into_iter()
        .map(|stop| Reading {
            position: planned[stop].0.clone(),
            ..Reading::new(planned[stop].1, None)
        })
        .collect();
    Survey {
        readings,
        ..new_survey(station, today)
    }
}
