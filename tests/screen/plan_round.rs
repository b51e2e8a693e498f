//! How the round is made: reference, order, times, plates, and the survey prepared from it, as a person does.

use egui_kittest::kittest::Queryable;
use evenfield::geometry::Shape;
use evenfield::session::Command;
use evenfield::station::{Edit, LocatedBy, Plan, Radiometer};

use crate::host::Window;
use crate::plan_form::{click, fill, form, settle};

fn pick(window: &mut Window, label: &str, option: &str) {
    click(window, label);
    click(window, option);
}

fn now(window: &Window) -> &Plan {
    &window.state().session.station().plan
}

#[test]
fn a_reference_position_is_chosen_by_its_name() {
    let mut window = form();
    window.get_by_label_contains("The round has 6 stops: about 3 min");
    pick(&mut window, "Drift is seen", "At a reference position");
    assert_eq!(window.state().undo_name(), "change reference position");
    let begun = now(&window).reference.clone().expect("a reference");
    // of two rows the middle of the front one: as near as the back one's
    assert_eq!((begun.position.as_str(), begun.height), ("A2", 20.0));
    fill(&mut window, "Reference position", "b1");
    fill(&mut window, "Reference height", "30");
    fill(&mut window, "Also after every", "2");
    let reference = now(&window).reference.clone().expect("a reference");
    assert_eq!(reference.position, "B1");
    assert_eq!((reference.height, reference.every), (30.0, Some(2)));
    window.get_by_label_contains("The round has 10 stops, 4 of them visits of the reference");
    window.get_by_label_contains("spacer changed 6 times");
    fill(&mut window, "Reference position", "Z9");
    window.get_by_label_contains("The plan has no position 'Z9'");
    assert_eq!(now(&window).reference, Some(reference));
    pick(&mut window, "Drift is seen", "Nowhere");
    assert_eq!(now(&window).reference, None);
}

#[test]
fn start_and_order_make_another_way() {
    let mut window = form();
    assert!(window.query_by_label("Order").is_none());
    fill(&mut window, "Heights", "20 40");
    pick(&mut window, "Order", "Position by position");
    assert!(now(&window).positions_first);
    assert_eq!(window.state().undo_name(), "change order of the route");
    window.get_by_label_contains("spacer changed 6 times");
    pick(&mut window, "Order", "Height by height");
    window.get_by_label_contains("spacer changed once");
    fill(&mut window, "Begin at", "B3");
    assert_eq!(now(&window).start.as_deref(), Some("B3"));
    fill(&mut window, "Begin at", "");
    assert_eq!(now(&window).start, None);
}

#[test]
fn times_of_a_reading_are_typed_and_usual_ones_are_not_kept() {
    let mut window = form();
    click(&mut window, "What a reading takes");
    fill(&mut window, "Expose", "33");
    assert_eq!(now(&window).cycle.expect("times").expose, 33.0);
    window.get_by_label_contains("The round has 6 stops: about 6 min");
    fill(&mut window, "Expose", "-1");
    window.get_by_label_contains("type zero or a number above it");
    fill(&mut window, "Expose", "3");
    assert_eq!(now(&window).cycle, None);
}

#[test]
fn a_plate_says_how_many_it_takes() {
    let mut window = form();
    pick(&mut window, "Located", "By a plate with bores");
    window.get_by_label_contains("There is no plate: no radiometer is chosen");
    // columns are 100 mm apart, rows as well
    let mut radiometer = Radiometer::new("R", Shape::Circle { diameter: 20.0 });
    let session = &mut window.state_mut().session;
    session.handle(Command::Edit(Edit::AddRadiometer(radiometer.clone())));
    settle(&mut window);
    window.get_by_label("One plate has all bores");
    window.get_by_label_contains("The bores of A1");
    radiometer.body = Shape::Circle { diameter: 98.0 };
    let session = &mut window.state_mut().session;
    session.handle(Command::Edit(Edit::SetRadiometer(0, radiometer)));
    settle(&mut window);
    window.get_by_label_contains("2 plates; fewer won't do: the bores of A1 and A2");
    window.get_by_label_contains("plate changed once");
    pick(&mut window, "Held in place by", "Two pins");
    fill(&mut window, "First pin x", "-20");
    let located = now(&window).bores.expect("bores").located;
    assert!(matches!(located, LocatedBy::Pins { at, .. } if at.0.x == -20.0));
    window
        .get_by_label_contains("A pin lies less than 3 mm inside the plate's edge, or outside it");
}

#[test]
fn a_survey_has_its_rows_in_the_order_of_the_route() {
    let mut window = form();
    pick(&mut window, "Drift is seen", "At a reference position");
    fill(&mut window, "Heights", "40 20");
    click(&mut window, "Prepare a survey from the plan");
    let station = window.state().session.station();
    let survey = station.surveys.last().expect("a survey");
    assert_eq!(survey.reference.as_deref(), Some("A2"));
    let rows: Vec<String> = (survey.readings.iter())
        .map(|r| format!("{}@{} {}", r.position, r.height, r.repeat))
        .collect();
    assert_eq!(
        rows.join(", "),
        "A2@20 1, A1@20 1, A3@20 1, B3@20 1, B2@20 1, B1@20 1, A2@20 2, \
         A1@40 1, A2@40 1, A3@40 1, B3@40 1, B2@40 1, B1@40 1, A2@20 3"
    );
}
