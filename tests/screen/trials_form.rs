//! Cure trials typed and pasted in the step Limits, and what the window says of them.

use eframe::egui::Key;
use egui_kittest::kittest::Queryable;
use evenfield::files::Preferences;
use evenfield::gui::panels::limits;
use evenfield::session::{Command, Step};
use evenfield::station::Exposure;
use evenfield::station::trials::{Better, Varied};

use crate::host::{Host, Window, click, fill, paste, press, window, write};

/// Waits for what is worked out in the background, and shows it.
fn settle(window: &mut Window) {
    for _ in 0..400 {
        window.state_mut().session.update();
        if !window.state().session.is_working() {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(10));
    }
    window.run();
}

fn shown() -> Window {
    let mut host = Host::new(Preferences::default());
    host.session.handle(Command::Go(Step::Limits));
    let mut window = window(host, 460.0, limits::trials::show);
    // all of it in view: what is clipped can't be clicked
    window.set_size(eframe::egui::vec2(460.0, 2400.0));
    window.run();
    window
}

fn begun() -> Window {
    let mut window = shown();
    click(&mut window, "Cure trials");
    settle(&mut window);
    click(&mut window, "Enter cure trials");
    settle(&mut window);
    window
}

fn trials(window: &Window) -> &evenfield::station::Trials {
    window
        .state()
        .session
        .station()
        .trials
        .as_ref()
        .expect("trials")
}

fn cell(window: &mut Window, name: &str) {
    window.get_by_label(name).click();
    window.run();
}

/// A ladder of four parts a level as a block of text.
fn block(response: impl Fn(f64) -> f64) -> String {
    let mut text = String::new();
    for e in [10.0, 20.0, 40.0, 60.0, 80.0, 120.0] {
        for off in [-0.3, 0.1, 0.3, -0.1] {
            text += &format!("{e}\t8\t{:.2}\n", response(e) + off);
        }
    }
    text
}

#[test]
fn a_ladder_is_pasted_and_its_least_level_said() {
    let mut window = begun();
    assert!(
        window
            .query_by_label_contains("no cure trials yet")
            .is_some()
    );
    cell(&mut window, "Row 1, Irradiance");
    paste(&mut window, &block(|e| 20.0 * (1.0 - (-e / 18.0f64).exp())));
    settle(&mut window);
    assert_eq!(trials(&window).parts.len(), 24);
    assert_eq!(window.state().undo_name(), "paste 72 cells");
    assert!(
        window
            .query_by_label_contains("mW/cm² at 8 s, with 95 % confidence")
            .is_some()
    );
    assert!(
        window
            .query_by_label_contains("had cooled to room temperature before")
            .is_some()
    );
    click(&mut window, "Parts had cooled to room temperature");
    settle(&mut window);
    assert!(trials(&window).cooled);
    assert!(
        window
            .query_by_label_contains("had cooled to room temperature before")
            .is_none()
    );
}

#[test]
fn a_wrong_cell_keeps_what_was_typed_and_says_why() {
    let mut window = begun();
    cell(&mut window, "Row 1, Irradiance");
    paste(&mut window, "50\t8\t12\n50\t8\t-3");
    assert!(
        window
            .query_by_label_contains("Nothing was pasted. Row 2, Result")
            .is_some()
    );
    assert!(trials(&window).parts.is_empty());
    paste(&mut window, "50\t8\t12\n50\t8\t11");
    settle(&mut window);
    assert_eq!(trials(&window).parts.len(), 2);
    assert!(
        window
            .query_by_label_contains("All parts were cured at one level")
            .is_some()
    );
}

#[test]
fn fields_of_the_trials() {
    let mut window = begun();
    fill(&mut window, "Property", "Shore D");
    fill(&mut window, "Margin", "5");
    fill(&mut window, "Chosen exposure", "8");
    assert_eq!(trials(&window).property.name, "Shore D");
    assert_eq!(trials(&window).held, Some(8.0));
    fill(&mut window, "Margin", "120");
    assert!(
        window
            .query_by_label_contains("the margin is 120 %")
            .is_some()
    );
    assert_eq!(trials(&window).varied, Varied::Irradiance);
    assert_eq!(trials(&window).property.better, Better::Larger);
    click(&mut window, "Add a confirmation run");
    settle(&mut window);
    fill(&mut window, "Parts passed", "59");
    assert_eq!(trials(&window).confirmation.map(|c| c.passed), Some(59));
}

#[test]
fn an_exposure_is_described() {
    let mut window = shown();
    click(&mut window, "Course of the exposure");
    settle(&mut window);
    click(&mut window, "Describe the exposure");
    settle(&mut window);
    fill(&mut window, "Opening", "0.4");
    settle(&mut window);
    let said = "Effective time 9.8 s, its uncertainty not known";
    assert!(window.query_by_label(said).is_some());
    fill(&mut window, "Travel uncertainty", "0.02");
    settle(&mut window);
    // half of it counts, twice as k says; there is no closing
    let said = "Effective time 9.800 ± 0.020 s (k = 2)";
    assert!(window.query_by_label(said).is_some());
    fill(&mut window, "Opening", "20");
    assert!(
        window
            .query_by_label_contains("takes 20 s to open")
            .is_some()
    );
}

#[test]
fn a_course_that_was_read_is_pasted_and_typed() {
    let mut window = shown();
    click(&mut window, "Course of the exposure");
    settle(&mut window);
    click(&mut window, "Enter points read against time");
    settle(&mut window);
    assert!(
        window
            .query_by_label_contains("needs four points or more")
            .is_some()
    );
    cell(&mut window, "Row 1, Time");
    paste(&mut window, "t\tE\n0\t0\n0,5\t80\n0.4\t80");
    assert!(
        window
            .query_by_label_contains("Nothing was pasted. Line 4, Time: 0.4 s does not come after")
            .is_some()
    );
    paste(&mut window, "t\tE\n0\t0\n0,5\t80\n1.5\t81\n2.5\t0");
    settle(&mut window);
    let points = |window: &Window| match &window.state().session.station().exposure {
        Some(Exposure::Measured { points, .. }) => points.clone(),
        other => panic!("{other:?}"),
    };
    assert_eq!(points(&window).len(), 4);
    assert!(
        window
            .query_by_label_contains("Effective time 1.75")
            .is_some()
    );
    assert!(
        window
            .query_by_label_contains("Dose at 100 mW/cm²: 1")
            .is_some()
    );
    // half a point is none yet
    cell(&mut window, "Row 5, Time");
    write(&mut window, "0.25");
    press(&mut window, Key::Tab);
    assert_eq!(points(&window).len(), 4);
    write(&mut window, "40");
    press(&mut window, Key::Enter);
    settle(&mut window);
    assert_eq!(points(&window)[1], (0.25, 40.0));
    fill(&mut window, "Reference", "160");
    settle(&mut window);
    assert!(
        window
            .query_by_label_contains("Effective time 0.88")
            .is_some()
    );
}
