//! Describing a station in the forms of the first step, as a person does.

use std::sync::Arc;

use eframe::egui;
use egui::{Event, Key, Modifiers, ScrollArea};
use egui_kittest::{Harness, kittest::Queryable};
use evenfield::files::Preferences;
use evenfield::geometry::{Footprint, Point, Shape};
use evenfield::gui::panels::{Panel, PanelState, Thing, findings, fixture};
use evenfield::session::{Command, Session, Step};
use evenfield::station::{Bars, SiteLayout, SourceKind, Station, Where};
use evenfield::units::LengthUnit;
use jiff::civil::{Date, date};

/// The width that the panel is given, points.
const WIDTH: f32 = 330.0;

struct Host {
    session: Session,
    state: PanelState,
    sent: Vec<Command>,
    width_needed: f32,
}

fn station() -> Station {
    let outline = Shape::Rectangle {
        width: 200.0,
        depth: 150.0,
    };
    Station::new("Lids", outline, 120.0)
}

fn harness_on(station: Station) -> Harness<'static, Host> {
    let wake = Arc::new(|| {});
    let session = Session::new(station, Preferences::default(), date(2026, 3, 9), wake);
    Harness::builder()
        .with_size([WIDTH + 16.0, 2600.0])
        .build_ui_state(
            |ui, host: &mut Host| {
                if let Some(place) = host.session.go_to().cloned()
                    && fixture::jump(ui.ctx(), &mut host.state, &place)
                {
                    host.session.take_go_to();
                }
                let mut commands = Vec::new();
                ui.set_width(WIDTH);
                ScrollArea::vertical().show(ui, |ui| {
                    let mut panel = Panel {
                        session: &host.session,
                        state: &mut host.state,
                        commands: &mut commands,
                    };
                    fixture::show(ui, &mut panel);
                    findings::findings(ui, &mut panel, Step::Fixture);
                    host.width_needed = ui.min_rect().width();
                });
                for command in commands {
                    host.sent.push(command.clone());
                    host.session.handle(command);
                }
            },
            Host {
                session,
                state: PanelState::default(),
                sent: Vec::new(),
                width_needed: 0.0,
            },
        )
}

fn harness() -> Harness<'static, Host> {
    harness_on(station())
}

fn now(harness: &Harness<'_, Host>) -> Arc<Station> {
    harness.state().session.station().clone()
}

fn click(harness: &mut Harness<'_, Host>, label: &str) {
    harness.get_by_label(label).click();
    harness.run();
}

/// Types over what is in a field and presses Enter.
fn fill(harness: &mut Harness<'_, Host>, label: &str, text: &str) {
    harness.get_by_label(label).focus();
    harness.run();
    harness.key_press_modifiers(Modifiers::COMMAND, Key::A);
    harness.run();
    harness.event(Event::Text(text.to_owned()));
    harness.run();
    harness.key_press(Key::Enter);
    harness.run();
}

fn pick(harness: &mut Harness<'_, Host>, label: &str, option: &str) {
    click(harness, label);
    click(harness, option);
}

fn value(harness: &Harness<'_, Host>, label: &str) -> String {
    harness.get_by_label(label).value().unwrap_or_default()
}

#[test]
fn a_field_changes_the_document_as_one_step() {
    let mut harness = harness();
    fill(&mut harness, "Face height", "95,5");
    assert_eq!(now(&harness).source.face_height, 95.5);
    assert_eq!(harness.state().sent.len(), 1);
    let undo = harness.state().session.undo_names().0.map(str::to_owned);
    assert_eq!(undo.as_deref(), Some("change face height"));
    pick(&mut harness, "Kind", "LED panel");
    assert_eq!(now(&harness).source.kind, SourceKind::LedPanel);
    fill(&mut harness, "Station name", "Lids, lamp 2");
    assert_eq!(now(&harness).name, "Lids, lamp 2");
}

#[test]
fn what_the_document_would_refuse_stays_in_its_field() {
    let mut harness = harness();
    for (text, wrong) in [
        ("12o", "'12o' is not a number; type a number such as 12.5"),
        ("-3", "the face height is -3; type a number above zero"),
    ] {
        fill(&mut harness, "Face height", text);
        harness.get_by_label(wrong);
        assert_eq!(value(&harness, "Face height"), text);
    }
    fill(&mut harness, "Width", "0");
    harness.get_by_label("the width of the fixture is 0; type a number above zero");
    assert!(harness.state().sent.is_empty());
    assert_eq!(*now(&harness), station());
}

#[test]
fn notes_of_several_lines_are_taken_when_left_and_put_back_by_escape() {
    let mut harness = harness();
    let write = |harness: &mut Harness<'_, Host>, text: &str| {
        harness.get_by_label("Notes").focus();
        harness.run();
        harness.event(Event::Text(text.to_owned()));
        harness.run();
    };
    write(&mut harness, "Shield sticks");
    harness.key_press(Key::Enter);
    harness.run();
    write(&mut harness, "on the left");
    assert_eq!(now(&harness).notes, "", "nothing before the field is left");
    harness.key_press(Key::Tab);
    harness.run();
    assert_eq!(now(&harness).notes, "Shield sticks\non the left");
    write(&mut harness, "x");
    harness.key_press(Key::Escape);
    harness.run();
    assert_eq!(value(&harness, "Notes"), "Shield sticks\non the left");
    assert_eq!(harness.state().sent.len(), 1);
}

#[test]
fn a_face_is_described_and_centred() {
    let mut harness = harness();
    assert!(harness.query_by_label("Face x").is_none());
    pick(&mut harness, "Face", "Circle");
    let over = Footprint::new(Shape::Circle { diameter: 150.0 }, Point::new(100.0, 75.0));
    assert_eq!(now(&harness).source.face, Some(over.clone()));
    fill(&mut harness, "Face diameter", "80");
    fill(&mut harness, "Face x", "60");
    let face = now(&harness).source.face.clone();
    assert_eq!(face.map(|f| f.centre), Some(Point::new(60.0, 75.0)));
    click(&mut harness, "Centre over the fixture");
    let face = now(&harness).source.face.clone();
    let centred = Footprint::new(Shape::Circle { diameter: 80.0 }, over.centre);
    assert_eq!(face, Some(centred));
    pick(&mut harness, "Face", "Not known");
    assert_eq!(now(&harness).source.face, None);
}

#[test]
fn the_corners_of_an_outline_are_a_table() {
    let mut harness = harness();
    pick(&mut harness, "Outline", "Polygon");
    let corners = |harness: &Harness<'_, Host>| now(harness).fixture.footprint().corners();
    let whole = [(0.0, 0.0), (200.0, 0.0), (200.0, 150.0), (0.0, 150.0)];
    assert_eq!(corners(&harness), whole.map(|(x, y)| Point::new(x, y)));
    assert_eq!(value(&harness, "Corner 3 x"), "200");
    click(&mut harness, "Add at corner 2");
    assert_eq!(corners(&harness)[2], Point::new(200.0, 75.0));
    fill(&mut harness, "Corner 2 x", "120");
    fill(&mut harness, "Corner 3 y", "80");
    assert_eq!(corners(&harness)[1], Point::new(120.0, 0.0));
    assert_eq!(corners(&harness)[2], Point::new(200.0, 80.0));
    let undo = harness.state().session.undo_names().0.map(str::to_owned);
    assert_eq!(undo.as_deref(), Some("change outline of the fixture"));
    assert!(
        harness.state().width_needed <= WIDTH,
        "wider than the panel"
    );

    // a side over another stays in its field with the reason below it
    fill(&mut harness, "Corner 1 y", "170");
    harness.get_by_label_contains("crosses itself: its sides");
    assert_eq!(value(&harness, "Corner 1 y"), "170");
    assert_eq!(corners(&harness)[0], Point::new(0.0, 0.0));
    fill(&mut harness, "Corner 1 y", "5");
    assert_eq!(corners(&harness)[0], Point::new(0.0, 5.0));

    click(&mut harness, "Remove at corner 3");
    click(&mut harness, "Remove at corner 3");
    assert_eq!(corners(&harness).len(), 3);
    click(&mut harness, "Remove at corner 3");
    assert_eq!(corners(&harness).len(), 3, "three are needed");
    let notice = harness.state().session.notice().map(|n| n.text.to_string());
    assert!(notice.is_some_and(|text| text.contains("an outline needs three corners")));
    pick(&mut harness, "Outline", "Rectangle");
    assert_eq!(now(&harness).fixture.shape.size(), (120.0, 150.0));
}

#[test]
fn a_site_is_added_renamed_copied_and_deleted() {
    let mut harness = harness();
    harness.get_by_label_contains("A site is where a part lies");
    click(&mut harness, "Add a site");
    assert_eq!(harness.state().state.chosen, Some(Thing::Sites(0)));
    fill(&mut harness, "Site name", "Cup 1");
    fill(&mut harness, "Bond-line height", "12");
    fill(&mut harness, "Part width", "24");
    let group = now(&harness).sites[0].clone();
    assert_eq!((group.name.as_str(), group.height), ("Cup 1", 12.0));
    let centre = Point::new(100.0, 75.0);
    assert_eq!(group.layout, SiteLayout::Single { centre });
    harness.get_by_label("Cup 1\n1 site, 24 x 20 mm at 12 mm");

    click(&mut harness, "Duplicate site");
    let copy = now(&harness).sites[1].clone();
    assert_eq!((copy.name.as_str(), &copy.shape), ("Cup 2", &group.shape));
    assert!(harness.state().session.findings().is_empty(), "beside it");
    assert_eq!(harness.state().state.chosen, Some(Thing::Sites(1)));
    click(&mut harness, "Delete site");
    assert_eq!(now(&harness).sites, [group]);
    assert!(harness.query_by_label("Site name").is_none(), "form closed");
}

#[test]
fn sites_are_laid_in_rows_and_columns() {
    let mut harness = harness();
    click(&mut harness, "Add a site");
    pick(&mut harness, "Layout", "Rows and columns");
    for (label, text) in [
        ("Columns", "4"),
        ("Rows", "3"),
        ("First part x", "30"),
        ("First part y", "35"),
        ("Pitch x", "40"),
        ("Pitch y", "25"),
    ] {
        fill(&mut harness, label, text);
    }
    let layout = SiteLayout::Grid {
        first: Point::new(30.0, 35.0),
        columns: 4,
        rows: 3,
        pitch_x: 40.0,
        pitch_y: 25.0,
    };
    assert_eq!(now(&harness).sites[0].layout, layout);
    harness.get_by_label("Site A1 ...\n12 sites, 20 x 20 mm at 0 mm");
    fill(&mut harness, "Columns", "2.5");
    harness.get_by_label("'2.5' is not a whole number; type one such as 4");
    fill(&mut harness, "Columns", "4000");
    harness.get_by_label_contains("type a whole number between 1 and 400");
    assert_eq!(now(&harness).sites[0].layout, layout);
    click(&mut harness, "Add rows and columns");
    assert_eq!(now(&harness).sites.len(), 2);
}

#[test]
fn a_keep_out_is_described() {
    let mut harness = harness();
    click(&mut harness, "Add a keep-out");
    fill(&mut harness, "Keep-out name", "Clamp");
    pick(&mut harness, "Keep-out outline", "Rectangle");
    fill(&mut harness, "Keep-out depth", "8");
    fill(&mut harness, "Keep-out x", "15");
    fill(&mut harness, "Keep-out turn", "30");
    pick(&mut harness, "Keeps out", "Detectors only");
    let keep_out = now(&harness).keep_outs[0].clone();
    assert_eq!(
        (keep_out.name.as_str(), keep_out.bars),
        ("Clamp", Bars::Detector)
    );
    let footprint = Footprint {
        shape: Shape::Rectangle {
            width: 20.0,
            depth: 8.0,
        },
        centre: Point::new(15.0, 75.0),
        turn: 30.0,
    };
    assert_eq!(keep_out.footprint, footprint);
    click(&mut harness, "Clamp\n20 x 8 mm at 15, 75 mm");
    assert!(harness.query_by_label("Keeps out").is_none(), "form closed");
}

#[test]
fn inches_are_shown_and_typed() {
    let mut harness = harness();
    let inches = Preferences {
        length_unit: LengthUnit::Inch,
        ..Preferences::default()
    };
    harness.state_mut().session.handle(Command::Prefer(inches));
    harness.run();
    assert_eq!(value(&harness, "Face height"), "4.7244");
    fill(&mut harness, "Face height", "5");
    assert_eq!(now(&harness).source.face_height, 127.0);
    fill(&mut harness, "Width", "10");
    assert_eq!(now(&harness).fixture.shape.size(), (254.0, 150.0));
    // what is wrong is said of the number that was typed
    fill(&mut harness, "Face height", "-3");
    harness.get_by_label("the face height is -3; type a number above zero");
    fill(&mut harness, "Face height", "1e6");
    harness.get_by_label("the face height 1e6 is too large; type a smaller number");
    assert_eq!(now(&harness).source.face_height, 127.0);
}

#[test]
fn a_radiometer_has_dates_units_and_a_name_of_its_own() {
    let mut harness = harness();
    click(&mut harness, "Add a radiometer");
    click(&mut harness, "Add a radiometer");
    let names: Vec<_> = now(&harness)
        .radiometers
        .iter()
        .map(|r| r.name.clone())
        .collect();
    assert_eq!(names, ["Radiometer", "Radiometer 2"]);
    fill(&mut harness, "Due", "1/31/2027");
    harness.get_by_label_contains("'1/31/2027' is not a date; type year, month and day");
    fill(&mut harness, "Due", "31.1.2027");
    fill(&mut harness, "Range", "20000");
    fill(&mut harness, "Uncertainty", "5");
    let radiometer = now(&harness).radiometers[1].clone();
    assert_eq!(radiometer.due, Some(date(2027, 1, 31)));
    assert_eq!(radiometer.range, Some(20_000.0));
    assert_eq!(radiometer.expanded_uncertainty_percent, Some(5.0));
    harness.get_by_label("Due").focus();
    harness.run();
    harness.key_press(Key::Delete);
    harness.key_press(Key::Enter);
    harness.run();
    assert_eq!(now(&harness).radiometers[1].due, None::<Date>);
    fill(&mut harness, "Name", "Radiometer");
    harness.get_by_label("there is a radiometer called Radiometer already; choose another name");
    assert_eq!(value(&harness, "Name"), "Radiometer", "kept as typed");
    assert_eq!(now(&harness).radiometers[1].name, "Radiometer 2");
    assert_eq!(harness.state().session.notice(), None);
}

#[test]
fn a_finding_leads_to_its_field() {
    let mut harness = harness();
    click(&mut harness, "Add a radiometer");
    fill(&mut harness, "Calibrated on", "2026-02-01");
    fill(&mut harness, "Due", "2025-02-01");
    click(&mut harness, "Radiometer\ncalibration ended on 2025-02-01");
    assert!(harness.query_by_label("Due").is_none(), "form closed");
    harness
        .get_by_label_contains("Warning: the calibration of")
        .click();
    harness.run();
    let place = Where::Radiometer(0, "Due");
    assert_eq!(harness.state().sent.last(), Some(&Command::GoTo(place)));
    assert!(harness.get_by_label("Due").is_focused());
    assert_eq!(harness.state().session.go_to(), None, "taken");
}

#[test]
fn every_place_of_the_step_has_a_field_that_takes_the_keyboard() {
    let mut harness = harness();
    for button in ["Add a site", "Add a keep-out", "Add a radiometer"] {
        click(&mut harness, button);
    }
    pick(&mut harness, "Face", "Rectangle");
    let radiometer = [
        "Name",
        "Body",
        "Aperture",
        "Sensing plane",
        "Angular error",
        "Resolution",
        "Range",
        "Uncertainty",
        "Coverage factor",
        "Due",
    ];
    let mut places = vec![
        (Where::Source("Face height"), "Face height"),
        (Where::Source("Face"), "Face width"),
        (Where::Fixture("Outline"), "Width"),
        (Where::Sites(0), "Site name"),
        (Where::KeepOut(0), "Keep-out name"),
    ];
    for label in radiometer {
        let shown = if label == "Body" {
            "Body diameter"
        } else {
            label
        };
        places.push((Where::Radiometer(0, label), shown));
    }
    for (place, label) in places {
        harness.state_mut().state = PanelState::default();
        harness.state_mut().session.handle(Command::GoTo(place));
        harness.run();
        assert!(harness.get_by_label(label).is_focused(), "{label}");
    }
    let elsewhere = Where::Plan("Margin");
    let mut state = PanelState::default();
    assert!(!fixture::jump(&harness.ctx, &mut state, &elsewhere));
}

#[test]
fn findings_that_are_alike_take_one_line_which_leads_to_the_first() {
    let mut station = station();
    let group = |i: u32| evenfield::station::SiteGroup {
        name: format!("S{i}"),
        shape: Shape::Circle { diameter: 5.0 },
        turn: 0.0,
        height: 0.0,
        top: None,
        bond: None,
        layout: SiteLayout::Single {
            centre: Point::new(300.0 + 10.0 * f64::from(i), 20.0),
        },
    };
    station.sites = (0..9).map(group).collect();
    let mut harness = harness_on(station);
    let findings = harness.state().session.findings().iter();
    assert_eq!(
        findings
            .filter(|f| Step::of(&f.place) == Step::Fixture)
            .count(),
        9
    );
    let state = harness.state().session.state_of(Step::Fixture);
    assert_eq!(state.words(), "1 finding");
    harness
        .get_by_label_contains("site S0 reaches over the fixture's rim (and 8 more)")
        .click();
    harness.run();
    assert_eq!(harness.state().state.chosen, Some(Thing::Sites(0)));
}

#[test]
fn many_findings_are_folded_away_and_a_click_on_the_step_shows_them() {
    let mut station = station();
    let group = |name: &str, x: f64, height: f64| evenfield::station::SiteGroup {
        name: name.into(),
        shape: Shape::Circle { diameter: 5.0 },
        turn: 0.0,
        height,
        top: None,
        bond: None,
        layout: SiteLayout::Single {
            centre: Point::new(x, 20.0),
        },
    };
    let far = 1000.0;
    station.sites = vec![
        group("S", 20.0, 500.0),
        group("T", 40.0, -1.0),
        group("U", far, 0.0),
        group("U", far + 1.0, 0.0),
    ];
    let mut harness = harness_on(station);
    let last = "site U overlaps site U";
    assert!(harness.query_by_label_contains(last).is_none(), "folded");
    findings::show_all(&harness.ctx);
    harness.run();
    harness.get_by_label_contains(last);
    let first = harness.get_by_label_contains("site S at 500 mm is not below");
    assert!(first.is_focused());
}

#[test]
fn nothing_is_wider_than_the_panel() {
    let mut harness = harness();
    for button in ["Add a site", "Add a keep-out", "Add a radiometer"] {
        click(&mut harness, button);
        assert!(
            harness.state().width_needed <= WIDTH,
            "{}",
            harness.state().width_needed
        );
    }
    pick(&mut harness, "Kind", "Arc lamp in a reflector");
    fill(&mut harness, "Station name", &"a long name ".repeat(20));
    fill(&mut harness, "Due", &"no date ".repeat(20));
    assert!(
        harness.state().width_needed <= WIDTH,
        "{}",
        harness.state().width_needed
    );
}

#[test]
fn rows_and_columns_are_there_from_the_first_and_centred() {
    let mut harness = harness();
    click(&mut harness, "Add rows and columns");
    assert_eq!(now(&harness).all_sites().len(), 4);
    fill(&mut harness, "Site name", "Holder");
    harness.get_by_label("Stands before row and column: Holder A1, Holder A2; may be empty");
    assert_eq!(now(&harness).all_sites()[3].name, "Holder B2");
    fill(&mut harness, "Columns", "5");
    fill(&mut harness, "Pitch x", "32");
    fill(&mut harness, "First part x", "20");
    click(&mut harness, "Centre on the fixture");
    let sites = now(&harness).all_sites();
    let middle =
        |a: usize, b: usize| 0.5 * (sites[a].footprint.centre.x + sites[b].footprint.centre.x);
    assert!((middle(0, 4) - 100.0).abs() < 1e-9, "of 200 mm");
    assert!(
        (0.5 * (sites[0].footprint.centre.y + sites[9].footprint.centre.y) - 75.0).abs() < 1e-9
    );
    let undo = harness.state().session.undo_names().0.map(str::to_owned);
    assert_eq!(undo.as_deref(), Some("move sites Holder"));
}

#[test]
fn a_keep_out_has_a_height_and_may_stay_with_the_pallet_out() {
    let mut harness = harness();
    click(&mut harness, "Add a keep-out");
    assert_eq!(now(&harness).keep_outs[0].height, None);
    fill(&mut harness, "Keep-out height", "35");
    assert_eq!(now(&harness).keep_outs[0].height, Some(35.0));
    harness.get_by_label_contains("35 mm high");
    pick(&mut harness, "With the pallet out", "Stays there");
    assert!(now(&harness).keep_outs[0].stays);
    fill(&mut harness, "Keep-out height", "-1");
    harness.get_by_label_contains("the height of the keep-out is -1");
    // emptied, it is not known again
    harness.get_by_label("Keep-out height").focus();
    harness.run();
    harness.key_press_modifiers(Modifiers::COMMAND, Key::A);
    harness.run();
    harness.key_press(Key::Delete);
    harness.run();
    harness.key_press(Key::Enter);
    harness.run();
    assert_eq!(now(&harness).keep_outs[0].height, None);
}

#[test]
fn rows_of_leds_are_asked_for_where_the_source_is_a_panel() {
    let mut harness = harness();
    assert!(harness.query_by_label("Rows of LEDs").is_none());
    pick(&mut harness, "Kind", "LED panel");
    click(&mut harness, "Rows of LEDs");
    click(&mut harness, "Rows and columns");
    fill(&mut harness, "LED columns", "12");
    fill(&mut harness, "LED pitch x", "9,5");
    let array = now(&harness).source.array.expect("rows and columns");
    assert_eq!((array.columns, array.pitch_x), (12, 9.5));
    assert_eq!(now(&harness).format_version(), 2);
}
