//! Files of readings in all their ways: encodings, workbooks, blocks.

use std::path::{Path, PathBuf};

use evenfield::files::{
    Cut, DecimalMark, Encoding, Layout, Raw, Understanding, Use, parse_readings, read_readings,
};
use evenfield::geometry::Place;
use evenfield::station::Reading;

fn reference(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/reference/data")
        .join(name)
}

fn read(text: &str) -> Vec<Reading> {
    let read = parse_readings(text.as_bytes().to_vec(), None);
    read.unwrap_or_else(|e| panic!("{text}: {e:#?}")).readings
}

/// Workbooks that openpyxl 3.1.5 made, and what was put into them (`tests/reference/readings_xlsx.py`).
#[test]
fn workbooks_of_another_library_give_what_was_put_into_them() {
    let kept = std::fs::read(reference("readings_xlsx.json")).expect("kept");
    let kept: serde_json::Value = serde_json::from_slice(&kept).expect("JSON");
    let books = kept.as_object().expect("by book");
    assert_eq!(books.len(), 4);
    for (name, rows) in books {
        let path = reference(&format!("xlsx/{name}.xlsx"));
        let table = read_readings(&path, None).unwrap_or_else(|e| panic!("{e:#?}"));
        let rows = rows.as_array().expect("rows");
        assert_eq!(table.readings.len(), rows.len(), "{name}");
        for (reading, row) in table.readings.iter().zip(rows) {
            assert_eq!(Some(reading.position.as_str()), row[0].as_str(), "{name}");
            let numbers = [
                Some(reading.x),
                Some(reading.y),
                Some(reading.height),
                reading.irradiance,
            ];
            for (got, put) in numbers
                .into_iter()
                .zip([&row[1], &row[2], &row[3], &row[4]])
            {
                let is_same = match (got, put.as_f64()) {
                    (Some(got), Some(put)) => (got - put).abs() <= 1e-12 * put.abs(),
                    (got, put) => got == put,
                };
                assert!(is_same, "{name}: {got:?}, put in {put}");
            }
            assert_eq!(reading.excluded.as_deref(), row[5].as_str(), "{name}");
        }
    }
}

#[test]
fn a_text_is_read_in_each_encoding() {
    let text = "position,x_mm,y_mm,height_mm,Irradiance (mW/cm²),note\nHöhe,1,2,20,81.5,±1\n";
    let expected = Reading {
        position: "Höhe".into(),
        note: "±1".into(),
        ..Reading::new(Place::new(1.0, 2.0, 20.0), Some(81.5))
    };
    let utf_16 = |bytes: fn(u16) -> [u8; 2]| -> Vec<u8> {
        format!("\u{feff}{text}")
            .encode_utf16()
            .flat_map(bytes)
            .collect()
    };
    let latin: Vec<u8> = text
        .chars()
        .map(|c| u8::try_from(c).expect("Latin"))
        .collect();
    let ways = [
        (Encoding::Utf8, text.as_bytes().to_vec()),
        (Encoding::Utf8, format!("\u{feff}{text}").into_bytes()),
        (Encoding::Utf16Le, utf_16(u16::to_le_bytes)),
        (Encoding::Utf16Be, utf_16(u16::to_be_bytes)),
        (Encoding::Windows1252, latin),
    ];
    for (encoding, bytes) in ways {
        let table = parse_readings(bytes, None).unwrap_or_else(|e| panic!("{encoding:?} {e:#?}"));
        assert_eq!(
            table.readings.as_slice(),
            std::slice::from_ref(&expected),
            "{encoding:?}"
        );
        assert_eq!(table.cut.map(|cut| cut.encoding), Some(encoding));
    }
}

#[test]
fn blocks_are_read_a_height_each() {
    let text = "irradiance_w_cm2\n\
                height_mm,20\n\
                y_mm\\x_mm,10,50\n\
                10,0.081,0.085\n\
                60,,0.084\n\
                \n\
                Height 40 mm\n\
                y_mm\\x_mm,10,50\n\
                10,0.071,0.075\n";
    let close = |a: f64, b: f64| (a - b).abs() < 1e-9;
    let expected = [
        (10.0, 10.0, 20.0, 81.0),
        (50.0, 10.0, 20.0, 85.0),
        (50.0, 60.0, 20.0, 84.0),
        (10.0, 10.0, 40.0, 71.0),
        (50.0, 10.0, 40.0, 75.0),
    ];
    let ways = [
        text.to_owned(),
        text.replace(',', "\t"),
        text.replace(',', ";").replace('.', ","),
    ];
    for way in ways {
        let readings = read(&way);
        assert_eq!(readings.len(), expected.len(), "{way}");
        for (reading, (x, y, height, e)) in readings.iter().zip(expected) {
            assert_eq!(reading.place(), Place::new(x, y, height), "{way}");
            assert!(close(reading.irradiance.expect("read"), e), "{way}");
        }
    }
}

#[test]
fn titles_and_units_may_have_rows_of_their_own() {
    let text = "Pallet 7; morning\n\nx;y;z;intensity\nmm;mm;cm;W/m²\n1,5;2;3;800\n";
    let readings = read(text);
    assert_eq!(
        readings,
        [Reading::new(Place::new(1.5, 2.0, 30.0), Some(80.0))]
    );
}

/// The person's corrections count, not the guess.
#[test]
fn what_was_understood_can_be_corrected() {
    let raw = Raw::new(b"a;b;c;d\n1,5;2;3;81,25\n".to_vec()).expect("cells");
    let mut wanted = Understanding::guess(&raw, None);
    assert!(
        wanted.read(&raw).is_err(),
        "nothing is known of these columns"
    );
    let Layout::List(list) = &mut wanted.layout else {
        panic!("{wanted:?}");
    };
    use evenfield::files::Field::{Height, Irradiance, X, Y};
    list.columns = [X, Y, Height, Irradiance]
        .map(|field| Use::Is(field, 1.0))
        .to_vec();
    let table = wanted.read(&raw).expect("all is said");
    let expected = Reading::new(Place::new(1.5, 2.0, 3.0), Some(81.25));
    assert_eq!(
        (table.readings, table.decimal_comma),
        (vec![expected], true)
    );
    wanted.decimal = Some(DecimalMark::Point);
    let said = wanted.read(&raw).expect_err("commas were said not to be")[0].to_string();
    assert!(said.contains("'1,5' has a comma"), "{said}");
    let cut = Cut {
        separator: ',',
        encoding: Encoding::Windows1252,
    };
    let again = raw.cut(cut).expect("cells");
    assert_eq!((again.columns(0), again.how_cut()), (3, Some(cut)));
}
