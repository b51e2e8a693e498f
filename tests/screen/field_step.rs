//! The step Field: the lamp's brightness in place of the map, and positions to measure next taken into the plan.

use std::sync::Arc;
use std::time::{Duration, Instant};

use eframe::egui::vec2;
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use evenfield::files::Preferences;
use evenfield::gui::App;
use evenfield::session::{Command, Session, Step};
use jiff::civil::date;

type Window = Harness<'static, App>;

fn on_sample() -> Window {
    let mut session = Session::on_sample(Preferences::default(), date(2026, 3, 9), Arc::new(|| {}));
    session.handle(Command::Go(Step::Field));
    Harness::builder()
        .with_size(vec2(1280.0, 1000.0))
        .with_step_dt(0.02)
        .with_max_steps(200)
        .build_eframe(move |cc| App::of(&cc.egui_ctx, session))
}

fn wait(window: &mut Window, what: &str, is_so: impl Fn(&Session) -> bool) {
    let begun = Instant::now();
    while !is_so(window.state().session()) {
        assert!(begun.elapsed() < Duration::from_secs(120), "never: {what}");
        std::thread::sleep(Duration::from_millis(5));
        window.step();
    }
    window.run();
}

fn click(window: &mut Window, label: &str) {
    window.get_by_label(label).scroll_to_me();
    window.run();
    window.get_by_label(label).click();
    window.run();
}

#[test]
fn the_lamps_brightness_is_shown_in_place_of_the_map() {
    let mut window = on_sample();
    wait(&mut window, "an answer", |s| {
        s.answers().answer().current().is_some() && s.answers().map().current().is_some()
    });
    assert!(window.query_by_label("inferred, not measured").is_none());
    click(&mut window, "Lamp's brightness");
    wait(&mut window, "the brightness", |s| {
        s.answers().brightness().current().is_some()
    });
    window.get_by_label("inferred, not measured");
    assert!(
        window
            .query_by_label_contains("Colours of the lamp's brightness from")
            .is_some()
    );
    click(&mut window, "Lamp's brightness");
    assert!(window.query_by_label("inferred, not measured").is_none());
}

#[test]
fn a_proposed_position_is_taken_into_plan_and_survey() {
    let mut window = on_sample();
    wait(&mut window, "an answer", |s| {
        s.answers().answer().current().is_some()
    });
    assert!(
        window
            .query_by_label_contains("Readings alone, carried on smoothly")
            .is_some()
    );
    let planned = window.state().session().station().positions().len();
    click(&mut window, "Propose positions");
    wait(&mut window, "a proposal", |s| {
        s.answers().next().current().is_some()
    });
    let proposal = window.state().session().answers().next();
    let first = proposal.current().expect("a proposal").positions[0].clone();
    let take = window.get_all_by_label("Take").next().expect("a button");
    take.scroll_to_me();
    window.run();
    let take = window.get_all_by_label("Take").next().expect("a button");
    take.click();
    window.run();
    let session = window.state().session();
    let positions = session.station().positions();
    assert_eq!(positions.len(), planned + 1);
    assert_eq!(positions.last(), Some(&first.position));
    let (_, survey) = session.survey().expect("a survey");
    let rows = survey
        .readings
        .iter()
        .filter(|r| r.position == first.position.name);
    assert_eq!(rows.count(), session.station().plan.heights.len());
}
