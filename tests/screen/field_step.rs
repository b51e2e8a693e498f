//! The step Field: the lamp's brightness in place of the map, and positions to measure next taken into the plan.

use egui_kittest::kittest::Queryable as _;

use evenfield::assess::limits::Verdict;
use evenfield::assess::{Request, answer_with, fit_survey};
use evenfield::progress::Progress;
use evenfield::station::AssessedArea;
use evenfield::station::limits::{Figure, Least, Origin};

use crate::main_job::{click, on_sample, on_station, pick, says, session, wait};

#[test]
fn the_lamps_brightness_is_shown_in_place_of_the_map() {
    let mut window = on_sample();
    wait(&mut window, "an answer", |w| {
        let s = session(w);
        s.answers().answer().current().is_some() && s.answers().map().current().is_some()
    });
    assert!(window.query_by_label("inferred, not measured").is_none());
    pick(&mut window, "Map of", "Lamp's brightness");
    wait(&mut window, "the brightness", |w| {
        session(w).answers().brightness().current().is_some()
    });
    window.get_by_label("inferred, not measured");
    assert!(
        window
            .query_by_label_contains("Colours of the lamp's brightness from")
            .is_some()
    );
    pick(&mut window, "Map of", "Irradiance");
    assert!(window.query_by_label("inferred, not measured").is_none());
}

#[test]
fn the_figure_that_governs_is_the_same_in_table_and_answer_line() {
    // the corners of the pallet, with it in place: no reading on it shows what lies beyond all seats of the detector
    let mut station = evenfield::session::sample();
    station.settings.area = AssessedArea::Fixture;
    let (request, progress) = (Request::default(), Progress::new());
    let fit = fit_survey(&station, &request, &progress).expect("a field");
    let spot = answer_with(&fit, &station, &request, &progress).expect("an answer");
    let (bound, spot) = (spot.coldest.at_least, spot.coldest.irradiance);
    // a little below the coldest spot and above its bound
    if let Some(limits) = &mut station.limits {
        limits.least = Least::Typed(Figure {
            irradiance: bound.map(|bound| bound + 0.1 * (spot - bound)),
            origin: Origin::DataSheet,
            ..Figure::default()
        });
        limits.safety_factor_percent = 0.0;
        limits.frozen = None;
    }
    let mut window = on_station(station);
    crate::main_job::go(&mut window, "4 Field");
    wait(&mut window, "an open verdict", |w| {
        session(w)
            .judged()
            .is_some_and(|j| j.verdict == Verdict::NotProven)
    });
    // the figure that governs is the absolute one, in the table as in the line below
    let absolute = session(&window)
        .answers()
        .answer()
        .current()
        .expect("an answer");
    let e = absolute.coldest.at_least_absolute.expect("a bound");
    assert!(says(&window, |t| t == format!("{e:.1} mW/cm², absolute")));
    assert!(says(&window, |t| t
        == format!("Governs: assured minimum {e:.1}, absolute")));
}

#[test]
fn a_proposed_position_is_taken_into_plan_and_survey() {
    let mut window = on_sample();
    wait(&mut window, "an answer", |w| {
        let s = session(w);
        s.answers().answer().current().is_some()
    });
    assert!(
        window
            .query_by_label_contains("The readings alone, without a model of the lamp")
            .is_some()
    );
    let planned = session(&window).station().positions().len();
    click(&mut window, "Propose positions");
    wait(&mut window, "a proposal", |w| {
        session(w).answers().next().current().is_some()
    });
    let proposal = session(&window).answers().next();
    let first = proposal.current().expect("a proposal").positions[0].clone();
    assert!(says(&window, |t| t.starts_with("Read each at ")));
    let take = window.get_all_by_label("Take").next().expect("a button");
    take.scroll_to_me();
    window.run();
    let take = window.get_all_by_label("Take").next().expect("a button");
    take.click();
    window.run();
    let seen = session(&window);
    let positions = seen.station().positions();
    assert_eq!(positions.len(), planned + 1);
    assert_eq!(positions.last(), Some(&first.position));
    let (_, survey) = seen.survey().expect("a survey");
    let rows = survey
        .readings
        .iter()
        .filter(|r| r.position == first.position.name);
    assert_eq!(rows.count(), seen.station().plan.heights.len());
}
