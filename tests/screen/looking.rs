//! How things are shown: the size of text and buttons.

use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;

use crate::main_job::{Window, click, on_sample, session};

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
