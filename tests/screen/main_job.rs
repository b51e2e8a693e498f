//! The whole job in the whole window, as a person does it: describe a station, plan, read, look at the
//! field, export. Also what must not be lost on the way.

use std::sync::Arc;
use std::time::{Duration, Instant};

use eframe::egui::{Event, Key, Modifiers, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use evenfield::files::Preferences;
use evenfield::geometry::Shape;
use evenfield::gui::App;
use evenfield::session::{Session, Step};
use evenfield::station::{PlanLayout, Reading, SourceKind, Station};
use jiff::civil::date;

pub type Window = Harness<'static, App>;

pub fn window(open: impl FnOnce(Preferences) -> Session) -> Window {
    let session = open(Preferences::default());
    Harness::builder()
        .with_size(vec2(1280.0, 1000.0))
        .with_step_dt(0.02)
        .with_max_steps(200)
        .build_eframe(move |cc| App::of(&cc.egui_ctx, session))
}

fn today() -> jiff::civil::Date {
    date(2026, 3, 9)
}

pub fn on_sample() -> Window {
    window(|preferences| Session::on_sample(preferences, today(), Arc::new(|| {})))
}

pub fn on_station(station: Station) -> Window {
    window(|preferences| Session::new(station, preferences, today(), Arc::new(|| {})))
}

pub fn session(window: &Window) -> &Session {
    window.state().session()
}

fn readings(window: &Window) -> &[Reading] {
    let (_, survey) = session(window).survey().expect("a survey is shown");
    &survey.readings
}

/// Lets frames pass until it is so.
pub fn wait(window: &mut Window, what: &str, is_so: impl Fn(&Window) -> bool) {
    let begun = Instant::now();
    while !is_so(window) {
        assert!(begun.elapsed() < Duration::from_secs(120), "never: {what}");
        std::thread::sleep(Duration::from_millis(5));
        window.step();
    }
    window.run();
}

pub fn click(window: &mut Window, label: &str) {
    window.get_by_label(label).scroll_to_me();
    window.run();
    window.get_by_label(label).click();
    window.run();
}

pub fn press(window: &mut Window, key: Key) {
    window.key_press(key);
    window.run();
}

fn command(window: &mut Window, key: Key) {
    window.key_press_modifiers(Modifiers::COMMAND, key);
    window.run();
}

pub fn write(window: &mut Window, text: &str) {
    window.event(Event::Text(text.to_owned()));
    window.run();
}

/// Types over what is in a field and presses Enter.
pub fn fill(window: &mut Window, label: &str, text: &str) {
    window.get_by_label(label).focus();
    window.run();
    command(window, Key::A);
    write(window, text);
    press(window, Key::Enter);
}

pub fn pick(window: &mut Window, label: &str, option: &str) {
    click(window, label);
    click(window, option);
}

/// Goes to a step by the list on the left.
pub fn go(window: &mut Window, step: &str) {
    window
        .get_by(|node| {
            let label = node.label().unwrap_or_default();
            label.split(", ").next() == Some(step)
        })
        .click();
    window.run();
}

/// Whether some text of the window is so.
pub fn says(window: &Window, is_so: impl Fn(&str) -> bool) -> bool {
    let said = window.query_all_by(|node| {
        let texts = [node.label(), node.value()];
        texts.into_iter().flatten().any(|text| is_so(&text))
    });
    said.count() > 0
}

/// An irradiance that falls off from a place left of the middle and grows with the height, mW/cm².
fn irradiance(x: f64, y: f64, height: f64) -> f64 {
    let away = (x - 80.0).powi(2) + (y - 62.0).powi(2);
    120.0 * (1.0 - away / 24_000.0) * (1.0 + 0.006 * height)
}

/// As people write it where the comma is the decimal sign.
fn with_comma(value: f64) -> String {
    format!("{value:.2}").replace('.', ",")
}

fn describe(window: &mut Window) {
    fill(window, "Station name", "Sensor lids, lamp 3");
    fill(window, "Source name", "Lamp 3");
    pick(window, "Kind", "LED panel");
    fill(window, "Face height", "110");
    pick(window, "Face", "Rectangle");
    fill(window, "Face width", "160");
    fill(window, "Fixture name", "Tray 7");
    fill(window, "Width", "180");
    fill(window, "Depth", "120,0");
    click(window, "Centre over the fixture");

    click(window, "Add a site");
    fill(window, "Site name", "Lid");
    fill(window, "Part width", "30");
    fill(window, "Bond-line height", "12");
    pick(window, "Layout", "Rows and columns");
    fill(window, "First part x", "35");
    fill(window, "First part y", "30");
    fill(window, "Columns", "3");
    fill(window, "Pitch x", "50");
    fill(window, "Pitch y", "50");

    click(window, "Add a keep-out");
    fill(window, "Keep-out name", "Clamp");
    fill(window, "Keep-out diameter", "8");
    fill(window, "Keep-out x", "88");
    fill(window, "Keep-out y", "4");

    click(window, "Add a radiometer");
    fill(window, "Name", "Pair 1");
    fill(window, "Body diameter", "16");
    fill(window, "Sensing plane", "5");
    fill(window, "Uncertainty", "6");
    fill(window, "Due", "2027-01-31");
}

#[test]
fn the_whole_job_from_a_new_station_to_files() {
    let mut window = on_sample();
    command(&mut window, Key::N);
    assert_eq!(session(&window).step(), Step::Fixture);
    assert!(session(&window).notice().is_none(), "it is no sample");
    assert!(says(&window, |text| text.contains("No survey yet")));

    describe(&mut window);
    let station = session(&window).station().clone();
    assert_eq!(station.name, "Sensor lids, lamp 3");
    assert_eq!(station.source.kind, SourceKind::LedPanel);
    let (width, depth) = (180.0, 120.0);
    assert_eq!(station.fixture.shape, Shape::Rectangle { width, depth });
    assert_eq!(station.all_sites().len(), 6);
    let findings = session(&window).findings().iter();
    let here = findings.filter(|finding| Step::of(&finding.place) == Step::Fixture);
    assert_eq!(here.count(), 0, "nothing is odd");

    // the plan begins with the one radiometer there is, at the bond line
    assert_eq!(station.plan.radiometer.as_deref(), Some("Pair 1"));
    assert_eq!(station.plan.heights, [12.0]);
    go(&mut window, "2 Plan");
    fill(&mut window, "Heights", "5 20");
    fill(&mut window, "Columns", "5");
    fill(&mut window, "Rows", "4");
    wait(&mut window, "what the plan comes to", |window| {
        says(window, |text| {
            text == "20 positions at 2 heights make 40 readings"
        })
    });
    click(&mut window, "Prepare a survey from the plan");
    assert_eq!(session(&window).step(), Step::Readings);
    assert_eq!(readings(&window).len(), 40);
    assert!(readings(&window).iter().all(|r| r.irradiance.is_none()));

    enter_readings(&mut window);

    let no_answer = |window: &Window| session(window).answers().answer().current().is_none();
    wait(&mut window, "an answer", |window| !no_answer(window));
    let answer = (session(&window).answers().answer().current())
        .expect("just seen")
        .clone();
    assert!(says(&window, |text| {
        text.starts_with("Coldest ")
            && text.contains(" mW/cm² at ")
            && text.contains("(site Lid")
            && text.contains("with 95 % confidence above")
    }));
    // the part whose corner is farthest from the brightest place: to the right and front
    let coldest = answer.coldest.at;
    assert_eq!(answer.coldest.site.as_deref(), Some("Lid A3"));
    let true_there = irradiance(coldest.x, coldest.y, coldest.height);
    let off = (answer.coldest.irradiance / true_there - 1.0).abs();
    assert!(off < 0.03, "{} for {true_there}", answer.coldest.irradiance);
    go(&mut window, "4 Field");
    assert!(says(&window, |text| text == "Coldest reading"));
    assert_eq!(
        session(&window).height(),
        12.0,
        "the map is at the bond line"
    );

    export(&mut window, &answer);
}

/// Types the first rows by hand and pastes the others as a spreadsheet gives them.
fn enter_readings(window: &mut Window) {
    let values: Vec<String> = readings(window)
        .iter()
        .map(|r| with_comma(irradiance(r.x, r.y, r.height)))
        .collect();
    window.get_by_label("Row 1, Irradiance").click();
    window.run();
    for value in &values[..3] {
        write(window, value);
        press(window, Key::Enter);
    }
    assert_eq!(
        readings(window).iter().filter_map(|r| r.irradiance).count(),
        3
    );
    let typed = session(window).undo_names().0.map(str::to_owned);
    assert_eq!(typed.as_deref(), Some("type irradiance in row 3"));

    let lines = values[3..].iter().enumerate();
    let block: String = lines
        .map(|(i, value)| format!("{value}\t1\t{}\r\n", with_comma(0.5 * i as f64)))
        .collect();
    window.event(Event::Paste(block));
    window.run();
    let wanted = |i: usize| values[i].replace(',', ".").parse().ok();
    for (i, reading) in readings(window).iter().enumerate() {
        assert_eq!(reading.irradiance, wanted(i), "row {}", i + 1);
    }
    assert_eq!(readings(window)[4].minute, Some(0.5));

    let names = |window: &Window| {
        let (undo, redo) = session(window).undo_names();
        (undo.map(str::to_owned), redo.map(str::to_owned))
    };
    let paste = Some("paste 111 cells".to_owned());
    assert_eq!(names(window).0, paste);
    click(window, "Undo");
    assert_eq!(names(window).1, paste);
    assert_eq!(readings(window)[3].irradiance, None);
    click(window, "Redo");
    assert_eq!(readings(window)[39].irradiance, wanted(39));
}

fn export(window: &mut Window, answer: &evenfield::assess::Answer) {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("sheets");
    go(window, "9 Export");
    click(window, "Export...");
    write(window, &out.display().to_string());
    press(window, Key::Enter);
    wait(window, "files", |window| {
        says(window, |text| {
            text.starts_with("Wrote ") && text.contains(" files to ")
        })
    });
    for name in [
        "map.pdf",
        "map.svg",
        "map.png",
        "map-2.svg",
        "map-2.png",
        "plan.pdf",
        "plan.csv",
        "field.csv",
    ] {
        let length = std::fs::metadata(out.join(name)).map(|file| file.len());
        assert!(
            length.as_ref().is_ok_and(|n| *n > 200),
            "{name}: {length:?}"
        );
    }
    let text = std::fs::read(out.join("summary.json")).expect("a summary");
    let summary: serde_json::Value = serde_json::from_slice(&text).expect("JSON");
    let (coldest, spot) = (&summary["coldest"], &answer.coldest);
    assert_eq!(summary["station"], "Sensor lids, lamp 3");
    assert_eq!(coldest["site"], "Lid A3");
    for (key, value) in [
        ("x_mm", spot.at.x),
        ("y_mm", spot.at.y),
        ("irradiance_mw_cm2", spot.irradiance),
        (
            "assured_mw_cm2",
            spot.at_least.expect("kriging has a bound"),
        ),
    ] {
        let written = coldest[key].as_f64().expect(key);
        assert!(
            (written - value).abs() < 1e-3,
            "{key}: {written} for {value}"
        );
    }
    assert_eq!(session(window).state_of(Step::Export).words(), "done");
}

/// A station with a small survey, its file, and the window on it.
fn saved(folder: &std::path::Path) -> Window {
    let mut window = on_sample();
    command(&mut window, Key::N);
    go(&mut window, "2 Plan");
    click(&mut window, "Prepare a survey from the plan");
    window.key_press_modifiers(Modifiers::COMMAND | Modifiers::SHIFT, Key::S);
    window.run();
    command(&mut window, Key::A);
    write(&mut window, &folder.join("mine.ron").display().to_string());
    press(&mut window, Key::Enter);
    wait(&mut window, "saved", |window| {
        says(window, |text| text.starts_with("Saved "))
    });
    window
}

#[test]
fn a_half_typed_cell_is_taken_by_saving_and_by_another_step() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut window = saved(folder.path());
    window.get_by_label("Row 1, Irradiance").click();
    window.run();
    write(&mut window, "81,5");
    assert_eq!(readings(&window)[0].irradiance, None, "still being typed");
    command(&mut window, Key::S);
    assert_eq!(readings(&window)[0].irradiance, Some(81.5));
    wait(&mut window, "saved", |window| !session(window).is_changed());
    let (station, _) = evenfield::files::read(&folder.path().join("mine.ron")).expect("a station");
    assert_eq!(station.surveys[0].readings[0].irradiance, Some(81.5));

    // the keyboard is still in the grid
    press(&mut window, Key::Enter);
    write(&mut window, "80");
    command(&mut window, Key::Num1);
    assert_eq!(session(&window).step(), Step::Fixture);
    assert_eq!(readings(&window)[1].irradiance, Some(80.0));

    fill(&mut window, "Station name", "Mine");
    window.get_by_label("Face height").focus();
    window.run();
    write(&mut window, "95");
    command(&mut window, Key::S);
    wait(&mut window, "saved", |window| !session(window).is_changed());
    let (station, _) = evenfield::files::read(&folder.path().join("mine.ron")).expect("a station");
    assert_eq!(
        (station.name.as_str(), station.source.face_height),
        ("Mine", 95.0)
    );
}

#[test]
fn a_wrong_cell_stays_as_typed_when_the_rest_is_saved() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut window = saved(folder.path());
    window.get_by_label("Row 1, Irradiance").click();
    window.run();
    write(&mut window, "8o");
    command(&mut window, Key::S);
    assert_eq!(readings(&window)[0].irradiance, None);
    assert!(says(&window, |text| text == "8o"));
    assert!(says(&window, |text| text.starts_with("'8o' is not a number")));
}

#[test]
fn the_plan_alone_is_exported_without_a_field() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut window = on_sample();
    command(&mut window, Key::N);
    go(&mut window, "9 Export");
    assert!(says(&window, |text| text
        .contains("only the plan can be written")));
    click(&mut window, "Export...");
    write(&mut window, &folder.path().display().to_string());
    press(&mut window, Key::Enter);
    wait(&mut window, "files", |window| {
        says(window, |text| text.starts_with("Wrote 3 files to "))
    });
    for name in ["plan.pdf", "sheet.pdf"] {
        assert!(folder.path().join(name).exists(), "{name}");
    }
    assert!(!folder.path().join("summary.json").exists());
}

#[test]
fn every_step_of_a_new_station_says_what_it_is_for_and_leads_to_the_sample() {
    let mut window = on_sample();
    for (step, what) in [
        ("1 Fixture", "Describe the station first"),
        ("2 Plan", "The plan says where the detector goes"),
        ("3 Readings", "A survey is one round of readings"),
        ("4 Field", "Here stands the field of irradiance"),
        ("5 Limits", "Here the field is held against"),
        ("9 Export", "Writes what is ticked"),
    ] {
        command(&mut window, Key::N);
        go(&mut window, step);
        assert!(says(&window, |text| text.starts_with(what)), "{step}");
        click(&mut window, "See it on the sample");
        assert!(session(&window).is_sample(), "{step}");
    }
}

#[test]
fn frames_stay_short_with_very_many_positions() {
    let mut station = Station::new(
        "Large",
        Shape::Rectangle {
            width: 1000.0,
            depth: 1000.0,
        },
        100.0,
    );
    station.plan.heights = vec![0.0];
    station.plan.layout = PlanLayout::Grid {
        columns: 100,
        rows: 100,
        margin: 5.0,
    };
    let mut window =
        window(|preferences| Session::new(station, preferences, today(), Arc::new(|| {})));
    for (step, most) in [("1 Fixture", 60), ("2 Plan", 300), ("9 Export", 60)] {
        go(&mut window, step);
        window.run();
        let begun = Instant::now();
        window.run_steps(10);
        let frame = begun.elapsed() / 10;
        println!("{step}: {frame:?} a frame");
        // far above what it takes, so that a busy machine passes; what grows without bound does not
        assert!(frame < Duration::from_millis(most), "{step}: {frame:?}");
    }
}

#[test]
fn undo_is_the_documents_as_soon_as_a_cell_is_left() {
    let mut window = on_sample();
    command(&mut window, Key::Num3);
    wait(&mut window, "the readings", |w| {
        session(w).step() == Step::Readings
    });
    let before = readings(&window)[3].irradiance;
    click(&mut window, "Row 4, Irradiance");
    write(&mut window, "55");
    press(&mut window, Key::Enter);
    assert_eq!(readings(&window)[3].irradiance, Some(55.0));
    command(&mut window, Key::Z);
    assert_eq!(readings(&window)[3].irradiance, before);
}
