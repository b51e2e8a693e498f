//! A small window around one panel: it owns a session and hands it what the panel asks for.

use std::sync::Arc;
use std::time::{Duration, Instant};

use eframe::egui;
use egui::{Event, Key, Modifiers, Ui, vec2};
use egui_kittest::{Harness, kittest::Queryable};
use evenfield::files::Preferences;
use evenfield::geometry::Shape;
use evenfield::gui::panels::{Panel, PanelState};
use evenfield::session::{Command, Session};
use evenfield::station::{Edit, Plan, PlanLayout, Reading, Station};

/// A session with the screen's own state.
pub struct Host {
    pub session: Session,
    pub state: PanelState,
}

impl Host {
    /// A plan of three columns and two rows at one height, no survey.
    pub fn new(preferences: Preferences) -> Self {
        let shape = Shape::Rectangle {
            width: 220.0,
            depth: 120.0,
        };
        let mut station = Station::new("Bench", shape, 100.0);
        station.plan = Plan {
            heights: vec![20.0],
            layout: PlanLayout::Grid {
                columns: 3,
                rows: 2,
                margin: 10.0,
            },
            ..Plan::begin()
        };
        let today = jiff::civil::date(2026, 3, 9);
        Self {
            session: Session::new(station, preferences, today, Arc::new(|| {})),
            state: PanelState::default(),
        }
    }

    pub fn do_edit(&mut self, edit: Edit) {
        self.session.handle(Command::Edit(edit));
    }

    pub fn readings(&self) -> &[Reading] {
        &self.session.survey().expect("a survey is shown").1.readings
    }

    pub fn undo_name(&self) -> &str {
        self.session.undo_names().0.unwrap_or_default()
    }
}

pub type Window = Harness<'static, Host>;

/// A window that shows one panel.
pub fn window(host: Host, width: f32, show: fn(&mut Ui, &mut Panel<'_>)) -> Window {
    let window = Harness::builder()
        .with_size(vec2(width, 1600.0))
        .with_step_dt(0.02)
        .with_max_steps(100)
        .build_ui_state(
            move |ui, host: &mut Host| {
                let mut commands = Vec::new();
                let mut panel = Panel {
                    session: &host.session,
                    state: &mut host.state,
                    commands: &mut commands,
                };
                show(ui, &mut panel);
                for command in commands {
                    host.session.handle(command);
                }
            },
            host,
        );
    evenfield::gui::turns::install(&window.ctx);
    window
}

/// Until what is worked out in the background is there, and shown.
pub fn settle(window: &mut Window, is_there: impl Fn(&Session) -> bool) {
    let begun = Instant::now();
    loop {
        let session = &mut window.state_mut().session;
        session.update();
        if is_there(session) {
            break;
        }
        assert!(begun.elapsed() < Duration::from_secs(120), "not settled");
        std::thread::sleep(Duration::from_millis(5));
    }
    window.run();
}

pub fn press(window: &mut Window, key: Key) {
    window.key_press(key);
    window.run();
}

pub fn press_with(window: &mut Window, modifiers: Modifiers, key: Key) {
    window.key_press_modifiers(modifiers, key);
    window.run();
}

pub fn write(window: &mut Window, text: &str) {
    window.event(Event::Text(text.to_owned()));
    window.run();
}

pub fn paste(window: &mut Window, text: &str) {
    window.event(Event::Paste(text.to_owned()));
    window.run();
}

/// Puts another text into a form's field.
pub fn fill(window: &mut Window, label: &str, text: &str) {
    window.get_by_label(label).focus();
    window.run();
    press_with(window, Modifiers::COMMAND, Key::A);
    match text {
        "" => press(window, Key::Delete),
        text => write(window, text),
    }
    press(window, Key::Enter);
}

pub fn click(window: &mut Window, label: &str) {
    window.get_by_label(label).click();
    window.run();
}
