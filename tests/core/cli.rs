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
        (vec!["verdict", &station, "--require-limits"], "limits"),
        (
            vec!["field", &station, "--height", "20", "--step", "0"],
            "--step",
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
