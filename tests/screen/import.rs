//! Looking at a file of readings before it is imported.

use std::sync::Arc;
use std::time::Duration;

use eframe::egui::{Key, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use evenfield::files::Preferences;
use evenfield::geometry::Place;
use evenfield::gui::App;
use evenfield::session::{Command, Session};
use evenfield::station::{Edit, Reading};
use jiff::civil::date;

/// The window on a file that is looked at.
fn looking_at(text: &str) -> Harness<'static, App> {
    looking_at_after(text, |_| {})
}

/// The same, with the session prepared.
fn looking_at_after(text: &str, prepare: impl FnOnce(&mut Session)) -> Harness<'static, App> {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("round 2.csv");
    std::fs::write(&path, text).expect("a file");
    let today = date(2026, 3, 9);
    let mut session = Session::on_sample(Preferences::default(), today, Arc::new(|| {}));
    prepare(&mut session);
    session.handle(Command::Import(path));
    while session.is_at_files() {
        std::thread::sleep(Duration::from_millis(2));
        session.update();
    }
    let mut window = Harness::builder()
        .with_size(vec2(1280.0, 800.0))
        .with_step_dt(0.02)
        .with_max_steps(200)
        .build_eframe(move |cc| App::of(&cc.egui_ctx, session));
    window.run_steps(3);
    window
}

fn at_rest(window: &mut Harness<'static, App>) {
    window.run_steps(3);
    while window.state().session().is_at_files() {
        std::thread::sleep(Duration::from_millis(2));
        window.run_steps(1);
    }
    window.run_steps(3);
}

#[test]
fn a_column_without_a_meaning_is_given_one_and_the_readings_come_in() {
    let mut window = looking_at("x_mm;y_mm;height_mm;reading\n1,5;2;3;81,2\n");
    window.get_by_label_contains("there is no column irradiance_mw_cm2");
    window.get_by_label("Column 4: not used").click();
    window.run_steps(3);
    window.get_by_label("irradiance, mW/cm²").scroll_to_me();
    window.run_steps(3);
    window.get_by_label("irradiance, mW/cm²").click();
    at_rest(&mut window);
    window.get_by_label("1 reading can be imported");
    window.get_by_label("Import as a new survey").click();
    at_rest(&mut window);
    let (_, survey) = window.state().session().survey().expect("it came in");
    assert_eq!(survey.name, "round 2");
    assert_eq!(survey.readings[0].irradiance, Some(81.2));
}

#[test]
fn rows_that_wait_are_filled_in() {
    let text = "x_mm,y_mm,height_mm,irradiance_mw_cm2\n10,20,30,81\n20,20,30,82\n";
    let mut window = looking_at_after(text, |session| {
        let mut survey = session.station().new_survey("Morning", date(2026, 3, 9));
        survey.readings = [10.0, 20.0]
            .map(|x| Reading::new(Place::new(x, 20.0, 30.0), None))
            .to_vec();
        session.handle(Command::Edit(Edit::AddSurvey(survey)));
    });
    window.get_by_label("2 rows of survey 'Morning' can be filled in");
    window.get_by_label("Import as a new survey");
    window.get_by_label("Fill in the rows of Morning").click();
    at_rest(&mut window);
    assert!(window.state().session().import().is_none());
    let station = window.state().session().station();
    assert_eq!(station.surveys.len(), 2);
    let read = station.surveys[1].readings.iter().map(|r| r.irradiance);
    assert_eq!(read.collect::<Vec<_>>(), [Some(81.0), Some(82.0)]);
}

#[test]
fn escape_imports_nothing() {
    let mut window = looking_at("height_mm;20\ny_mm\\x_mm;10;50\n10;81;85\n");
    window.get_by_label_contains("Lines 2 to 3: 2 x 1 places");
    window.get_by_label_contains("does not say the unit of its readings");
    window.key_press(Key::Escape);
    at_rest(&mut window);
    assert!(window.state().session().import().is_none());
    assert_eq!(window.state().session().station().surveys.len(), 1);
}
