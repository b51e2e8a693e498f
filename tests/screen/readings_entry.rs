//! Entering the readings of a survey, as a person does.

use eframe::egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable;
use evenfield::files::Preferences;
use evenfield::gui::panels::readings;
use evenfield::session::{Action, Command, Step};
use evenfield::station::{Edit, Survey, Where};
use evenfield::units::{IrradianceUnit, LengthUnit};

use crate::host::{Host, Window, click, fill, paste, press, press_with, window, write};

const X: usize = 1;
const IRRADIANCE: usize = 4;
const EXCLUDED: usize = 7;

fn empty() -> Window {
    window(Host::new(Preferences::default()), 640.0, readings::show)
}

/// A survey prepared from the plan: six rows.
fn prepared() -> Window {
    let mut window = empty();
    click(&mut window, "Prepare a survey from the plan");
    window
}

fn go(window: &mut Window, row: usize, column: usize) {
    window.state_mut().state.readings.go_to(row, column);
    window.run();
}

#[test]
fn without_a_survey_it_says_what_one_is() {
    let mut window = empty();
    window.get_by_label_contains("A survey is one round of readings");
    click(&mut window, "Import readings...");
    assert_eq!(window.state().state.wish, Some(Action::Import));
    click(&mut window, "New survey");
    let (_, survey) = window.state().session.survey().expect("one was added");
    assert_eq!(survey.name, "Survey 2026-03-09");
    assert!(survey.readings.is_empty());
}

#[test]
fn a_survey_is_prepared_in_the_order_of_the_route() {
    let mut window = prepared();
    let host = window.state();
    let names: Vec<&str> = host
        .readings()
        .iter()
        .map(|r| r.position.as_str())
        .collect();
    assert_eq!(names, ["A1", "A2", "A3", "B3", "B2", "B1"]);
    assert!(
        host.readings()
            .iter()
            .all(|r| r.irradiance.is_none() && r.height == 20.0)
    );
    assert_eq!(host.session.step(), Step::Readings);
    click(&mut window, "Prepare a survey from the plan");
    assert_eq!(
        window.state().session.station().surveys[1].name,
        "Survey 2026-03-09 2"
    );
}

#[test]
fn a_reading_is_typed_with_a_decimal_comma_and_taken_back_by_name() {
    let mut window = prepared();
    go(&mut window, 0, IRRADIANCE);
    write(&mut window, "81,25");
    press(&mut window, Key::Enter);
    assert_eq!(window.state().readings()[0].irradiance, Some(81.25));
    assert_eq!(window.state().state.readings.cursor().row, 1);
    assert_eq!(window.state().undo_name(), "type irradiance in row 1");
    window.state_mut().session.handle(Command::Undo);
    assert_eq!(window.state().readings()[0].irradiance, None);
}

#[test]
fn a_typed_text_that_is_no_number_stays_in_its_cell() {
    let mut window = prepared();
    go(&mut window, 2, IRRADIANCE);
    write(&mut window, "8o");
    press(&mut window, Key::Enter);
    assert!(window.state().state.readings.is_editing());
    assert_eq!(window.state().readings()[2].irradiance, None);
    assert_eq!(window.state().undo_name(), "add Survey 2026-03-09");
}

#[test]
fn a_block_is_pasted_as_one_step() {
    let mut window = prepared();
    go(&mut window, 1, 0);
    paste(
        &mut window,
        "A2\t110\t10\t20\t80\nA3\t210,5\t10\t20\t82,5\nB3\t210\t110\t20\t79\n",
    );
    let values: Vec<_> = window
        .state()
        .readings()
        .iter()
        .map(|r| r.irradiance)
        .collect();
    assert_eq!(
        values,
        [None, Some(80.0), Some(82.5), Some(79.0), None, None]
    );
    assert_eq!(window.state().readings()[2].x, 210.5);
    assert_eq!(window.state().undo_name(), "paste 15 cells");
}

#[test]
fn a_block_with_a_bad_cell_changes_nothing_and_says_where() {
    let mut window = prepared();
    let before = window.state().readings().to_vec();
    go(&mut window, 0, IRRADIANCE);
    paste(&mut window, "80\n81\n8x\n83");
    assert_eq!(window.state().readings(), before);
    window.get_by_label(
        "Nothing was pasted. Row 3, Irradiance: '8x' is not a number; type a number such as 12.5",
    );
    go(&mut window, 6, IRRADIANCE);
    paste(&mut window, "80\n81");
    assert_eq!(window.state().readings(), before, "no place, no reading");
    window.get_by_label_contains("Row 7, x: a new reading needs x and y");
    go(&mut window, 0, IRRADIANCE);
    paste(&mut window, "80\n81");
    assert!(
        window
            .query_by_label_contains("Nothing was pasted")
            .is_none()
    );
    assert_eq!(window.state().readings()[1].irradiance, Some(81.0));
}

fn values(window: &Window) -> Vec<Option<f64>> {
    window
        .state()
        .readings()
        .iter()
        .map(|r| r.irradiance)
        .collect()
}

#[test]
fn a_block_under_a_header_fills_in_the_rows_of_its_positions_in_its_units() {
    let mut window = prepared();
    go(&mut window, 0, 0);
    paste(
        &mut window,
        "Position\tIrradiance (W/m²)\tNote\nB1\t812,5\tlast\nA2\t790\t\n",
    );
    // the rows are A1, A2, A3, B3, B2, B1
    let expected = [None, Some(79.0), None, None, None, Some(81.25)];
    assert_eq!(values(&window), expected);
    assert_eq!(window.state().readings()[5].note, "last");
    assert_eq!(window.state().undo_name(), "paste 2 rows");
    window.get_by_label_contains("Filled in 2 rows of survey");
    // a file's header, as an import reads it
    paste(
        &mut window,
        "x_in\ty_in\theight_mm\tirradiance_w_cm2\n8.267717\t4.330709\t20\t0.078",
    );
    assert_eq!(
        values(&window)[3],
        Some(78.0),
        "{:?}",
        window.state().readings()
    );
}

#[test]
fn a_block_that_names_no_place_goes_to_the_rows_from_the_cursor_on() {
    let mut window = prepared();
    go(&mut window, 4, IRRADIANCE);
    paste(&mut window, "irradiance_mw_cm2\tminute\n80\t1\n81\t2");
    assert_eq!(values(&window)[3..], [None, Some(80.0), Some(81.0)]);
    assert_eq!(window.state().readings()[5].minute, Some(2.0));
    paste(&mut window, "irradiance_mw_cm2\n80\n81\n82");
    window.get_by_label_contains("Nothing was pasted. Line 4: there is no row left for it");
}

#[test]
fn a_header_that_says_no_unit_is_asked_about() {
    let mut window = prepared();
    go(&mut window, 0, 0);
    paste(&mut window, "Position\tIntensity\nA1\t0.08");
    assert_eq!(values(&window)[0], None);
    window.get_by_label("In which unit are they?");
    click(&mut window, "Intensity");
    click(&mut window, "irradiance, W/cm²");
    click(&mut window, "Paste");
    assert_eq!(values(&window)[0], Some(80.0));
    assert!(window.query_by_label("In which unit are they?").is_none());
    // given up, nothing is pasted
    paste(&mut window, "Position\tIntensity\nA2\t80");
    click(&mut window, "Cancel");
    assert_eq!(values(&window)[1], None);
}

#[test]
fn a_block_that_does_not_fit_says_where() {
    let mut window = prepared();
    let before = window.state().readings().to_vec();
    go(&mut window, 0, 0);
    for (text, said) in [
        (
            "Position\tIrradiance (mW/cm²)\nA1\t80\nQ9\t81",
            "Line 3: there is no position 'Q9' in the survey or in the plan",
        ),
        (
            "Position\tIrradiance (mW/cm²)\nA1\t8x",
            "Line 2, column 2: 'Irradiance (mW/cm²)': '8x' is not a number",
        ),
        (
            "Position\tIrradiance (mW/cm²)\nA1\t80,5\nA2\t80.5",
            "Line 3, column 2: 'Irradiance (mW/cm²)': '80.5' has a point",
        ),
    ] {
        paste(&mut window, text);
        window.get_by_label_contains(said);
        assert_eq!(window.state().readings(), before, "{text}");
    }
}

#[test]
fn a_row_is_excluded_with_a_reason() {
    let mut window = prepared();
    go(&mut window, 3, EXCLUDED);
    write(&mut window, "clamp");
    press(&mut window, Key::Enter);
    assert_eq!(
        window.state().readings()[3].excluded.as_deref(),
        Some("clamp")
    );
    assert_eq!(window.state().undo_name(), "exclude row 4");
    go(&mut window, 3, EXCLUDED);
    press(&mut window, Key::Delete);
    assert_eq!(window.state().readings()[3].excluded, None);
    assert_eq!(window.state().undo_name(), "clear 1 cell");
}

#[test]
fn a_place_cannot_be_cleared() {
    let mut window = prepared();
    let before = window.state().readings().to_vec();
    go(&mut window, 1, X);
    press(&mut window, Key::Delete);
    assert_eq!(window.state().readings(), before);
    window.get_by_label_contains("Nothing was cleared. Row 2, x: A reading needs its x");
}

#[test]
fn rows_are_deleted() {
    let mut window = prepared();
    go(&mut window, 1, 0);
    press_with(&mut window, Modifiers::SHIFT, Key::ArrowDown);
    press_with(&mut window, Modifiers::COMMAND, Key::Delete);
    let names: Vec<_> = window
        .state()
        .readings()
        .iter()
        .map(|r| r.position.clone())
        .collect();
    assert_eq!(names, ["A1", "B3", "B2", "B1"]);
    assert_eq!(window.state().undo_name(), "delete 2 readings");
}

#[test]
fn a_position_of_the_plan_fills_in_its_place() {
    let mut window = empty();
    click(&mut window, "New survey");
    go(&mut window, 0, 0);
    write(&mut window, "B2");
    press(&mut window, Key::Enter);
    let reading = &window.state().readings()[0];
    assert_eq!((reading.x, reading.y, reading.height), (110.0, 110.0, 20.0));
    assert_eq!(window.state().undo_name(), "type position in row 1");
}

#[test]
fn a_new_row_becomes_a_reading_once_it_has_a_place() {
    let mut window = prepared();
    go(&mut window, 6, IRRADIANCE);
    write(&mut window, "77");
    press(&mut window, Key::Enter);
    assert_eq!(window.state().readings().len(), 6);
    go(&mut window, 6, X);
    write(&mut window, "12");
    press(&mut window, Key::Tab);
    assert_eq!(window.state().readings().len(), 6);
    write(&mut window, "0");
    press(&mut window, Key::Enter);
    let reading = &window.state().readings()[6];
    assert_eq!((reading.x, reading.y, reading.height), (12.0, 0.0, 20.0));
    assert_eq!(reading.irradiance, Some(77.0));
}

#[test]
fn units_shown_are_the_units_typed() {
    let preferences = Preferences {
        irradiance_unit: IrradianceUnit::WattPerM2,
        length_unit: LengthUnit::Inch,
        ..Preferences::default()
    };
    let mut window = window(Host::new(preferences), 640.0, readings::show);
    click(&mut window, "Prepare a survey from the plan");
    let before = window.state().readings()[0].clone();
    go(&mut window, 0, IRRADIANCE);
    write(&mut window, "812,5");
    press(&mut window, Key::Enter);
    let after = &window.state().readings()[0];
    assert_eq!(after.irradiance, Some(81.25));
    assert_eq!(
        (after.x, after.y, after.height),
        (before.x, before.y, before.height)
    );
    go(&mut window, 1, X);
    write(&mut window, "2");
    press(&mut window, Key::Enter);
    assert_eq!(window.state().readings()[1].x, 50.8);
}

#[test]
fn a_pasted_cell_that_is_as_shown_keeps_every_digit() {
    let mut window = prepared();
    let mut reading = window.state().readings()[0].clone();
    reading.x = 100.0 / 3.0;
    let edit = Edit::SetReadings {
        survey: 0,
        row: 0,
        readings: vec![reading],
        name: "type x in row 1".into(),
    };
    window.state_mut().do_edit(edit);
    go(&mut window, 0, X);
    paste(&mut window, "33.33\t11");
    let reading = &window.state().readings()[0];
    assert_eq!((reading.x, reading.y), (100.0 / 3.0, 11.0));
}

#[test]
fn fifteen_hundred_rows_are_pasted() {
    let mut window = empty();
    click(&mut window, "New survey");
    let block: Vec<String> = (0..1500)
        .map(|i| format!("P{i}\t{}\t{}\t20\t{}", i % 50, i / 50, 80 + i % 7))
        .collect();
    go(&mut window, 0, 0);
    paste(&mut window, &block.join("\r\n"));
    let readings = window.state().readings();
    assert_eq!(readings.len(), 1500);
    assert_eq!((readings[1499].x, readings[1499].y), (49.0, 29.0));
    assert_eq!(window.state().undo_name(), "paste 7500 cells");
}

#[test]
fn details_are_filled_in() {
    let mut window = prepared();
    click(&mut window, "Details of the survey");
    window.run();
    fill(&mut window, "Date", "2026-03-01");
    fill(&mut window, "Face height", "95,5");
    let survey: &Survey = &window.state().session.station().surveys[0];
    assert_eq!(survey.date, jiff::civil::date(2026, 3, 1));
    assert_eq!(survey.state.face_height, Some(95.5));
    assert_eq!(survey.readings.len(), 6, "readings stay");
    fill(&mut window, "Date", "3/2/2026");
    window.get_by_label_contains("'3/2/2026' is not a date");
    fill(&mut window, "Date", "2.3.2026");
    let date = window.state().session.station().surveys[0].date;
    assert_eq!(date, jiff::civil::date(2026, 3, 2));
}

#[test]
fn a_finding_leads_to_its_reading() {
    fn with_jump(ui: &mut eframe::egui::Ui, panel: &mut evenfield::gui::panels::Panel<'_>) {
        readings::jump(ui.ctx(), panel);
        readings::show(ui, panel);
    }
    let mut window = window(Host::new(Preferences::default()), 640.0, with_jump);
    click(&mut window, "Prepare a survey from the plan");
    for (place, row) in [(Where::Reading(0, 4), 4), (Where::Survey(0, "Name"), 4)] {
        let session = &mut window.state_mut().session;
        session.handle(Command::GoTo(place));
        window.step();
        window.state_mut().session.take_go_to();
        window.run();
        assert_eq!(window.state().state.readings.cursor().row, row);
    }
    assert!(window.get_by_label("Name").is_focused());
}
