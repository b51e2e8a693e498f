//! A reading that is an eighth too high or too low is told, wherever it is, and right ones are not: on simulated lamps read
//! at two heights, where a field alone may bend itself through it.

use evenfield::assess::{Request, fit_survey};
use evenfield::progress::Progress;
use evenfield::station::Station;

use crate::kinds::Kind;
use crate::limits_trial::document;
use crate::study_station::{Condition, Drawn, Plan, Seeds, Wrong};

fn flagged(station: &Station) -> Vec<usize> {
    let fit = fit_survey(station, &Request::default(), &Progress::new()).expect("a field");
    fit.out_of_line.iter().map(|out| out.row).collect()
}

#[test]
fn a_reading_an_eighth_off_is_told_and_right_ones_are_not() {
    let (mut tried, mut told, mut false_alarms) = (0, 0, Vec::new());
    // right readings that are told beside a wrong one
    let mut neighbours = Vec::new();
    for (kind, index) in [
        (Kind::LedMany, 0),
        (Kind::LedDead, 1),
        (Kind::BowlWorn, 2),
        (Kind::Linear, 3),
    ] {
        let seed = Seeds::Tune.seed(index);
        let drawn = Drawn::new(kind, Condition::Main, seed).expect("a lamp");
        let read = drawn.station(Plan::Inside, Wrong::Nothing);
        let mut station = document(&read, 1.0, 1e6);
        let readings = &mut station.surveys[0].readings;
        let mut heights: Vec<f64> = readings.iter().map(|r| r.height).collect();
        heights.sort_by(f64::total_cmp);
        heights.dedup();
        readings.retain(|r| r.height < heights[2]);
        let rows = readings.len();
        false_alarms.extend(flagged(&station).into_iter().map(|row| (kind, row)));
        // in a corner, at the rim, in the middle
        for (row, factor) in [(0, 1.12), (2, 0.88), (rows / 4, 1.12), (rows / 2 + 1, 0.88)] {
            let mut off = station.clone();
            let reading = &mut off.surveys[0].readings[row];
            reading.irradiance = reading.irradiance.map(|e| e * factor);
            tried += 1;
            let flagged = flagged(&off);
            told += usize::from(flagged.contains(&row));
            neighbours.extend(
                flagged
                    .into_iter()
                    .filter(|f| *f != row)
                    .map(|f| (kind, row, f)),
            );
        }
    }
    assert!(told + 1 >= tried, "{told} of {tried}");
    assert!(false_alarms.len() <= 1, "{false_alarms:?}");
    assert!(neighbours.len() <= 1, "{neighbours:?}");
}
