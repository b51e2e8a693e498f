//! Placing parts, as a line designer does.

use std::sync::Arc;

use egui_kittest::kittest::Queryable;
use evenfield::files::Preferences;
use evenfield::gui::panels::{PanelState, placement};
use evenfield::session::{Command, Session, Step};

use crate::host::{self, Host, Window, window};

fn form() -> Window {
    let today = jiff::civil::date(2026, 3, 9);
    let session = Session::on_sample(Preferences::default(), today, Arc::new(|| {}));
    let mut host = Host {
        session,
        state: PanelState::default(),
    };
    host.session.handle(Command::Go(Step::Placement));
    let mut window = window(host, 460.0, placement::show);
    // all of it in sight: nothing scrolls around the bare panel
    window.set_size(eframe::egui::vec2(460.0, 1600.0));
    settle(&mut window);
    window
}

/// Until what is worked out in the background is there and shown.
fn settle(window: &mut Window) {
    host::settle(window, |session| {
        let answers = session.answers();
        answers.fit().current().is_some() && !answers.placing().is_updating()
    });
}

fn click(window: &mut Window, label: &str) {
    host::click(window, label);
    settle(window);
    // what a click asks for is asked in the next frame
    settle(window);
}

fn fill(window: &mut Window, label: &str, text: &str) {
    host::fill(window, label, text);
    settle(window);
    settle(window);
}

#[test]
fn a_part_is_described_arranged_compared_and_taken_into_the_fixture() {
    let mut window = form();
    fill(&mut window, "Part width", "24");
    fill(&mut window, "Part depth", "18");
    fill(&mut window, "Tolerance of place", "0.3");
    click(&mut window, "Arrange");
    let rows = window.state().session.arranged().expect("an arrangement");
    let count = rows.placed.sites.len();
    assert!(count > 10 && rows.placed.proven, "{count}");
    window.get_by_label(&format!("{count} parts"));
    click(&mut window, "Keep beside others");
    fill(&mut window, "Clearance", "6");
    let fewer = window
        .state()
        .session
        .arranged()
        .expect("an arrangement")
        .placed
        .sites
        .len();
    assert!(fewer < count, "{fewer} of {count}");
    click(&mut window, "Keep beside others");
    assert_eq!(window.state().session.arrangements().len(), 2);
    click(&mut window, "Show 1");
    let shown = window.state().session.arranged().expect("the kept one");
    assert_eq!(shown.placed.sites.len(), count);
    click(&mut window, "Take as sites");
    let host = window.state_mut();
    assert_eq!(host.session.station().all_sites().len(), count);
    assert_eq!(host.undo_name(), "arrange sites");
    host.session.handle(Command::Undo);
    assert_ne!(host.session.station().all_sites().len(), count);
}

#[test]
fn sites_inside_the_limits_stay_and_the_rest_is_arranged_beside_them() {
    let mut window = form();
    click(&mut window, "The sites as they are");
    let answers = window.state().session.answers();
    let present = answers
        .placing()
        .present()
        .current()
        .expect("sites")
        .clone();
    let good: Vec<String> = (present.sites.iter())
        .filter(|s| s.is_good())
        .map(|s| s.name.clone())
        .collect();
    assert!(!good.is_empty() && good.len() < present.sites.len());
    window.get_by_label_contains("1 nearer to what stands there");
    click(&mut window, "Let those inside stay");
    // one of them is to be moved after all
    click(&mut window, &format!("{} stays", good[0]));
    let locked = window.state().session.placing().wanted.locked;
    assert_eq!(locked, good[1..]);
    fill(&mut window, "Part width", "20");
    fill(&mut window, "Part depth", "15");
    click(&mut window, "Arrange");
    let found = window.state().session.arranged().expect("an arrangement");
    assert_eq!(found.asked.stay.len(), locked.len());
    assert!(!found.placed.sites.is_empty());
    click(&mut window, "Take as sites");
    let sites = window.state().session.station().all_sites();
    assert_eq!(sites.len(), locked.len() + found.placed.sites.len());
    assert!(
        locked
            .iter()
            .all(|name| sites.iter().any(|s| s.name == *name))
    );
}

#[test]
fn lengths_are_said_in_inches() {
    let mut window = form();
    let preferences = Preferences {
        length_unit: evenfield::units::LengthUnit::Inch,
        ..Preferences::default()
    };
    window
        .state_mut()
        .session
        .handle(Command::Prefer(preferences));
    fill(&mut window, "Part width", "1");
    fill(&mut window, "Part depth", "0.75");
    click(&mut window, "Arrange");
    window.get_by_label_contains("on a raster of 0.0");
    click(&mut window, "Keep beside others");
    window.get_by_label_contains("1 x 0.75 in, 0.079 in apart");
    click(&mut window, "Remedies for an uneven field");
    window.get_by_label_contains("pallet moved by");
    assert!(window.query_by_label_contains(" mm").is_none());
}

#[test]
fn a_wrong_size_is_said_and_changes_nothing() {
    let mut window = form();
    host::fill(&mut window, "Part width", "-3");
    window.run();
    window.get_by_label("Type a number above zero");
    let part = window
        .state()
        .session
        .placing()
        .wanted
        .part
        .expect("a part");
    assert!(part.shape.size().0 > 0.0);
    fill(&mut window, "Part width", "500");
    click(&mut window, "Arrange");
    window.get_by_label_contains("does not fit on the fixture");
    click(&mut window, "Clear");
    assert!(
        window
            .query_by_label_contains("does not fit on the fixture")
            .is_none()
    );
}

#[test]
fn the_usable_part_is_worked_out_and_seen_while_sites_are_moved() {
    let mut window = form();
    assert!(
        window
            .state()
            .session
            .answers()
            .placing()
            .usable()
            .current()
            .is_some()
    );
    // somebody has looked at it: now it is there in the step Fixture, too
    fill(&mut window, "Clearance", "3");
    window
        .state_mut()
        .session
        .handle(Command::Go(Step::Fixture));
    let session = &mut window.state_mut().session;
    session.update();
    assert!(session.answers().placing().usable().any().is_some());
}
