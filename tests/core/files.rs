//! Files: what is written is read back, what is wrong is said with its place, and nothing is lost.

use std::fs;
use std::path::{Path, PathBuf};

use evenfield::files::{self, Drive, Encoding, FileError, Stamp, Table, parse_readings};
use evenfield::geometry::{Place, Point, Shape};
use evenfield::station::{PlanLayout, Position, Reading, Station};
use proptest::prelude::*;

use crate::strategies;

/// Saves a station without a trail.
fn save(path: &Path, station: &Station) -> Result<Stamp, FileError> {
    files::save(path, station, &files::Trail::default())
}

fn small() -> Station {
    let shape = Shape::Rectangle {
        width: 180.0,
        depth: 120.0,
    };
    Station::new("bench", shape, 75.0)
}

fn bad_input() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bad-input")
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn a_station_survives_write_and_read(station in strategies::station()) {
        let text = files::write(&station).expect("a sound station");
        let read = files::parse(text.as_bytes());
        prop_assert_eq!(read.as_ref(), Ok(&station), "{}", text);
        let readings: usize = station.surveys.iter().map(|s| s.readings.len()).sum();
        let lines = text.lines().filter(|l| l.starts_with("     (") && l.contains("x:")).count();
        prop_assert!(lines >= readings, "one reading a line:\n{}", text);
    }

    #[test]
    fn mutated_station_files_never_panic(
        station in strategies::station(),
        cuts in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>(), 0u8..3), 1..12),
    ) {
        let mut bytes = files::write(&station).expect("a sound station").into_bytes();
        for (at, byte, how) in cuts {
            let at = at.index(bytes.len());
            match how {
                0 => bytes[at] = byte,
                1 => bytes.insert(at, byte),
                _ => bytes.truncate(at.max(1)),
            }
        }
        if let Ok(station) = files::parse(&bytes) {
            prop_assert_eq!(station.unsound(), vec![]);
        }
    }

    #[test]
    fn any_bytes_are_read_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let _ = files::parse(&bytes);
        let _ = parse_readings(bytes, None);
    }

    #[test]
    fn any_table_is_read_or_refused(text in "(x_mm|y mm|height_cm|irradiance_w_m2|note)[;,\t](x_mm|y_in|z \\[mm\\])[;,\t\n](irradiance_mw_cm2)?\n[0-9;,.\t\n\"eE+-]{0,60}") {
        match parse_readings(text.into_bytes(), Some(20.0)) {
            Ok(table) => prop_assert!(!table.readings.is_empty()),
            Err(errors) => prop_assert!(!errors.is_empty()),
        }
    }
}

#[test]
fn a_byte_order_mark_is_passed_over() {
    let text = format!("\u{feff}{}", files::write(&small()).expect("sound"));
    assert_eq!(files::parse(text.as_bytes()), Ok(small()));
}

#[test]
fn a_station_with_a_number_that_is_none_is_not_written() {
    let mut station = small();
    station.source.face_height = f64::NAN;
    let error = files::write(&station).expect_err("not a number");
    assert_eq!(
        error.to_string(),
        "the face height is not a number; type a number such as 12.5"
    );
}

/// What is said of each file in `tests/bad-input`, name by name.
const SAID: &str = include_str!("../bad-input/said.txt");

#[test]
fn bad_files_are_refused_in_plain_words() {
    let mut names: Vec<String> = fs::read_dir(bad_input())
        .expect("the folder of bad files")
        .map(|entry| {
            entry
                .expect("an entry")
                .file_name()
                .into_string()
                .expect("text")
        })
        .filter(|name| name != "said.txt")
        .collect();
    names.sort();
    let mut said = String::new();
    for name in names {
        let bytes = fs::read(bad_input().join(&name)).expect("a bad file");
        let errors: Vec<FileError> = if name.ends_with(".ron") {
            vec![files::parse(&bytes).expect_err(&name)]
        } else if name.ends_with(".journal") {
            vec![files::parse_journal(&bytes).expect_err(&name)]
        } else {
            parse_readings(bytes, None).expect_err(&name)
        };
        for error in errors {
            let line = error.of(Path::new(&name)).to_string();
            for word in [
                "RON", "serde", "struct", "enum", "variant", "u32", "f64", "`", "Reading",
            ] {
                assert!(!line.contains(word), "a library's word '{word}': {line}");
            }
            said += &line;
            said += "\n";
        }
    }
    assert!(said == SAID, "said:\n{said}\nexpected:\n{SAID}");
}

fn table(text: &str) -> Table {
    parse_readings(text.as_bytes().to_vec(), None).unwrap_or_else(|e| panic!("{e:#?}"))
}

#[test]
fn csv_in_all_its_ways_gives_the_same_readings() {
    let expected = vec![
        Reading {
            position: "A1".into(),
            minute: Some(0.5),
            ..Reading::new(Place::new(12.5, 20.0, 40.0), Some(81.2))
        },
        Reading {
            position: "A2".into(),
            repeat: 2,
            minute: Some(1.0),
            excluded: Some("hand in the light".into()),
            note: "again".into(),
            ..Reading::new(Place::new(62.5, 20.0, 40.0), None)
        },
    ];
    let plain = "position,x_mm,y_mm,height_mm,irradiance_mw_cm2,repeat,minute,excluded,note\n\
                 A1,12.5,20,40,81.2,1,0.5,no,\n\
                 A2,62.5,20,40,,2,1,hand in the light,again\n";
    let ways = [
        plain.to_owned(),
        format!("\u{feff}{}", plain.replace('\n', "\r\n")),
        plain.replace(',', "\t"),
        plain.replace('\n', "\n\n , ,\n"),
        plain.replace(',', ";").replace('.', ","),
        plain.replace('\n', "\r"),
        plain
            .replace("A1,12.5", "\"A1\",\"12.5\"")
            .trim_end()
            .to_owned(),
        plain.replace(
            "x_mm,y_mm,height_mm,irradiance_mw_cm2",
            "x [mm], Y (mm) ,Z mm,Irradiance (mW/cm²)",
        ),
        format!("sep=;\n{}", plain.replace(',', ";")),
    ];
    for way in ways {
        assert_eq!(table(&way).readings, expected, "{way}");
    }
}

#[test]
fn names_in_a_plan_file_come_back_as_they_were() {
    let mut station = small();
    let names = ["=A1", "+2", "-3", "@4", "'=5", "'6", "B3"];
    station.plan.layout = PlanLayout::ByHand(
        names
            .map(|name| Position {
                name: name.to_owned(),
                at: Point::new(25.0, 25.0),
            })
            .to_vec(),
    );
    station.plan.heights = vec![20.0];
    let record = evenfield::record::PlanRecord::new(&station);
    let read = table(&evenfield::export::plan_csv(&record));
    let back: Vec<&str> = read.readings.iter().map(|r| r.position.as_str()).collect();
    assert_eq!(back, names);
}

#[test]
fn units_of_the_header_count() {
    let readings = |header: &str, row: &str| table(&format!("{header}\n{row}\n")).readings;
    let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-12 * b.abs(), "{a} {b}");
    let r = &readings("x_in,y_cm,height_inch,irradiance_w_cm2", "1,2,0.5,0.08")[0];
    close(r.x, 25.4);
    close(r.y, 20.0);
    close(r.height, 12.7);
    close(r.irradiance.expect("read"), 80.0);
    let r = &readings("x_mm,y_mm,height_mm,Irradiance [W/m^2]", "1,2,3,800")[0];
    close(r.irradiance.expect("read"), 80.0);
}

#[test]
fn a_readings_table_says_how_it_was_understood() {
    let read = table("x_mm;y_mm;height_mm;irradiance_mw_cm2;operator\n1,5;2;3;4,25;AB\n");
    let cut = read.cut.expect("a text");
    assert_eq!(
        (cut.separator, cut.encoding, read.decimal_comma),
        (';', Encoding::Utf8, true)
    );
    assert_eq!(read.ignored, ["operator"]);
    let read = parse_readings(
        b"x_mm,y_mm,irradiance_mw_cm2,excluded\n1,2,3,x\n".to_vec(),
        Some(20.0),
    );
    let reading = &read.expect("one height for all").readings[0];
    assert_eq!(reading.height, 20.0);
    assert_eq!(reading.excluded.as_deref(), Some("excluded in the file"));
}

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a folder")
}

#[test]
fn saving_keeps_the_version_before() {
    let folder = folder();
    let path = folder.path().join("bench.ron");
    let mut station = small();
    save(&path, &station).expect("saved");
    assert_eq!(fs::read_dir(folder.path()).expect("listed").count(), 1);
    station.name = "bench 2".into();
    let stamp = save(&path, &station).expect("saved");
    // saving the same again does not push the version before out
    assert_eq!(save(&path, &station), Ok(stamp));
    assert_eq!(files::read(&path), Ok((station, stamp)));
    let kept = files::read(&folder.path().join("bench.ron.bak")).expect("kept");
    assert_eq!(kept.0, small());
    assert_eq!(fs::read_dir(folder.path()).expect("listed").count(), 2);
}

#[test]
fn a_change_from_outside_is_seen() {
    let folder = folder();
    let path = folder.path().join("bench.ron");
    let stamp = save(&path, &small()).expect("saved");
    let now = || Stamp::on(&Drive::default(), &path).expect("it can be read");
    assert_eq!(now(), Some(stamp));
    let text = fs::read_to_string(&path).expect("read");
    fs::write(&path, text.replace("bench", "hench")).expect("written");
    assert!(now().is_some_and(|now| now != stamp));
    fs::write(&path, text).expect("written");
    assert_eq!(now(), Some(stamp));
    fs::remove_file(&path).expect("removed");
    assert_eq!(now(), None);
}

#[cfg(unix)]
#[test]
fn saving_keeps_permissions_and_links() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let mode = |path: &Path| fs::metadata(path).expect("there").permissions().mode() & 0o777;
    let folder = folder();
    let (real, link) = (
        folder.path().join("real.ron"),
        folder.path().join("link.ron"),
    );
    // what the system gives a new file under this person's mask
    let usual = folder.path().join("usual");
    fs::write(&usual, "").expect("written");
    symlink("real.ron", &link).expect("linked");
    save(&link, &small()).expect("saved behind a link to nothing");
    assert_eq!(mode(&real), mode(&usual));
    fs::set_permissions(&real, fs::Permissions::from_mode(0o640)).expect("set");
    let mut station = small();
    station.name = "changed".into();
    save(&link, &station).expect("saved");
    assert!(fs::symlink_metadata(&link).expect("there").is_symlink());
    assert_eq!(files::read(&real).expect("read").0, station);
    assert_eq!(mode(&real), 0o640);
    assert_eq!(mode(&folder.path().join("real.ron.bak")), 0o640);
}

#[test]
fn what_can_not_be_saved_says_why() {
    let folder = folder();
    let gone = folder.path().join("gone");
    let path = gone.join("bench.ron");
    let error = save(&path, &small()).expect_err("no folder");
    assert_eq!(
        error.to_string(),
        format!(
            "{}: the file could not be saved: the folder {} is not there; make the folder or save somewhere else",
            path.display(),
            gone.display()
        )
    );
    let error = save(folder.path(), &small()).expect_err("a folder");
    assert!(
        error.to_string().ends_with("it is a folder; name a file"),
        "{error}"
    );

    let locked = folder.path().join("locked.ron");
    fs::write(&locked, "mine").expect("written");
    let mut permissions = fs::metadata(&locked).expect("there").permissions();
    permissions.set_readonly(true);
    fs::set_permissions(&locked, permissions).expect("set");
    let error = save(&locked, &small()).expect_err("read-only");
    assert!(error.what.contains("read-only"), "{error}");
    assert_eq!(fs::read_to_string(&locked).expect("there"), "mine");

    let error = files::read(&path).expect_err("not there");
    assert!(
        error
            .to_string()
            .ends_with("it is not there; check the name and the folder"),
        "{error}"
    );
}
