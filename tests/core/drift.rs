//! Drift over a round: what a reference takes out of a field, and that nothing changes without one.

use evenfield::assess::{Request, SurveyFit, fit_survey};
use evenfield::field::Estimate;
use evenfield::geometry::{Footprint, Place, Point, Shape};
use evenfield::numeric::random::Normals;
use evenfield::progress::Progress;
use evenfield::station::{Family, Reading, Station};
use jiff::civil::date;

/// Natural logarithm, from the first reading to the last.
const DRIFT: f64 = -0.04;

fn light(at: Place) -> f64 {
    let fall = ((at.x - 90.0) / 150.0).powi(2) + ((at.y - 60.0) / 120.0).powi(2);
    80.0 * (0.008 * (at.height - 10.0) - fall).exp()
}

/// Six by five positions at two heights, row by row, the reference P1 at the lower height between; 1 % noise.
fn station(drift: f64) -> Station {
    let shape = Shape::Rectangle {
        width: 180.0,
        depth: 120.0,
    };
    let mut station = Station::new("Bench", shape.clone(), 90.0);
    station.source.face = Some(Footprint::new(shape, Point::new(90.0, 60.0)));
    let reference = Place::new(80.0, 60.0, 10.0);
    let mut places: Vec<(String, Place)> = vec![("P1".into(), reference)];
    for height in [10.0, 30.0] {
        for i in 0..30 {
            let at = Place::new(
                10.0 + 32.0 * f64::from(i % 6),
                10.0 + 25.0 * f64::from(i / 6),
                height,
            );
            places.push((format!("A{i}"), at));
            if i % 10 == 9 {
                places.push(("P1".into(), reference));
            }
        }
    }
    let mut normals = Normals::new(11, 1);
    let mut survey = station.new_survey("Round", date(2026, 5, 4));
    survey.reference = Some("P1".into());
    let last = (places.len() - 1) as f64;
    survey.readings = places
        .into_iter()
        .enumerate()
        .map(|(i, (position, at))| {
            let then = drift * (i as f64 / last - 0.5) + 0.01 * normals.draw();
            Reading {
                position,
                repeat: i as u32 + 1,
                minute: Some(0.4 * i as f64),
                ..Reading::new(at, Some(light(at) * then.exp()))
            }
        })
        .collect();
    station.surveys.push(survey.into());
    station
}

fn fitted(station: &Station) -> SurveyFit {
    fit_survey(station, &Request::default(), &Progress::new()).expect("a field")
}

fn map(fit: &SurveyFit) -> Vec<(Place, Estimate)> {
    let places: Vec<Place> = (0..63)
        .map(|i| {
            Place::new(
                20.0 * f64::from(i % 9) + 10.0,
                17.0 * f64::from(i / 9) + 8.0,
                20.0,
            )
        })
        .collect();
    let said = fit
        .field
        .at(&places, &Progress::new())
        .expect("not stopped");
    places.into_iter().zip(said).collect()
}

/// Root mean square, relative.
fn error(fit: &SurveyFit) -> f64 {
    let map = map(fit);
    let squares = map
        .iter()
        .map(|(at, e)| (e.irradiance / light(*at)).ln().powi(2));
    (squares.sum::<f64>() / map.len() as f64).sqrt()
}

/// For the families that find drift with the field and for one that takes it off beforehand.
#[test]
fn a_drift_is_found_and_taken_out() {
    for family in [
        None,
        Some(Family::UniversalKriging),
        Some(Family::ThinPlate),
    ] {
        let mut station = station(DRIFT);
        station.settings.family = family;
        let out = fitted(&station);
        let drift = out.field.drift().expect("seven visits");
        assert_eq!(drift.visits.len(), 7);
        assert_eq!(drift.with_field, family != Some(Family::ThinPlate));
        let (found, uncertainty) = drift.overall;
        assert!(
            (found - DRIFT).abs() < 2.5 * uncertainty && uncertainty < 0.016,
            "{family:?}: {drift:?}"
        );
        station.settings.drift = Some(false);
        let left_in = fitted(&station);
        assert_eq!(left_in.field.drift(), None);
        // what a thin plate misses by itself is as much as the drift
        let part = if drift.with_field { 0.6 } else { 0.9 };
        assert!(
            error(&out) < part * error(&left_in),
            "{family:?}: {} {}",
            error(&out),
            error(&left_in)
        );
    }
}

#[test]
fn of_a_steady_round_little_is_taken_out_and_its_uncertainty_stays() {
    let mut station = station(0.0);
    station.settings.family = Some(Family::UniversalKriging);
    let out = fitted(&station);
    let drift = out.field.drift().expect("looked for");
    assert!(drift.overall.0.abs() < 2.5 * drift.overall.1, "{drift:?}");
    station.settings.drift = Some(false);
    let left_in = fitted(&station);
    let mean = |fit: &SurveyFit| {
        let map = map(fit);
        let each = map
            .iter()
            .map(|(_, e)| e.uncertainty.expect("told") / e.irradiance);
        each.sum::<f64>() / map.len() as f64
    };
    // what is not known of the drift is in the bounds
    assert!(
        mean(&out) > mean(&left_in),
        "{} {}",
        mean(&out),
        mean(&left_in)
    );
    assert!(mean(&out) < 2.0 * mean(&left_in));
}

#[test]
fn nothing_changes_without_visits() {
    let mut station = station(DRIFT);
    station.settings.drift = Some(false);
    let left_in = map(&fitted(&station));
    station.settings.drift = None;
    station.surveys[0].reference = None;
    let none = map(&fitted(&station));
    assert_eq!(none, left_in);
    // two visits are not enough unless somebody says so
    station.surveys[0].reference = Some("P1".into());
    let visits: Vec<usize> = (0..station.surveys[0].readings.len())
        .filter(|&i| station.surveys[0].readings[i].position == "P1")
        .collect();
    for &row in &visits[1..visits.len() - 1] {
        station.surveys[0].readings[row].excluded = Some("left out".into());
    }
    assert_eq!(fitted(&station).field.drift(), None);
    station.settings.drift = Some(true);
    assert!(fitted(&station).field.drift().is_some());
}

/// A reading that is right for its time is not out of line, and what the others predict of it is said as it would have been
/// read then.
#[test]
fn readings_are_held_against_what_would_have_been_read_then() {
    let mut station = station(3.0 * DRIFT);
    station.settings.family = Some(Family::UniversalKriging);
    let fit = fitted(&station);
    assert_eq!(fit.out_of_line.len(), 0, "{:?}", fit.out_of_line);
    let survey = &station.surveys[0];
    for (told, &row) in fit.field.leave_one_out().iter().zip(fit.rows.iter()) {
        let read = survey.readings[row].irradiance.expect("read");
        assert!((told.predicted / read).ln().abs() < 0.08, "row {row}");
    }
}
