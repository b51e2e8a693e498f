//! Filling in a form, as a person does.

use eframe::egui;
use egui::{Event, Key};
use egui_kittest::{Harness, kittest::Queryable};
use evenfield::gui::widgets::field_row::{FieldRow, choice, jump_to};
use evenfield::units::LengthUnit;

/// A form of two numbers, one of which may be missing, a text and a choice.
struct Form {
    height_mm: f64,
    unit: LengthUnit,
    distance_mm: Option<f64>,
    note: String,
    taken: usize,
}

fn harness() -> Harness<'static, Form> {
    let harness = Harness::builder().with_max_steps(20).build_ui_state(
        |ui, form: &mut Form| {
            let height = FieldRow {
                key: "height",
                label: "Face height",
                unit: form.unit.symbol(),
                shown: &form.unit.show(form.height_mm),
            };
            if let Some(height) = height.number(ui) {
                form.height_mm = form.unit.to_mm(height);
                form.taken += 1;
            }
            let shown = form.distance_mm.map(|mm| form.unit.show(mm));
            let distance = FieldRow {
                key: "distance",
                label: "Working distance",
                unit: form.unit.symbol(),
                shown: shown.as_deref().unwrap_or_default(),
            };
            if let Some(distance) = distance.optional_number(ui) {
                form.distance_mm = distance.map(|value| form.unit.to_mm(value));
                form.taken += 1;
            }
            let note = FieldRow {
                key: "note",
                label: "Note",
                unit: "",
                shown: &form.note.clone(),
            };
            if let Some(note) = note.text(ui) {
                form.note = note;
                form.taken += 1;
            }
            let units = LengthUnit::ALL.map(|unit| (unit, unit.symbol()));
            if let Some(unit) = choice(ui, "unit", "Unit", form.unit, &units) {
                form.unit = unit;
            }
        },
        Form {
            height_mm: 120.0,
            unit: LengthUnit::Mm,
            distance_mm: None,
            note: "as found".to_owned(),
            taken: 0,
        },
    );
    evenfield::gui::turns::install(&harness.ctx);
    harness
}

fn value(harness: &Harness<'_, Form>, label: &str) -> String {
    harness.get_by_label(label).value().unwrap_or_default()
}

fn enter_field(harness: &mut Harness<'_, Form>, label: &str) {
    harness.get_by_label(label).focus();
    harness.run();
}

fn write(harness: &mut Harness<'_, Form>, text: &str) {
    harness.event(Event::Text(text.to_owned()));
    harness.run();
}

fn press(harness: &mut Harness<'_, Form>, key: Key) {
    harness.key_press(key);
    harness.run();
}

#[test]
fn enter_takes_the_number_and_moves_on() {
    let mut harness = harness();
    enter_field(&mut harness, "Face height");
    write(&mut harness, "95,5");
    assert_eq!(harness.state().height_mm, 120.0, "nothing before Enter");
    press(&mut harness, Key::Enter);
    assert_eq!(harness.state().height_mm, 95.5);
    assert!(harness.get_by_label("Working distance").is_focused());
    write(&mut harness, "60");
    press(&mut harness, Key::Enter);
    assert_eq!(harness.state().distance_mm, Some(60.0));
    assert!(harness.get_by_label("Note").is_focused());
    write(&mut harness, " new lamp ");
    press(&mut harness, Key::Tab);
    assert_eq!(harness.state().note, "new lamp");
    assert_eq!(harness.state().taken, 3);
}

#[test]
fn a_field_left_as_it_was_changes_nothing() {
    let mut harness = harness();
    harness.state_mut().height_mm = 120.04; // shown as 120
    for label in ["Face height", "Working distance", "Note"] {
        enter_field(&mut harness, label);
        press(&mut harness, Key::Enter);
    }
    enter_field(&mut harness, "Face height");
    write(&mut harness, "120");
    press(&mut harness, Key::Enter);
    assert_eq!(harness.state().taken, 0);
    assert_eq!(harness.state().height_mm, 120.04);
}

#[test]
fn a_wrong_number_stays_and_says_what_is_wrong() {
    const WRONG: &str = "'12o' is not a number; type a number such as 12.5";
    let mut harness = harness();
    enter_field(&mut harness, "Face height");
    write(&mut harness, "12o");
    press(&mut harness, Key::Enter);
    harness.get_by_label(WRONG);
    assert_eq!(value(&harness, "Face height"), "12o");
    assert!(harness.get_by_label("Face height").is_focused());
    enter_field(&mut harness, "Note");
    assert_eq!(value(&harness, "Face height"), "12o", "kept when left");
    harness.get_by_label(WRONG);
    assert_eq!(harness.state().taken, 0);

    enter_field(&mut harness, "Face height");
    press(&mut harness, Key::Escape);
    assert_eq!(value(&harness, "Face height"), "120");
    assert!(harness.query_by_label(WRONG).is_none());
    assert!(harness.get_by_label("Face height").is_focused());
    assert_eq!(harness.state().taken, 0);
}

#[test]
fn an_emptied_field_is_a_missing_number_only_where_one_may_be_missing() {
    let mut harness = harness();
    harness.state_mut().distance_mm = Some(60.0);
    harness.run();
    for label in ["Working distance", "Face height"] {
        enter_field(&mut harness, label);
        press(&mut harness, Key::Delete);
        press(&mut harness, Key::Enter);
    }
    assert_eq!(harness.state().distance_mm, None);
    assert_eq!(harness.state().height_mm, 120.0);
    harness.get_by_label("'' is not a number; type a number such as 12.5");
}

#[test]
fn what_was_typed_goes_when_the_value_changes_beneath_it() {
    let mut harness = harness();
    enter_field(&mut harness, "Face height");
    write(&mut harness, "x");
    press(&mut harness, Key::Tab);
    harness.state_mut().height_mm = 80.0; // as an undo does
    harness.run();
    assert_eq!(value(&harness, "Face height"), "80");
    assert!(harness.query_by_label_contains("not a number").is_none());
}

#[test]
fn another_unit_is_chosen() {
    let mut harness = harness();
    harness.get_by_label("Unit").click();
    harness.run();
    harness.get_by_label("in").click();
    harness.run();
    assert_eq!(harness.state().unit, LengthUnit::Inch);
    assert_eq!(value(&harness, "Face height"), "4.724");
    assert_eq!(harness.state().height_mm, 120.0);
}

#[test]
fn a_finding_jumps_to_its_field() {
    let mut harness = harness();
    jump_to(&harness.ctx, "distance");
    harness.run();
    assert!(harness.get_by_label("Working distance").is_focused());
    write(&mut harness, "7");
    press(&mut harness, Key::Enter);
    assert_eq!(harness.state().distance_mm, Some(7.0));
}

#[test]
fn a_first_click_into_a_number_selects_it_and_a_second_one_sets_the_caret() {
    let mut harness = harness();
    let click = |harness: &mut Harness<'_, Form>| {
        harness.get_by_label("Face height").click();
        harness.run();
    };
    click(&mut harness);
    write(&mut harness, "95");
    assert_eq!(value(&harness, "Face height"), "95");
    // not so soon that it is a double click
    harness.run_steps(60);
    click(&mut harness);
    write(&mut harness, "1");
    assert_eq!(value(&harness, "Face height").len(), 3);
    press(&mut harness, Key::Enter);
    assert_eq!(harness.state().taken, 1);
}

/// Whether an entry of the open list has the keyboard; a unit beside a field has the same text.
fn focused(harness: &Harness<'_, Form>, label: &str) -> bool {
    let mut all = harness.query_all_by_label(label);
    all.any(|node| node.is_focused())
}

#[test]
fn a_list_opens_on_its_present_choice_and_gives_the_keyboard_back() {
    let mut harness = harness();
    harness.state_mut().unit = LengthUnit::Inch;
    harness.run();
    harness.get_by_label("Unit").focus();
    harness.run();
    press(&mut harness, Key::Enter);
    assert!(focused(&harness, "in"));
    press(&mut harness, Key::ArrowUp);
    assert!(focused(&harness, "mm"));
    press(&mut harness, Key::Enter);
    assert_eq!(harness.state().unit, LengthUnit::Mm);
    assert!(harness.get_by_label("Unit").is_focused());
}

#[test]
fn a_field_typed_into_out_of_sight_comes_into_view() {
    let mut harness = Harness::builder()
        .with_size(egui::vec2(300.0, 120.0))
        .with_max_steps(100)
        .build_ui_state(
            |ui, taken: &mut Vec<f64>| {
                egui::ScrollArea::vertical().show(ui, |ui| {
                    ui.add_space(500.0);
                    let row = FieldRow {
                        key: "far",
                        label: "Far down",
                        unit: "mm",
                        shown: "1",
                    };
                    taken.extend(row.number(ui));
                    ui.add_space(500.0);
                });
            },
            Vec::new(),
        );
    jump_to(&harness.ctx, "far");
    harness.run();
    let at = egui::pos2(100.0, 60.0);
    harness.hover_at(at);
    harness.event(Event::MouseWheel {
        unit: egui::MouseWheelUnit::Point,
        delta: egui::vec2(0.0, 4_000.0),
        phase: egui::TouchPhase::Move,
        source: egui::MouseWheelSource::Unknown,
        modifiers: egui::Modifiers::NONE,
    });
    harness.run();
    assert!(harness.get_by_label("Far down").rect().top() > 300.0);
    harness.event(Event::Text("12.5".to_owned()));
    harness.run();
    let place = harness.get_by_label("Far down").rect();
    assert!(place.top() >= 0.0 && place.bottom() <= 120.0, "{place:?}");
    harness.key_press(Key::Enter);
    harness.run();
    assert_eq!(*harness.state(), [12.5]);
}
