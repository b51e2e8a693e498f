//! A window that stays open over midnight.

use std::sync::Arc;
use std::sync::atomic::{AtomicI8, Ordering};

use eframe::egui::vec2;
use egui_kittest::Harness;
use evenfield::files::Preferences;
use evenfield::gui::App;
use evenfield::session::{Command, Session, sample};
use evenfield::station::Edit;
use jiff::civil::{Date, date};

static DAY: AtomicI8 = AtomicI8::new(9);

fn today() -> Date {
    date(2026, 3, DAY.load(Ordering::SeqCst))
}

#[test]
fn limits_are_frozen_on_the_day_that_it_is() {
    let mut station = sample();
    let mut limits = station.limits.take().expect("the sample has limits");
    limits.frozen = None;
    station.limits = Some(limits);
    let session = Session::new(station, Preferences::default(), today(), Arc::new(|| {}));
    let mut window = Harness::builder()
        .with_size(vec2(1280.0, 800.0))
        .with_max_steps(200)
        .build_eframe(move |cc| App::of(&cc.egui_ctx, session).on_day(today));
    window.run();
    assert_eq!(window.state().session().today(), date(2026, 3, 9));
    DAY.store(10, Ordering::SeqCst);
    window.step();
    assert_eq!(window.state().session().today(), date(2026, 3, 10));
    let freeze = Edit::FreezeLimits;
    window.state_mut().handle(Command::Edit(freeze));
    let frozen =
        (window.state().session().station().limits.as_ref()).and_then(|l| l.frozen.as_ref());
    assert_eq!(frozen.and_then(|f| f.on), Some(date(2026, 3, 10)));
}
