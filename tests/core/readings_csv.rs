//! Readings written as CSV are read back to the same values.

use evenfield::export::bundle::{self, Bundle, Sheets};
use evenfield::files::{parse_readings, read_readings, readings_csv};
use evenfield::geometry::{Place, Shape};
use evenfield::progress::Progress;
use evenfield::session::sample;
use evenfield::station::{Reading, Station};
use jiff::civil::date;
use proptest::prelude::*;

use crate::strategies;

/// What a text is in a table: without the blanks around it.
fn without_blanks(reading: &Reading) -> Reading {
    let trimmed = |text: &str| text.trim().to_owned();
    Reading {
        position: trimmed(&reading.position),
        excluded: reading.excluded.as_deref().map(trimmed),
        note: trimmed(&reading.note),
        ..reading.clone()
    }
}

fn read(text: &str) -> Vec<Reading> {
    match parse_readings(text.as_bytes().to_vec(), None) {
        Ok(table) => table.readings,
        Err(errors) => panic!("{text}\n{errors:#?}"),
    }
}

fn at(x: f64, irradiance: f64) -> Reading {
    Reading::new(Place::new(x, 20.0, 30.0), Some(irradiance))
}

proptest! {
    #[test]
    fn what_is_written_is_read_back(station in strategies::station()) {
        for survey in station.surveys.iter().filter(|survey| !survey.readings.is_empty()) {
            let expected: Vec<Reading> = survey.readings.iter().map(without_blanks).collect();
            prop_assert_eq!(read(&readings_csv(&survey.readings)), expected);
        }
    }

    #[test]
    fn so_are_texts_that_are_hard_to_tell_from_something_else(
        rows in prop::collection::vec(
            (
                "(sep=)?[=+@';,\t\" x0-]{0,5}",
                prop::option::of("'{0,2}( ?(yes|No|TRUE|false|1|0|x)?)( [;=]a)?"),
                "[;\t'\"=a\n\r ]{0,8}",
                any::<f64>().prop_filter("a number", |v| v.is_finite() && v.abs() < 1e5),
            ),
            1..30,
        )
    ) {
        let readings: Vec<Reading> = rows
            .into_iter()
            .map(|(position, excluded, note, x)| Reading { position, excluded, note, ..at(x, 81.25) })
            .collect();
        let expected: Vec<Reading> = readings.iter().map(without_blanks).collect();
        prop_assert_eq!(read(&readings_csv(&readings)), expected);
    }
}

#[test]
fn the_table_is_what_its_header_says() {
    let reading = Reading {
        position: "B2, left".into(),
        repeat: 2,
        minute: Some(7.5),
        excluded: Some("no".into()),
        saturated: true,
        ..at(0.1 + 0.2, 81.0)
    };
    let planned = Reading {
        irradiance: None,
        ..at(-4.0, 0.0)
    };
    assert_eq!(
        readings_csv(&[reading, planned]),
        "position,x_mm,y_mm,height_mm,irradiance_mw_cm2,repeat,minute,excluded,saturated,note\n\
         \"B2, left\",0.30000000000000004,20,30,81,2,7.5,'no,yes,\n\
         ,-4,20,30,,1,,,,\n"
    );
}

#[test]
fn a_note_that_looks_like_names_of_columns_is_a_note() {
    let reading = Reading {
        note: "y\tX\tz".into(),
        ..at(4.0, 81.0)
    };
    let written = readings_csv(std::slice::from_ref(&reading));
    assert_eq!(read(&written), [reading]);
}

fn bundle(station: &Station) -> Result<Vec<(String, Vec<u8>)>, bundle::NoBundle> {
    let wanted = Bundle {
        station,
        request: Default::default(),
        fit: None,
        map_height: None,
        sheets: Sheets::parse("readings").expect("a sheet"),
        length: Default::default(),
        irradiance: Default::default(),
        paper: Default::default(),
        colours: Default::default(),
        range: None,
        uncertainty_range: None,
        arranged: None,
        made: bundle::MadeOn {
            today: jiff::civil::date(2026, 11, 28),
            trail: &Default::default(),
            period: (None, None),
        },
    };
    bundle::files(&wanted, &Progress::new())
}

#[test]
fn the_readings_of_the_sample_are_exported_without_a_field_and_imported_again() {
    let station = sample();
    let made = bundle(&station).expect("made");
    let [(name, bytes)] = made.as_slice() else {
        panic!("one file");
    };
    assert_eq!(name, "readings.csv");
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join(name), bytes).expect("written");
    let table = read_readings(&folder.path().join(name), None).expect("read");
    let survey = &station.surveys[station.newest_survey().expect("one")];
    assert_eq!(table.readings, survey.readings);
    assert_eq!(table.ignored, Vec::<String>::new());

    // a single row that waits makes no field, but a table
    let mut station = Station::new("s", Shape::Circle { diameter: 90.0 }, 100.0);
    let why = bundle(&station).expect_err("no survey").to_string();
    assert!(why.contains("no survey yet"), "{why}");
    let mut survey = station.new_survey("Morning", date(2026, 3, 9));
    survey.readings = vec![Reading {
        irradiance: None,
        ..at(1.0, 0.0)
    }];
    let before = survey.readings.clone();
    station.surveys.push(survey.into());
    let made = bundle(&station).expect("made");
    let text = String::from_utf8(made[0].1.clone()).expect("text");
    assert_eq!(read(&text), before);
}
