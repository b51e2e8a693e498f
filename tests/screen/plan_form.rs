//! Making the probe-position plan, as a person does.

use egui_kittest::kittest::Queryable;
use evenfield::files::Preferences;
use evenfield::gui::panels::{Thing, plan};
use evenfield::session::{Command, Step};
use evenfield::station::PlanLayout;

use crate::host::{Host, Window, click, fill, window};

fn form() -> Window {
    window(Host::new(Preferences::default()), 360.0, plan::show)
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
    assert_eq!(window.state().undo_name(), "add position P6");
    window.state_mut().session.handle(Command::Undo);
    assert_eq!(window.state().session.station().positions().len(), 5);
}

#[test]
fn the_plan_becomes_a_survey() {
    let mut window = form();
    window.get_by_label("Before you put a detector under the source");
    click(&mut window, "Prepare a survey from the plan");
    assert_eq!(window.state().readings().len(), 6);
    assert_eq!(window.state().session.step(), Step::Readings);
}
