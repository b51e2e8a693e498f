//! New surveys: empty, or with a row for every planned place.

use jiff::civil::Date;

use crate::probing;
use crate::station::{Reading, Station, Survey};

/// A survey of today without readings, under a name that is free.
pub(super) fn new_survey(station: &Station, today: Date) -> Survey {
    let name = format!("Survey {today}");
    let mut free = name.clone();
    let mut n = 2;
    while station.survey(&free).is_some() {
        free = format!("{name} {n}");
        n += 1;
    }
    Survey {
        name: free,
        date: today,
        operator: String::new(),
        radiometer: station.plan_radiometer().cloned(),
        state: Default::default(),
        notes: String::new(),
        readings: Vec::new(),
    }
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
