//! Repeat study and drift in the step Readings.

use egui_kittest::kittest::Queryable as _;
use evenfield::files::Preferences;
use evenfield::geometry::Place;
use evenfield::gui::panels::readings;
use evenfield::session::{Command, Step};
use evenfield::station::{Edit, Reading};

use super::host::{Host, Window, click, settle, window};

/// Two people, two rounds each, of twelve positions; the first position is the reference.
fn host() -> Host {
    let mut host = Host::new(Preferences::default());
    for (i, who) in ["A", "B", "A", "B"].iter().enumerate() {
        let station = host.session.station();
        let day = jiff::civil::date(2026, 3, 9 + i as i8 / 2);
        let mut survey = station.new_survey(&format!("Round {}", i + 1), day);
        survey.operator = (*who).into();
        survey.reference = Some("P0".into());
        let order = [0, 1, 2, 3, 0, 4, 5, 6, 7, 0, 8, 9, 10, 11, 0];
        let readings = order.iter().enumerate().map(|(n, &p)| {
            let at = Place::new(
                30.0 + 40.0 * (p % 4) as f64,
                20.0 + 35.0 * (p / 4) as f64,
                20.0,
            );
            let light = 60.0 - 0.002 * ((at.x - 90.0).powi(2) + (at.y - 55.0).powi(2));
            let scatter = 1.0 + 0.01 * ((p * 7 + i * 5) as f64).sin() - 0.003 * n as f64;
            Reading {
                position: format!("P{p}"),
                repeat: if p == 0 { n as u32 + 1 } else { 1 },
                ..Reading::new(at, Some(light * scatter))
            }
        });
        survey.readings = readings.collect();
        host.do_edit(Edit::AddSurvey(survey));
    }
    host.session.handle(Command::Go(Step::Readings));
    host
}

fn says(window: &Window, part: &str) -> bool {
    let said = window.query_all_by(|node| {
        let texts = [node.label(), node.value()];
        texts.into_iter().flatten().any(|text| text.contains(part))
    });
    said.count() > 0
}

#[test]
fn rounds_are_ticked_and_what_is_found_is_taken_over_by_a_click() {
    let mut window = window(host(), 700.0, readings::show);
    window.run();
    click(&mut window, "Repeat study");
    for round in ["Round 1", "Round 2", "Round 3", "Round 4"] {
        click(&mut window, round);
    }
    let study = window.state().session.station().repeat.clone();
    assert_eq!(study.expect("a study").rounds.len(), 4);
    settle(&mut window, |session| {
        let held = session.answers().repeat_study();
        held.current()
            .is_some_and(|record| record.rounds.len() == 4)
    });
    assert!(says(&window, "What each round has in common"));
    assert!(says(&window, "2 people give 1 degree of freedom"));
    assert_eq!(window.state().session.station().settings.scatter, None);
    let button = "Tell the field how readings scatter";
    window.get_by_label(button).scroll_to_me();
    window.run();
    window.step();
    click(&mut window, button);
    let scatter = window.state().session.station().settings.scatter;
    assert!(scatter.is_some_and(|s| s.noise_percent > 0.1));
    assert_eq!(window.state().undo_name(), "take over scatter of readings");
    window.state_mut().session.handle(Command::Undo);
    window.run();
    assert_eq!(window.state().session.station().settings.scatter, None);
}

#[test]
fn the_drift_is_shown_and_left_in_by_a_click() {
    let mut window = window(host(), 700.0, readings::show);
    window.run();
    click(&mut window, "Drift over the round");
    assert!(says(&window, "Lamp and radiometer together: -"), "it fell");
    assert!(says(&window, "from the first of 4 visits to the last"));
    click(&mut window, "Take the drift out of the readings");
    let drift = window.state().session.station().settings.drift;
    assert_eq!(drift, Some(false));
    assert_eq!(window.state().undo_name(), "leave drift in");
    click(&mut window, "Take the drift out of the readings");
    let drift = window.state().session.station().settings.drift;
    assert_eq!(drift, Some(true));
}
