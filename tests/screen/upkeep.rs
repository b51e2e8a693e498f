//! The step Upkeep, by hand: a reading is logged, an entry set aside, events and comparisons are typed, a log is pasted.

use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use eframe::egui::{Event, Key, Modifiers, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use evenfield::files::Preferences;
use evenfield::gui::App;
use evenfield::session::{Command, Session, Step};
use evenfield::station::{Edit, Happened, LogEntry, Station};
use evenfield::units::IrradianceUnit;
use jiff::civil::date;

type Window = Harness<'static, App>;

fn window(station: Station, preferences: Preferences) -> Window {
    let session = Session::new(station, preferences, date(2026, 11, 17), Arc::new(|| {}));
    let mut window: Window = Harness::builder()
        .with_size(vec2(1500.0, 3200.0))
        .with_step_dt(0.02)
        .with_max_steps(200)
        .build_eframe(move |cc| App::of(&cc.egui_ctx, session));
    window.run();
    window
        .get_by(|node| node.label().is_some_and(|l| l.starts_with("8 Upkeep")))
        .click();
    window.run();
    assert_eq!(session_of(&window).step(), Step::Upkeep);
    window
}

fn session_of(window: &Window) -> &Session {
    window.state().session()
}

fn year() -> Station {
    let path =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-maps/rain-gauge-funnels-a-year-on.ron");
    evenfield::files::read(&path).expect("the sample").0
}

fn reviewed(window: &mut Window) {
    let begun = Instant::now();
    while session_of(window).answers().review().current().is_none() {
        assert!(begun.elapsed() < Duration::from_secs(180), "never reviewed");
        std::thread::sleep(Duration::from_millis(5));
        window.step();
    }
    window.run();
}

fn says(window: &Window, part: &str) -> bool {
    let said = window.query_all_by(|node| {
        let texts = [node.label(), node.value()];
        texts.into_iter().flatten().any(|text| text.contains(part))
    });
    said.count() > 0
}

fn log(window: &Window) -> Vec<LogEntry> {
    let upkeep = session_of(window).station().upkeep();
    upkeep.log.iter().cloned().collect()
}

fn fill(window: &mut Window, label: &str, text: &str) {
    // the heads of the table have names too
    window
        .get_by(|node| {
            node.role() == eframe::egui::accesskit::Role::TextInput
                && node.label().is_some_and(|l| l == label)
        })
        .focus();
    window.run();
    window.key_press_modifiers(Modifiers::COMMAND, Key::A);
    window.event(Event::Text(text.to_owned()));
    window.run();
}

#[test]
fn a_year_is_read_in_the_window() {
    let mut window = window(year(), Preferences::default());
    reviewed(&mut window);
    assert!(says(&window, "inside the limits"));
    assert!(says(&window, "The next check is due today"));
    assert!(says(&window, "The least will be reached about"));
    assert!(says(&window, "the light changed all at once by"));
    assert!(says(&window, "A whole survey is due: "));
    assert!(says(&window, "R1 with detector D1, the main one"));
    assert!(says(&window, "Irradiance log: 365 readings"));
    assert!(says(&window, "lock out its supply") || says(&window, "Before you put a detector"));
}

/// As a meter on a keyboard cable does it: digits and Enter in one burst, again and again.
#[test]
fn a_reading_is_typed_and_enter_logs_it() {
    let mut window = window(year(), Preferences::default());
    fill(&mut window, "By", "K. W.");
    for value in ["99.6", "99.4"] {
        window.get_by_label("Reading").focus();
        window.run();
        window.event(Event::Text(value.to_owned()));
        window.key_press(Key::Enter);
        window.run();
    }
    let all = log(&window);
    assert_eq!(all.len(), 367);
    let last = &all[366];
    assert_eq!((last.irradiance, last.by.as_str()), (99.4, "K. W."));
    assert_eq!(last.radiometer, "R1 with detector D1");
    assert_eq!(last.at.date(), session_of(&window).now().date());
    assert_eq!(session_of(&window).undo_names().0, Some("log a reading"));
}

#[test]
fn what_can_not_be_is_said_and_nothing_is_lost() {
    let mut window = window(year(), Preferences::default());
    fill(&mut window, "Reading", "ninety");
    window.get_by_label("Log it").click();
    window.run();
    assert!(says(&window, "ninety"));
    assert_eq!(log(&window).len(), 365);
    fill(&mut window, "Reading", "99.5");
    fill(&mut window, "When", "17/11/2026");
    window.get_by_label("Log it").click();
    window.run();
    assert!(says(&window, "is not a date"));
    fill(&mut window, "When", "2026-11-17 09:05");
    window.get_by_label("Log it").click();
    window.run();
    let all = log(&window);
    assert_eq!(all.len(), 366);
    assert_eq!(all[365].at, date(2026, 11, 17).at(9, 5, 0, 0));
}

#[test]
fn readings_are_typed_in_the_readers_unit() {
    let preferences = Preferences {
        irradiance_unit: IrradianceUnit::WattPerM2,
        ..Preferences::default()
    };
    let mut window = window(year(), preferences);
    reviewed(&mut window);
    assert!(says(&window, "W/m²"));
    assert!(!says(&window, "mW/cm²,"));
    fill(&mut window, "Reading", "995");
    window.get_by_label("Log it").click();
    window.run();
    assert!((log(&window)[365].irradiance - 99.5).abs() < 1e-9);
}

#[test]
fn an_entry_is_chosen_set_aside_and_counted_again() {
    let mut window = window(year(), Preferences::default());
    reviewed(&mut window);
    let newest = |window: &Window| {
        window
            .get_all_by(|node| node.label().is_some_and(|l| l.starts_with("2026-11-16 ")))
            .next()
            .map(|node| node.click())
    };
    newest(&window).expect("the newest row");
    window.run();
    assert!(says(&window, "Entry of 2026-11-16"));
    let field = |window: &Window| {
        window
            .get_by(|node| {
                node.role() == eframe::egui::accesskit::Role::TextInput
                    && node.label().is_some_and(|l| l == "or")
            })
            .focus();
    };
    field(&window);
    window.run();
    window.event(Event::Text("shutter stuck".into()));
    window.run();
    window.get_by_label("Set it aside").click();
    window.run();
    let last = log(&window)[364].clone();
    assert_eq!(last.set_aside.as_deref(), Some("shutter stuck"));
    window.get_by_label("Count it again").click();
    window.run();
    assert_eq!(log(&window)[364].set_aside, None);
    window.get_by_label("Change...").click();
    window.run();
    fill(&mut window, "Reading", "over");
    window.get_by_label("Change it").click();
    window.run();
    assert!(log(&window)[364].saturated);
    window.get_by_label("Delete").click();
    window.run();
    assert_eq!(log(&window).len(), 364);
}

#[test]
fn events_are_added_and_filled_in() {
    let mut window = window(year(), Preferences::default());
    let before = session_of(&window).station().upkeep().events.len();
    window.get_by_label("Set anew").click();
    window.run();
    fill(&mut window, "Face height", "98");
    window.key_press(Key::Enter);
    window.run();
    let upkeep = session_of(&window).station().upkeep();
    assert_eq!(upkeep.events.len(), before + 1);
    let Happened::Adjusted { face_height, .. } = &upkeep.events[before].what else {
        panic!("{:?}", upkeep.events[before]);
    };
    assert_eq!(*face_height, Some(98.0));
    window.get_by_label("Delete event").click();
    window.run();
    assert_eq!(session_of(&window).station().upkeep().events.len(), before);
}

#[test]
fn a_log_is_pasted_under_its_header() {
    let mut window = window(year(), Preferences::default());
    window.get_by_label("Paste a log").click();
    window.run();
    let text = "date\ttime\tirradiance_mw_cm2\n2026-11-17\t08:00\t99.8\n2026-11-18\t08:00\t99.7\n";
    window.event(Event::Paste(text.into()));
    window.run();
    assert_eq!(log(&window).len(), 367);
    window.get_by_label("Paste a log").click();
    window.run();
    window.event(Event::Paste(
        "date\tirradiance_mw_cm2\nyesterday\t99\n".into(),
    ));
    window.run();
    assert!(says(&window, "Nothing was pasted"));
    assert_eq!(log(&window).len(), 367);
}

/// Ten thousand entries: only the rows in view are laid out.
#[test]
fn ten_thousand_entries_lay_out_only_the_rows_in_view() {
    let mut station = year();
    let entries = (0..10_000i64).map(|n| {
        let at = date(2010, 1, 1).at(8, 0, 0, 0);
        let at = at
            .checked_add(jiff::Span::new().hours(13 * n))
            .expect("a day");
        LogEntry::new(at, 100.0)
    });
    let entries: Vec<LogEntry> = entries.collect();
    let name = String::new();
    station
        .apply(Edit::AddToLog { entries, name })
        .expect("sound");
    let mut window = window(station, Preferences::default());
    let rows = window.query_all_by(|node| {
        node.label()
            .is_some_and(|l| l.contains(", R1 with detector D1, ") || l.starts_with("20"))
    });
    assert!(rows.count() < 60);
    let entries = vec![LogEntry::new(date(2026, 11, 17).at(8, 0, 0, 0), 99.0)];
    let name = String::new();
    window
        .state_mut()
        .handle(Command::Edit(Edit::AddToLog { entries, name }));
    window.run();
    assert!(says(&window, "Log: 10366 entries"));
}

#[test]
fn the_record_begins_with_a_click() {
    let mut station = year();
    station.upkeep = None;
    let mut window = window(station, Preferences::default());
    assert!(says(
        &window,
        "A station that was validated once is kept so"
    ));
    window.get_by_label("Begin the record").click();
    window.run();
    fill(&mut window, "Author", "A. Author");
    window.key_press(Key::Enter);
    window.run();
    let papers = session_of(&window).station().papers.clone().expect("begun");
    assert_eq!(papers.author.name, "A. Author");
    assert!(says(&window, "It begins when the file is saved"));
}
