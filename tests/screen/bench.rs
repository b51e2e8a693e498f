//! A round at the bench, with the keyboard alone and with a meter that types.

use std::sync::Arc;
use std::time::{Duration, Instant};

use eframe::egui::{Event, Key, Modifiers, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use evenfield::files::Preferences;
use evenfield::gui::App;
use evenfield::session::{Command, Session, Step, sample};
use evenfield::station::{Reading, Station};
use jiff::civil::date;

use crate::main_job::{Window, session};

/// The sample, and a survey of the same places with nothing read yet.
fn with_round() -> (Station, Vec<f64>) {
    let mut station = sample();
    let first = station.survey_at(0).expect("a survey").clone();
    let mut round = station.new_survey("Round", date(2030, 10, 5));
    let blank = |r: &Reading| Reading {
        position: r.position.clone(),
        ..Reading::new(r.place(), None)
    };
    round.readings = first.readings.iter().map(blank).collect();
    station.surveys.push(round.into());
    let truth = first.readings.iter().map(|r| r.irradiance.unwrap_or(1.0));
    (station, truth.collect())
}

fn window(station: Station) -> Window {
    let preferences = Preferences::default();
    let mut session = Session::new(station, preferences, date(2026, 10, 5), Arc::new(|| {}));
    session.handle(Command::Go(Step::Readings));
    session.handle(Command::ReadAtBench(true));
    let mut window = Harness::builder()
        .with_size(vec2(1280.0, 800.0))
        .with_step_dt(0.02)
        .with_max_steps(400)
        .build_eframe(move |cc| App::of(&cc.egui_ctx, session));
    settle(&mut window);
    window
}

/// Frames until nothing is worked out any more: the field of an earlier survey tells what to expect.
fn settle(window: &mut Window) {
    let begun = Instant::now();
    while begun.elapsed() < Duration::from_secs(120) {
        window.step();
        let known = session(window).answers().awaited().is_some();
        if known && begun.elapsed() > Duration::from_millis(300) {
            break;
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    window.step();
}

fn typed(text: &str) -> Vec<Event> {
    let mut events: Vec<Event> = (text.chars())
        .map(|letter| Event::Text(letter.to_string()))
        .collect();
    events.push(pressed(Key::Enter));
    events
}

fn pressed(key: Key) -> Event {
    Event::Key {
        key,
        physical_key: None,
        pressed: true,
        repeat: false,
        modifiers: Modifiers::NONE,
    }
}

fn send(window: &mut Window, events: Vec<Event>) {
    window.input_mut().events.extend(events);
    for _ in 0..120 {
        window.step();
    }
}

fn read(window: &Window) -> Vec<Option<f64>> {
    let (_, survey) = session(window).survey().expect("a survey");
    survey.readings.iter().map(|r| r.irradiance).collect()
}

#[test]
fn a_meter_types_a_round_in_one_burst() {
    let (station, truth) = with_round();
    let mut window = window(station);
    let burst: Vec<Event> = (truth.iter().take(20))
        .flat_map(|e| typed(&e.to_string()))
        .collect();
    send(&mut window, burst);
    let read = read(&window);
    for (row, e) in truth.iter().take(20).enumerate() {
        assert_eq!(read[row], Some(*e), "row {row}");
    }
    assert!(read[20..].iter().all(Option::is_none));
    let (_, survey) = session(&window).survey().expect("a survey");
    assert!(survey.began.is_some());
    assert!(survey.readings[..20].iter().all(|r| r.minute.is_some()));
    // the next stop is in sight
    let name = survey.readings[20].position.clone();
    assert!(window.query_by_label(&name).is_some(), "{name}");
}

#[test]
fn a_slip_is_asked_about_and_both_readings_are_kept() {
    let (station, truth) = with_round();
    let mut window = window(station);
    for e in &truth[..4] {
        send(&mut window, typed(&e.to_string()));
    }
    settle(&mut window);
    // a decimal point in the wrong place
    send(&mut window, typed(&(0.1 * truth[4]).to_string()));
    assert!(window.query_by_label("Read it again (F2)").is_some());
    // what a meter types meanwhile belongs to the next stop
    send(&mut window, typed(&truth[5].to_string()));
    assert_eq!(read(&window)[5], Some(truth[5]));
    send(&mut window, vec![pressed(Key::F2)]);
    send(&mut window, typed(&truth[4].to_string()));
    let (_, survey) = session(&window).survey().expect("a survey");
    let (slip, again) = (&survey.readings[4], &survey.readings[5]);
    assert_eq!(slip.irradiance, Some(0.1 * truth[4]));
    assert_eq!((again.irradiance, again.repeat), (Some(truth[4]), 2));
    assert_eq!(slip.place(), again.place());
    assert_eq!(survey.readings[6].irradiance, Some(truth[5]));
    assert!(window.query_by_label("Read it again (F2)").is_none());
}

#[test]
fn stops_are_skipped_with_a_reason_and_come_back() {
    let (station, truth) = with_round();
    let mut window = window(station);
    window.get_by_label("Skip").click();
    for _ in 0..4 {
        window.step();
    }
    send(&mut window, typed("a clamp is in the way"));
    send(&mut window, typed(&truth[1].to_string()));
    {
        let (_, survey) = session(&window).survey().expect("a survey");
        let skipped = survey.readings[0].excluded.as_deref();
        assert_eq!(skipped, Some("a clamp is in the way"));
        assert_eq!(survey.readings[0].irradiance, None);
        assert_eq!(survey.readings[1].irradiance, Some(truth[1]));
    }
    // nonsense is refused and stays to be mended
    send(&mut window, typed("8x1"));
    assert_eq!(read(&window)[2], None);
    // back to what was skipped: reading it takes the reason away
    send(
        &mut window,
        vec![pressed(Key::PageUp), pressed(Key::PageUp)],
    );
    send(&mut window, typed(&truth[0].to_string()));
    let (_, survey) = session(&window).survey().expect("a survey");
    assert_eq!(survey.readings[0].irradiance, Some(truth[0]));
    assert_eq!(survey.readings[0].excluded, None);
}
