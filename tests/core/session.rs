//! The running program without its window: the job from readings to files, and nothing lost on the way.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use evenfield::files::{Field, Layout, Preferences, Use};
use evenfield::geometry::Place;
use evenfield::session::{Command, Question, Reply, Session, Tone, sample};
use evenfield::station::{Edit, Reading};
use evenfield::units::LengthUnit;
use evenfield::work::Wake;
use jiff::civil::date;

fn waker() -> (Wake, Receiver<()>) {
    let (sender, woken) = channel();
    let sender = std::sync::Mutex::new(sender);
    let wake = move || {
        let _ = sender.lock().expect("never poisoned").send(());
    };
    (Arc::new(wake), woken)
}

/// Lets all background work end.
fn settle(session: &mut Session, woken: &Receiver<()>) {
    session.update();
    while session.is_working() {
        woken
            .recv_timeout(Duration::from_secs(60))
            .expect("work ends and says so");
        session.update();
    }
}

fn on_sample() -> (Session, Receiver<()>) {
    let (wake, woken) = waker();
    let preferences = Preferences::default();
    (
        Session::on_sample(preferences, date(2026, 11, 25), wake),
        woken,
    )
}

#[test]
fn the_sample_has_an_answer_and_a_moved_site_needs_no_new_fit() {
    let (mut session, woken) = on_sample();
    let notice = session.notice().expect("the sample says what it is");
    assert!(notice.text.contains("worked sample"));
    settle(&mut session, &woken);
    let answer = session
        .answers()
        .answer()
        .current()
        .expect("an answer")
        .clone();
    assert_eq!(answer.coldest.site.as_deref(), Some("Lid A4"));
    let bound = answer.coldest.at_least.expect("kriging has draws");
    assert!(bound < answer.coldest.irradiance);
    let fit = session
        .answers()
        .fit()
        .current()
        .expect("a fit")
        .field
        .clone();
    let mut group = session.station().sites[0].clone();
    group.turn = 2.0;
    session.handle(Command::Edit(Edit::SetSites(0, group)));
    settle(&mut session, &woken);
    let after = session.answers().fit().current().expect("a fit");
    assert!(Arc::ptr_eq(&fit, &after.field));
}

#[test]
fn nothing_is_seen_of_readings_that_are_not_those_of_the_survey() {
    let (mut session, woken) = on_sample();
    settle(&mut session, &woken);
    let shown = |session: &Session| {
        let answers = session.answers();
        [
            answers.map().any().is_some(),
            answers.answer().any().is_some(),
            answers.profile().any().is_some(),
        ]
    };
    assert_eq!(shown(&session), [true; 3]);
    // a new, empty survey shows no map of the one before, not even until it is known to be empty
    let empty = session.station().new_survey("empty", date(2026, 11, 25));
    session.handle(Command::Edit(Edit::AddSurvey(empty)));
    session.update();
    assert_eq!(shown(&session), [false; 3]);
    settle(&mut session, &woken);
    assert_eq!(shown(&session), [false; 3]);
    // what is pasted has a field, and undoing that takes it along
    let readings = session.station().surveys[0].readings.clone();
    let paste = Edit::InsertReadings {
        survey: 1,
        row: 0,
        readings,
    };
    session.handle(Command::Edit(paste));
    settle(&mut session, &woken);
    assert_eq!(shown(&session), [true; 3]);
    session.handle(Command::Undo);
    settle(&mut session, &woken);
    assert_eq!(shown(&session), [false; 3]);
    session.handle(Command::ShowSurvey(0));
    settle(&mut session, &woken);
    assert_eq!(shown(&session), [true; 3]);
}

#[test]
fn undo_is_identity_and_is_named() {
    let (mut session, _woken) = on_sample();
    let before = session.station().clone();
    let reading = Reading::new(Place::new(5.0, 5.0, 10.0), Some(80.0));
    session.handle(Command::Edit(Edit::InsertReadings {
        survey: 0,
        row: 0,
        readings: vec![reading],
    }));
    assert_ne!(*session.station(), before);
    assert!(session.undo_names().0.is_some());
    session.handle(Command::Undo);
    assert_eq!(*session.station(), before);
    session.handle(Command::Redo);
    assert_eq!(
        session.station().surveys[0].readings.len(),
        before.surveys[0].readings.len() + 1
    );
}

#[test]
fn unsaved_changes_are_asked_about_and_saving_goes_on_to_what_was_asked() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("mine.ron");
    let (mut session, woken) = on_sample();
    session.handle(Command::SaveAs {
        path: path.clone(),
        replace: false,
    });
    settle(&mut session, &woken);
    assert!(!session.is_changed());
    session.handle(Command::Edit(Edit::Rename("Mine".into())));
    session.handle(Command::Quit);
    assert!(matches!(session.question(), Some(Question::Unsaved(_))));
    assert!(!session.wants_quit());
    session.handle(Command::Reply(Reply::Yes));
    settle(&mut session, &woken);
    assert!(session.wants_quit());
    let (read, _) = evenfield::files::read(&path).expect("what was saved");
    assert_eq!(read.name, "Mine");
}

#[test]
fn every_sheet_is_exported_and_an_existing_file_is_asked_about() {
    let folder = tempfile::tempdir().expect("a folder");
    let (mut session, woken) = on_sample();
    settle(&mut session, &woken);
    let export = Command::Export(folder.path().to_owned());
    session.handle(export.clone());
    settle(&mut session, &woken);
    let notice = session.notice().expect("it is said");
    assert_eq!(notice.tone, Tone::Done, "{notice:?}");
    // map.pdf, plan.pdf, plan.csv, plate.pdf, two plates, sheet.pdf, three of the placement, readings.csv, field.csv and
    // summary.json, and each page of the map twice
    let pages = (notice.details.len() - 13) / 2;
    assert!(pages > 1 && notice.details.len() == 13 + 2 * pages);
    assert_eq!(
        notice.details[..4],
        ["map.pdf", "map.svg", "map.png", "map-2.svg"]
    );
    assert_eq!(
        notice.details.last().map(String::as_str),
        Some("summary.json")
    );
    let pdf = std::fs::read(folder.path().join("map.pdf")).expect("a map");
    assert!(pdf.starts_with(b"%PDF"));
    session.handle(export);
    settle(&mut session, &woken);
    assert!(matches!(
        session.question(),
        Some(Question::ReplaceExports { .. })
    ));
}

#[test]
fn readings_are_looked_at_before_they_are_imported() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("round 2.csv");
    let text = "x_mm,y_mm,height_mm,reading\n1,2,3,4\n1,2,three,4\n";
    std::fs::write(&path, text).expect("a file");
    let (mut session, woken) = on_sample();
    session.handle(Command::Import(path));
    settle(&mut session, &woken);
    let faults = |session: &Session| match session.import()?.outcome().current()? {
        Ok(_) => None,
        Err(errors) => Some(errors.iter().map(ToString::to_string).collect::<Vec<_>>()),
    };
    // first the column that says nothing, then the row that can't be read
    let said = faults(&session).expect("it is said");
    assert!(said[0].contains("no column irradiance_mw_cm2"), "{said:?}");
    session.handle(Command::FinishImport);
    assert_eq!(**session.station(), sample());

    let mut wanted = session.import().expect("still there").understanding.clone();
    let Layout::List(list) = &mut wanted.layout else {
        panic!("one reading a row: {wanted:?}");
    };
    list.columns[3] = Use::Is(Field::Irradiance, 1.0);
    session.handle(Command::Understand(wanted.clone()));
    settle(&mut session, &woken);
    let said = faults(&session).expect("it is said");
    assert!(
        said[0].contains("line 3, column 5: 'height_mm': 'three'"),
        "{said:?}"
    );
    session.handle(Command::FinishImport);
    assert_eq!(**session.station(), sample());

    let Layout::List(list) = &mut wanted.layout else {
        panic!("one reading a row: {wanted:?}");
    };
    list.columns[2] = Use::Nothing;
    list.height = Some(30.0);
    session.handle(Command::Understand(wanted));
    settle(&mut session, &woken);
    assert_eq!(faults(&session), None);
    session.handle(Command::FinishImport);
    assert!(session.import().is_none());
    let survey = session.station().surveys.last().expect("added");
    assert_eq!(survey.name, "round 2");
    assert_eq!(survey.readings.len(), 2);
    assert_eq!(survey.readings[1].height, 30.0);
}

/// The plan's rows wait in a survey; the file that was filled in beside the lamp comes back.
#[test]
fn a_file_fills_in_the_rows_that_wait_for_it_in_one_step() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("round 2.csv");
    let text = "position,x_mm,y_mm,height_mm,irradiance_mw_cm2\n\
        A1,10,20,30,81\nA2,20,20,30,82\nA3,30,20,30,83\nB9,90,90,30,84\n";
    std::fs::write(&path, text).expect("a file");
    let (mut session, woken) = on_sample();
    let row = |position: &str, x: f64, irradiance| Reading {
        position: position.into(),
        irradiance,
        ..Reading::new(Place::new(x, 20.0, 30.0), None)
    };
    let mut survey = session.station().new_survey("Morning", date(2026, 11, 25));
    survey.readings = vec![
        row("A1", 10.0, None),
        row("A2", 20.0, Some(79.0)),
        row("A3", 30.0, None),
        row("A4", 40.0, None),
    ];
    session.handle(Command::Edit(Edit::AddSurvey(survey)));
    settle(&mut session, &woken);
    let before = session.station().clone();
    let others = before.surveys.len() - 1;

    session.handle(Command::Import(path));
    settle(&mut session, &woken);
    let filling = session.import().and_then(|import| import.filling());
    let filling = filling.expect("rows wait");
    assert_eq!((filling.filled, filling.added), (2, 1));
    assert_eq!(filling.again[0].in_words(LengthUnit::Mm), "A2");
    session.handle(Command::FillFromImport);
    assert!(session.import().is_none());
    let notice = session.notice().expect("it says what it did");
    assert!(notice.text.contains("Filled in 2 rows of survey 'Morning'"));
    let (index, filled) = session.survey().expect("shown");
    assert_eq!(
        (index, session.station().surveys.len()),
        (others, others + 1)
    );
    let values: Vec<_> = (filled.readings.iter())
        .map(|r| (r.position.as_str(), r.irradiance, r.repeat))
        .collect();
    assert_eq!(
        values,
        [
            ("A1", Some(81.0), 1),
            ("A2", Some(79.0), 1),
            ("A3", Some(83.0), 1),
            ("A4", None, 1),
            ("A2", Some(82.0), 2),
            ("B9", Some(84.0), 1),
        ]
    );
    session.handle(Command::Undo);
    assert_eq!(*session.station(), before);
}

#[test]
fn a_file_that_somebody_else_wrote_is_asked_about() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("mine.ron");
    let (mut session, woken) = on_sample();
    std::fs::write(&path, "not mine").expect("a file");
    session.handle(Command::SaveAs {
        path: path.clone(),
        replace: false,
    });
    settle(&mut session, &woken);
    assert!(matches!(session.question(), Some(Question::Replace(..))));
    session.handle(Command::Reply(Reply::Yes));
    settle(&mut session, &woken);
    assert!(evenfield::files::read(&path).is_ok());

    std::fs::write(&path, "theirs").expect("a file");
    session.handle(Command::Edit(Edit::Rename("Mine".into())));
    session.handle(Command::Save);
    settle(&mut session, &woken);
    assert!(matches!(
        session.question(),
        Some(Question::ChangedOnDisk(_))
    ));
    session.handle(Command::Reply(Reply::Cancel));
    assert_eq!(std::fs::read(&path).expect("a file"), b"theirs");
    assert!(session.is_changed());
}

#[test]
fn a_gesture_that_is_given_up_leaves_no_step() {
    let (mut session, _woken) = on_sample();
    let before = session.station().clone();
    session.handle(Command::Edit(Edit::Rename("Mine".into())));
    let renamed = session.station().clone();
    let by = evenfield::geometry::Point::new(1.0, 0.0);
    for _ in 0..3 {
        session.handle(Command::Drag(Edit::MoveSites(0, by), 7));
    }
    assert_ne!(session.station(), &renamed);
    session.handle(Command::GiveUp(7));
    assert_eq!(session.station(), &renamed);
    session.handle(Command::GiveUp(7));
    assert_eq!(session.station(), &renamed);
    session.handle(Command::Undo);
    assert_eq!(session.station(), &before);
    assert!(!session.is_changed());
}
