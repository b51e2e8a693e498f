//! What is saved is what was typed: into every table and form, in bursts and key by key, in sight and scrolled out of it, in
//! low windows and with large text, while the field is worked out.

use std::sync::Arc;

use eframe::egui::accesskit::Role;
use eframe::egui::{
    Event, Key, Modifiers, MouseWheelUnit, Pos2, Rect, TouchPhase, Vec2, pos2, vec2,
};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use evenfield::files::Preferences;
use evenfield::geometry::Place;
use evenfield::gui::App;
use evenfield::session::{Command, Session, Step, sample};
use evenfield::station::{Exposure, Reading, Station, Trials, Where};
use jiff::civil::date;

use crate::main_job::{Window, session, wait};

/// A low window, and the least one with text of 150 %: its size in points, and pixels for each.
const WINDOWS: [(Vec2, f32); 2] = [(vec2(1280.0, 600.0), 1.0), (vec2(600.0, 400.0), 1.5)];

fn window(station: Station, step: Step, (size, scale): (Vec2, f32)) -> Window {
    let day = date(2026, 10, 5);
    let preferences = Preferences::default();
    let mut session = Session::new(station, preferences, day, Arc::new(|| {}));
    session.handle(Command::Go(step));
    let mut window = Harness::builder()
        .with_size(size)
        .with_pixels_per_point(scale)
        .with_step_dt(0.02)
        .with_max_steps(400)
        .build_eframe(move |cc| App::of(&cc.egui_ctx, session));
    window.run();
    window
}

/// The sample with limits, and trials without a part.
fn with_trials() -> Station {
    Station {
        trials: Some(Trials::default()),
        ..sample()
    }
}

fn with_points() -> Station {
    let points = Exposure::Measured {
        points: Vec::new(),
        reference: None,
    };
    Station {
        exposure: Some(points),
        ..sample()
    }
}

/// The sample with a survey of so many rows that wait for their irradiance.
fn with_rows(rows: u32) -> Station {
    let mut station = sample();
    let mut survey = station.new_survey("Typed", date(2030, 10, 5));
    survey.readings = (0..rows)
        .map(|i| {
            Reading::new(
                Place::new(f64::from(i % 15) * 10.0, f64::from(i / 15) * 5.0, 20.0),
                None,
            )
        })
        .collect();
    station.surveys.push(survey.into());
    station
}

fn parts(window: &Window) -> Vec<(f64, f64, Option<f64>)> {
    let trials = session(window).station().trials.as_ref().expect("trials");
    let parts = trials.parts.iter();
    parts
        .map(|p| (p.irradiance, p.exposure, p.result))
        .collect()
}

fn points(window: &Window) -> Vec<(f64, f64)> {
    match &session(window).station().exposure {
        Some(Exposure::Measured { points, .. }) => points.clone(),
        other => panic!("{other:?}"),
    }
}

fn irradiances(window: &Window) -> Vec<Option<f64>> {
    let (_, survey) = session(window).survey().expect("a survey");
    survey.readings.iter().map(|r| r.irradiance).collect()
}

fn key(key: Key) -> Event {
    Event::Key {
        key,
        physical_key: None,
        pressed: true,
        repeat: false,
        modifiers: Modifiers::NONE,
    }
}

/// The keys of texts, each followed by one key that leaves it.
fn keys(texts: &[(String, Key)]) -> Vec<Event> {
    let mut all = Vec::new();
    for (text, after) in texts {
        for letter in text.chars() {
            let typed = match letter {
                '.' => Key::Period,
                _ => Key::from_name(&letter.to_string()).expect("a digit"),
            };
            all.extend([key(typed), Event::Text(letter.to_string())]);
        }
        all.push(key(*after));
    }
    all
}

/// Everything in one frame.
fn burst(window: &mut Window, events: &[Event]) {
    window.input_mut().events.extend_from_slice(events);
    window.run();
}

/// A key a frame: what a key types comes with it.
fn key_by_key(window: &mut Window, events: &[Event]) {
    let mut events = events.iter().peekable();
    while let Some(event) = events.next() {
        window.input_mut().events.push(event.clone());
        if let Some(text) = events.next_if(|event| matches!(event, Event::Text(_))) {
            window.input_mut().events.push(text.clone());
        }
        window.step();
    }
    window.run();
}

fn wheel(window: &mut Window, at: Pos2, up: f32) {
    window.hover_at(at);
    window.event(Event::MouseWheel {
        unit: MouseWheelUnit::Point,
        delta: vec2(0.0, up),
        phase: TouchPhase::Move,
        source: eframe::egui::MouseWheelSource::Unknown,
        modifiers: Modifiers::NONE,
    });
    window.run();
}

fn rect(window: &Window, label: &str) -> Option<Rect> {
    let node = window.query_all_by_label(label).next()?;
    Some(node.rect())
}

/// Brings the keyboard to a table, so many columns to the right of its first cell; what it is folded away in is unfolded.
fn begin(window: &mut Window, unfold: Option<Where>, table: &str, right: usize) {
    if let Some(place) = unfold {
        window.state_mut().handle(Command::GoTo(place));
        window.run();
    }
    window.get_by_role_and_label(Role::Grid, table).focus();
    window.run();
    let right = vec![key(Key::ArrowRight); right];
    key_by_key(window, &right);
}

/// Where the wheel turns over what scrolls around a table.
fn beside(window: &Window) -> Pos2 {
    let size = window.ctx.content_rect().size();
    pos2(size.x - 40.0, size.y - 60.0)
}

/// Rows of irradiance, time and result, and how they are typed.
#[allow(clippy::type_complexity)] // said once
fn ladder(n: usize) -> (Vec<(f64, f64, Option<f64>)>, Vec<(String, Key)>) {
    let part = |i: usize| {
        let result = 100 + 7 * i;
        ((20 + 5 * i) as f64, 8.0, Some(result as f64 / 10.0))
    };
    let parts: Vec<_> = (0..n).map(part).collect();
    let typed = parts.iter().flat_map(|&(e, t, r)| {
        let result = r.expect("a result").to_string();
        [
            (e.to_string(), Key::Tab),
            (t.to_string(), Key::Tab),
            (result, Key::Enter),
        ]
    });
    let typed = typed.collect();
    (parts, typed)
}

#[allow(clippy::type_complexity)] // said once
fn course(n: usize) -> (Vec<(f64, f64)>, Vec<(String, Key)>) {
    let points: Vec<(f64, f64)> = (0..n)
        .map(|i| ((5 * i) as f64 / 10.0, (40 + i) as f64))
        .collect();
    let typed = points
        .iter()
        .flat_map(|&(t, e)| [(t.to_string(), Key::Tab), (e.to_string(), Key::Enter)]);
    let typed = typed.collect();
    (points, typed)
}

/// What a meter sends: a value and Enter.
fn metered(n: usize) -> (Vec<Option<f64>>, Vec<(String, Key)>) {
    let values: Vec<f64> = (0..n).map(|i| (812 + i) as f64 / 10.0).collect();
    let typed = values.iter().map(|v| (v.to_string(), Key::Enter)).collect();
    (values.into_iter().map(Some).collect(), typed)
}

#[test]
fn twelve_trials_typed_in_a_low_window_are_twelve_trials_and_the_row_stays_in_view() {
    for of in WINDOWS {
        let mut window = window(with_trials(), Step::Limits, of);
        begin(&mut window, None, "Parts", 0);
        let (parts_typed, texts) = ladder(12);
        for (row, line) in texts.chunks(3).enumerate() {
            key_by_key(&mut window, &keys(line));
            let next = format!("Row {}, Irradiance", row + 2);
            let place = rect(&window, &next).expect("the next row is there");
            assert!(
                place.top() > 60.0 && place.bottom() < of.0.y - 20.0,
                "{next}: {place:?}"
            );
        }
        assert_eq!(parts(&window), parts_typed, "{of:?}");
        // what is worked out meanwhile may lay the panel out anew between the look and the click
        wait(&mut window, "an end of the work", |w| {
            !session(w).answers().is_answering()
        });
        // where things are said to be follows what scrolled by a frame
        window.step();
        // a click reaches only what can be seen
        window.get_by_label("Row 12, Result").click();
        window.run();
        burst(&mut window, &keys(&[("99.5".into(), Key::Enter)]));
        assert_eq!(parts(&window)[11].2, Some(99.5), "{of:?}");
    }
}

#[test]
fn a_burst_into_trials_is_saved_in_sight_and_out_of_it() {
    for of in WINDOWS {
        for away in [0.0, 4_000.0, -4_000.0] {
            let mut window = window(with_trials(), Step::Limits, of);
            begin(&mut window, None, "Parts", 0);
            let (parts_typed, texts) = ladder(4);
            let events = keys(&texts);
            assert!(events.len() >= 40);
            if away != 0.0 {
                let at = beside(&window);
                wheel(&mut window, at, away);
            }
            burst(&mut window, &events);
            assert_eq!(parts(&window), parts_typed, "{of:?} {away}");
        }
    }
}

#[test]
fn two_hundred_values_typed_into_trials_while_all_is_worked_out() {
    let mut window = window(with_trials(), Step::Limits, WINDOWS[0]);
    begin(&mut window, None, "Parts", 0);
    let (parts_typed, texts) = ladder(67);
    let mut was_working = 0;
    for (i, line) in texts.chunks(3).enumerate() {
        if i % 10 == 5 {
            let at = beside(&window);
            wheel(
                &mut window,
                at,
                if i % 20 == 5 { 4_000.0 } else { -4_000.0 },
            );
        }
        key_by_key(&mut window, &keys(line));
        was_working += usize::from(session(&window).is_working());
    }
    assert_eq!(parts(&window), parts_typed);
    assert!(was_working > 30, "worked on in {was_working} of 67 rows");
}

#[test]
fn points_of_an_exposure_are_saved_in_bursts_and_key_by_key() {
    for of in WINDOWS {
        for away in [0.0, 4_000.0, -4_000.0] {
            let mut window = window(with_points(), Step::Limits, of);
            begin(
                &mut window,
                Some(Where::Exposure("Points")),
                "Points of the exposure",
                0,
            );
            let (typed, texts) = course(12);
            if away != 0.0 {
                let at = beside(&window);
                wheel(&mut window, at, away);
            }
            burst(&mut window, &keys(&texts));
            assert_eq!(points(&window), typed, "{of:?} {away}");
        }
    }
    let mut window = window(with_points(), Step::Limits, WINDOWS[0]);
    begin(
        &mut window,
        Some(Where::Exposure("Points")),
        "Points of the exposure",
        0,
    );
    let (typed, texts) = course(100);
    key_by_key(&mut window, &keys(&texts));
    assert_eq!(points(&window), typed);
}

#[test]
fn a_meter_types_into_readings_as_fast_as_it_will() {
    for of in WINDOWS {
        for away in [0.0, 4_000.0, -4_000.0] {
            let mut window = window(with_rows(60), Step::Readings, of);
            begin(&mut window, None, "Readings", 4);
            let (typed, texts) = metered(40);
            let (first, rest) = texts.split_at(20);
            burst(&mut window, &keys(first));
            if away != 0.0 {
                let at = beside(&window);
                wheel(&mut window, at, away);
            }
            burst(&mut window, &keys(rest));
            assert_eq!(irradiances(&window)[..40], typed, "{of:?} {away}");
            let next = rect(&window, "Row 41, Irradiance").expect("the next row is in view");
            assert!(next.bottom() < of.0.y, "{next:?}");
        }
    }
    let mut window = window(with_rows(200), Step::Readings, WINDOWS[0]);
    begin(&mut window, None, "Readings", 4);
    let (typed, texts) = metered(200);
    let mut was_working = 0;
    for texts in texts.chunks(10) {
        key_by_key(&mut window, &keys(texts));
        was_working += usize::from(session(&window).is_working());
    }
    assert_eq!(irradiances(&window), typed);
    assert!(was_working > 10, "worked on in {was_working} of 20 looks");
}

#[test]
fn fields_of_a_form_take_a_burst_in_their_order() {
    for (of, leave) in [
        (WINDOWS[0], Key::Enter),
        (WINDOWS[1], Key::Enter),
        (WINDOWS[0], Key::Tab),
    ] {
        let mut window = window(sample(), Step::Fixture, of);
        window.get_by_label("Width").scroll_to_me();
        window.run();
        window.get_by_label("Width").focus();
        window.run();
        let texts = [("231".to_owned(), leave), ("141.5".to_owned(), leave)];
        burst(&mut window, &keys(&texts));
        let size = session(&window).station().fixture.footprint().bounds();
        let size = (size.max.x - size.min.x, size.max.y - size.min.y);
        assert_eq!(size, (231.0, 141.5), "{of:?} {leave:?}");
    }
}

#[test]
fn a_command_in_a_burst_acts_on_what_was_typed_before_it() {
    let mut window = window(with_rows(6), Step::Readings, WINDOWS[0]);
    begin(&mut window, None, "Readings", 4);
    let mut events = keys(&[
        ("80.5".to_owned(), Key::Enter),
        ("81".to_owned(), Key::Enter),
    ]);
    events.pop();
    // to another step with a cell half typed, and on
    let go = Event::Key {
        key: Key::Num1,
        physical_key: None,
        pressed: true,
        repeat: false,
        modifiers: Modifiers::COMMAND,
    };
    events.push(go);
    events.extend(keys(&[("7".to_owned(), Key::Tab)]));
    burst(&mut window, &events);
    assert_eq!(session(&window).step(), Step::Fixture);
    let typed = &irradiances(&window)[..2];
    assert_eq!(typed, [Some(80.5), Some(81.0)]);
}

#[test]
fn a_cell_half_typed_is_kept_when_something_else_is_clicked() {
    for of in WINDOWS {
        let mut window = window(with_trials(), Step::Limits, of);
        begin(&mut window, None, "Parts", 0);
        let mut events = keys(&[("62.5".to_owned(), Key::Enter)]);
        events.pop();
        let at = beside(&window);
        wheel(&mut window, at, -4_000.0);
        burst(&mut window, &events);
        wheel(&mut window, at, 4_000.0);
        crate::main_job::go(&mut window, "1 Fixture");
        assert_eq!(session(&window).step(), Step::Fixture);
        assert_eq!(parts(&window)[0].0, 62.5, "{of:?}");
    }
}
