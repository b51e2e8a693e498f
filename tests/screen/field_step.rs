//! The step Field: the lamp's brightness in place of the map, and positions to measure next taken into the plan.

use egui_kittest::kittest::Queryable as _;

use crate::main_job::{click, on_sample, pick, session, wait};

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
