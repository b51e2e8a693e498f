//! Typing readings into the grid, as a person does.

use std::time::Instant;

use eframe::egui;
use egui::accesskit::Role;
use egui::{Event, Key, Modifiers, OutputCommand, vec2};
use egui_kittest::{Harness, kittest::Queryable};
use evenfield::gui::widgets::grid::{At, Cell, Column, Grid, GridAction, GridState, Look};

/// A table of three columns whose owner takes numbers only in the last two.
struct Table {
    rows: Vec<[String; 3]>,
    state: GridState,
    actions: Vec<GridAction>,
    elsewhere: String,
}

impl Table {
    fn with_rows(count: usize) -> Self {
        Self {
            rows: (0..count)
                .map(|row| [format!("P{}", row + 1), row.to_string(), "80".to_owned()])
                .collect(),
            state: GridState::default(),
            actions: Vec::new(),
            elsewhere: String::new(),
        }
    }

    fn set(&mut self, row: usize, column: usize, text: &str) {
        while self.rows.len() <= row {
            self.rows.push(Default::default());
        }
        if let Some(cell) = self.rows[row].get_mut(column) {
            *cell = text.to_owned();
        }
    }

    fn take(&mut self, action: &GridAction) {
        match action {
            GridAction::Type { row, column, text } => {
                if *column > 0 && evenfield::units::parse_number(text).is_err() {
                    let wrong = format!("'{text}' is not a number");
                    self.state.refuse(*row, *column, text.as_str(), wrong);
                } else {
                    self.set(*row, *column, text);
                }
            }
            GridAction::Paste { row, column, cells } => {
                for (down, line) in cells.iter().enumerate() {
                    for (right, text) in line.iter().enumerate() {
                        self.set(row + down, column + right, text);
                    }
                }
            }
            GridAction::Clear { rows, columns } => {
                for row in rows.clone() {
                    for column in columns.clone() {
                        self.set(row, column, "");
                    }
                }
            }
            GridAction::DeleteRows(rows) => drop(self.rows.drain(rows.clone())),
            GridAction::InsertRow(row) => self.rows.insert(*row, Default::default()),
        }
    }
}

fn columns() -> [Column; 3] {
    let column = |title: &str, unit: Option<&str>| Column {
        title: title.to_owned(),
        unit: unit.map(str::to_owned),
        width: 90.0,
        align_right: unit.is_some(),
        editable: true,
    };
    [
        column("Position", None),
        column("X", Some("mm")),
        column("Irradiance", Some("mW/cm²")),
    ]
}

fn harness(rows: usize) -> Harness<'static, Table> {
    let columns = columns();
    let harness = Harness::builder()
        .with_size(vec2(420.0, 320.0))
        .with_step_dt(0.02)
        .with_max_steps(100)
        .build_ui_state(
            move |ui, table: &mut Table| {
                let field = ui.text_edit_singleline(&mut table.elsewhere);
                field.accessible_name("Elsewhere");
                let rows = table.rows.clone();
                let actions = Grid {
                    name: "Readings",
                    columns: &columns,
                    rows: rows.len(),
                    cell: &|row, column| Cell {
                        text: rows[row][column].as_str().into(),
                        look: if row == 1 {
                            Look::Flagged
                        } else {
                            Look::Normal
                        },
                        hover: None,
                    },
                    rows_can_change: true,
                }
                .show(ui, &mut table.state);
                for action in &actions {
                    table.take(action);
                }
                table.actions.extend(actions);
            },
            Table::with_rows(rows),
        );
    evenfield::gui::turns::install(&harness.ctx);
    harness
}

/// A grid with the cursor in this cell and the keyboard in the grid.
fn at(rows: usize, row: usize, column: usize) -> Harness<'static, Table> {
    let mut harness = harness(rows);
    harness.state_mut().state.go_to(row, column);
    harness.run();
    harness
}

fn press(harness: &mut Harness<'_, Table>, keys: &[Key]) {
    for key in keys {
        harness.key_press(*key);
        harness.run();
    }
}

fn press_with(harness: &mut Harness<'_, Table>, modifiers: Modifiers, key: Key) {
    harness.key_press_modifiers(modifiers, key);
    harness.run();
}

fn write(harness: &mut Harness<'_, Table>, text: &str) {
    for letter in text.chars() {
        harness.event(Event::Text(letter.to_string()));
        harness.run();
    }
}

fn typed(row: usize, column: usize, text: &str) -> GridAction {
    GridAction::Type {
        row,
        column,
        text: text.to_owned(),
    }
}

fn cursor(harness: &Harness<'_, Table>) -> (usize, usize) {
    let At { row, column } = harness.state().state.cursor();
    (row, column)
}

#[test]
fn typing_replaces_and_enter_moves_down() {
    let mut harness = at(3, 0, 2);
    write(&mut harness, "81,5");
    assert!(harness.state().actions.is_empty(), "nothing before Enter");
    press(&mut harness, &[Key::Enter]);
    assert_eq!(harness.state().actions, [typed(0, 2, "81,5")]);
    assert_eq!(cursor(&harness), (1, 2));
}

#[test]
fn tab_moves_right_and_enter_returns_to_where_the_run_began() {
    let mut harness = at(3, 1, 0);
    write(&mut harness, "A");
    press(&mut harness, &[Key::Tab]);
    assert_eq!(cursor(&harness), (1, 1));
    write(&mut harness, "4");
    press(&mut harness, &[Key::Tab]);
    write(&mut harness, "79");
    press(&mut harness, &[Key::Enter]);
    assert_eq!(
        harness.state().actions,
        [typed(1, 0, "A"), typed(1, 1, "4"), typed(1, 2, "79")]
    );
    assert_eq!(cursor(&harness), (2, 0));
    press_with(&mut harness, Modifiers::SHIFT, Key::Tab);
    assert_eq!(cursor(&harness), (1, 2), "backwards over the row's start");
}

#[test]
fn tab_leaves_at_the_last_cell_only() {
    let mut harness = at(1, 1, 1);
    press(&mut harness, &[Key::Tab]);
    assert_eq!(cursor(&harness), (1, 2));
    press(&mut harness, &[Key::Tab]);
    write(&mut harness, "text");
    assert_eq!(harness.state().elsewhere, "text");
    assert!(harness.state().actions.is_empty());
}

#[test]
fn a_burst_of_keys_in_one_frame_keeps_its_order() {
    let mut harness = at(3, 0, 2);
    let enter = Event::Key {
        key: Key::Enter,
        physical_key: None,
        pressed: true,
        repeat: false,
        modifiers: Modifiers::NONE,
    };
    for text in ["7", "5"] {
        for event in [
            Event::Text(text.to_owned()),
            Event::Text("1".to_owned()),
            enter.clone(),
        ] {
            harness.input_mut().events.push(event);
        }
    }
    harness.run();
    assert_eq!(
        harness.state().actions,
        [typed(0, 2, "71"), typed(1, 2, "51")]
    );
}

#[test]
fn escape_reverts() {
    let mut harness = at(3, 0, 2);
    write(&mut harness, "9");
    press(&mut harness, &[Key::Escape, Key::F2]);
    assert_eq!(editor_text(&harness), "80");
    write(&mut harness, "5");
    assert_eq!(
        editor_text(&harness),
        "805",
        "F2 keeps the text, caret at its end"
    );
    press(&mut harness, &[Key::Escape]);
    assert!(harness.state().actions.is_empty());
    assert_eq!(harness.state().rows[0][2], "80");
    assert_eq!(cursor(&harness), (0, 2));
}

fn editor_text(harness: &Harness<'_, Table>) -> String {
    harness
        .get_all_by_role(Role::TextInput)
        .find(|node| node.rect().top() > 30.0)
        .and_then(|node| node.value())
        .expect("a cell is being edited")
}

#[test]
fn undo_in_a_cell_does_not_reach_the_cell_before() {
    let mut harness = at(3, 0, 0);
    write(&mut harness, "first");
    press(&mut harness, &[Key::Enter, Key::F2]);
    press_with(&mut harness, Modifiers::COMMAND, Key::Z);
    assert_eq!(editor_text(&harness), "P2");
}

#[test]
fn a_block_is_pasted_in_one_action() {
    let mut harness = at(3, 2, 1);
    harness.event(Event::Paste("1,5\t80,1\n2,5\t80,2\n3,5\t\n".to_owned()));
    harness.run();
    let text = |cells: [&str; 2]| cells.map(str::to_owned).to_vec();
    let cells = vec![
        text(["1,5", "80,1"]),
        text(["2,5", "80,2"]),
        text(["3,5", ""]),
    ];
    let expected = GridAction::Paste {
        row: 2,
        column: 1,
        cells,
    };
    assert_eq!(harness.state().actions, [expected]);
    assert_eq!(harness.state().rows.len(), 5, "the owner appended two rows");
    assert_eq!(harness.state().state.selection(), (2..5, 1..3));
}

#[test]
fn a_single_text_is_pasted_into_every_selected_cell() {
    let mut harness = at(3, 0, 1);
    press_with(&mut harness, Modifiers::SHIFT, Key::ArrowDown);
    harness.event(Event::Paste("7\n".to_owned()));
    harness.run();
    assert_eq!(
        harness.state().actions,
        [GridAction::Paste {
            row: 0,
            column: 1,
            cells: vec![vec!["7".to_owned()]; 2]
        }]
    );
}

#[test]
fn a_block_pasted_into_an_edited_cell_replaces_what_was_typed() {
    let mut harness = at(3, 0, 1);
    write(&mut harness, "9");
    harness.event(Event::Paste("1\t2\r\n".to_owned()));
    harness.run();
    assert!(!harness.state().state.is_editing());
    assert_eq!(&harness.state().rows[0][1..], ["1", "2"]);
    write(&mut harness, "3");
    harness.event(Event::Paste("4\n".to_owned()));
    harness.run();
    assert_eq!(editor_text(&harness), "34", "one text goes to the caret");
}

#[test]
fn copying_gives_tab_separated_text() {
    let mut harness = at(3, 0, 1);
    press_with(&mut harness, Modifiers::SHIFT, Key::ArrowRight);
    press_with(&mut harness, Modifiers::SHIFT, Key::ArrowDown);
    harness.event(Event::Copy);
    harness.step();
    let commands = &harness.output().platform_output.commands;
    let copied = commands.iter().find_map(|command| match command {
        OutputCommand::CopyText(text) => Some(text.as_str()),
        _ => None,
    });
    assert_eq!(copied, Some("0\t80\n1\t80"));
}

#[test]
fn delete_clears_and_with_the_command_key_takes_rows_away() {
    let mut harness = at(4, 1, 1);
    press_with(&mut harness, Modifiers::SHIFT, Key::ArrowDown);
    press_with(&mut harness, Modifiers::SHIFT, Key::ArrowRight);
    assert_eq!(harness.state().state.selection(), (1..3, 1..3));
    press(&mut harness, &[Key::Delete]);
    press_with(&mut harness, Modifiers::COMMAND, Key::Delete);
    assert_eq!(
        harness.state().actions,
        [
            GridAction::Clear {
                rows: 1..3,
                columns: 1..3
            },
            GridAction::DeleteRows(1..3)
        ]
    );
    assert_eq!(harness.state().rows.len(), 2);
}

#[test]
fn a_refused_text_stays_and_says_what_is_wrong() {
    let mut harness = at(3, 0, 2);
    write(&mut harness, "8o");
    press(&mut harness, &[Key::Enter]);
    assert_eq!(cursor(&harness), (0, 2));
    assert_eq!(editor_text(&harness), "8o");
    harness.get_by_label("'8o' is not a number");
    assert_eq!(
        harness.state().rows[0][2],
        "80",
        "the document did not change"
    );
    press(&mut harness, &[Key::Backspace]);
    write(&mut harness, "1");
    press(&mut harness, &[Key::Enter]);
    assert_eq!(harness.state().rows[0][2], "81");
    assert_eq!(cursor(&harness), (1, 2));
    assert!(harness.query_by_label("'8o' is not a number").is_none());
}

#[test]
fn a_refused_text_does_not_take_the_keyboard_back() {
    let mut harness = at(3, 0, 2);
    write(&mut harness, "8o");
    harness.get_by_label("Elsewhere").click();
    harness.run();
    write(&mut harness, "note");
    assert_eq!(harness.state().elsewhere, "note");
    assert_eq!(harness.state().actions.len(), 1, "offered once");
    assert_eq!(editor_text(&harness), "8o");
}

#[test]
fn a_click_between_two_frames_selects() {
    let mut harness = at(3, 0, 2);
    let pos = harness.get_by_label("Row 3, X").rect().center();
    harness.hover_at(pos);
    harness.run();
    for pressed in [true, false] {
        harness.input_mut().events.push(Event::PointerButton {
            pos,
            button: egui::PointerButton::Primary,
            pressed,
            modifiers: Modifiers::NONE,
        });
    }
    harness.run();
    assert_eq!(cursor(&harness), (2, 1));
    write(&mut harness, "7");
    press(&mut harness, &[Key::Enter]);
    assert_eq!(harness.state().actions, [typed(2, 1, "7")]);
}

#[test]
fn a_click_elsewhere_commits() {
    let mut harness = at(3, 0, 2);
    write(&mut harness, "77");
    harness.get_by_label("Row 3, X").click();
    harness.run();
    assert_eq!(harness.state().actions, [typed(0, 2, "77")]);
    assert_eq!(cursor(&harness), (2, 1));
    write(&mut harness, "5");
    harness.get_by_label("Elsewhere").click();
    harness.run();
    assert_eq!(harness.state().actions[1..], [typed(2, 1, "5")]);
}

#[test]
fn the_pointer_selects_ranges_and_opens_cells() {
    let mut harness = harness(6);
    let place =
        |harness: &Harness<'_, Table>, name: &str| harness.get_by_label(name).rect().center();
    let (from, to) = (
        place(&harness, "Row 2, X"),
        place(&harness, "Row 4, Irradiance"),
    );
    harness.hover_at(from);
    harness.run();
    harness.drag_at(from);
    harness.run();
    harness.hover_at(to);
    harness.run();
    harness.drop_at(to);
    harness.run();
    assert_eq!(harness.state().state.selection(), (1..4, 1..3));
    harness
        .get_by_label("Row 6, Position")
        .click_modifiers(Modifiers::SHIFT);
    harness.run();
    assert_eq!(harness.state().state.selection(), (1..6, 0..2));
    harness.run_steps(30); // or egui would count three clicks
    for _ in 0..2 {
        harness.get_by_label("Row 1, Position").click();
    }
    harness.run();
    assert_eq!(editor_text(&harness), "P1");
}

#[test]
fn a_new_row_is_typed_at_the_end() {
    let mut harness = at(2, 1, 0);
    press(&mut harness, &[Key::Enter]);
    write(&mut harness, "P3");
    press(&mut harness, &[Key::Enter]);
    assert_eq!(harness.state().actions, [typed(2, 0, "P3")]);
    assert_eq!(cursor(&harness), (3, 0), "on to the next new row");
    press(&mut harness, &[Key::ArrowRight, Key::ArrowRight]);
    write(&mut harness, "7");
    press(&mut harness, &[Key::Tab]);
    assert_eq!(cursor(&harness), (4, 0), "over the end of a row just made");
}

#[test]
fn a_far_row_is_scrolled_into_view() {
    let mut harness = harness(1_500);
    assert!(harness.query_by_label("Row 1201, X").is_none());
    harness.state_mut().state.go_to(1_200, 1);
    harness.run();
    let far = harness.get_by_label("Row 1201, X").rect();
    assert!(far.top() > 50.0 && far.bottom() < 320.0, "{far:?}");
    write(&mut harness, "6");
    press(&mut harness, &[Key::Enter]);
    assert_eq!(harness.state().actions, [typed(1_200, 1, "6")]);
}

#[test]
fn pages_and_ends_of_a_long_table() {
    let mut harness = at(1_500, 0, 0);
    press(&mut harness, &[Key::PageDown, Key::PageDown]);
    let (row, _) = cursor(&harness);
    assert!((10..40).contains(&row), "two pages are {row} rows");
    harness.get_by_label(&format!("Row {}, X", row + 1));
    press_with(&mut harness, Modifiers::COMMAND, Key::End);
    assert_eq!(cursor(&harness), (1_500, 2));
    harness.get_by_label("Row 1500, X");
    press_with(&mut harness, Modifiers::COMMAND, Key::Home);
    assert_eq!(cursor(&harness), (0, 0));
    press_with(&mut harness, Modifiers::COMMAND, Key::A);
    assert_eq!(harness.state().state.selection(), (0..1_500, 0..3));
}

#[test]
fn typing_with_the_cursor_out_of_view_scrolls_back_to_it() {
    let mut harness = at(1_500, 0, 1);
    harness.hover_at(egui::pos2(200.0, 200.0));
    harness.event(Event::MouseWheel {
        unit: egui::MouseWheelUnit::Point,
        delta: vec2(0.0, -4_000.0),
        phase: egui::TouchPhase::Move,
        source: egui::MouseWheelSource::Unknown,
        modifiers: Modifiers::NONE,
    });
    harness.run();
    assert!(harness.query_by_label("Row 1, X").is_none());
    write(&mut harness, "12");
    press(&mut harness, &[Key::Enter]);
    assert_eq!(harness.state().actions, [typed(0, 1, "12")]);
}

/// A table of a fixed height far down in a panel that scrolls.
fn in_a_panel() -> Harness<'static, Table> {
    let columns = columns();
    let harness = Harness::builder()
        .with_size(vec2(420.0, 160.0))
        .with_step_dt(0.02)
        .with_max_steps(100)
        .build_ui_state(
            move |ui, table: &mut Table| {
                egui::ScrollArea::vertical()
                    .auto_shrink(false)
                    .show(ui, |ui| {
                        ui.add_space(600.0);
                        let (_, space) = ui.allocate_space(vec2(380.0, 300.0));
                        let mut inside = ui.new_child(egui::UiBuilder::new().max_rect(space));
                        let rows = table.rows.clone();
                        let actions = Grid {
                            name: "Readings",
                            columns: &columns,
                            rows: rows.len(),
                            cell: &|row, column| Cell::new(rows[row][column].clone()),
                            rows_can_change: true,
                        }
                        .show(&mut inside, &mut table.state);
                        actions.iter().for_each(|action| table.take(action));
                        table.actions.extend(actions);
                        ui.add_space(600.0);
                    });
            },
            Table::with_rows(40),
        );
    evenfield::gui::turns::install(&harness.ctx);
    harness
}

fn wheel(harness: &mut Harness<'_, Table>, up: f32) {
    harness.hover_at(egui::pos2(410.0, 80.0));
    harness.event(Event::MouseWheel {
        unit: egui::MouseWheelUnit::Point,
        delta: vec2(0.0, up),
        phase: egui::TouchPhase::Move,
        source: egui::MouseWheelSource::Unknown,
        modifiers: Modifiers::NONE,
    });
    harness.run();
}

#[test]
fn a_row_is_brought_into_view_through_what_scrolls_around_its_table() {
    let mut harness = in_a_panel();
    harness.run();
    assert!(harness.query_by_label("Row 31, X").is_none());
    harness.state_mut().state.go_to(30, 1);
    for row in 31..=41 {
        harness.run();
        // where things are said to be follows what scrolled by a frame
        harness.step();
        let place = harness.get_by_label(&format!("Row {row}, X")).rect();
        assert!(
            place.top() >= 0.0 && place.bottom() <= 160.0,
            "{row}: {place:?}"
        );
        write(&mut harness, "7");
        harness.key_press(Key::Enter);
    }
}

#[test]
fn what_is_typed_out_of_sight_is_kept_and_comes_into_view() {
    let mut harness = in_a_panel();
    harness.state_mut().state.go_to(3, 1);
    harness.run();
    write(&mut harness, "1");
    for (up, text) in [(4_000.0, "6"), (-4_000.0, "."), (4_000.0, "7")] {
        wheel(&mut harness, up);
        assert!(
            harness
                .query_all_by_label("Row 4, X")
                .all(|node| !(0.0..160.0).contains(&node.rect().center().y))
        );
        harness.event(Event::Text(text.to_owned()));
        harness.step();
        harness.run();
        let place = harness.get_by_label("Row 4, X").rect();
        assert!(place.top() >= 0.0 && place.bottom() <= 160.0, "{place:?}");
    }
    wheel(&mut harness, 4_000.0);
    press(&mut harness, &[Key::Enter]);
    assert_eq!(harness.state().actions, [typed(3, 1, "16.7")]);
    assert_eq!(cursor(&harness), (4, 1));
}

#[test]
fn somebody_who_scrolls_while_a_cell_is_open_is_let() {
    let mut harness = in_a_panel();
    harness.state_mut().state.go_to(3, 1);
    harness.run();
    write(&mut harness, "1");
    let before = harness.get_by_label("Row 4, X").rect().center();
    wheel(&mut harness, -40.0);
    let after = harness.get_by_label("Row 4, X").rect().center();
    assert!(after.y < before.y - 20.0, "{before:?} {after:?}");
}

/// A figure for the eye: the time of a frame does not grow with the number of rows.
#[test]
fn only_rows_in_view_are_asked_for() {
    use std::cell::Cell as Counter;
    let columns = columns();
    let asked = std::rc::Rc::new(Counter::new(0));
    let counted = asked.clone();
    let mut harness = Harness::builder()
        .with_size(vec2(900.0, 700.0))
        .build_ui_state(
            move |ui, state: &mut GridState| {
                Grid {
                    name: "Readings",
                    columns: &columns,
                    rows: 100_000,
                    cell: &|row, column| {
                        counted.set(counted.get() + 1);
                        Cell::new(format!("{row}.{column}"))
                    },
                    rows_can_change: true,
                }
                .show(ui, state);
            },
            GridState::default(),
        );
    harness.state_mut().go_to(50_000, 0);
    harness.run();
    asked.set(0);
    let start = Instant::now();
    harness.run_steps(100);
    let per_frame = start.elapsed().as_secs_f64() * 1e3 / 100.0;
    println!("{per_frame:.2} ms per frame of {} cells", asked.get() / 100);
    assert!(
        asked.get() < 100 * 3 * 60,
        "{} cells asked for",
        asked.get()
    );
}

#[test]
fn the_menu_of_a_cell_works_on_the_selection() {
    let mut harness = at(4, 1, 0);
    press_with(&mut harness, Modifiers::SHIFT, Key::ArrowDown);
    harness.get_by_label("Row 3, Position").click_secondary();
    harness.run();
    harness.get_by_label("Delete 2 rows").click();
    harness.run();
    assert_eq!(harness.state().actions, [GridAction::DeleteRows(1..3)]);
    harness.get_by_label("Row 2, X").click_secondary();
    harness.run();
    harness.get_by_label("Insert row above").click();
    harness.run();
    assert_eq!(harness.state().actions[1..], [GridAction::InsertRow(1)]);
    assert_eq!(cursor(&harness), (1, 1));
    write(&mut harness, "4");
    assert_eq!(
        editor_text(&harness),
        "4",
        "the grid has the keyboard again"
    );
}

#[test]
fn a_grid_of_fixed_rows_ends_at_the_last_one() {
    let columns = [Column {
        editable: false,
        ..columns()[0].clone()
    }];
    let mut harness = Harness::new_ui_state(
        |ui, (state, actions): &mut (GridState, Vec<GridAction>)| {
            let grid = Grid {
                name: "Heights",
                columns: &columns,
                rows: 2,
                cell: &|_, _| Cell::new("5"),
                rows_can_change: false,
            };
            actions.extend(grid.show(ui, state));
        },
        Default::default(),
    );
    harness.state_mut().0.go_to(5, 5);
    harness.run();
    assert_eq!(harness.state().0.cursor(), At::new(1, 0));
    for event in [Event::Text("7".to_owned()), Event::Text("8".to_owned())] {
        harness.event(event);
    }
    harness.key_press_modifiers(Modifiers::COMMAND, Key::Delete);
    harness.key_press(Key::Enter);
    harness.run();
    assert_eq!(harness.state().0.cursor(), At::new(1, 0));
    assert!(harness.state().1.is_empty(), "its cells cannot be typed");
}
