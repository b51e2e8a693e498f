//! Upkeep: the log as a part of the document, what counts on whose scale, the trail of the file, and the command line.

use std::process::Command;

use evenfield::files::{self, Digest, Saver, Trail, TrailGap};
use evenfield::geometry::Shape;
use evenfield::progress::Progress;
use evenfield::session::{History, Session};
use evenfield::station::{
    Beside, Calibration, Difference, Edit, Event, Happened, LogEntry, Papers, Radiometer,
    Signature, Station, Upkeep,
};
use evenfield::upkeep::{
    Carried, Daily, DueWhat, MonitorTerms, MonitorWindow, Remedy, Review, SetBy, Side, Standing,
    Why, side,
};
use jiff::civil::{DateTime, date};

use crate::sample::year;

fn bench() -> Station {
    let mut station = Station::new("bench", Shape::Circle { diameter: 90.0 }, 80.0);
    for (name, band) in [("R1", "UVA"), ("R2", "UVA"), ("R3", "visible")] {
        let radiometer = Radiometer {
            band: band.into(),
            range: Some(200.0),
            due: Some(date(2026, 12, 31)),
            expanded_uncertainty_percent: Some(5.0),
            ..Radiometer::new(name, Shape::Circle { diameter: 20.0 })
        };
        station
            .apply(Edit::AddRadiometer(radiometer))
            .expect("sound");
    }
    station
}

fn at(month: i8, day: i8) -> DateTime {
    date(2026, month, day).at(8, 0, 0, 0)
}

fn entry(month: i8, day: i8, irradiance: f64, radiometer: &str) -> LogEntry {
    LogEntry {
        radiometer: radiometer.into(),
        ..LogEntry::new(at(month, day), irradiance)
    }
}

fn log(station: &mut Station, entries: Vec<LogEntry>) {
    let name = String::new();
    station
        .apply(Edit::AddToLog { entries, name })
        .expect("sound");
}

fn set(station: &mut Station, change: impl FnOnce(&mut Upkeep)) {
    let mut upkeep = station.upkeep().without_log();
    change(&mut upkeep);
    let edit = Edit::SetUpkeep {
        upkeep: Box::new(upkeep),
        name: "change".into(),
    };
    station.apply(edit).expect("sound");
}

fn terms(station: &Station) -> MonitorTerms {
    MonitorTerms {
        on: date(2026, 1, 5),
        window: Some(MonitorWindow {
            least: 90.0,
            most: Some(120.0),
            set: Some(110.0),
        }),
        coldest_share: Some(0.5),
        set_by: SetBy::Drive,
        ..MonitorTerms::without(station)
    }
}

fn calibrated(month: i8, day: i8, radiometer: &str, found: Option<f64>) -> Event {
    Event {
        at: at(month, day),
        what: Happened::Calibrated(Calibration {
            due: Some(date(2027, 6, 30)),
            found_percent: found,
            expanded_uncertainty_percent: Some(4.0),
            ..Calibration::of(radiometer)
        }),
        by: String::new(),
        note: String::new(),
    }
}

#[test]
fn a_refused_entry_changes_nothing() {
    let mut station = bench();
    log(&mut station, vec![entry(2, 1, 100.0, "R1")]);
    let before = station.clone();
    for bad in [f64::NAN, -1.0, f64::INFINITY] {
        let entries = vec![entry(2, 2, 99.0, "R1"), entry(2, 3, bad, "R1")];
        let name = String::new();
        assert!(station.apply(Edit::AddToLog { entries, name }).is_err());
        assert!(
            station
                .apply(Edit::SetInLog(0, entry(2, 1, bad, "R1")))
                .is_err()
        );
    }
    assert!(
        station
            .apply(Edit::SetInLog(1, entry(2, 1, 90.0, "R1")))
            .is_err()
    );
    assert!(station.apply(Edit::RemoveFromLog(vec![0, 1])).is_err());
    assert_eq!(station, before);
}

#[test]
fn an_entry_moves_where_its_time_belongs_and_undo_brings_it_back() {
    let mut station = bench();
    log(
        &mut station,
        (1..=9).map(|d| entry(2, d, f64::from(d), "R1")).collect(),
    );
    let mut history = History::new(station.clone().into());
    let moved = Edit::SetInLog(0, entry(2, 20, 0.5, "R1"));
    history
        .apply(moved, None, date(2026, 2, 20))
        .expect("sound");
    let values: Vec<f64> = history
        .now()
        .upkeep()
        .log
        .iter()
        .map(|e| e.irradiance)
        .collect();
    assert_eq!(values, [2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 0.5]);
    let remove = Edit::RemoveFromLog(vec![8, 1, 1]);
    history
        .apply(remove, None, date(2026, 2, 20))
        .expect("sound");
    assert_eq!(history.now().upkeep().log.len(), 7);
    assert!(history.undo() && history.undo());
    assert_eq!(**history.now(), station);
}

/// Ten thousand entries: an edit shares all months but its own with the document before, and the journal has that month only.
#[test]
fn a_long_log_is_told_by_the_month_that_changed() {
    let mut station = bench();
    let entries = (0..10_000i64).map(|n| {
        let at = at(1, 1)
            .checked_add(jiff::Span::new().hours(12 * n))
            .expect("a day");
        LogEntry::new(at, 100.0 + (n % 7) as f64)
    });
    log(&mut station, entries.collect());
    let before = station.clone();
    log(&mut station, vec![entry(5, 17, 99.0, "R1")]);
    let (a, b) = (before.upkeep(), station.upkeep());
    let shared = a.log.months().iter().zip(b.log.months());
    let others = shared.filter(|(a, b)| !a.is(b)).count();
    assert_eq!(others, 1);
    let difference = Difference::of(&station, &before);
    let text = ron::to_string(&difference).expect("text");
    assert!(text.len() < 20_000, "{}", text.len());
    let restored = difference.restored(&before).expect("it belongs to that");
    assert_eq!(restored, station);
    let months = |s: &Station| s.upkeep().log.months().to_vec();
    let shared = months(&restored)
        .iter()
        .zip(&months(&before))
        .filter(|(a, b)| a.is(b))
        .count();
    assert_eq!(shared, a.log.months().len() - 1);
    assert_eq!(
        Difference::of(&before, &station).restored(&station),
        Some(before)
    );
}

#[test]
fn what_does_not_count_is_kept_as_a_note() {
    let mut station = bench();
    let mut aside = entry(2, 4, 100.0, "R1");
    aside.set_aside = Some("door open".into());
    let mut over = entry(2, 5, 150.0, "R1");
    over.saturated = true;
    log(
        &mut station,
        vec![
            entry(2, 1, 100.0, "R1"),
            entry(2, 2, 89.0, "R1"),
            entry(2, 3, 121.0, ""),
            aside,
            over,
            entry(2, 6, 200.0, "R1"),
            entry(2, 7, 100.0, "R9"),
            entry(2, 8, 100.0, "R2"),
            entry(2, 9, 100.0, "R3"),
            entry(2, 10, 0.0, "R1"),
            LogEntry::new(date(2027, 1, 1).at(8, 0, 0, 0), 100.0),
            LogEntry {
                radiometer: "R1".into(),
                ..LogEntry::new(date(2027, 1, 2).at(8, 0, 0, 0), 100.0)
            },
        ],
    );
    let daily = Daily::of(
        &station,
        &station.upkeep(),
        &terms(&station),
        date(2027, 1, 3),
    );
    let told: Vec<Result<Side, Why>> = (daily.rows.iter())
        .map(|row| match &row.standing {
            Standing::Counts { side, .. } => Ok(*side),
            Standing::Note(why) => Err(why.clone()),
        })
        .collect();
    assert_eq!(
        told,
        [
            Ok(Side::Inside),
            Ok(Side::Below),
            Ok(Side::Above),
            Err(Why::SetAside),
            Err(Why::OverRange),
            Err(Why::OverRange),
            Err(Why::NotRegistered),
            Err(Why::NotCompared),
            Err(Why::OtherBand),
            Err(Why::Zero),
            Ok(Side::Inside),
            Err(Why::PastDue(date(2026, 12, 31))),
        ]
    );
    let latest = daily.latest.expect("one counts");
    assert_eq!((latest.row, latest.coldest), (10, Some(50.0)));
    let window = terms(&station).window.expect("a window");
    assert_eq!(side(&window, 90.0), Side::Inside);
    assert_eq!(side(&window, 120.0), Side::Inside);
}

#[test]
fn a_reading_outside_says_what_brings_it_back() {
    let mut station = bench();
    log(&mut station, vec![entry(2, 2, 88.0, "R1")]);
    let daily = Daily::of(
        &station,
        &station.upkeep(),
        &terms(&station),
        date(2026, 2, 2),
    );
    let latest = daily.latest.expect("it counts");
    assert_eq!(latest.side, Side::Below);
    assert_eq!(latest.remedy, Some(Remedy::DriveBy(110.0 / 88.0)));
}

/// A radiometer that was found 2 % too high reads 1/1.02 of what it read before; to the limits' scale of before its readings
/// are multiplied by 1.02.
#[test]
fn readings_after_a_calibration_come_to_the_limits_scale() {
    let mut station = bench();
    log(
        &mut station,
        vec![
            entry(2, 2, 100.0, "R1"),
            entry(3, 2, 100.0, "R1"),
            entry(4, 2, 100.0, "R1"),
        ],
    );
    set(&mut station, |u| {
        u.events = vec![
            calibrated(3, 1, "R1", Some(2.0)),
            calibrated(4, 1, "R1", Some(-1.0)),
        ];
    });
    let daily = |station: &Station| {
        Daily::of(
            station,
            &station.upkeep(),
            &terms(station),
            date(2026, 5, 2),
        )
    };
    let carried: Vec<f64> = daily(&station).counted().map(|(_, e)| e).collect();
    for (got, expected) in carried.iter().zip([100.0, 102.0, 100.98]) {
        assert!((got - expected).abs() < 1e-9, "{carried:?}");
    }
    // seen from a survey after the calibrations the same readings are lower
    let later = MonitorTerms {
        on: date(2026, 4, 20),
        ..terms(&station)
    };
    let seen = Daily::of(&station, &station.upkeep(), &later, date(2026, 5, 2));
    let carried: Vec<f64> = seen.counted().map(|(_, e)| e).collect();
    for (got, expected) in carried
        .iter()
        .zip([100.0 / 1.02 / 0.99, 100.0 / 0.99, 100.0])
    {
        assert!((got - expected).abs() < 1e-9, "{carried:?}");
    }
    // how it was found is not known: its readings count as they are, and the uncertainty of both certificates is added
    set(&mut station, |u| {
        u.events = vec![calibrated(3, 1, "R1", None)]
    });
    let daily = daily(&station);
    let Carried::ByCalibrations {
        factor,
        added,
        unknown,
    } = daily.scales.all[1].carried
    else {
        panic!("{:?}", daily.scales);
    };
    assert_eq!((factor, unknown), (1.0, true));
    assert!((added - 0.025f64.hypot(0.02)).abs() < 1e-12, "{added}");
}

#[test]
fn a_stand_in_counts_once_it_was_read_side_by_side() {
    let mut station = bench();
    log(
        &mut station,
        vec![entry(2, 10, 95.0, "R2"), entry(6, 10, 95.0, "R2")],
    );
    set(&mut station, |u| {
        u.beside = vec![Beside {
            on: date(2026, 2, 1),
            main: "R1".into(),
            stand_in: "R2".into(),
            common_percent: Some(2.0),
            by: String::new(),
            pairs: vec![(60.0, 57.0), (90.0, 85.5), (120.0, 114.1), (150.0, 142.4)],
            note: String::new(),
        }];
        // the stand-in was calibrated in between: what was compared is another scale
        u.events = vec![calibrated(5, 1, "R2", Some(1.0))];
    });
    let daily = Daily::of(
        &station,
        &station.upkeep(),
        &terms(&station),
        date(2026, 6, 11),
    );
    let Standing::Counts {
        irradiance, added, ..
    } = daily.rows[0].standing
    else {
        panic!("{:?}", daily.rows[0]);
    };
    assert!((irradiance - 100.0).abs() < 0.1, "{irradiance}");
    assert!(added > 0.0 && added < 0.003, "{added}");
    assert_eq!(daily.rows[1].standing, Standing::Note(Why::NotCompared));
}

#[test]
fn what_is_due_is_said() {
    let mut station = bench();
    log(&mut station, vec![entry(2, 2, 88.0, "R1")]);
    set(&mut station, |u| {
        u.every = Some(1.0);
        u.events = vec![Event {
            at: at(3, 1),
            what: Happened::LampChanged {
                serial: "L-2".into(),
                hours: 0.0,
            },
            by: String::new(),
            note: String::new(),
        }];
    });
    let today = date(2026, 12, 20);
    let review = Review::of(
        &station,
        &station.upkeep(),
        terms(&station),
        today,
        &Progress::new(),
    )
    .expect("not cancelled");
    let what: Vec<&DueWhat> = review.due.iter().map(|due| &due.what).collect();
    assert!(what.contains(&&DueWhat::Outside(Side::Below)), "{what:?}");
    assert!(what.contains(&&DueWhat::Check(320)), "{what:?}");
    assert!(what.contains(&&DueWhat::Lamp("L-2".into())), "{what:?}");
    assert!(
        what.contains(&&DueWhat::Calibration("R1".into(), 11)),
        "{what:?}"
    );
}

fn saver(second: i64) -> Saver {
    Saver {
        at: jiff::Timestamp::from_second(1_780_000_000 + second).expect("a time"),
        by: "ana on bench-2".into(),
        program: "0.1.0".into(),
    }
}

/// A file edited by hand in the past is noticed, wherever it was edited.
#[test]
fn a_file_that_was_edited_by_hand_is_noticed() {
    let mut station = year::without_log();
    station.papers = Some(Papers {
        author: Signature {
            name: "A. Author".into(),
            on: Some(date(2026, 2, 1)),
        },
        ..Papers::default()
    });
    let mut trail = Trail::default().with(&station, None, Some(&saver(0)));
    for (i, entries) in year::log().chunks(100).enumerate() {
        let before = station.clone();
        log(&mut station, entries.to_vec());
        trail = trail.with(&station, Some(&before), Some(&saver(1 + i as i64)));
    }
    assert_eq!(trail.revision(), 5);
    assert_eq!(
        trail.entries()[1].what,
        ["irradiance log, 100 entries more"]
    );
    let text = files::write_whole(&station, &trail).expect("sound");
    let opened = files::parse_whole(text.as_bytes()).expect("read");
    assert_eq!(opened.trail.gaps(&opened.station), []);

    let edited = |from: &str, to: &str| {
        let other = text.replacen(from, to, 1);
        assert_ne!(other, text, "{from}");
        let opened = files::parse_whole(other.as_bytes()).expect("read");
        opened.trail.gaps(&opened.station)
    };
    // a reading of months ago, a reading of the survey, a limit
    let entry = &year::log()[40];
    let value = format!("irradiance: {:?}, radiometer", entry.irradiance);
    assert_eq!(
        edited(&value, "irradiance: 99.9, radiometer"),
        [TrailGap::Document]
    );
    assert_eq!(
        edited("position: \"P-B2\"", "position: \"P-B1\""),
        [TrailGap::Document]
    );
    assert_eq!(
        edited("safety_factor_percent: 20.0", "safety_factor_percent: 10.0"),
        [TrailGap::Document]
    );
    // who saved, what had changed, and an entry cut out of the middle
    assert_eq!(
        edited("ana on bench-2", "bo on bench-2"),
        [TrailGap::Entry(1)]
    );
    assert_eq!(
        edited("100 entries more", "99 entries more"),
        [TrailGap::Entry(2)]
    );
    // what only looks otherwise is no change
    let spaced = text.replacen("\n station: (", "\n  station:   (", 1);
    let opened = files::parse_whole(spaced.as_bytes()).expect("read");
    assert_eq!(opened.trail.gaps(&opened.station), []);
}

fn evenfield() -> Command {
    Command::new(env!("CARGO_BIN_EXE_evenfield"))
}

#[test]
fn the_command_line_keeps_log_and_trail() {
    let folder = tempfile::tempdir().expect("a folder");
    let (path, csv) = (
        folder.path().join("year.ron"),
        folder.path().join("log.csv"),
    );
    let mut station = year::without_log();
    station.papers = Some(Papers::default());
    let trail = Trail::default().with(&station, None, Some(&saver(0)));
    files::save(&path, &station, &trail).expect("saved");
    std::fs::write(&csv, files::log_csv(year::log().iter())).expect("written");

    let run = |arguments: &[&str]| {
        let done = evenfield()
            .arg(arguments[0])
            .arg(&path)
            .args(&arguments[1..])
            .output();
        let done = done.expect("it runs");
        let out = String::from_utf8_lossy(&done.stdout).into_owned();
        let said = String::from_utf8_lossy(&done.stderr).into_owned();
        (done.status.code(), out, said)
    };
    let file = csv.to_str().expect("text");
    let (code, out, said) = run(&["log", "--add", file, "--on", "2026-11-16", "--json"]);
    assert_eq!(code, Some(0), "{said}");
    assert!(said.contains("365 readings put into the log"), "{said}");
    let record: serde_json::Value = serde_json::from_str(&out).expect("json");
    assert_eq!(record["entries"], 365);
    assert_eq!(record["counted"], 364);
    assert_eq!(record["lamps"].as_array().map(Vec::len), Some(3));
    assert_eq!(record["outlook"]["kind"], "reaches");
    // a second time nothing comes in
    let (_, _, said) = run(&["log", "--add", file, "--csv"]);
    assert!(said.contains("0 readings put into the log"), "{said}");

    let (code, out, _) = run(&["check", "--json"]);
    let record: serde_json::Value = serde_json::from_str(&out).expect("json");
    assert_eq!(code, Some(0), "{out}");
    assert_eq!(
        (&record["revision"], &record["sound"]),
        (&2.into(), &true.into())
    );
    let digits = Digest::of(&station).on_page();
    let (code, out, _) = run(&["check", "--page", &digits]);
    assert_eq!(code, Some(0), "{out}");
    assert!(out.contains("made from revision 1"), "{out}");
    let (code, out, _) = run(&["check", "--page", "0123 4567 89ab"]);
    assert_eq!(code, Some(1), "{out}");
    assert!(out.contains("no saved state"), "{out}");

    let text = std::fs::read_to_string(&path).expect("there");
    let edited = text.replacen("lamp_hours: 12.0", "lamp_hours: 13.0", 1);
    assert_ne!(edited, text);
    std::fs::write(&path, edited).expect("written");
    let (code, out, _) = run(&["check"]);
    assert_eq!(code, Some(1), "{out}");
    assert!(out.contains("changed by other means"), "{out}");

    std::fs::write(&csv, "date,irradiance_mw_cm2\n2026-13-01,80\n").expect("written");
    let (code, _, said) = run(&["log", "--add", file]);
    assert_eq!(code, Some(2));
    assert!(
        said.contains("log.csv:2:1: '2026-13-01' is not a date"),
        "{said}"
    );
}

/// A log entry wakes nothing but the log: fit, answer and outlook are the same ones in memory.
#[test]
fn a_log_entry_works_nothing_else_out_again() {
    use evenfield::session::{Command as Asked, Step};
    use evenfield::work::Held;
    use std::sync::Arc;

    let mut session = Session::new(
        year::year(),
        Default::default(),
        date(2026, 11, 17),
        Arc::new(|| ()),
    );
    session.handle(Asked::Go(Step::Upkeep));
    let settle = |session: &mut Session| {
        for _ in 0..3000 {
            session.update();
            let reviewed = matches!(session.answers().review(), Held::Current(_));
            if reviewed && !session.is_working() {
                return;
            }
            std::thread::sleep(std::time::Duration::from_millis(10));
        }
        panic!("it does not come to rest");
    };
    settle(&mut session);
    let fit = session
        .answers()
        .fit()
        .current()
        .expect("a fit")
        .field
        .clone();
    let answer = session
        .answers()
        .answer()
        .current()
        .expect("an answer")
        .clone();
    let outlook = session
        .answers()
        .outlook()
        .current()
        .expect("an outlook")
        .clone();
    let review = session
        .answers()
        .review()
        .current()
        .expect("a review")
        .clone();
    assert!(review.terms.window.is_some());
    let entries = vec![entry(11, 17, 99.0, "R1 with detector D1")];
    let name = String::new();
    session.handle(Asked::Edit(Edit::AddToLog { entries, name }));
    settle(&mut session);
    let answers = session.answers();
    assert!(Arc::ptr_eq(
        &fit,
        &answers.fit().current().expect("a fit").field
    ));
    assert!(Arc::ptr_eq(
        &answer,
        answers.answer().current().expect("an answer")
    ));
    assert!(Arc::ptr_eq(
        &outlook,
        answers.outlook().current().expect("an outlook")
    ));
    let now = answers.review().current().expect("a review");
    assert_eq!(now.daily.rows.len(), review.daily.rows.len() + 1);
}

/// What the window does: each save that changes something is an entry, and a file that was edited meanwhile is noticed when it
/// is opened.
#[test]
fn each_save_is_on_the_trail_and_a_changed_file_is_noticed() {
    use evenfield::session::Command as Asked;
    use std::sync::Arc;

    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("kept.ron");
    let mut station = bench();
    station.papers = Some(Papers::default());
    let today = date(2026, 11, 17);
    let mut session = Session::new(station, Default::default(), today, Arc::new(|| ()));
    let settle = |session: &mut Session| {
        for _ in 0..2000 {
            session.update();
            if !session.is_at_files() {
                return;
            }
            std::thread::sleep(std::time::Duration::from_millis(5));
        }
        panic!("it does not come to rest");
    };
    let now = jiff::Timestamp::from_second(1_795_000_000).expect("a time");
    session.set_now(now.to_zoned_datetime(jiff::tz::TimeZone::UTC));
    session.handle(Asked::SaveAs {
        path: path.clone(),
        replace: false,
    });
    settle(&mut session);
    assert_eq!(session.trail().revision(), 1);
    session.handle(Asked::Edit(Edit::SetNotes("swept".into())));
    session.handle(Asked::Save);
    settle(&mut session);
    // saved again with nothing changed
    session.handle(Asked::Save);
    settle(&mut session);
    let trail = session.trail().clone();
    assert_eq!(trail.revision(), 2);
    assert_eq!(trail.entries()[1].what, ["notes"]);
    assert_eq!(trail.entries()[1].at, now);
    // undo goes back in the document, never in the trail
    session.handle(Asked::Undo);
    session.handle(Asked::Save);
    settle(&mut session);
    assert_eq!(session.trail().revision(), 3);
    assert_eq!(session.trail().entries()[..2], trail.entries()[..2]);
    let text = std::fs::read_to_string(&path).expect("saved");
    let opened = files::parse_whole(text.as_bytes()).expect("sound");
    assert_eq!(opened.trail.gaps(&opened.station), []);

    std::fs::write(&path, text.replacen("height: 80.0", "height: 81.0", 1)).expect("written");
    session.handle(Asked::Open(path.clone()));
    settle(&mut session);
    assert_eq!(session.station().source.face_height, 81.0);
    assert_eq!(session.gaps(), [TrailGap::Document]);
    let said = &session.notice().expect("it is said").text;
    assert!(said.contains("By other means than Evenfield"), "{said}");
    // the next entry says so for good
    session.handle(Asked::Edit(Edit::SetNotes("looked over".into())));
    session.handle(Asked::Save);
    settle(&mut session);
    let last = session.trail().entries().last().cloned().expect("an entry");
    assert_eq!(last.what, [files::FOUND_CHANGED, "notes"]);
    assert_eq!(session.gaps(), []);
}

/// The report binds everything, its contents point to the right pages, and each page says what it was made from.
#[test]
fn a_report_binds_all_pages_and_marks_them() {
    use evenfield::export::bundle::{Bundle, MadeOn, Sheets, documents};
    use evenfield::sheet::page::{Page, PageItem};

    let says = |page: &Page, wanted: &str| {
        page.items.iter().any(|item| match item {
            PageItem::Text { text, .. } => text.contains(wanted),
            _ => false,
        })
    };

    let mut station = year::year();
    station.papers = Some(Papers::default());
    let trail = Trail::default().with(&station, None, Some(&saver(0)));
    let bundle = Bundle {
        station: &station,
        request: Default::default(),
        fit: None,
        map_height: None,
        sheets: Sheets::parse("log,report").expect("sheets"),
        length: Default::default(),
        irradiance: Default::default(),
        paper: Default::default(),
        colours: Default::default(),
        range: None,
        uncertainty_range: None,
        arranged: None,
        made: MadeOn {
            today: date(2026, 11, 17),
            trail: &trail,
            period: (Some(date(2026, 10, 1)), None),
        },
    };
    let made = documents(&bundle, &Progress::new()).expect("made");
    let names: Vec<&str> = made.iter().map(|document| document.name).collect();
    assert_eq!(names, ["Irradiance log", "Report"]);
    let mark = format!("Revision 1, data {}", {
        let digits = Digest::of(&station).on_page();
        format!("{} {} {}", &digits[..4], &digits[4..8], &digits[8..])
    });
    for document in &made {
        assert!(
            document.pages.iter().all(|page| says(page, &mark)),
            "{}",
            document.name
        );
    }
    // the period leaves out what is older
    let (log, report) = (&made[0].pages, &made[1].pages);
    assert!(log.iter().any(|page| says(page, "2026-10-01 ")));
    assert!(!log.iter().any(|page| says(page, "2026-09-30 ")));
    for (i, page) in report.iter().enumerate() {
        let number = format!("report page {} of {}", i + 1, report.len());
        assert!(says(page, &number), "{number}");
    }
    assert!(
        says(&report[0], "Contents")
            && says(&report[0], "There is no change: it takes two surveys")
    );
    let first_of_log = report
        .iter()
        .position(|page| says(page, "Readings at the monitor position"));
    let first_of_log = first_of_log.expect("the log") + 1;
    assert!(says(&report[0], &first_of_log.to_string()));
    assert!(
        report
            .iter()
            .any(|page| says(page, "come out as published"))
    );
}
