//! Whatever can be pressed, typed into or chosen has a name, so that a screen reader can say what it is.

use std::path::Path;
use std::sync::Arc;

use eframe::egui::accesskit::Role;
use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::NodeT as _;
use evenfield::files::{self, Preferences};
use evenfield::session::{Command, Session, Step};

use crate::main_job::{Window, session, wait, window};

/// What is worked with.
const WORKED_WITH: [Role; 12] = [
    Role::Button,
    Role::CheckBox,
    Role::ComboBox,
    Role::Link,
    Role::ListBoxOption,
    Role::MenuItem,
    Role::MultilineTextInput,
    Role::RadioButton,
    Role::Slider,
    Role::SpinButton,
    Role::Switch,
    Role::TextInput,
];

fn open(sample: &str) -> Window {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("sample-maps")
        .join(sample);
    let (station, _) = files::read(&path).expect("a sample");
    let mut window = window(|preferences: Preferences| {
        Session::new(
            station,
            preferences,
            jiff::civil::date(2026, 3, 9),
            Arc::new(|| {}),
        )
    });
    wait(&mut window, "an answer", |w| !session(w).is_working());
    window
}

/// How many there are, and those without a name: what they are and what stands around them.
fn nameless(window: &Window) -> (usize, Vec<String>) {
    let mut all = 0;
    let mut found = Vec::new();
    for node in window.root().children_recursive() {
        let it = node.accesskit_node();
        if !WORKED_WITH.contains(&it.role()) || it.is_hidden() {
            continue;
        }
        all += 1;
        // the text in a field is not its name
        let own = if it.label_comes_from_value() {
            None
        } else {
            it.label()
        };
        let named = own.is_some_and(|label| label.chars().any(char::is_alphanumeric));
        if !named {
            let near: Vec<String> = (node.parent().into_iter())
                .flat_map(|parent| parent.children().collect::<Vec<_>>())
                .filter_map(|n| n.accesskit_node().label())
                .collect();
            found.push(format!(
                "{:?} label {:?} value {:?} among {near:?}",
                it.role(),
                it.label(),
                it.value()
            ));
        }
    }
    (all, found)
}

#[test]
fn everything_that_is_worked_with_has_a_name() {
    for sample in [
        "rain-gauge-pallet.ron",
        "rain-gauge-funnels-worn-reflector.ron",
    ] {
        let mut window = open(sample);
        for step in Step::ALL {
            window.state_mut().handle(Command::Go(step));
            wait(&mut window, "the step's answers", |w| {
                !session(w).is_working()
            });
            let (all, found) = nameless(&window);
            assert!(all > 15, "{sample}, {}: only {all}", step.name());
            assert!(found.is_empty(), "{sample}, {}: {found:#?}", step.name());
        }
        window.key_press_modifiers(Modifiers::COMMAND, Key::K);
        window.run();
        let (_, found) = nameless(&window);
        assert!(found.is_empty(), "{sample}, the command search: {found:#?}");
    }
}
