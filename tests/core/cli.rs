//! The command line as a script sees it: the real program, its output and its exit status.

use std::path::Path;
use std::process::{Command, Output};

fn program(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_evenfield"))
        .args(arguments)
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .env_remove("WAYLAND_SOCKET")
        .output()
        .expect("the program runs")
}

fn sample_maps(file: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("sample-maps")
        .join(file);
    path.to_string_lossy().into_owned()
}

fn text(path: &Path) -> String {
    path.to_string_lossy().into_owned()
}

#[test]
fn readings_become_a_station_and_its_answers() {
    let folder = tempfile::tempdir().expect("a folder");
    let station = text(&folder.path().join("pallet.ron"));
    let readings = sample_maps("rain-gauge-pallet-readings.csv");
    let import = [
        "import",
        &readings,
        "--size",
        "180x120",
        "--face-height",
        "75",
        "--out",
        &station,
    ];
    assert_eq!(program(&import).status.code(), Some(0));
    let again = program(&import);
    assert_eq!(
        again.status.code(),
        Some(2),
        "an existing file is not replaced"
    );
    assert!(String::from_utf8_lossy(&again.stderr).contains("--force"));

    let field = program(&["field", &station, "--height", "20", "--step", "20"]);
    let csv = String::from_utf8(field.stdout).expect("text");
    let mut lines = csv.lines();
    assert_eq!(
        lines.next(),
        Some("x_mm,y_mm,height_mm,irradiance_mw_cm2,uncertainty_mw_cm2,extrapolated")
    );
    assert_eq!(
        lines.count(),
        10 * 7,
        "0 to 180 and 0 to 120 by 20, edges included"
    );

    let verdict = program(&["verdict", &station, "--height", "20", "--json"]);
    assert_eq!(verdict.status.code(), Some(0));
    let record: serde_json::Value = serde_json::from_slice(&verdict.stdout).expect("JSON");
    assert_eq!(record["height_mm"], 20.0);
    let coldest = &record["coldest"];
    let (spot, assured) = (
        coldest["irradiance_mw_cm2"].as_f64(),
        coldest["assured_mw_cm2"].as_f64(),
    );
    assert!(assured.expect("a bound") < spot.expect("a spot"));
    assert!(record["verdict"].is_null());

    let plain = program(&["verdict", &station, "--model", "inverse-distance", "--json"]);
    let record: serde_json::Value = serde_json::from_slice(&plain.stdout).expect("JSON");
    assert!(record["coldest"]["assured_mw_cm2"].is_null());
    assert!(record["governing_minimum"]["irradiance_mw_cm2"].is_null());

    let out = text(&folder.path().join("sheets"));
    let export = program(&["export", &station, "--out", &out, "--only", "plan,summary"]);
    assert_eq!(export.status.code(), Some(0));
    for name in ["plan.pdf", "plan.csv", "summary.json"] {
        assert!(folder.path().join("sheets").join(name).exists(), "{name}");
    }
    assert!(!folder.path().join("sheets/map.pdf").exists());
    // without sites the fixture is assessed at the lowest measured height, and the record says at which
    let summary = std::fs::read(folder.path().join("sheets/summary.json")).expect("a summary");
    let summary: serde_json::Value = serde_json::from_slice(&summary).expect("JSON");
    assert_eq!(summary["height_mm"], 10.0);
}

#[test]
fn every_page_of_the_map_is_a_picture_too_and_heights_are_said() {
    let folder = tempfile::tempdir().expect("a folder");
    let sample = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/sample-maps/rain-gauge-pallet.ron"
    );
    let out = text(&folder.path().join("out"));
    let export = |more: &[&str]| {
        let only = ["export", sample, "--out", &out, "--only", "map,summary"];
        program(&[&only[..], more].concat())
    };
    let made = export(&[]);
    assert_eq!(made.status.code(), Some(0));
    let listed = String::from_utf8_lossy(&made.stdout).into_owned();
    let pages = (1..)
        .map(|page| match page {
            1 => "map".to_owned(),
            more => format!("map-{more}"),
        })
        .take_while(|name| {
            folder
                .path()
                .join("out")
                .join(format!("{name}.png"))
                .exists()
        })
        .collect::<Vec<_>>();
    assert!(pages.len() > 1, "{listed}");
    for page in &pages {
        for end in ["svg", "png"] {
            assert!(
                listed.contains(&format!("{page}.{end}")),
                "{page}.{end}: {listed}"
            );
        }
    }
    // how far off the map may be has a page of its own
    let said = pages.iter().any(|page| {
        let path = folder.path().join("out").join(format!("{page}.svg"));
        std::fs::read_to_string(path).is_ok_and(|svg| svg.contains("How far off the map may be"))
    });
    assert!(said);
    let summary = std::fs::read(folder.path().join("out/summary.json")).expect("a summary");
    let summary: serde_json::Value = serde_json::from_slice(&summary).expect("JSON");
    let heights: Vec<f64> = (summary["sites"].as_array().expect("sites").iter())
        .map(|site| site["height_mm"].as_f64().expect("a height"))
        .collect();
    let shared = heights.iter().all(|h| *h == heights[0]);
    assert_eq!(summary["height_mm"].as_f64(), shared.then_some(heights[0]));
    // a further page alone is not replaced without asking either
    for page in &pages[..1] {
        for end in ["svg", "png", "pdf"] {
            std::fs::remove_file(folder.path().join("out").join(format!("{page}.{end}"))).ok();
        }
    }
    std::fs::remove_file(folder.path().join("out/summary.json")).expect("removed");
    let again = export(&[]);
    assert_eq!(again.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&again.stderr).contains("map-2"));
    assert_eq!(export(&["--force"]).status.code(), Some(0));
}

#[test]
fn readings_as_spreadsheets_save_them_join_a_station() {
    let folder = tempfile::tempdir().expect("a folder");
    let readings = folder.path().join("zweite.csv");
    let station = text(&folder.path().join("bench.ron"));
    let mut table =
        String::from("\u{feff}Position; X [mm] ;y_mm;Height mm;Irradiance (mW/cm²)\r\n\r\n");
    for i in 0..147 {
        let (x, y, height) = (i % 7, i / 7 % 7, i / 49);
        let far = (f64::from(x) - 3.0).hypot(f64::from(y) - 3.0);
        let irradiance = format!("{:.1}", 120.0 + 8.0 * f64::from(height) - 4.0 * far);
        table += &format!(
            "P{i};{},5;{};{};{}\r\n;;;;\r\n",
            15 + 25 * x,
            12 + 16 * y,
            10 + 10 * height,
            irradiance.replace('.', ",")
        );
    }
    std::fs::write(&readings, &table).expect("written");
    let readings = text(&readings);
    let size = ["--size", "180x120", "--face-height", "75"];
    let make = [&["import", &readings, "--out", &station], &size[..]].concat();
    let made = program(&make);
    assert_eq!(made.status.code(), Some(0));
    assert!(made.stdout.is_empty());
    assert!(String::from_utf8_lossy(&made.stderr).contains("147 readings"));

    let join = [
        "import", &readings, "--into", &station, "--survey", "Second",
    ];
    assert_eq!(program(&join).status.code(), Some(0));
    assert!(folder.path().join("bench.ron.bak").exists());
    let again = program(&join);
    assert_eq!(again.status.code(), Some(2), "one name, one survey");
    assert!(String::from_utf8_lossy(&again.stderr).starts_with(&station));

    // what can't be read is said line by line, and nothing is imported by halves
    std::fs::write(
        &readings,
        table.replace("P1;", "P1;x").replace("P3;", "P3;;"),
    )
    .expect("written");
    let before = std::fs::read(&station).expect("there");
    let bad = program(&["import", &readings, "--into", &station, "--survey", "Third"]);
    assert_eq!(bad.status.code(), Some(2));
    let said = String::from_utf8_lossy(&bad.stderr);
    assert!(said.contains(&format!("{readings}:5:4: ")), "{said}");
    assert!(said.contains(&format!("{readings}:9:")), "{said}");
    assert_eq!(std::fs::read(&station).expect("there"), before);

    let field = program(&[
        "field",
        &station,
        "--height",
        "20",
        "--step",
        "50",
        "--survey",
        "first survey",
    ]);
    assert_eq!(field.status.code(), Some(0));
    assert!(String::from_utf8_lossy(&field.stderr).contains("45 x 40 mm apart"));
}

#[test]
fn a_pattern_is_shown_instead_of_the_plan() {
    let station = sample_maps("rain-gauge-pallet.ron");
    let plan = |more: &[&str]| -> serde_json::Value {
        let output = program(&[&["plan", station.as_str(), "--json"], more].concat());
        assert_eq!(output.status.code(), Some(0));
        serde_json::from_slice(&output.stdout).expect("JSON")
    };
    let stops = |plan: &serde_json::Value| plan["positions"].as_array().map(Vec::len);
    let radius = |plan: &serde_json::Value| plan["largest_gap"]["radius_mm"].as_f64();
    let now = plan(&[]);
    // 7 x 7 positions 27 x 17 mm apart, 9 mm from the rim
    assert_eq!(stops(&now), Some(3 * 49));
    // the rim between two of them is farther away than the middle of four
    let between = 13.5f64.hypot(9.0);
    assert!(radius(&now).is_some_and(|r| (r - between).abs() < 0.01));
    // 164 and 104 mm between the corners' seats in steps of 20, at three heights
    assert_eq!(stops(&plan(&["--pattern", "rim"])), Some(3 * 30));
    assert_eq!(stops(&plan(&["--pattern", "sites"])), Some(3 * 12));
    assert_eq!(
        stops(&plan(&["--pattern", "rows", "--rows", "3"])),
        Some(3 * 14)
    );
    let rings = plan(&["--pattern", "rings", "--rings", "2"]);
    assert_eq!(stops(&rings), Some(3 * 19));
    // 52 mm are left between the middle and the rim; the corners are farthest away
    assert!(radius(&rings).is_some_and(|r| r > 40.0));
}

#[test]
fn what_can_not_be_done_is_said_in_one_message_with_status_2() {
    let station = sample_maps("rain-gauge-pallet.ron");
    for (arguments, said) in [
        (vec!["verdict", "nowhere.ron"], "nowhere.ron"),
        (
            vec!["verdict", &station, "--survey", "None such"],
            "'First round'",
        ),
        (vec!["field", &station, "--height", "75"], "below it"),
        (
            vec!["import", "nowhere.csv", "--into", &station],
            "--survey",
        ),
        (
            vec!["import", "nowhere.csv", "--into", &station, "--survey", "2"],
            "nowhere.csv: the file could not be read: it is not there; check",
        ),
        (
            vec!["import", "a.csv", "--out", "a.ron", "--size", "180x120"],
            "--face-height",
        ),
        (
            vec!["export", &station, "--out", &station, "--only", "plan"],
            "a file of that name is there",
        ),
        (
            vec!["field", &station, "--height", "20", "--step", "0"],
            "--step",
        ),
        (
            vec!["plan", &station, "--pattern", "rows", "--margin", "70"],
            "The margin is more than half of the fixture's 120 mm",
        ),
        (vec!["plan", &station, "--columns", "7"], "--pattern"),
        (
            vec!["plan", &station, "--pattern", "rows", "--within", "4"],
            "--pattern around",
        ),
        (
            vec!["plan", &sample_maps("rain-gauge-pallet-readings.csv")],
            "rain-gauge",
        ),
    ] {
        let output = program(&arguments);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        let message = String::from_utf8_lossy(&output.stderr);
        assert!(message.contains(said), "{arguments:?}: {message}");
        assert!(output.stdout.is_empty());
    }
}

#[cfg(target_os = "linux")]
#[test]
fn without_a_display_the_window_says_what_to_do_instead() {
    let output = program(&[]);
    assert_eq!(output.status.code(), Some(2));
    let message = String::from_utf8_lossy(&output.stderr);
    assert!(message.contains("evenfield export"), "{message}");
    assert_eq!(message.lines().count(), 1);
}

/// Two people, two rounds each, with the pallet put back between: said, as JSON and on paper.
#[test]
fn a_repeat_study_is_said_and_printed() {
    use evenfield::geometry::{Place, Shape};
    use evenfield::station::{Reading, RepeatStudy, Round, Station};
    let folder = tempfile::tempdir().expect("a folder");
    let shape = Shape::Rectangle {
        width: 120.0,
        depth: 80.0,
    };
    let mut station = Station::new("Bench", shape, 90.0);
    let mut rounds = Vec::new();
    for (i, who) in ["A. B.", "C. D.", "A. B.", "C. D."].iter().enumerate() {
        let day = jiff::civil::date(2026, 5, 4 + i as i8 / 2);
        let mut survey = station.new_survey(&format!("Round {}", i + 1), day);
        survey.operator = (*who).into();
        survey.readings = (0..12)
            .map(|p| {
                let at = Place::new(
                    20.0 + 25.0 * (p % 4) as f64,
                    15.0 + 25.0 * (p / 4) as f64,
                    10.0,
                );
                let scatter = 1.0 + 0.01 * ((p * 7 + i * 5) as f64).sin();
                let light = 60.0 - 0.004 * ((at.x - 60.0).powi(2) + (at.y - 40.0).powi(2));
                Reading {
                    position: format!("P{p}"),
                    ..Reading::new(at, Some(light * scatter))
                }
            })
            .collect();
        rounds.push(Round {
            survey: survey.name.clone(),
            reset: i == 2,
        });
        station.surveys.push(survey.into());
    }
    let path = text(&folder.path().join("two.ron"));
    let write = |station: &Station| {
        std::fs::write(&path, evenfield::files::write(station).expect("sound")).expect("written");
    };
    write(&station);
    let none = program(&["repeat", &path]);
    assert_eq!(none.status.code(), Some(2));
    assert!(
        String::from_utf8_lossy(&none.stderr)
            .contains("No surveys are chosen for the repeat study")
    );
    station.repeat = Some(RepeatStudy { rounds });
    write(&station);
    let said = program(&["repeat", &path]);
    assert_eq!(said.status.code(), Some(0), "{said:?}");
    let said = String::from_utf8_lossy(&said.stdout).into_owned();
    assert!(
        said.starts_with("Bench: 4 rounds over 12 positions"),
        "{said}"
    );
    assert!(said.contains("2 people give 1 degree of freedom"), "{said}");
    let json = program(&["repeat", &path, "--json"]);
    let record: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    assert_eq!(record["between"], "people");
    assert_eq!(record["settings"], 2);
    assert_eq!(record["components"][0]["what"], "repeatability");
    assert_eq!(record["components"][0]["freedom"], 11.0);
    let out = text(&folder.path().join("out"));
    let export = program(&["export", &path, "--out", &out, "--only", "repeat"]);
    assert_eq!(export.status.code(), Some(0), "{export:?}");
    let pdf = std::fs::read(folder.path().join("out/repeat.pdf")).expect("a page");
    assert!(pdf.starts_with(b"%PDF"));
    assert!(folder.path().join("out/repeat.json").exists());
}
