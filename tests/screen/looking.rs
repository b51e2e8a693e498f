//! How things are shown: the size of text and buttons, the colours, what the map is of, lines through the cross, and
//! readings that are out of line.

use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;

use eframe::egui::{Pos2, vec2};
use evenfield::session::{Along, Command, Step};
use evenfield::station::Edit;

use crate::main_job::{Window, click, go, on_sample, pick, press, says, session, wait, write};

fn command(window: &mut Window, key: Key) {
    window.key_press_modifiers(Modifiers::COMMAND, key);
    window.run();
}

fn scale(window: &Window) -> (f32, f32) {
    let asked = session(window).preferences().interface_scale;
    (asked, window.ctx.zoom_factor())
}

#[test]
fn text_and_buttons_grow_and_shrink_by_keys_and_by_the_menu() {
    let mut window = on_sample();
    window.run();
    assert_eq!(scale(&window), (1.0, 1.0));
    assert!(window.query_by_label("110 %").is_none());
    command(&mut window, Key::Plus);
    assert_eq!(scale(&window), (1.1, 1.1));
    // the same key without Shift
    command(&mut window, Key::Equals);
    assert_eq!(scale(&window), (1.2, 1.2));
    window.get_by_label("120 %");
    command(&mut window, Key::Minus);
    assert_eq!(scale(&window), (1.1, 1.1));
    command(&mut window, Key::Num0);
    assert_eq!(scale(&window), (1.0, 1.0));

    window.get_by_label("View").click();
    window.run();
    window.get_by_label("Text and buttons at 100 %");
    let smaller = |label: &str| label.starts_with("Smaller text and buttons");
    window
        .get_by(|node| node.label().is_some_and(|label| smaller(&label)))
        .click();
    window.run();
    assert_eq!(scale(&window), (0.9, 0.9));
    click(&mut window, "90 %");
    assert_eq!(scale(&window), (1.0, 1.0));
}

fn with_a_map() -> Window {
    let mut window = on_sample();
    wait(&mut window, "a map and an answer", |w| {
        let answers = session(w).answers();
        answers.map().current().is_some()
            && answers.answer().current().is_some()
            && answers.profile().current().is_some()
    });
    window
}

/// Types over what is in a field of the open choice and presses Enter.
fn retype(window: &mut Window, label: &str, text: &str) {
    window.get_by_label(label).focus();
    window.run();
    command(window, Key::A);
    write(window, text);
    press(window, Key::Enter);
}

#[test]
fn the_colours_are_fixed_from_and_to_and_the_bar_says_what_they_leave_out() {
    let mut window = with_a_map();
    let bar = |window: &Window, text: &str| window.query_by_label_contains(text).is_some();
    assert!(!bar(&window, "has the darkest colour"));
    click(&mut window, "Colour range: automatic");
    click(
        &mut window,
        "Fixed: the same for every map, to compare surveys",
    );
    let [low, high] = session(&window).colours().irradiance.expect("fixed");
    let (least, greatest) = {
        let map = session(&window).answers().map().current().expect("a map");
        map.raster.range().expect("values")
    };
    assert!(low <= least && greatest <= high, "nothing is left out");
    assert!((low / least - 1.0).abs() < 1e-2 && (high / greatest - 1.0).abs() < 1e-2);

    let middle = format!("{:.1}", 0.5 * (low + high)).replace('.', ",");
    retype(&mut window, "From", &middle);
    let now = session(&window).colours().irradiance.expect("fixed");
    assert_eq!(format!("{:.1}", now[0]).replace('.', ","), middle);
    assert_eq!(now[1], high);
    assert!(bar(
        &window,
        "Part of the map is below that and has the darkest colour"
    ));

    retype(&mut window, "To", "1");
    assert_eq!(session(&window).colours().irradiance, Some(now), "refused");
    assert!(says(&window, |text| text
        .starts_with("The range has to rise: type more than")));
    retype(&mut window, "From", "many");
    assert_eq!(session(&window).colours().irradiance, Some(now), "refused");
    assert!(says(&window, |text| text.starts_with("'many' is not a number")));

    click(
        &mut window,
        "Automatic: each map from its least to its greatest",
    );
    assert_eq!(session(&window).colours().irradiance, None);
    assert!(!bar(&window, "has the darkest colour"));
}

#[test]
fn the_map_shows_its_uncertainty_with_a_bar_of_its_own() {
    let mut window = with_a_map();
    pick(&mut window, "Map of", "Uncertainty, k = 2, %");
    wait(&mut window, "the uncertainty", |w| {
        session(w).answers().uncertainty().current().is_some()
    });
    assert!(
        window
            .query_by_label_contains("Colours of the uncertainty (k = 2) from ")
            .is_some()
    );
    assert!(
        window
            .query_by_label_contains("Colours of irradiance")
            .is_none()
    );
    pick(&mut window, "Map of", "Irradiance");
    assert!(
        window
            .query_by_label_contains("Colours of irradiance from ")
            .is_some()
    );
}

fn point_and_press(window: &mut Window, from: Pos2, to: Pos2) {
    window.hover_at(from);
    window.run();
    window.drag_at(from);
    window.run();
    if from != to {
        for t in [0.5, 1.0] {
            window.hover_at(from + (to - from) * t);
            window.run();
        }
    }
    window.drop_at(to);
    window.run();
}

fn along(window: &Window) -> Option<Along> {
    session(window)
        .answers()
        .profile()
        .current()
        .map(|p| p.line.along)
}

#[test]
fn the_cross_is_dragged_and_the_strip_shows_sections_through_it() {
    let mut window = with_a_map();
    click(&mut window, "Section along x");
    wait(&mut window, "a section", |w| along(w) == Some(Along::X));
    assert!(says(&window, |text| text.starts_with("Irradiance along x at y ")));
    assert!(says(&window, |text| text.contains("within 6 mm")));

    let plan = window.get_by_label("Plan view").rect();
    let at = plan.center() + vec2(30.0, 20.0);
    point_and_press(&mut window, at, at);
    let first = session(&window).cross().expect("a cross");
    let by = vec2(60.0, 0.0);
    point_and_press(&mut window, at, at + by);
    let second = session(&window).cross().expect("a cross");
    assert!(second.x > first.x + 1.0, "{first:?} {second:?}");
    assert!(
        (second.y - first.y).abs() <= 0.26,
        "along the pointer's way: {first:?} {second:?}"
    );
    // the picture has stayed: back to where it was, to half a millimetre
    point_and_press(&mut window, at + by, at);
    let third = session(&window).cross().expect("a cross");
    assert!(third.distance(first) <= 0.75, "{first:?} {third:?}");

    press(&mut window, Key::ArrowRight);
    assert_eq!(session(&window).cross().expect("a cross").x, third.x + 1.0);
    wait(&mut window, "the section there", |w| {
        along(w) == Some(Along::X)
    });
    let name = "; x of the cross, mm";
    window.get_by_label_contains(name).focus();
    window.run();
    window.key_press_modifiers(Modifiers::SHIFT, Key::ArrowLeft);
    window.run();
    assert!((session(&window).cross().expect("a cross").x - (third.x - 9.0)).abs() < 0.06);
    click(&mut window, "Section along y");
    wait(&mut window, "a section", |w| along(w) == Some(Along::Y));
    click(&mut window, "Irradiance against height");
    wait(&mut window, "a profile", |w| {
        along(w) == Some(Along::Height)
    });
    let beyond = plan.left_top() + vec2(60.0, 12.0);
    point_and_press(&mut window, beyond, beyond);
    let bounds = session(&window).station().fixture.footprint().bounds();
    let cross = session(&window).cross().expect("a cross");
    assert!(
        cross.y <= bounds.max.y && cross.x >= bounds.min.x,
        "{cross:?}"
    );
}

#[test]
fn a_reading_that_the_others_do_not_bear_out_is_flagged_until_it_is_read_again() {
    let mut window = with_a_map();
    go(&mut window, "3 Readings");
    assert_eq!(session(&window).step(), Step::Readings);
    assert!(!says(&window, |text| text
        .contains("out of line with the others:")));
    let (survey, right) = {
        let (survey, of) = session(&window).survey().expect("a survey");
        (survey, of.readings[8].clone())
    };
    let value = right.irradiance.expect("read");
    let set = |irradiance: f64, name: &str| {
        let mut reading = right.clone();
        reading.irradiance = Some(irradiance);
        Command::Edit(Edit::SetReadings {
            survey,
            row: 8,
            readings: vec![reading],
            name: name.into(),
        })
    };
    window.state_mut().handle(set(1.4 * value, "a slip"));
    window.run();
    wait(&mut window, "a fit", |w| {
        session(w).answers().fit().current().is_some()
    });
    assert!(says(&window, |text| text
        == "1 reading is out of line with the others:"));
    let told = {
        let fit = session(&window).answers().fit().current().expect("a fit");
        let at = fit
            .rows
            .iter()
            .position(|row| *row == 8)
            .expect("it counts");
        fit.field.leave_one_out()[at]
    };
    let off = 100.0 * (1.4 * value / told.predicted - 1.0);
    let wanted = format!(
        "this reading is {off:.1} % above that, {:.1} standard deviations",
        told.standardised.expect("kriging has them")
    );
    assert!((30.0..50.0).contains(&off), "{off}");
    assert!(says(&window, |text| text.contains(&wanted)), "{wanted}");
    let cell = window.get_by_label("Row 9, Irradiance");
    use egui_kittest::kittest::NodeT as _;
    let description = cell.accesskit_node().description().unwrap_or_default();
    assert!(description.contains(&wanted), "{description}");

    // something else is typed: the mark stays while the field is worked out anew
    let mut other = {
        let (_, of) = session(&window).survey().expect("a survey");
        of.readings[2].clone()
    };
    other.note = "read twice".into();
    other.irradiance = other.irradiance.map(|e| 1.001 * e);
    window.state_mut().handle(Command::Edit(Edit::SetReadings {
        survey,
        row: 2,
        readings: vec![other],
        name: "another".into(),
    }));
    window.step();
    assert!(says(&window, |text| text
        == "1 reading is out of line with the others:"));
    window.state_mut().handle(set(value, "read again"));
    window.step();
    wait(&mut window, "a fit", |w| {
        session(w).answers().fit().current().is_some()
    });
    assert!(!says(&window, |text| text
        .contains("out of line with the others:")));
}

/// At 150 and 200 % windows of 1280 x 800 and 1920 x 1080 have as many points as these.
const LARGE_TEXT: [(f32, f32); 4] = [
    (640.0, 400.0),
    (853.0, 533.0),
    (960.0, 540.0),
    (1280.0, 720.0),
];

#[test]
fn with_large_text_nothing_is_beyond_the_window_and_picture_and_panel_take_turns() {
    for (width, height) in LARGE_TEXT {
        let mut window = with_a_map();
        window.set_size(vec2(width, height));
        window.run();
        for (i, step) in Step::ALL.into_iter().enumerate() {
            go(&mut window, &format!("{} {}", i + 1, step.name()));
            let turns = window.query_by_label("Picture").is_some();
            let least = if step == Step::Readings { 520.0 } else { 340.0 };
            assert_eq!(turns, is_narrow(step, width, least), "{step:?} at {width}");
            for turn in [0, 1] {
                if turn == 1 && turns {
                    click(&mut window, "Picture");
                    // all of the picture's width is seen; of what is exported, its pages
                    if !matches!(step, Step::Export | Step::Change | Step::Upkeep) {
                        window.get_by_label("Show");
                    }
                }
                let beyond: Vec<String> = window
                    .query_all_by(|node| node.label().is_some())
                    .filter(|node| {
                        let rect = node.rect();
                        rect.left() < -1.0 || rect.right() > width + 1.0
                    })
                    .map(|node| format!("{node:?}"))
                    .collect();
                assert!(beyond.is_empty(), "{step:?} at {width}: {beyond:?}");
                let low: Vec<String> = window
                    .query_all_by(|node| node.label().is_some_and(|l| l.starts_with("9 Export")))
                    .filter(|node| node.rect().bottom() > height)
                    .map(|node| format!("{node:?}"))
                    .collect();
                assert!(low.is_empty(), "{step:?} at {height}: {low:?}");
            }
            if turns {
                click(&mut window, "Forms and figures");
            }
        }
    }
}

/// Whether the step's panel leaves no room for a picture beside it and the steps.
fn is_narrow(step: Step, width: f32, least: f32) -> bool {
    let least = match step {
        Step::Limits => 400.0,
        Step::Upkeep => 420.0,
        _ => least,
    };
    // the list of steps gives way first
    let steps = if width < 900.0 { 50.0 } else { 150.0 };
    width - steps < least + 280.0
}

#[test]
fn with_large_text_the_buttons_of_an_import_are_seen_under_all_that_is_wrong() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("bad.csv");
    let rows: String = (0..40).map(|i| format!("{i},x{i},10,80\n")).collect();
    let header = "x_mm,y_mm,height_mm,irradiance_mw_cm2\n";
    std::fs::write(&path, format!("{header}{rows}")).expect("written");
    let (width, height) = LARGE_TEXT[0];
    let mut window = on_sample();
    window.set_size(vec2(width, height));
    window.run();
    command(&mut window, Key::I);
    write(&mut window, &path.display().to_string());
    press(&mut window, Key::Enter);
    wait(&mut window, "what is wrong", |window| {
        says(window, |text| text.starts_with("40 things can't be read"))
    });
    for button in ["Import as a new survey", "Cancel"] {
        let rect = window.get_by_label(button).rect();
        assert!(rect.bottom() <= height && rect.right() <= width, "{rect:?}");
    }
    let title = window.get_by_label("Import readings from bad.csv").rect();
    assert!(title.top() >= 0.0, "{title:?}");
}
