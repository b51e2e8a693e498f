//! The program killed at random moments while readings are typed and saved. A child process runs the
//! session as the window does (the same commands, the same journal, the same saving in the background);
//! only the drawing is missing. It says on its standard output what is being entered and what has been,
//! where "has been" means that the window would have gone on to the next frame; some entries are undone and done again. The parent kills it
//! (`SIGKILL` on Unix), starts it again on the same file and journal, and holds what it takes up against
//! what had been entered.
//!
//! Ten kills run with the ordinary tests; 200 with
//!
//!     cargo test --no-default-features --test core killed::two_hundred -- --ignored --nocapture

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command as Process, Stdio};
use std::sync::Arc;
use std::sync::mpsc::channel;
use std::time::{Duration, Instant};

use evenfield::files::{self, Preferences};
use evenfield::geometry::Place;
use evenfield::session::{Command, Keep, Question, Reply, Session};
use evenfield::station::{Edit, Reading};
use jiff::civil::date;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Names the station file to the child; the other ones follow it.
const FILE: &str = "EVENFIELD_TEST_KILLED_FILE";
const STATE: &str = "EVENFIELD_TEST_KILLED_STATE";
const SEED: &str = "EVENFIELD_TEST_KILLED_SEED";
const NEXT: &str = "EVENFIELD_TEST_KILLED_NEXT";

/// The child; without its variables it is nothing.
#[test]
#[ignore = "run by the tests below in a process of its own"]
fn child() {
    let Ok(file) = std::env::var(FILE) else {
        return;
    };
    let variable = |name| std::env::var(name).expect("set by the parent");
    let number = |name| variable(name).parse::<u64>().expect("a number");
    let mut chance = ChaCha8Rng::seed_from_u64(number(SEED));
    let keep = Keep {
        folder: variable(STATE).into(),
        run: format!("{}-{}", std::process::id(), number(SEED)),
        who: "a test".into(),
    };
    let wake: evenfield::work::Wake = Arc::new(|| {});
    let today = date(2026, 11, 25);
    let mut session = Session::on_sample(Preferences::default(), today, wake);
    session.keep_in(keep);
    session.handle(Command::Open(file.into()));
    at_rest(&mut session);
    if matches!(session.question(), Some(Question::TakeUp(_))) {
        session.handle(Command::Reply(Reply::Yes));
        say(format_args!("taken up"));
    }
    assert_eq!(session.question(), None);
    for (row, reading) in readings(&session).iter().enumerate() {
        if let Some(value) = reading.irradiance {
            say(format_args!("has {row} {value:?}"));
        }
    }
    say(format_args!("ready"));

    let saves = [0.0, 0.05, 0.3, 1.0][chance.random_range(0..4)];
    let mut next = number(NEXT);
    loop {
        session.update();
        match session.question() {
            None => {}
            Some(question) => panic!("nobody else writes here: {question:?}"),
        }
        let rows = readings(&session).len();
        // typed over a value, or in the new row at the end
        let row = chance.random_range(rows.saturating_sub(40)..rows + 1);
        let value = next as f64 + 0.25;
        next += 1;
        let reading = match readings(&session).get(row) {
            Some(old) => Reading {
                irradiance: Some(value),
                ..old.clone()
            },
            None => Reading::new(Place::new(10.0, 20.0, 30.0), Some(value)),
        };
        say(format_args!("entering {row} {value:?}"));
        session.handle(Command::Edit(Edit::SetReadings {
            survey: session.survey().expect("a survey").0,
            row,
            readings: vec![reading],
            name: format!("type irradiance in row {}", row + 1),
        }));
        if chance.random_bool(0.2) {
            session.handle(Command::Undo);
            session.handle(Command::Redo);
        }
        say(format_args!("entered {row} {value:?}"));
        if chance.random_bool(saves) && session.busy().is_none() {
            session.handle(Command::Save);
            say(format_args!("saving"));
        }
        if chance.random_bool(0.5) {
            std::thread::sleep(Duration::from_millis(chance.random_range(0..20)));
        }
    }
}

fn at_rest(session: &mut Session) {
    loop {
        session.update();
        if !session.is_at_files() {
            return;
        }
        std::thread::sleep(Duration::from_millis(1));
    }
}

fn readings(session: &Session) -> &[Reading] {
    &session.survey().expect("a survey").1.readings
}

fn say(what: std::fmt::Arguments<'_>) {
    let mut out = std::io::stdout().lock();
    writeln!(out, "{what}").expect("the parent listens");
    out.flush().expect("the parent listens");
}

/// What must be in a row: the value entered last, or one that was being entered when the end came.
#[derive(Default)]
struct Rows(BTreeMap<usize, BTreeSet<u64>>);

/// What the kills met.
#[derive(Debug, Default)]
struct Tally {
    kills: usize,
    before_ready: usize,
    while_saving: usize,
    taken_up: usize,
    entered: usize,
    leftovers: usize,
}

struct Chain {
    folder: tempfile::TempDir,
    file: PathBuf,
    rows: Rows,
    next: u64,
}

impl Chain {
    fn new(sample: &Path) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("station.ron");
        fs::copy(sample, &file).expect("copied");
        Self {
            folder,
            file,
            rows: Rows::default(),
            next: 1000,
        }
    }

    fn child(&self, seed: u64) -> Child {
        Process::new(std::env::current_exe().expect("this test"))
            .args(["--exact", "killed::child", "--ignored", "--nocapture"])
            .env(FILE, &self.file)
            .env(STATE, self.folder.path().join("state"))
            .env(SEED, seed.to_string())
            .env(NEXT, self.next.to_string())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the child starts")
    }

    /// One start of the program and its end.
    fn round(&mut self, seed: u64, tally: &mut Tally) {
        let mut chance = ChaCha8Rng::seed_from_u64(seed);
        let mut child = self.child(seed);
        let out = child.stdout.take().expect("piped");
        let (sender, lines) = channel();
        let reader = std::thread::spawn(move || {
            for line in BufReader::new(out).lines().map_while(Result::ok) {
                let _ = sender.send(line);
            }
        });
        // one in eight already while the program starts
        let mut heard = Vec::new();
        let begun = Instant::now();
        if chance.random_bool(0.125) {
            std::thread::sleep(Duration::from_millis(chance.random_range(0..60)));
        } else {
            while let Ok(line) = lines.recv_timeout(Duration::from_secs(60)) {
                let is_ready = line == "ready";
                heard.push(line);
                if is_ready {
                    break;
                }
            }
            std::thread::sleep(Duration::from_micros(chance.random_range(0..400_000)));
        }
        let ended = child.try_wait().expect("asked");
        child.kill().expect("killed");
        let output = child.wait_with_output().expect("ended");
        reader.join().expect("read to the end");
        heard.extend(lines.try_iter());
        assert!(
            ended.is_none(),
            "the child ended by itself after {:?}: {}",
            begun.elapsed(),
            String::from_utf8_lossy(&output.stderr)
        );
        tally.kills += 1;
        self.check(&heard, seed, tally);
    }

    fn check(&mut self, heard: &[String], seed: u64, tally: &mut Tally) {
        let mut has: BTreeMap<usize, u64> = BTreeMap::new();
        let mut saving = false;
        let is_ready = heard.iter().any(|line| line == "ready");
        for line in heard {
            let words: Vec<&str> = line.split(' ').collect();
            // a line that the kill cut off says nothing
            let row = || words.get(1)?.parse::<usize>().ok();
            let value = || words.get(2)?.parse::<f64>().ok().map(f64::to_bits);
            match (words[0], row(), value()) {
                ("has", Some(row), Some(value)) => {
                    has.insert(row, value);
                }
                ("taken", ..) => tally.taken_up += 1,
                ("ready", ..) => {
                    for (row, may_be) in &mut self.rows.0 {
                        let found = has.get(row);
                        assert!(
                            found.is_some_and(|found| may_be.contains(found)),
                            "seed {seed}: row {row} has {:?}, entered was {:?}",
                            found.map(|&bits| f64::from_bits(bits)),
                            may_be
                                .iter()
                                .map(|&b| f64::from_bits(b))
                                .collect::<Vec<_>>()
                        );
                        may_be.retain(|value| Some(value) == found);
                    }
                }
                ("entering", Some(row), Some(value)) => {
                    self.next = self.next.max(f64::from_bits(value) as u64 + 1);
                    self.rows.0.entry(row).or_default().insert(value);
                }
                ("entered", Some(row), Some(value)) => {
                    self.rows.0.insert(row, BTreeSet::from([value]));
                    tally.entered += 1;
                    saving = false;
                }
                ("saving", ..) => saving = true,
                _ => {}
            }
        }
        tally.before_ready += usize::from(!is_ready);
        tally.while_saving += usize::from(saving);
        self.forget_first(heard);
        self.readable(tally);
    }

    /// A row that was only just being entered, for the first time, may hold what it held or be missing.
    fn forget_first(&mut self, heard: &[String]) {
        if let Some(last) = heard.iter().rfind(|line| line.starts_with("enter"))
            && let Some(row) = last.strip_prefix("entering ")
            && let Some(row) = row.split(' ').next().and_then(|row| row.parse().ok())
            && self
                .rows
                .0
                .get(&row)
                .is_some_and(|may_be| may_be.len() == 1)
        {
            self.rows.0.remove(&row);
        }
    }

    /// No file is unreadable, whatever the moment.
    fn readable(&self, tally: &mut Tally) {
        for entry in fs::read_dir(self.folder.path()).expect("listed") {
            let path = entry.expect("an entry").path();
            let name = path
                .file_name()
                .expect("a name")
                .to_string_lossy()
                .into_owned();
            if name.ends_with(".ron") || name.ends_with(".bak") {
                files::read(&path).unwrap_or_else(|error| panic!("{error}"));
            } else if name.ends_with(".tmp") {
                tally.leftovers += 1;
                fs::remove_file(&path).expect("removed");
            }
        }
        let state = self.folder.path().join("state");
        for entry in fs::read_dir(state).into_iter().flatten() {
            let name = entry.expect("an entry").file_name();
            assert!(!name.to_string_lossy().ends_with("damaged"), "{name:?}");
        }
    }
}

fn kill(rounds: usize) -> Tally {
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-maps");
    let mut samples: Vec<PathBuf> = (fs::read_dir(samples).expect("the samples"))
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|e| e == "ron"))
        .collect();
    samples.sort();
    let mut chains: Vec<Chain> = samples.iter().map(|sample| Chain::new(sample)).collect();
    let mut tally = Tally::default();
    // other moments by another number
    let first = std::env::var("EVENFIELD_TEST_KILLED_FROM").ok();
    let first: u64 = first.and_then(|text| text.parse().ok()).unwrap_or(0);
    for round in 0..rounds {
        let chain = round % chains.len();
        chains[chain].round(first + round as u64, &mut tally);
    }
    tally
}

#[test]
fn nothing_that_was_entered_is_lost_in_a_few_kills() {
    assert_eq!(kill(10).kills, 10);
}

#[test]
#[ignore = "a few minutes; the command is above"]
fn two_hundred() {
    let begun = Instant::now();
    let tally = kill(200);
    println!("{tally:?} in {:.0?}", begun.elapsed());
    assert_eq!(tally.kills, 200);
}
