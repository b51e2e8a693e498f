//! What was not saved is offered again, and what others do to a file is noticed.

use std::fs;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use evenfield::files::{self, Preferences};
use evenfield::session::{Command, Keep, Question, Reply, Session, Tone, sample};
use evenfield::station::Edit;
use jiff::civil::date;

fn start(folder: &Path, run: &str) -> Session {
    let today = date(2026, 11, 25);
    let mut session = Session::on_sample(Preferences::default(), today, Arc::new(|| {}));
    session.keep_in(Keep {
        folder: folder.join("state"),
        run: run.to_owned(),
        who: format!("{run} on bench-2"),
    });
    rest(&mut session);
    session
}

fn rest(session: &mut Session) {
    session.update();
    while session.is_at_files() {
        std::thread::sleep(Duration::from_millis(1));
        session.update();
    }
}

fn save_as(session: &mut Session, path: &Path) {
    session.handle(Command::SaveAs {
        path: path.to_owned(),
        replace: false,
    });
    rest(session);
}

fn rename(session: &mut Session, name: &str) {
    session.handle(Command::Edit(Edit::Rename(name.into())));
}

fn journals(folder: &Path) -> usize {
    fs::read_dir(folder.join("state")).map_or(0, Iterator::count)
}

/// A crash, as near as one process can play it: the session is gone without a word, and the system
/// unlocks its files.
fn crash(session: Session) {
    drop(session);
}

#[test]
fn after_a_crash_the_changes_are_offered_and_taken_up_with_their_undo() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("mine.ron");
    let mut session = start(folder.path(), "a");
    save_as(&mut session, &path);
    rename(&mut session, "Mine");
    rename(&mut session, "Mine 2");
    session.handle(Command::Undo);
    rename(&mut session, "Mine 3");
    let before = session.station().clone();
    crash(session);

    let mut session = start(folder.path(), "b");
    let Some(Question::TakeUp(left)) = session.question() else {
        panic!("it is asked: {:?}", session.question());
    };
    assert_eq!((left.name.as_str(), left.changes), ("Mine 3", 4));
    assert_eq!(left.path.as_deref(), Some(path.as_path()));
    session.handle(Command::Reply(Reply::Yes));
    rest(&mut session);
    assert_eq!(*session.station(), before);
    assert!(session.is_changed());
    // kept again until it is saved; the older journal goes when the new one is on the disk
    let begun = Instant::now();
    while journals(folder.path()) != 1 && begun.elapsed() < Duration::from_secs(20) {
        std::thread::sleep(Duration::from_millis(5));
    }
    assert_eq!(journals(folder.path()), 1);
    // a second crash loses nothing either
    crash(session);
    let mut session = start(folder.path(), "c");
    session.handle(Command::Reply(Reply::Yes));
    assert_eq!(*session.station(), before);
    session.handle(Command::Save);
    rest(&mut session);
    assert_eq!(files::read(&path).expect("saved").0, *before);
    crash(session);
    assert_eq!(journals(folder.path()), 0);
    assert_eq!(start(folder.path(), "d").question(), None);
}

#[test]
fn what_is_discarded_is_gone_and_what_is_put_off_is_asked_again() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut session = start(folder.path(), "a");
    rename(&mut session, "Mine");
    crash(session);
    let mut session = start(folder.path(), "b");
    session.handle(Command::Reply(Reply::Cancel));
    crash(session);
    let mut session = start(folder.path(), "c");
    assert!(matches!(session.question(), Some(Question::TakeUp(_))));
    session.handle(Command::Reply(Reply::No));
    assert_eq!(**session.station(), sample());
    crash(session);
    assert_eq!(start(folder.path(), "d").question(), None);
    assert_eq!(journals(folder.path()), 0);
}

#[test]
fn changes_that_were_discarded_on_leaving_are_not_offered() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut session = start(folder.path(), "a");
    rename(&mut session, "Mine");
    session.handle(Command::Quit);
    session.handle(Command::Reply(Reply::No));
    assert!(session.wants_quit());
    crash(session);
    assert_eq!(start(folder.path(), "b").question(), None);
}

#[test]
fn a_second_window_hears_of_the_first() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("mine.ron");
    let mut first = start(folder.path(), "ana");
    save_as(&mut first, &path);
    let mut second = start(folder.path(), "bo");
    second.handle(Command::Open(path.clone()));
    rest(&mut second);
    let notice = second.notice().expect("it is said");
    assert_eq!(notice.tone, Tone::Trouble);
    assert!(notice.text.contains("ana on bench-2"), "{}", notice.text);

    // what the first one saves, the second one hears of when it is come back to
    rename(&mut first, "Theirs");
    first.handle(Command::Save);
    rest(&mut first);
    second.handle(Command::LookAtFile);
    rest(&mut second);
    assert_eq!(
        second.question(),
        Some(&Question::TheirVersion(path.clone()))
    );
    second.handle(Command::Reply(Reply::Yes));
    rest(&mut second);
    assert_eq!(second.station().name, "Theirs");

    // with changes of its own it is told, and nothing is replaced without asking
    rename(&mut second, "Ours");
    rename(&mut first, "Theirs 2");
    first.handle(Command::Save);
    rest(&mut first);
    second.handle(Command::LookAtFile);
    rest(&mut second);
    let notice = second.notice().expect("it is said");
    assert!(
        notice.text.contains("changed by somebody else"),
        "{}",
        notice.text
    );
    second.handle(Command::Save);
    rest(&mut second);
    assert!(matches!(
        second.question(),
        Some(Question::ChangedOnDisk(_))
    ));
    second.handle(Command::Reply(Reply::Cancel));
    assert_eq!(files::read(&path).expect("there").0.name, "Theirs 2");
    drop((first, second));
    let left: Vec<_> = fs::read_dir(folder.path())
        .expect("listed")
        .flatten()
        .collect();
    let signs = left
        .iter()
        .filter(|e| e.file_name().to_string_lossy().ends_with("in-use"));
    assert_eq!(signs.count(), 0);
}

#[test]
fn a_save_that_fails_keeps_the_work_and_says_what_to_do() {
    let folder = tempfile::tempdir().expect("a folder");
    let inner = folder.path().join("share");
    fs::create_dir(&inner).expect("made");
    let path = inner.join("mine.ron");
    let mut session = start(folder.path(), "a");
    save_as(&mut session, &path);
    rename(&mut session, "Mine");
    drop(fs::remove_dir_all(&inner));
    session.handle(Command::Quit);
    session.handle(Command::Reply(Reply::Yes));
    rest(&mut session);
    assert!(!session.wants_quit(), "it stays open");
    let notice = session.notice().expect("it is said").text.clone();
    assert!(
        notice.contains("make the folder or save somewhere else"),
        "{notice}"
    );
    assert!(
        notice.contains("What you entered is still here"),
        "{notice}"
    );
    assert!(session.is_changed());
    crash(session);
    assert!(matches!(
        start(folder.path(), "b").question(),
        Some(Question::TakeUp(_))
    ));
}

#[test]
fn a_journal_that_can_not_be_written_is_said_once() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(
        folder.path().join("state"),
        "a file where the folder should be",
    )
    .expect("written");
    let mut session = start(folder.path(), "a");
    rename(&mut session, "Mine");
    std::thread::sleep(Duration::from_millis(50));
    session.update();
    let notice = session.notice().expect("it is said").text.clone();
    assert!(
        notice.contains("can't be kept safe against a crash"),
        "{notice}"
    );
    fs::remove_file(folder.path().join("state")).expect("removed");
    rename(&mut session, "Mine 2");
    crash(session);
    let session = start(folder.path(), "b");
    let Some(Question::TakeUp(left)) = session.question() else {
        panic!("kept as soon as it could be");
    };
    assert_eq!(left.name, "Mine 2");
}
