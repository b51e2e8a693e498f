//! F6 moves the keyboard between the panes of the window.

use eframe::egui::{Key, Modifiers, Rect};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use evenfield::session::{Command, Step};

use crate::main_job::{Window, on_sample, press, session, write};

fn focused(window: &Window) -> (String, Rect) {
    let node = window.query_all_by(|_| true).find(|node| node.is_focused());
    let node = node.expect("something has the keyboard");
    (
        node.accesskit_node().label().unwrap_or_default(),
        node.rect(),
    )
}

#[test]
fn the_keyboard_goes_round_the_panes_and_comes_back_to_where_it_was() {
    let mut window = on_sample();
    window.state_mut().handle(Command::Go(Step::Fixture));
    window.run();
    window.get_by_label("Width").focus();
    window.run();
    let panel = focused(&window).1;
    write(&mut window, "231");
    press(&mut window, Key::F6);
    let size = session(&window).station().fixture.footprint().bounds();
    assert_eq!(size.max.x - size.min.x, 231.0, "what was typed is taken");
    let picture = focused(&window).1;
    assert!(
        picture.right() < panel.left() && picture.left() > 130.0,
        "{picture:?}"
    );
    press(&mut window, Key::F6);
    assert!(focused(&window).1.bottom() < 40.0, "{:?}", focused(&window));
    press(&mut window, Key::F6);
    let (step, place) = focused(&window);
    assert!(
        place.right() < 140.0 && step.starts_with("1 Fixture"),
        "{step}: {place:?}"
    );
    press(&mut window, Key::F6);
    assert_eq!(focused(&window).0, "Width", "where it was in the panel");
    window.key_press_modifiers(Modifiers::SHIFT, Key::F6);
    window.run();
    assert_eq!(focused(&window).0, step);
}
