//! Limits from the document to the exit status: what is put on record, what is said, what the command line
//! ends with.

use std::process::Command;

use evenfield::assess::limits::{Scale, Together, Verdict};
use evenfield::assess::{Answer, Assessment, Request, answer_with, fit_survey};
use evenfield::progress::Progress;
use evenfield::session::sample;
use evenfield::station::limits::{Figure, Least, Limits, Monitor, Origin, Transmission, Upper};
use evenfield::station::trials::Trial;
use evenfield::station::{Edit, Family, GoverningRule, Station, Trials};
use jiff::civil::date;

fn typed(irradiance: f64, origin: Origin) -> Figure {
    Figure {
        irradiance: Some(irradiance),
        origin,
        ..Figure::default()
    }
}

/// The sample with other limits: a lower one, and an upper one where it is above zero.
fn with_limits(lower: f64, upper: f64, origin: Origin) -> Station {
    let mut station = sample();
    station.limits = Some(Box::new(Limits {
        least: Least::Typed(typed(lower, origin)),
        upper: (upper > 0.0).then(|| Upper {
            figure: typed(upper, origin),
            ..Upper::default()
        }),
        exposure_s: Some(8.0),
        ..Limits::default()
    }));
    station
}

fn answered(station: &Station) -> Answer {
    let (request, progress) = (Request::default(), Progress::new());
    let fit = fit_survey(station, &request, &progress).expect("a field");
    answer_with(&fit, station, &request, &progress).expect("an answer")
}

/// The sample's coldest spot, held against nothing that matters.
fn coldest() -> evenfield::assess::Spot {
    answered(&with_limits(1.0, 0.0, Origin::SamePair)).coldest
}

fn saved(folder: &tempfile::TempDir, name: &str, station: &Station) -> String {
    let path = folder.path().join(name);
    let text = evenfield::files::write(station).expect("the station can be written");
    std::fs::write(&path, text).expect("written");
    path.to_string_lossy().into_owned()
}

fn program(arguments: &[&str]) -> (Option<i32>, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_evenfield"))
        .args(arguments)
        .output()
        .expect("the program runs");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (
        output.status.code(),
        text(&output.stdout),
        text(&output.stderr),
    )
}

#[test]
fn the_minimum_that_governs_is_the_one_that_is_judged() {
    let progress = Progress::new();
    let of = |origin, rule| {
        let mut station = with_limits(60.0, 0.0, origin);
        station.settings.rule = rule;
        let request = Request::default();
        let assessed = Assessment::of(&station, &request, &progress).expect("an answer");
        (station, assessed)
    };
    for (origin, scale) in [
        (Origin::SamePair, Scale::Relative),
        (Origin::DataSheet, Scale::Absolute),
    ] {
        let (station, assessed) = of(origin, GoverningRule::AssuredMinimum);
        let answer = &assessed.answer;
        let judged = answer.judged().expect("judged");
        let cold = &answer.coldest;
        assert!(
            cold.at_least_absolute < cold.at_least,
            "else they can't be told apart"
        );
        let expected = match scale {
            Scale::Relative => cold.at_least,
            Scale::Absolute => cold.at_least_absolute,
        };
        assert_eq!(answer.governing.irradiance, expected);
        assert_eq!(answer.governing.scale, Some(scale));
        assert_eq!(judged.coldest.bounds.at_least, expected);
        assert_eq!(judged.coldest.at, cold.at);
        // the record says which, and the table of distances has it
        let show = |e: f64| e.to_string();
        let all = assessed.outlook(&station, &show, &progress);
        let all = all.expect("an outlook").expect("limits");
        let rows = &all.distances.rows;
        let used = rows.iter().find(|r| r.in_use).expect("a row in use");
        assert_eq!(used.judged, expected);
        for row in rows.iter().filter(|r| !r.in_use) {
            let (assured, judged) = (row.assured.expect("bound"), row.judged.expect("bound"));
            match scale {
                Scale::Relative => assert_eq!(assured, judged),
                Scale::Absolute => assert!(judged < 0.99 * assured, "{judged} {assured}"),
            }
        }
        let record = evenfield::record::VerdictRecord::new(&station, answer, Some(&all));
        let which = evenfield::record::scale_name(scale);
        assert_eq!(record.governing_minimum.bound, Some(which));
        let written = serde_json::to_value(&record).expect("a record");
        let said = written["governing_minimum"]["irradiance_mw_cm2"].as_f64();
        assert!((said.expect("a number") - expected.expect("a bound")).abs() < 1e-4);
    }
    let (_, Assessment { answer, .. }) = of(Origin::DataSheet, GoverningRule::ColdestReading);
    assert_eq!(answer.governing.scale, None);
    assert_eq!(
        answer.governing.irradiance,
        Some(answer.coldest_reading.irradiance)
    );
}

#[test]
fn exit_statuses_say_the_verdict() {
    let folder = tempfile::tempdir().expect("a folder");
    // coldest spot 67.2, assured 66.0, at most a little above 68
    for (name, lower, upper, status, said) in [
        ("meets.ron", 50.0, 200.0, 0, "meets"),
        ("open.ron", 67.2, 200.0, 3, "not proven"),
        ("cold.ron", 75.0, 200.0, 1, "fails"),
        ("hot.ron", 50.0, 140.0, 1, "fails"),
    ] {
        let file = saved(&folder, name, &with_limits(lower, upper, Origin::SamePair));
        let (code, out, _) = program(&["verdict", &file, "--json"]);
        assert_eq!(code, Some(status), "{name}");
        let record: serde_json::Value = serde_json::from_str(&out).expect("JSON");
        assert_eq!(record["verdict"], said, "{name}");
        assert_eq!(record["limits"]["lower_mw_cm2"], lower);
        assert_eq!(record["limits"]["verdict"], said);
        let sites = record["sites"].as_array().expect("sites");
        assert!(sites.iter().all(|s| s["verdict"].is_string()));
        let (code, out, _) = program(&["verdict", &file, "--require-limits"]);
        assert_eq!(code, Some(status));
        assert!(
            out.contains(&format!("All parts together: {said}")),
            "{out}"
        );
    }
    let mut bare = sample();
    bare.limits = None;
    let file = saved(&folder, "bare.ron", &bare);
    let (code, _, message) = program(&["verdict", &file]);
    assert_eq!(code, Some(0));
    assert!(message.contains("No limits are set"), "{message}");
    for arguments in [
        &["verdict", &file, "--require-limits"][..],
        &["limits", &file],
    ] {
        let (code, out, message) = program(arguments);
        assert_eq!((code, out.as_str()), (Some(2), ""));
        assert!(
            message.starts_with(&file) && message.contains("limits"),
            "{message}"
        );
    }
    // no draws, no proof
    let file = saved(
        &folder,
        "plain.ron",
        &with_limits(10.0, 900.0, Origin::SamePair),
    );
    let (code, out, _) = program(&["verdict", &file, "--model", "inverse-distance", "--json"]);
    assert_eq!(code, Some(3));
    let record: serde_json::Value = serde_json::from_str(&out).expect("JSON");
    assert_eq!(record["verdict"], "not proven");
}

#[test]
fn limits_are_said_as_specified_with_and_without_readings() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut station = with_limits(75.0, 300.0, Origin::SamePair);
    station.exposure = None;
    if let Some(limits) = &mut station.limits {
        limits.safety_factor_percent = 50.0;
    }
    let mut unread = station.clone();
    unread.surveys.clear();
    let file = saved(&folder, "unread.ron", &unread);
    let (code, out, _) = program(&["limits", &file, "--json"]);
    assert_eq!(code, Some(0));
    let record: serde_json::Value = serde_json::from_str(&out).expect("JSON");
    for (key, wanted) in [
        ("least_irradiance_mw_cm2", 75.0),
        ("exposure_s", 8.0),
        ("safety_factor_percent", 50.0),
        ("lower_mw_cm2", 112.5),
        ("lower_written_mw_cm2", 113.0),
        ("upper_mw_cm2", 300.0),
        ("dose_mj_cm2", 900.0),
    ] {
        assert_eq!(record[key], wanted, "{key}");
    }
    assert!(record["monitor"].is_null() && record["verdict"].is_null());
    assert!(!record["warnings"].as_array().expect("warnings").is_empty());

    let file = saved(
        &folder,
        "read.ron",
        &with_limits(50.0, 300.0, Origin::SamePair),
    );
    let (code, out, _) = program(&["limits", &file, "--json"]);
    assert_eq!(code, Some(0));
    let record: serde_json::Value = serde_json::from_str(&out).expect("JSON");
    let monitor = &record["monitor"];
    let number = |key: &str| {
        monitor[key]
            .as_f64()
            .unwrap_or_else(|| panic!("{key}: {monitor}"))
    };
    let (least, set, most) = (
        number("least_mw_cm2"),
        number("set_mw_cm2"),
        number("most_mw_cm2"),
    );
    assert!(least < set && set < most, "{monitor}");
    assert!(number("x_mm") > 0.0 && number("y_mm") > 0.0 && number("height_mm") > 0.0);
    // the budget names all seven, and what other distances do
    assert_eq!(record["budget"].as_array().expect("a budget").len(), 7);
    let distances = record["distances"].as_array().expect("distances");
    assert!(distances.len() >= 3);
    assert_eq!(distances.iter().filter(|d| d["in_use"] == true).count(), 1);
    // one reading of the sample is excluded: what would be said with it
    assert_eq!(record["with_excluded"]["excluded"], 1);
    let (code, out, _) = program(&["limits", &file]);
    assert_eq!(code, Some(0));
    assert!(
        out.contains("Monitor position") && out.contains("yours to validate"),
        "{out}"
    );
}

/// A reading that is 12 % too high at the coldest corner, at the one height that was read, may pass for the field's own
/// rise there; but it is said that the verdict hangs on it, until it was read a second time.
#[test]
fn a_verdict_that_hangs_on_one_position_says_so() {
    let mut station = with_limits(70.0, 0.0, Origin::SamePair);
    let readings = &mut station.surveys[0].readings;
    let low = readings
        .iter()
        .map(|r| r.height)
        .fold(f64::INFINITY, f64::min);
    readings.retain(|r| r.height == low);
    let coldest = readings
        .iter()
        .enumerate()
        .filter_map(|(row, r)| Some((row, r.counted()?)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .expect("readings")
        .0;
    let told = |station: &Station| {
        let (request, progress) = (Request::default(), Progress::new());
        let assessed = Assessment::of(station, &request, &progress).expect("an answer");
        let judged = assessed.answer.judged().expect("judged").clone();
        let show = |e: f64| format!("{e:.1} mW/cm²");
        let outlook = assessed.outlook(station, &show, &progress);
        (
            judged,
            outlook.expect("an outlook").expect("limits").hanging,
        )
    };
    let name = station.surveys[0].readings[coldest].position.clone();
    let reading = &mut station.surveys[0].readings[coldest];
    reading.irradiance = reading.irradiance.map(|e| 1.12 * e);
    // a limit that is met by a hair with the false reading
    let met = answered(&station).coldest.at_least.expect("a bound");
    station.limits = with_limits(0.999 * met, 0.0, Origin::SamePair).limits;
    let (judged, hanging) = told(&station);
    assert_eq!(judged.verdict, Verdict::Meets);
    assert_eq!(hanging.len(), 1, "{hanging:?}");
    assert_eq!(hanging[0].position, name);
    assert_ne!(hanging[0].verdict, Verdict::Meets);
    // read again, the same: now two readings bear each other out
    let mut again = station.surveys[0].readings[coldest].clone();
    again.repeat += 1;
    station.surveys[0].readings.push(again);
    let (judged, hanging) = told(&station);
    assert_eq!(judged.verdict, Verdict::Meets);
    assert!(hanging.iter().all(|h| h.position != name), "{hanging:?}");
}

/// A limit just below the bound bears little of an error that all readings share, one far below it more than is asked; of
/// a detector whose directional response is known nothing is said.
#[test]
fn what_a_verdict_bears_of_shared_errors_is_said() {
    let station = with_limits(1.0, 0.0, Origin::SamePair);
    let bound = answered(&station).coldest.at_least.expect("a bound");
    let borne = |station: &Station, part: f64| {
        let mut station = station.clone();
        station.limits = with_limits(part * bound, 0.0, Origin::SamePair).limits;
        let (request, progress) = (Request::default(), Progress::new());
        let assessed = Assessment::of(&station, &request, &progress).expect("an answer");
        let show = |e: f64| format!("{e:.1} mW/cm²");
        let outlook = assessed.outlook(&station, &show, &progress);
        outlook.expect("an outlook").expect("limits").borne
    };
    let by_a_hair = borne(&station, 0.995);
    assert_eq!(by_a_hair.len(), 1, "{by_a_hair:?}");
    assert_eq!(by_a_hair[0].of, Together::Aside);
    assert!((0.05..1.0).contains(&by_a_hair[0].most), "{by_a_hair:?}");
    let by_more = borne(&station, 0.98);
    assert!(by_more[0].most > by_a_hair[0].most, "{by_more:?}");
    assert_eq!(borne(&station, 0.5), [], "it bears all that is asked");
}

#[test]
fn what_keeps_limits_from_holding_is_one_sentence() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut station = sample();
    station.limits = Some(Box::new(Limits {
        least: Least::Typed(Figure::default()),
        ..Limits::default()
    }));
    let file = saved(&folder, "no-figure.ron", &station);
    let (code, _, message) = program(&["limits", &file]);
    assert_eq!(code, Some(2));
    assert!(
        message.contains("least irradiance for full cure is given"),
        "{message}"
    );
    assert_eq!(message.lines().count(), 1);
    // the field is still answered
    let (code, _, message) = program(&["verdict", &file]);
    assert_eq!(code, Some(0));
    assert!(message.contains("no verdict yet"), "{message}");
}

#[test]
fn a_negative_or_missing_number_is_refused_where_it_is_typed() {
    let mut station = sample();
    let good = station.limits.clone().expect("the sample has limits");
    let refused = |change: &dyn Fn(&mut Limits), said: &str| {
        let mut limits = good.clone();
        change(&mut limits);
        let mut station = sample();
        let why = station
            .apply(Edit::SetLimits(limits))
            .expect_err(said)
            .to_string();
        assert!(why.contains(said), "{why}");
        assert_eq!(station, sample(), "nothing is changed");
    };
    refused(
        &|l| l.least = Least::Typed(typed(-3.0, Origin::SamePair)),
        "least irradiance is -3",
    );
    refused(&|l| l.safety_factor_percent = -5.0, "safety factor is -5");
    refused(&|l| l.exposure_s = Some(0.0), "exposure time is 0");
    refused(&|l| l.allowances.until_check_percent = 100.0, "100 %");
    refused(
        &|l| l.fading_percent_per_100_h = Some(f64::NAN),
        "not a number",
    );
    refused(
        &|l| {
            l.transmission.push(Transmission {
                sites: "A1".into(),
                percent: 0.0,
            });
        },
        "transmission is 0",
    );
    refused(
        &|l| {
            l.upper = Some(Upper {
                figure: typed(f64::INFINITY, Origin::SamePair),
                ..Upper::default()
            });
        },
        "upper limit is not a number",
    );
    station.limits = None;
    for edit in [Edit::RemoveLimits, Edit::FreezeLimits, Edit::ThawLimits] {
        let why = station.apply(edit).expect_err("there are none").to_string();
        assert_eq!(why, "there are no limits; set them first");
    }
}

#[test]
fn a_change_after_freezing_is_on_record() {
    let mut station = sample();
    station.limits = None;
    let day = |d| Some(date(2026, 10, d));
    let set = |station: &Station, change: &dyn Fn(&mut Limits)| {
        let mut limits = station.limits.clone().unwrap_or_default();
        change(&mut limits);
        Edit::SetLimits(limits)
    };
    let record = |station: &Station| station.limits.as_ref().expect("limits").record.clone();
    let first = set(&station, &|l| {
        l.least = Least::Typed(typed(50.0, Origin::SamePair))
    });
    station.apply_on(first, day(1)).expect("taken");
    let changed = set(&station, &|l| l.safety_factor_percent = 50.0);
    station.apply_on(changed, day(1)).expect("taken");
    assert!(record(&station).is_empty(), "nothing is frozen yet");
    station.apply_on(Edit::FreezeLimits, day(2)).expect("taken");
    let frozen = station
        .limits
        .as_ref()
        .and_then(|l| l.frozen)
        .expect("frozen");
    assert_eq!(frozen.on, day(2));
    assert_eq!(
        frozen.readings, 151,
        "the record says that readings were there"
    );

    let lower = set(&station, &|l| l.safety_factor_percent = 20.0);
    station.apply_on(lower, day(3)).expect("taken");
    let mut settings = station.settings.clone();
    settings.rule = GoverningRule::ColdestReading;
    station
        .apply_on(Edit::SetSettings(settings), day(4))
        .expect("taken");
    // an edit can't take the record away
    let wiped = set(&station, &|l| {
        l.record.clear();
        l.frozen = None;
    });
    station.apply_on(wiped, day(5)).expect("taken");
    station
        .apply_on(Edit::RemoveLimits, day(5))
        .expect_err("it is on record");
    station.apply_on(Edit::ThawLimits, day(6)).expect("taken");
    station
        .apply_on(Edit::RemoveLimits, day(6))
        .expect_err("it is on record");
    let said: Vec<(Option<jiff::civil::Date>, String)> = record(&station)
        .into_iter()
        .map(|c| (c.on, c.what))
        .collect();
    assert_eq!(
        said,
        [
            (day(3), "safety factor from 50 % to 20 %".to_owned()),
            (day(4), "governing rule".to_owned()),
            (day(6), "set free to be changed".to_owned()),
        ]
    );
    // what is no term of the verdict is no change of it
    let mut again = sample();
    let monitor = set(&again, &|l| {
        l.monitor = Some(Monitor {
            name: "D4".into(),
            at: evenfield::geometry::Place::new(90.0, 60.0, 20.0),
        });
    });
    again.apply_on(monitor, day(7)).expect("taken");
    assert!(record(&again).is_empty());
}

#[test]
fn the_origin_decides_which_bound_is_held_against_the_limit() {
    // between the absolute and the relative assured minimum
    let spot = coldest();
    let (absolute, relative) = (spot.at_least_absolute, spot.at_least);
    let between = 0.5 * (absolute.expect("a bound") + relative.expect("a bound"));
    let same = answered(&with_limits(between, 0.0, Origin::SamePair));
    let judged = same.judged.expect("limits").expect("a limit");
    assert_eq!(
        (judged.verdict, judged.terms.lower.scale),
        (Verdict::Meets, Scale::Relative)
    );
    for origin in [Origin::OtherPair, Origin::DataSheet] {
        let other = answered(&with_limits(between, 0.0, origin));
        let judged = other.judged.expect("limits").expect("a limit");
        assert_eq!(
            (judged.verdict, judged.terms.lower.scale),
            (Verdict::NotProven, Scale::Absolute)
        );
    }
    // without the calibration's uncertainty there is no absolute bound, and so no proof
    let mut unknown = with_limits(10.0, 0.0, Origin::DataSheet);
    if let Some(radiometer) = &mut unknown.surveys[0].radiometer {
        radiometer.expanded_uncertainty_percent = None;
    }
    let judged = answered(&unknown).judged.expect("limits").expect("a limit");
    assert_eq!(judged.verdict, Verdict::NotProven);
}

#[test]
fn the_coldest_reading_alone_fails_and_never_meets() {
    // far inside both limits
    let mut station = with_limits(20.0, 900.0, Origin::SamePair);
    assert_eq!(
        answered(&station)
            .judged
            .expect("limits")
            .expect("a limit")
            .verdict,
        Verdict::Meets
    );
    station.settings.rule = GoverningRule::ColdestReading;
    let judged = answered(&station).judged.expect("limits").expect("a limit");
    assert_eq!(judged.verdict, Verdict::NotProven);
    assert!(judged.sites.iter().all(|v| *v == Verdict::NotProven));
    let mut dark = with_limits(140.0, 900.0, Origin::SamePair);
    dark.settings.rule = GoverningRule::ColdestReading;
    assert_eq!(
        answered(&dark)
            .judged
            .expect("limits")
            .expect("a limit")
            .verdict,
        Verdict::Fails
    );
}

#[test]
fn a_substrate_weakens_what_counts_and_nothing_else() {
    let plain = answered(&with_limits(50.0, 0.0, Origin::SamePair));
    let mut station = with_limits(50.0, 0.0, Origin::SamePair);
    if let Some(limits) = &mut station.limits {
        // the hot middle behind dark glass becomes the coldest
        limits.transmission.push(Transmission {
            sites: "Body B2".into(),
            percent: 40.0,
        });
    }
    let behind = answered(&station);
    assert_eq!(plain.coldest, behind.coldest, "the field is what it is");
    let (plain, behind) = (
        plain.judged.expect("limits").expect("a limit"),
        behind.judged.expect("limits").expect("a limit"),
    );
    let b2 = answered(&station)
        .sites
        .into_iter()
        .find(|s| s.site == "Body B2")
        .expect("B2");
    assert!((behind.coldest.estimate / (0.4 * b2.coldest.irradiance) - 1.0).abs() < 1e-9);
    let bound = behind.coldest.bounds.at_least.expect("a bound");
    let of_site = 0.4 * b2.coldest.at_least.expect("a bound");
    assert!((bound / of_site - 1.0).abs() < 0.002, "{bound} {of_site}");
    assert!(behind.through_substrate && !plain.through_substrate);
}

#[test]
fn what_would_settle_an_open_verdict_settles_it() {
    // open by a little, with the estimate on the good side
    let spot = coldest();
    let bound = spot.at_least.expect("a bound");
    let lower = bound + 0.1 * (spot.irradiance - bound);
    let station = with_limits(lower, 0.0, Origin::SamePair);
    let (request, progress) = (Request::default(), Progress::new());
    let assessed = Assessment::of(&station, &request, &progress).expect("an answer");
    let judged = assessed.answer.judged().expect("a limit");
    assert_eq!(judged.verdict, Verdict::NotProven);
    let show = |e: f64| format!("{e:.2}");
    let made = assessed.outlook(&station, &show, &progress);
    let made = made.expect("made").expect("limits");
    let fit = &assessed.fit;
    let settle = made.settle.first().expect("something would");
    let more = settle
        .readings
        .as_ref()
        .unwrap_or_else(|| panic!("{:?}", settle.sentences));
    // read what the field says there, as often as asked, and the verdict is meets
    let there = fit
        .field
        .irradiance(&[more.at], &progress)
        .expect("a value")[0];
    let mut read = station.clone();
    for i in 0..more.repeats {
        read.surveys[0].readings.push(evenfield::station::Reading {
            repeat: i + 1,
            ..evenfield::station::Reading::new(more.at, Some(there))
        });
    }
    let before = judged.coldest.bounds.at_least.expect("a bound");
    let after = answered(&read).judged.expect("limits").expect("a limit");
    let bound = after.coldest.bounds.at_least.expect("a bound");
    println!(
        "{} readings at {:?}: {before} to {bound}",
        more.repeats, more.at
    );
    assert!(bound > before, "{before} {bound}");

    // with the estimate below the limit no reading is asked for
    let above = 0.5 * (spot.irradiance + spot.at_most.expect("a bound"));
    let dim = with_limits(above, 0.0, Origin::SamePair);
    let assessed = Assessment::of_fit(fit.clone(), &dim, &request, &progress).expect("an answer");
    if assessed.answer.judged().expect("a limit").verdict == Verdict::NotProven {
        let made = assessed.outlook(&dim, &show, &progress);
        let made = made.expect("made").expect("limits");
        let settle = made.settle.first().expect("a sentence");
        assert!(settle.readings.is_none());
        assert!(settle.sentences[0].starts_with("More readings would not prove it"));
    }
}

#[test]
fn a_family_without_draws_says_so_everywhere() {
    let mut station = with_limits(20.0, 900.0, Origin::SamePair);
    station.settings.family = Some(Family::InverseDistance);
    let (request, progress) = (Request::default(), Progress::new());
    let assessed = Assessment::of(&station, &request, &progress).expect("an answer");
    let judged = assessed.answer.judged().expect("a limit");
    assert_eq!(judged.verdict, Verdict::NotProven);
    let show = |e: f64| e.to_string();
    let made = assessed.outlook(&station, &show, &progress);
    let made = made.expect("made").expect("limits");
    assert!(made.settle[0].sentences[0].contains("says nothing of how far off"));
    let why = made
        .monitor
        .expect("a position")
        .window
        .expect_err("no draws");
    assert!(why.contains("not proven"), "{why}");
}

#[test]
fn trials_that_tell_nothing_keep_the_limit_from_holding_with_their_sentence() {
    let of_levels = |levels: &[(f64, f64)]| {
        let parts = levels.iter().flat_map(|&(e, result)| {
            [-0.2, 0.1, 0.1].map(|scatter| Trial::new(e, 8.0, result + scatter))
        });
        Trials {
            parts: parts.collect(),
            cooled: true,
            ..Trials::default()
        }
    };
    let falling = of_levels(&[(20.0, 18.0), (40.0, 14.0), (60.0, 10.0), (80.0, 6.0)]);
    let one = of_levels(&[(50.0, 18.0)]);
    for trials in [None, Some(one), Some(falling)] {
        let mut station = sample();
        station.trials = trials;
        let why =
            evenfield::trials::least(&station, Default::default()).expect_err("nothing is told");
        let judged = answered(&station).judged.expect("limits are set");
        assert_eq!(judged.expect_err("no lower limit"), why);
    }
    // from the trials the pair goes with the figure: another calibration counts the calibration uncertainty in full
    let mut station = sample();
    let judged = answered(&station).judged.expect("limits").expect("a limit");
    assert_eq!(judged.terms.lower.scale, Scale::Relative);
    if let Some(radiometer) = &mut station.surveys[0].radiometer {
        radiometer.calibrated_on = Some(date(2026, 8, 1));
    }
    let judged = answered(&station).judged.expect("limits").expect("a limit");
    assert_eq!(judged.terms.lower.scale, Scale::Absolute);
    if let Some(trials) = &mut station.trials {
        trials.radiometer = None;
    }
    let judged = answered(&station).judged.expect("limits").expect("a limit");
    assert_eq!(
        judged.terms.lower.scale,
        Scale::Absolute,
        "no pair was named"
    );
}
