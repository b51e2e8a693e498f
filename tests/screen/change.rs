//! The step Change, by hand on the technician's station.

use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use eframe::egui::vec2;
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use evenfield::files::Preferences;
use evenfield::gui::App;
use evenfield::session::{Command, Session, Step};
use evenfield::station::{Edit, Station};
use jiff::civil::date;

type Window = Harness<'static, App>;

fn window(station: Station) -> Window {
    let session = Session::new(
        station,
        Preferences::default(),
        date(2026, 11, 20),
        Arc::new(|| {}),
    );
    Harness::builder()
        .with_size(vec2(1400.0, 2000.0))
        .with_step_dt(0.02)
        .with_max_steps(200)
        .build_eframe(move |cc| App::of(&cc.egui_ctx, session))
}

fn session(window: &Window) -> &Session {
    window.state().session()
}

fn says(window: &Window, part: &str) -> bool {
    let said = window.query_all_by(|node| {
        let texts = [node.label(), node.value()];
        texts.into_iter().flatten().any(|text| text.contains(part))
    });
    said.count() > 0
}

fn go(window: &mut Window) {
    window.run();
    window
        .get_by(|node| node.label().is_some_and(|l| l.starts_with("7 Change")))
        .click();
    window.run();
    assert_eq!(session(window).step(), Step::Change);
}

#[test]
fn the_technician_sees_what_changed_and_takes_the_fading_into_the_limits() {
    let mut window = window(worn());
    go(&mut window);
    let begun = Instant::now();
    while session(&window).answers().change().current().is_none() {
        assert!(begun.elapsed() < Duration::from_secs(180), "never compared");
        std::thread::sleep(Duration::from_millis(5));
        window.step();
    }
    window.run();
    assert!(says(&window, "cold zone has appeared at the front right"));
    assert!(says(&window, "Verdict of the later"));
    assert!(says(&window, "lock out its supply"));
    let before = session(&window).station().limits.clone().expect("limits");
    assert_eq!(before.fading_percent_per_100_h, None);
    window.get_by_label("Use in Limits").scroll_to_me();
    window.run();
    window.get_by_label("Use in Limits").click();
    window.run();
    let after = session(&window).station().limits.clone().expect("limits");
    let rate = after.fading_percent_per_100_h.expect("a rate");
    assert!(rate > 1.2 && rate < 2.5, "{rate}");
}

#[test]
fn one_survey_has_nothing_to_be_held_against() {
    let mut window = window(evenfield::session::sample());
    go(&mut window);
    assert!(says(&window, "It takes two surveys"));
}

fn compared(window: &mut Window) {
    let begun = Instant::now();
    while session(window).answers().change().current().is_none() {
        assert!(begun.elapsed() < Duration::from_secs(180), "never compared");
        std::thread::sleep(Duration::from_millis(5));
        window.step();
    }
    window.run();
}

fn worn() -> Station {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("sample-maps/rain-gauge-funnels-worn-reflector.ron");
    evenfield::files::read(&path).expect("the sample").0
}

#[test]
fn both_fields_and_the_local_change_are_seen_side_by_side() {
    let mut window = window(worn());
    go(&mut window);
    compared(&mut window);
    let seen = |window: &Window, name: &str| {
        window
            .query_all_by(|node| {
                node.role() == eframe::egui::accesskit::Role::Canvas
                    && node.label().is_some_and(|l| l == name)
            })
            .count()
    };
    let names = ["Earlier", "Later", "Local change"];
    assert_eq!(names.map(|n| seen(&window, n)), [0, 0, 1]);
    window.get_by_label("All side by side").click();
    window.run();
    assert_eq!(names.map(|n| seen(&window, n)), [1, 1, 1]);
}

#[test]
fn an_edit_elsewhere_compares_nothing_again() {
    let mut window = window(worn());
    go(&mut window);
    compared(&mut window);
    let change = |window: &Window| {
        let held = session(window).answers().change();
        held.any().expect("compared").change.clone()
    };
    let before = change(&window);
    let notes = Edit::SetNotes("Swept the floor".into());
    window.state_mut().handle(Command::Edit(notes));
    window.run();
    compared(&mut window);
    assert!(Arc::ptr_eq(&before, &change(&window)));
}

#[test]
fn a_survey_of_the_short_check_is_one_step_of_undo() {
    let mut window = window(worn());
    go(&mut window);
    compared(&mut window);
    window
        .get_by_label("Find the fewest positions")
        .scroll_to_me();
    window.step();
    window.get_by_label("Find the fewest positions").click();
    window.run();
    let begun = Instant::now();
    while session(&window).answers().short_check().current().is_none() {
        assert!(begun.elapsed() < Duration::from_secs(180), "never found");
        std::thread::sleep(Duration::from_millis(5));
        window.step();
    }
    window.run();
    let check = session(&window)
        .answers()
        .short_check()
        .current()
        .expect("found")
        .clone();
    window
        .get_by_label("Prepare a survey of these")
        .scroll_to_me();
    window.step();
    window.get_by_label("Prepare a survey of these").click();
    window.run();
    assert_eq!(session(&window).step(), Step::Readings);
    let surveys = session(&window).station().surveys.clone();
    let rows = &surveys.last().expect("a survey").readings;
    assert_eq!((surveys.len(), rows.len()), (3, check.positions.len()));
    let planned = |r: &evenfield::station::Reading| {
        r.irradiance.is_none() && check.positions.iter().any(|(_, at)| *at == r.place())
    };
    assert!(rows.iter().all(planned));
    window.state_mut().handle(Command::Undo);
    window.run();
    assert_eq!(session(&window).station().surveys.len(), 2);
}
