//! Making the probe-position plan, as a person does.

use egui_kittest::kittest::Queryable;
use evenfield::files::Preferences;
use evenfield::geometry::{Point, Shape};
use evenfield::gui::panels::{Thing, plan};
use evenfield::session::{Command, Step};
use evenfield::station::{Edit, PlanLayout, Radiometer};

use crate::host::{self, Host, Window, window};

pub fn form() -> Window {
    let mut host = Host::new(Preferences::default());
    host.session.handle(Command::Go(Step::Plan));
    let mut window = window(host, 360.0, plan::show);
    settle(&mut window);
    window
}

/// Until what is worked out in the background is there and shown.
pub fn settle(window: &mut Window) {
    host::settle(window, |session| {
        !session.answers().planning().is_updating()
    });
}

pub fn fill(window: &mut Window, label: &str, text: &str) {
    host::fill(window, label, text);
    settle(window);
}

pub fn click(window: &mut Window, label: &str) {
    host::click(window, label);
    settle(window);
}

fn radiometer(diameter: f64) -> Radiometer {
    Radiometer::new("R", Shape::Circle { diameter })
}

fn layout(window: &Window) -> &PlanLayout {
    &window.state().session.station().plan.layout
}

#[test]
fn heights_are_a_list() {
    let mut window = form();
    fill(&mut window, "Heights", "5; 12,5 40");
    let host = window.state();
    assert_eq!(host.session.station().plan.heights, [5.0, 12.5, 40.0]);
    assert_eq!(host.undo_name(), "change heights of the plan");
    window.get_by_label("6 positions at 3 heights make 18 readings");
    window.get_by_label_contains("At 12.5 mm: working distance 87.5 mm");
    fill(&mut window, "Heights", "5 x");
    window.get_by_label_contains("'x' is not a number");
    assert_eq!(window.state().session.station().plan.heights.len(), 3);
}

#[test]
fn the_margin_moves_the_outermost_positions() {
    let mut window = form();
    fill(&mut window, "Margin", "20");
    assert_eq!(window.state().session.station().positions()[0].at.x, 20.0);
    assert_eq!(window.state().undo_name(), "change margin of the plan");
    // three columns over 180 mm, two rows 80 mm apart
    window.get_by_label("Median spacing 80 mm");
    fill(&mut window, "Columns", "2.5");
    window.get_by_label_contains("'2.5' is not a whole number");
}

#[test]
fn positions_are_placed_by_hand_from_the_rows_and_columns() {
    let mut window = form();
    click(&mut window, "Place by hand from here");
    assert_eq!(window.state().undo_name(), "place positions by hand");
    let PlanLayout::ByHand(positions) = layout(&window) else {
        panic!("not by hand");
    };
    assert_eq!(positions.len(), 6);
    window.state_mut().state.chosen = Some(Thing::Position(1));
    window.run();
    fill(&mut window, "Position x", "101,5");
    assert_eq!(window.state().session.station().positions()[1].at.x, 101.5);
    assert_eq!(window.state().undo_name(), "move position A2");
    click(&mut window, "Delete position");
    assert_eq!(window.state().undo_name(), "delete position A2");
    click(&mut window, "Add position");
    assert_eq!(window.state().undo_name(), "add position P-6");
    window.state_mut().session.handle(Command::Undo);
    assert_eq!(window.state().session.station().positions().len(), 5);
}

#[test]
fn the_plan_becomes_a_survey() {
    let mut window = form();
    // all of it in sight: nothing scrolls around the bare panel
    window.set_size(eframe::egui::vec2(360.0, 1600.0));
    window.run();
    window.get_by_label("Before you put a detector under the source");
    click(&mut window, "Prepare a survey from the plan");
    assert_eq!(window.state().readings().len(), 6);
    assert_eq!(window.state().session.step(), Step::Readings);
}

/// The bench with a radiometer whose body is 16 mm across, and two sites.
fn with_radiometer() -> Window {
    let mut host = Host::new(Preferences::default());
    host.do_edit(Edit::AddRadiometer(radiometer(16.0)));
    let mut plan = host.session.station().plan.clone();
    plan.radiometer = Some("R".into());
    host.do_edit(Edit::SetPlan(plan));
    host.session.handle(Command::Go(Step::Plan));
    let mut window = window(host, 360.0, plan::show);
    settle(&mut window);
    window
}

fn try_pattern(window: &mut Window, name: &str) {
    click(window, "Pattern");
    click(window, name);
}

fn tried(window: &Window) -> Vec<Point> {
    let seen = window.state().session.answers().planning().seen();
    let positions = seen.map_or(&[][..], |tried| &tried.made.positions);
    positions.iter().map(|p| p.at).collect()
}

#[test]
fn a_pattern_is_in_the_document_only_when_it_is_taken() {
    let mut window = with_radiometer();
    let before = window.state().session.station().clone();
    try_pattern(&mut window, "Around the rim");
    // 204 and 104 mm between the seats in the corners
    window.get_by_label_contains("This pattern: 34 positions, largest gap: radius");
    assert_eq!(tried(&window).len(), 34);
    assert!(tried(&window).contains(&Point::new(212.0, 112.0)));
    fill(&mut window, "Spacing", "60");
    // 204 / 60 and 104 / 60, rounded up
    assert_eq!(tried(&window).len(), 2 * (4 + 2));
    let gap = window.state().session.answers().planning().gap();
    let (at, radius) = gap.expect("a gap");
    assert!((at.y - 60.0).abs() < 1.0 && radius > 50.0, "{gap:?}");
    assert_eq!(*window.state().session.station(), before, "nothing taken");

    click(&mut window, "Use these positions");
    assert_eq!(window.state().undo_name(), "place positions by hand");
    let PlanLayout::ByHand(positions) = layout(&window) else {
        panic!("not by hand");
    };
    assert_eq!((positions.len(), positions[0].name.as_str()), (12, "P-R1"));
    assert!(tried(&window).is_empty() && window.query_by_label("Spacing").is_none());
    let undo = window.state_mut();
    undo.session.handle(Command::Undo);
    assert_eq!(*undo.session.station(), before, "one step");
}

#[test]
fn rows_rings_and_sites_are_tried_on_the_raster() {
    let mut window = with_radiometer();
    try_pattern(&mut window, "Staggered rows");
    fill(&mut window, "Pattern columns", "4");
    fill(&mut window, "Pattern rows", "3");
    assert_eq!(tried(&window).len(), 4 + 3 + 4);
    fill(&mut window, "Snap grid", "5");
    let on = |v: f64| (v / 5.0).fract().abs() < 1e-9;
    assert!(tried(&window).iter().all(|p| on(p.x) && on(p.y)));
    fill(&mut window, "Pattern margin", "70");
    window.get_by_label_contains("The margin is more than half of the fixture's 120 mm");
    assert!(tried(&window).is_empty());
    fill(&mut window, "Pattern margin", "-1");
    window.get_by_label("Type a number that is not below zero");

    try_pattern(&mut window, "Rings");
    assert_eq!(tried(&window).len(), 1 + 6 + 12 + 18);
    fill(&mut window, "Number of rings", "2");
    assert_eq!(tried(&window).len(), 1 + 6 + 12);
    fill(&mut window, "Rings' centre x", "0");
    window.get_by_label_contains("places are left out");

    try_pattern(&mut window, "One at each site");
    window.get_by_label_contains("The station has no sites");
    try_pattern(&mut window, "None");
    assert!(window.query_by_label("Use these positions").is_none());
    fill(&mut window, "Snap grid", "0.001");
    window.get_by_label("Type 0 for no snap grid, or 0.1 mm or more");
    assert_eq!(window.state().session.trial().raster(), Some(5.0));
}

#[test]
fn a_pattern_is_added_beside_the_plan() {
    let mut window = with_radiometer();
    try_pattern(&mut window, "Around the rim");
    fill(&mut window, "Spacing", "60");
    click(&mut window, "Add them to the plan");
    let positions = window.state().session.station().positions();
    assert_eq!(positions.len(), 6 + 12);
    assert_eq!(
        (positions[0].name.as_str(), positions[6].name.as_str()),
        ("A1", "P-R1")
    );
}

#[test]
fn without_a_radiometer_the_rim_is_not_known() {
    let mut window = form();
    try_pattern(&mut window, "Around the rim");
    window.get_by_label_contains("Without a radiometer it is not known how near to the rim");
}

#[test]
fn the_last_preview_stays_and_is_not_taken_while_a_newer_one_is_made() {
    let mut window = with_radiometer();
    try_pattern(&mut window, "Around the rim");
    let before = tried(&window);
    host::fill(&mut window, "Spacing", "60");
    window.state_mut().session.update();
    window.step();
    assert_eq!(tried(&window), before);
    window.get_by_label("Working out the pattern");
    let taken = window.state().session.station().clone();
    window.get_by_label("Use these positions").click();
    window.run();
    assert_eq!(*window.state().session.station(), taken, "not the old ones");
    settle(&mut window);
    assert_eq!(tried(&window).len(), 12);
    assert!(window.query_by_label("Working out the pattern").is_none());
    fill(&mut window, "Spacing", "0.2");
    window.get_by_label_contains("choose no more than 2000");
    assert!(tried(&window).is_empty());
}

#[test]
fn a_plan_is_read_with_the_pallet_out_on_a_plate() {
    let mut window = form();
    let plate = |window: &Window| window.state().session.station().plan.plate;
    assert_eq!(plate(&window), None);
    click(&mut window, "Read with");
    click(&mut window, "Pallet out, on a plate");
    assert_eq!(
        window.state().undo_name(),
        "read the plan with the pallet out"
    );
    // so large that a detector of usual size stands up to 10 mm beyond the rim
    let begun = plate(&window).expect("a plate");
    assert_eq!(begun.corner, Point::new(-25.0, -25.0));
    assert_eq!((begun.width, begun.depth), (270.0, 170.0));
    fill(&mut window, "Plate width", "300");
    fill(&mut window, "Plate corner x", "-40");
    let typed = plate(&window).expect("a plate");
    assert_eq!((typed.corner.x, typed.width), (-40.0, 300.0));
    assert_eq!(window.state().undo_name(), "change plate of the plan");
    fill(&mut window, "Plate depth", "0");
    window.get_by_label_contains("the depth of the plate is 0");
    window.state_mut().session.handle(Command::Undo);
    window.state_mut().session.handle(Command::Undo);
    window.state_mut().session.handle(Command::Undo);
    window.run();
    assert_eq!(plate(&window), None);
    window.get_by_label_contains("The detector stands on the pallet");
}
